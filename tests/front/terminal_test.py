#!/usr/bin/env python3
"""The program at a pseudo-terminal, as a tuner uses it."""
import fcntl
import os
import re
import shutil
import signal
import struct
import subprocess
import termios
import time
import unittest

import rig

KEYPAD = re.compile(r"[0-9.,+*/ -]*")
MISTYPED = ["nan", "inf", "1e400", "-500", "", "   ", "x" * 4000, "0x10", "1,234,5", b"\xff\xfe\n", b"\x1b[A\n", b"6\x0025\n"]


class Case(unittest.TestCase):
    def setUp(self):
        self.data = rig.folder()
        self.addCleanup(shutil.rmtree, self.data)

    def terminal(self, arguments, **more):
        terminal = rig.Terminal(arguments + ["--data", self.data], **more)
        self.addCleanup(terminal.kill)
        return terminal

    def records(self):
        return rig.records(rig.session_file(self.data))

    def go_on(self, terminal, tuner, screen, until):
        """Answers screens until one has `until` in it, or the job is over."""
        for _ in range(400):
            if until in screen or not screen.endswith("> "):
                return screen
            screen = terminal.type(tuner.answer(screen))
        raise AssertionError("this job does not end")

    def check_account(self, path_or_id="1"):
        status, shown, error = rig.run(["show", path_or_id, "--data", self.data])
        self.assertEqual((status, error), (0, ""))
        return shown


