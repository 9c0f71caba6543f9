#!/usr/bin/env python3
"""The process that a procedure runs in, as the system shows it, and what its end costs."""
import ctypes
import os
import platform
import shutil
import signal
import struct
import time
import unittest

import rig

ASKS = """return procedure {
  id = "asks", version = "1", api = 1, title = "Asks",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "screw", { 1 }, { 2 } } } },
  run = function(job)
    for i = 1, 9 do job:confirm { key = "k" .. i, title = "Number " .. i, text = "Go on?" } end
  end,
}
"""
ENDLESS = ASKS.replace("for i = 1, 9", "job:confirm { key = 'one', title = 'One', text = 'Go on?' }\n"
                       "    while true do end\n    for i = 1, 9")

# prctl and seccomp, which have numbers of their own on each machine.
NUMBERS = {"x86_64": (157, 317), "aarch64": (167, 277)}[platform.machine()]


def take_filters_away():
    """As on a kernel without seccomp: the calls that would set a filter do not know how."""
    def step(code, true, false, value):
        return struct.pack("HBBI", code, true, false, value)
    load, equal, give = 0x20, 0x15, 0x06
    program = b"".join([
        step(load, 0, 0, 0), step(equal, 0, 3, NUMBERS[0]),
        step(load, 0, 0, 16), step(equal, 0, 2, 22), step(give, 0, 0, 0x00050000 | 22),
        step(equal, 1, 0, NUMBERS[1]), step(give, 0, 0, 0x7fff0000), step(give, 0, 0, 0x00050000 | 38)])
    steps = ctypes.create_string_buffer(program)
    class Program(ctypes.Structure):
        _fields_ = [("count", ctypes.c_ushort), ("steps", ctypes.c_void_p)]
    libc = ctypes.CDLL(None, use_errno=True)
    libc.prctl(38, 1, 0, 0, 0)
    whole = Program(len(program) // 8, ctypes.addressof(steps))
    if libc.prctl(22, 2, ctypes.byref(whole), 0, 0) != 0:
        raise OSError(ctypes.get_errno(), "no filter to take filters away")


class Contain(unittest.TestCase):
    def setUp(self):
        self.data = rig.folder()
        self.addCleanup(shutil.rmtree, self.data)

    def file(self, text):
        path = os.path.join(self.data, "asks.lua")
        with open(path, "w", encoding="utf-8") as file:
            file.write(text)
        return path

    def talk(self, arguments):
        talk = rig.Lines(arguments + ["--data", self.data])
        self.addCleanup(talk.kill)
        return talk

    @staticmethod
    def next_ask(talk):
        """The procedure's next ask, or the end: the core's own cautions are answered."""
        while True:
            message, _ = talk.next_ask()
            if message is None or message.get("kind") != "caution":
                return message
            talk.answer(message, message["code"])

    def child(self, talk):
        path = "/proc/%d/task/%d/children" % (talk.process.pid, talk.process.pid)
        with open(path, encoding="ascii") as file:
            children = file.read().split()
        self.assertEqual(len(children), 1)
        return int(children[0])

    def test_the_system_shows_a_process_that_has_nothing(self):
        talk = self.talk(["tune", "v8-coupled"])
        self.next_ask(talk)
        child = self.child(talk)
        files = os.listdir("/proc/%d/fd" % child)
        self.assertEqual([os.readlink("/proc/%d/fd/%s" % (child, name))[:7] for name in files], ["socket:"])
        with open("/proc/%d/status" % child, encoding="ascii") as file:
            facts = dict(line.rstrip("\n").split(":\t", 1) for line in file)
        self.assertEqual((facts["Seccomp"], facts["NoNewPrivs"]), ("2", "1"))
        with open("/proc/%d/limits" % child, encoding="ascii") as file:
            limits = {line[:26].strip(): line[26:].split()[:2] for line in file}
        for name in ("Max data size", "Max core file size", "Max processes", "Max open files", "Max file size"):
            self.assertEqual(limits[name], ["0", "0"], name)
        self.assertEqual(limits["Max cpu time"], ["120", "120"])

    def test_its_death_costs_no_answer(self):
        path = self.file(ASKS)
        talk = self.talk(["tune", path])
        for _ in range(4):
            ask = self.next_ask(talk)
            talk.answer(ask, True)
            ask = self.next_ask(talk)
            os.kill(self.child(talk), signal.SIGKILL)
            talk.answer(ask, True)
            end = self.next_ask(talk)
            self.assertEqual((end["type"], end["outcome"]), ("end", "failed"))
            self.assertTrue(end["summary"].startswith("asks.lua: the procedure"), end["summary"])
            self.assertIn("your answers are safe, the session can be resumed", end["summary"])
            self.assertNotIn("\n", end["summary"])
            self.assertEqual(talk.close()[0], 1)
            talk = self.talk(["resume"])
        ask = self.next_ask(talk)
        self.assertEqual((ask["key"], ask["title"]), ("k9", "Number 9"))
        talk.answer(ask, True)
        end = self.next_ask(talk)
        self.assertEqual(end["outcome"], "claimed")

    def test_a_loop_without_end_between_two_prompts(self):
        talk = self.talk(["tune", self.file(ENDLESS)])
        ask = self.next_ask(talk)
        begun = time.monotonic()
        talk.answer(ask, True)
        end = self.next_ask(talk)
        self.assertLess(time.monotonic() - begun, 10)
        self.assertEqual(end["outcome"], "failed")
        self.assertTrue(end["summary"].startswith("asks.lua:6: more than 5000000 steps"), end["summary"])
        talk.close()
        self.assertEqual(len([r for r in rig.records(rig.session_file(self.data)) if r.get("ask", {}).get("key") == "one"]), 1)

    def test_a_killed_program_leaves_no_lock_and_no_process(self):
        talk = self.talk(["tune", self.file(ASKS)])
        ask = self.next_ask(talk)
        talk.answer(ask, True)
        self.next_ask(talk)
        child = self.child(talk)
        talk.process.kill()
        talk.process.wait()
        again = self.talk(["resume"])
        hello = again.next()
        self.assertTrue(hello["resumed"])
        for _ in range(200):
            if not os.path.exists("/proc/%d" % child):
                break
            with open("/proc/%d/stat" % child, encoding="ascii") as file:
                if file.read().rsplit(")", 1)[1].split()[0] == "Z": # dead, and not yet waited for by init
                    break
            time.sleep(0.01)
        else:
            self.fail("the procedure's process lives on")

    def test_a_kernel_without_filters(self):
        path = self.file(ASKS)
        remark = "evenbore: this machine's kernel has no seccomp filters"

        def run(arguments):
            done = rig.subprocess.run([rig.PROGRAM] + arguments + ["--lines", "--data", self.data], input=b"",
                                      capture_output=True, env=rig.environment(), preexec_fn=take_filters_away,
                                      timeout=rig.PATIENCE_S)
            return done.returncode, done.stdout.decode(), done.stderr.decode()
        status, out, err = run(["tune", path])
        self.assertEqual((status, out), (1, ""))
        self.assertIn("asks.lua: this machine cannot lock a procedure in", err)
        self.assertEqual(err.count(remark), 1)
        status, out, err = run(["tune", path, "--trust-file"])
        self.assertEqual(status, 0)
        self.assertIn('"type":"ask"', out)
        self.assertEqual(err.count(remark), 1)
        status, out, err = run(["resume"])
        self.assertEqual((status, out), (1, ""))
        status, out, err = run(["resume", "--trust-file"])
        self.assertEqual(status, 0)
        self.assertIn('"type":"ask"', out)
        status, out, err = run(["tune", "v8-coupled"])
        self.assertEqual(status, 0)
        self.assertIn('"type":"ask"', out)
        self.assertEqual(err.count(remark), 1)


if __name__ == "__main__":
    unittest.main()