class WholeJob(Case):
    def test_a_job_with_slip_take_back_note_pause_and_resume(self):
        engine = rig.Engine(11)
        tuner = rig.Tuner(engine)
        uneven = engine.spread()
        terminal = self.terminal(["tune", "v8-coupled", "--engine", "grey V8"])
        first = terminal.screen()
        self.assertIn("Keys: back -   note +   why *   chart /   pause //   stop --   help **", first)
        screen = self.go_on(terminal, tuner, first, "Measure, pass 1: Bore 3")
        self.assertNotIn("Keys:", screen)

        slip = terminal.type("62.5")
        self.assertIn("62.5 looks like a slip", slip)
        self.assertIn("Type 62.5 again if it is right", " ".join(slip.split()))
        self.assertIn("Measure, pass 1: Bore 5", terminal.type("6.75"))

        back = terminal.type("-")
        self.assertIn("Measure, pass 1: Bore 3", back)
        self.assertIn("before: 6.75", back)
        again = terminal.type("")
        self.assertIn("Bore 3", again)
        self.assertNotIn("Bore 5", again)
        screen = terminal.type("6.5")
        self.assertIn("Bore 5", screen)

        self.assertIn("The note, on one line", terminal.type("+"))
        self.assertIn("Noted.", terminal.type("idle hunts a little"))
        self.assertIn("Hold it the same way each time", terminal.type("*"))
        chart = terminal.type("/")
        self.assertRegex(chart, r"(?m)^3 +6\.50 +4 +-$")
        self.assertIn("There is no verdict yet", chart)
        self.assertIn("A reading: hold the gauge", terminal.type("**"))

        terminal.send("//")
        status, farewell = terminal.wait()
        self.assertEqual(status, 0)
        self.assertIn("evenbore resume ", farewell)

        terminal = self.terminal(["resume"])
        screen = terminal.screen()
        self.assertIn("Resumed: session", screen)
        self.assertRegex(screen, r"answers so far; the last: Bore 3, 6\.5 div \(record \d+\)")
        screen = self.go_on(terminal, tuner, screen, "Measure, pass 1: Bore 5")
        screen = self.go_on(terminal, tuner, screen, "The whole account:")
        self.assertTrue("Done: the engine is even." in screen or "Done, with less" in screen, screen)
        self.assertEqual(terminal.wait()[0], 0)
        self.check_record(engine, uneven)

    def check_record(self, engine, uneven):
        records = self.records()
        self.assertEqual(records[-1]["kind"], "end")
        claim = records[-1]["claim"]["tolerance"]
        self.assertLess(engine.spread(), uneven / 2)
        self.assertLess(engine.spread(), claim, "the claim is not true of this engine")
        self.assertEqual([r["text"] for r in records if r["kind"] == "note"], ["idle hunts a little"])
        self.assertEqual(len([r for r in records if r["kind"] == "withdraw"]), 1)
        shown = self.check_account()
        number = [i + 1 for i, r in enumerate(records) if r["kind"] == "withdraw"][0]
        self.assertIn("[taken back by record %d]" % number, shown)
        self.assertIn("Note: idle hunts a little", shown)
        self.assertIn("grey V8", shown)
        for i, record in enumerate(records):
            if record["kind"] == "answer":
                self.assertRegex(shown, r"(?m)^ *%d  \d\d:\d\d  " % (i + 1))

    def test_a_numeric_keypad_is_enough(self):
        engine = rig.Engine(3)
        tuner = rig.Tuner(engine)
        terminal = self.terminal(["tune", "v8-coupled"])
        screen = terminal.screen()
        typed = []
        for _ in range(400):
            if not screen.endswith("> "):
                break
            line = tuner.answer(screen)
            typed.append(line)
            screen = terminal.type(line)
        self.assertEqual(terminal.wait()[0], 0)
        self.assertEqual([line for line in typed if not KEYPAD.fullmatch(line)], [])
        self.assertIn(self.records()[-1]["outcome"], ("even", "claimed"))

    def test_what_cannot_be_done_or_read_gets_its_reason_by_number(self):
        engine = rig.Engine(5)
        tuner = rig.Tuner(engine)
        terminal = self.terminal(["tune", "v8-coupled"])
        screen = self.go_on(terminal, tuner, terminal.screen(), "00 if it cannot be read")
        self.assertIn("Why not? 1 not steady, 2 out of reach, 3 other", terminal.type("00"))
        self.assertIn("the question stands", terminal.type(""))
        terminal.type("00")
        screen = terminal.type("2")
        self.assertIn("out of reach", screen)
        screen = self.go_on(terminal, tuner, screen, "0 cannot be done")
        self.assertIn("Why not? 1 seized, 2 no travel left, 3 other", terminal.type("0"))
        self.assertIn("no travel left", terminal.type("2"))
        values = [r["value"] for r in self.records() if r["kind"] == "answer"]
        self.assertIn({"unreadable": "out of reach"}, values)
        self.assertIn({"done": False, "why": "no travel left"}, values)

    def test_stop_wants_a_reason_and_a_one(self):
        terminal = self.terminal(["tune", "v8-coupled"])
        terminal.screen()
        self.assertIn("Why stop?", terminal.type("--"))
        self.assertIn("Going on.", terminal.type(""))
        terminal.type("--")
        self.assertIn("Type 1 to end", terminal.type("1"))
        self.assertIn("Going on.", terminal.type(""))
        terminal.type("stop")
        terminal.type("no parts today")
        terminal.send("1")
        status, rest = terminal.wait()
        self.assertEqual(status, 1)
        self.assertIn("Stopped.", rest)
        self.assertEqual(self.records()[-1]["outcome"], "stopped")
        self.assertIn("no parts today", self.check_account())

    def test_a_caution_passes_by_its_code_alone(self):
        terminal = self.terminal(["tune", "v8-coupled"])
        screen = terminal.screen()
        code = re.search(r"Type (\d\d) when", screen).group(1)
        for line in ["", "", "", "   ", "1", "yes", "11", "00", "99", code[::-1], code * 2]:
            self.assertNotIn("Engine off", terminal.type(line))
        self.assertEqual(len(self.records()), 1)
        hazards = re.findall(r"^- .*", screen, re.MULTILINE)
        self.assertGreater(len(hazards), 3)
        self.assertEqual(re.findall(r"^- .*", terminal.type("**"), re.MULTILINE), hazards)
        self.assertIn("Engine off", terminal.type(code))


class Interruptions(Case):
    def interrupted(self, how):
        """A job of one answer that is interrupted; what was said, and that it goes on where it was."""
        terminal = self.terminal(["tune", "v8-coupled"])
        code = re.search(r"Type (\d\d) when", terminal.screen()).group(1)
        self.assertIn("Engine off", terminal.type(code))
        said = how(terminal)
        self.assertEqual([r["kind"] for r in self.records()], ["open", "answer"])
        again = self.terminal(["resume"])
        screen = again.screen()
        self.assertIn("1 answer so far", screen)
        again.send(b"\x04")
        self.assertEqual(again.wait()[0], 0)
        return said

    def ends_well(self, terminal):
        status, said = terminal.wait()
        self.assertEqual(status, 0)
        self.assertEqual(len(re.findall("nothing is lost", said)), 1)
        self.assertIn("evenbore resume ", said)

    def test_control_c_and_a_second_one(self):
        def how(terminal):
            terminal.send(b"\x03\x03")
            self.ends_well(terminal)
        self.interrupted(how)

    def test_control_d(self):
        def how(terminal):
            terminal.send(b"\x04")
            self.ends_well(terminal)
        self.interrupted(how)

    def test_half_a_line_at_the_end_is_not_taken(self):
        def how(terminal):
            terminal.send(b"1\x04\x04")
            self.ends_well(terminal)
        self.interrupted(how)

    def test_signals(self):
        for number in (signal.SIGTERM, signal.SIGHUP, signal.SIGINT):
            with self.subTest(signal=number):
                shutil.rmtree(os.path.join(self.data, "sessions"), ignore_errors=True)

                def how(terminal):
                    terminal.signal(number)
                    self.ends_well(terminal)
                self.interrupted(how)

    def test_stopped_and_continued(self):
        terminal = self.terminal(["tune", "v8-coupled"])
        screen = terminal.screen()
        terminal.signal(signal.SIGSTOP)
        time.sleep(0.1)
        terminal.signal(signal.SIGCONT)
        time.sleep(0.1)
        self.assertIn("Engine off", terminal.type(re.search(r"Type (\d\d) when", screen).group(1)))

    def test_leaving_a_question_of_the_programs_own(self):
        terminal = self.terminal(["tune", "v8-coupled"])
        terminal.screen()
        terminal.type("+")
        self.assertNotIn("Noted", terminal.type("-"))
        terminal.type("+")
        terminal.send("//")
        self.ends_well(terminal)
        self.assertEqual([r["kind"] for r in self.records()], ["open"])

    def test_a_terminal_that_is_made_narrow(self):
        terminal = self.terminal(["tune", "v8-coupled"], env=rig.environment(NO_COLOR="1"))
        terminal.screen()
        fcntl.ioctl(terminal.master, termios.TIOCSWINSZ, struct.pack("HHHH", 50, 40, 0, 0))
        self.assertLessEqual(max(len(line) for line in terminal.type("**").split("\n")), 40)

    def test_a_closed_terminal(self):
        def how(terminal):
            os.close(terminal.master)
            self.assertEqual(terminal.process.wait(rig.PATIENCE_S), 0)
        self.interrupted(how)

    def test_a_closed_pipe_behind_the_output(self):
        process = subprocess.Popen([rig.PROGRAM, "tune", "v8-coupled", "--data", self.data], stdin=subprocess.PIPE,
                                   stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=rig.environment())
        process.stdout.read(10)
        process.stdout.close()
        process.stdin.write(b"help\n" * 50)
        process.stdin.close()
        self.assertEqual(process.stderr.read(), b"")
        process.stderr.close()
        self.assertEqual(process.wait(rig.PATIENCE_S), 0)

    def test_a_full_disk_behind_the_output(self):
        with open("/dev/full", "wb") as full:
            done = subprocess.run([rig.PROGRAM, "tune", "v8-coupled", "--data", self.data], stdin=subprocess.PIPE, stdout=full,
                                  stderr=subprocess.PIPE, env=rig.environment(), timeout=rig.PATIENCE_S)
        self.assertEqual(done.returncode, 1)
        self.assertRegex(done.stderr.decode(), r"\Aevenbore: standard output: cannot be written.*\n\Z")


class Screens(Case):
    def first_screen(self, arguments=(), columns=80, **variables):
        terminal = self.terminal(["tune", "v8-coupled"] + list(arguments), columns=columns, env=rig.environment(**variables))
        screen = terminal.screen()
        terminal.send(b"\x04")
        terminal.wait()
        return terminal.text

    def test_style_only_where_it_is_wanted(self):
        self.assertIn("\x1b[1m", self.first_screen())
        for variables in ({"NO_COLOR": "1"}, {"TERM": "dumb"}, {"TERM": None}):
            with self.subTest(variables=variables):
                self.assertNotIn("\x1b", self.first_screen(**variables))
        self.assertNotIn("\x1b", self.first_screen(["--no-color"]))
        self.assertIn("\x1b[1m", self.first_screen(NO_COLOR=""))

    def test_no_style_in_a_file(self):
        _, out, _ = rig.run(["tune", "v8-coupled", "--data", self.data])
        self.assertIn("Caution: The place", out)
        self.assertNotIn("\x1b", out)

    def test_ascii_where_the_locale_knows_no_better(self):
        # The degree sign comes in by the engine's name, which the account shows.
        rig.run(["tune", "v8-coupled", "--data", self.data, "--engine", "V8 – 90° ± 1"])
        for locale, wanted in (({"LANG": "C"}, "V8 - 90 deg +/- 1"), ({"LANG": "C.UTF-8"}, "V8 – 90° ± 1"),
                               ({"LANG": "C.UTF-8", "LC_ALL": "C"}, "V8 - 90 deg +/- 1"),
                               ({"LANG": "C", "LC_CTYPE": "de_DE.utf8"}, "V8 – 90° ± 1"), ({"LANG": None}, "V8 - 90 deg +/- 1")):
            with self.subTest(locale=locale):
                _, shown, _ = rig.run(["show", "1", "--data", self.data], env=rig.environment(**locale))
                self.assertIn(wanted, shown)
        _, shown, _ = rig.run(["show", "1", "--data", self.data, "--ascii"])
        self.assertTrue(shown.isascii())

    def test_a_narrow_terminal(self):
        narrow = self.first_screen(columns=40, NO_COLOR="1")
        lines = [line for line in narrow.split("\n") if not line.startswith("  evenbore resume")]
        self.assertLessEqual(max(len(line) for line in lines), 40)
        self.assertGreater(max(len(line) for line in self.first_screen(columns=200, NO_COLOR="1").split("\n")), 60)


class Mistyped(Case):
    def test_nothing_wrong_is_taken_at_any_kind_of_prompt(self):
        engine = rig.Engine(17)
        tuner = rig.Tuner(engine)
        terminal = self.terminal(["tune", "v8-coupled"], env=rig.environment(NO_COLOR="1"))
        screen = terminal.screen()
        marks = {"caution": "all of this is seen to", "confirm": "1 yes, 0 no", "choose": "Type its number.",
                 "number": "rpm\n> ", "reading": "00 if it cannot be read", "engine": "1 when the engine",
                 "adjust": "0 cannot be done"}
        met = set()
        for _ in range(400):
            if not screen.endswith("> "):
                break
            kind = next((kind for kind, mark in marks.items() if mark in screen and kind not in met), None)
            if kind:
                met.add(kind)
                self.try_all(terminal, kind)
            if "Does the shop have an instrument" in screen:
                screen = terminal.type("3")
            else:
                screen = terminal.type(tuner.answer(screen))
        self.assertEqual(terminal.wait()[0], 0)
        self.assertEqual(met, set(marks))

    def try_all(self, terminal, kind):
        before = len(self.records())
        for line in MISTYPED:
            said = terminal.type(line)
            self.assertTrue(said.endswith("> "), (kind, line, said))
            self.assertEqual(len(self.records()), before, (kind, line, said))
            if line not in ("", "   "):
                refused = [part for part in said.split("\n") if part.startswith("Not taken: ")]
                self.assertEqual(len(refused), 1, (kind, line, said))
            shown = said.split("Not taken")[-1]
            self.assertNotIn("\x1b", shown)

    def test_a_line_longer_than_64_kib(self):
        status, out, error = rig.run(["tune", "v8-coupled", "--data", self.data], stdin=b"7" * 200000 + b"\n**\n")
        self.assertEqual((status, error), (0, ""))
        self.assertEqual(out.count("Not taken: the line is longer than 64 KiB"), 1)
        self.assertIn("A caution: see to every point", out)

    def test_a_mistyped_key_is_named(self):
        engine = rig.Engine(1)
        terminal = self.terminal(["tune", "v8-coupled"])
        self.go_on(terminal, rig.Tuner(engine), terminal.screen(), "1 yes, 0 no")
        self.assertIn("If you mean the key, it is back.", terminal.type("bakc"))


if __name__ == "__main__":
    unittest.main()
