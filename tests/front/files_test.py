#!/usr/bin/env python3
"""What lies in files and on the command line, when it is wrong: one clear line, the right status, nothing half-written."""
import json
import os
import re
import shutil
import subprocess
import unittest

import rig

GOOD = """return procedure {
  id = "two", version = "1.0.0", api = 1, title = "Two bores",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "middle", { 1 }, { 2 } } } },
  run = function(job)
    job:confirm { key = "a", title = "First", text = "First?" }
    job:confirm { key = "b", title = "Second", text = "Second?" }
    job:confirm { key = "c", title = "Third", text = "Third?" }
  end,
}
"""


class Case(unittest.TestCase):
    def setUp(self):
        self.data = rig.folder()
        self.addCleanup(shutil.rmtree, self.data)

    def path(self, name):
        return os.path.join(self.data, name)

    def write(self, name, content):
        with open(self.path(name), "wb") as file:
            file.write(content if isinstance(content, bytes) else content.encode())
        return self.path(name)

    def fails(self, arguments, status, *parts, **more):
        got, out, error = rig.run(arguments + ["--data", self.data], **more)
        self.assertEqual(got, status, (arguments, out, error))
        self.assertRegex(error, r"\Aevenbore: [^\n]+\n\Z")
        for part in parts:
            self.assertIn(part, error)
        return out

    def sessions(self):
        folder = self.path("sessions")
        return sorted(os.listdir(folder)) if os.path.isdir(folder) else []


class CommandLine(Case):
    def test_mistakes_are_usage(self):
        self.fails(["tnue", "v8-coupled"], 2, "tnue", "tune")
        self.fails(["tune"], 2, "procedure")
        self.fails(["tune", "v8-coupled", "--tolerence", "5%"], 2, "--tolerance")
        self.fails(["tune", "v8-cuopled"], 2, "v8-cuopled", "v8-coupled")
        self.fails(["tune", "nothing-like-it"], 2, "evenbore procedures")
        self.fails(["tune", "v8-coupled", "--gauge", "scale 30..1"], 2, "word 2", "30..1")
        self.fails(["tune", "v8-coupled", "--tolerance", "0.05"], 2, "--tolerance")
        self.fails(["show", "20261104-none-1"], 2, "no such session")
        self.fails(["resume"], 2, "no session is open")
        self.fails(["resume", "7"], 2)
        self.fails(["show", ""], 2)
        self.fails(["help", "tnue"], 2, "tune")
        self.fails(["show", "\x1b[2J\n"], 2, "\\u{1B}[2J\\u{A}")
        self.assertEqual(self.sessions(), [])

    def test_no_home_is_said(self):
        status, _, error = rig.run(["sessions"], env=rig.environment(HOME=None))
        self.assertEqual(status, 2)
        self.assertIn("--data", error)

    def test_help_for_everything(self):
        status, overview, error = rig.run(["--help"])
        self.assertEqual((status, error), (0, ""))
        for word in ["tune", "resume", "sessions", "show", "procedures", "figure", "--lines", "--gauge", "Exit status", "keypad"]:
            self.assertIn(word, overview)
        self.assertLess(overview.index("Examples"), overview.index("Commands"))
        self.assertLessEqual(max(len(line) for line in overview.split("\n")), 80)
        for command in ["tune", "resume", "sessions", "show", "procedures", "figure", "help", "version"]:
            for arguments in (["help", command], [command, "--help"]):
                if arguments in (["figure", "--help"], ["help", "--help"]):
                    continue  # figure reads its own words; the other is help's overview
                status, text, error = rig.run(arguments)
                self.assertEqual((status, error), (0, ""), arguments)
                self.assertIn("evenbore " + command, text)

    def test_the_environment_says_where(self):
        status, _, _ = rig.run(["tune", "v8-coupled"], env=rig.environment(XDG_DATA_HOME=self.data))
        self.assertEqual(status, 0)
        self.assertEqual(len([name for name in os.listdir(self.path("evenbore/sessions")) if name.endswith(".jsonl")]), 1)
        status, _, _ = rig.run(["tune", "v8-coupled"], env=rig.environment(HOME=self.data))
        self.assertEqual(status, 0)
        self.assertTrue(os.path.isdir(self.path(".local/share/evenbore/sessions")))

    def test_options_for_all_commands_stand_anywhere(self):
        for line in ("figure unit 0.05mm --as thou --data x --ascii", "--data=x figure --no-color unit 0.05mm --as thou"):
            self.assertEqual(rig.run(line.split()), (0, "0.05 mm = 1.968504 thou\n", ""))
        self.assertEqual(rig.run(["figure", "unit", "0.05mm", "--as", "thou", "--data"])[0], 2)

    def test_a_full_output_is_said(self):
        with open("/dev/full", "wb") as full:
            done = subprocess.run([rig.PROGRAM, "--help"], stdout=full, stderr=subprocess.PIPE, env=rig.environment())
        self.assertEqual(done.returncode, 1)
        self.assertRegex(done.stderr.decode(), r"\Aevenbore: standard output: [^\n]+\n\Z")


    def test_closed_standard_files(self):
        """A journal must not come to lie where output goes, when that was closed."""
        for closed in ("<&-", ">&-", "2>&-", "<&- >&- 2>&-"):
            with self.subTest(closed=closed):
                lost = ">&-" in closed.split() # what was written to nowhere is no success
                data = self.path("closed" + str(len(closed)) + closed[0])
                command = '"$0" tune v8-coupled --data "$1" ' + closed
                done = subprocess.run(["sh", "-c", command, rig.PROGRAM, data], stdin=subprocess.DEVNULL,
                                      capture_output=True, env=rig.environment(), timeout=rig.PATIENCE_S)
                self.assertEqual(done.returncode, 1 if lost else 0)
                self.assertRegex(done.stderr.decode(), r"\Aevenbore: standard output: [^\n]+\n\Z" if closed == ">&-"
                                 else r"\A\Z")
                self.assertEqual([record["kind"] for record in rig.records(rig.session_file(data))], ["open"])


class Procedures(Case):
    def test_files_that_are_no_procedures(self):
        cases = [
            ("parse.lua", GOOD.replace("layout =", "layout = ="), "parse.lua:3"),
            ("nothing.lua", "local x = 1\n", "nothing.lua"),
            ("number.lua", "return 7\n", "number.lua"),
            ("no-title.lua", GOOD.replace(', title = "Two bores"', ""), "title"),
            ("no-run.lua", re.sub(r"run = .*end,\n", "", GOOD, flags=re.S), "run"),
            ("twice.lua", GOOD.replace("{ 1, 2 } }", "{ 1, 1 } }"), "twice.lua"),
            ("empty-side.lua", GOOD.replace("{ 1 }, { 2 }", "{}, { 2 }"), "empty-side.lua:3"),
            ("not-there.lua", GOOD.replace("{ 1 }, { 2 }", "{ 1 }, { 7 }"), "not-there.lua:3"),
            ("both-sides.lua", GOOD.replace("{ 1 }, { 2 }", "{ 1 }, { 1 }"), "both-sides.lua:3"),
            ("later.lua", GOOD.replace("api = 1", "api = 99"), "99"),
            ("global.lua", "oops()\n" + GOOD, "global.lua:1"),
            ("error.lua", 'error("\x1b[2J\x07 no")\n', "error.lua:1"),
            ("forever.lua", "while true do end\n", "forever.lua"),
            ("empty.lua", "", "empty"),
            ("binary.lua", b"\x1bLua\x54\x00\x19", "bytecode"),
            ("latin.lua", "-- f\xfcr\n".encode("latin-1"), "UTF-8"),
            ("large.lua", "-" * 70000, "64 KiB"),
        ]
        for name, source, part in cases:
            with self.subTest(name=name):
                self.assertNotIn("\x1b", self.fails(["tune", self.write(name, source)], 2 if name == "large.lua" else 1, part))
                self.assertEqual([n for n in self.sessions() if n.endswith(".jsonl")], [])

    def test_paths_that_lead_to_none(self):
        os.mkdir(self.path("folder.lua"))
        self.fails(["tune", self.path("folder.lua")], 2, "folder")
        self.fails(["tune", self.path("missing.lua")], 2, "no such file")
        self.fails(["tune", "./missing"], 2, "no such file")

    def test_what_fails_later_leaves_a_session_that_can_be_resumed(self):
        source = GOOD.replace('key = "b"', "kye = \"b\"")
        path = self.write("later.lua", source)
        self.fails(["tune", self.write("at-once.lua", GOOD.replace("job:confirm", "job:cofnirm", 1))], 1, "at-once.lua:5")
        shutil.rmtree(self.path("sessions"))
        status, out, error = rig.typed(["tune", path, "--data", self.data], ["1"])
        self.assertEqual(status, 1)
        self.assertIn("The procedure failed.", out)
        self.assertIn("evenbore resume ", out)
        self.assertRegex(error, r"\Aevenbore: [^\n]*later\.lua:6[^\n]*\n\Z")
        self.fails(["resume"], 1, "later.lua:6")

    def test_a_procedure_of_ones_own(self):
        status, out, error = rig.typed(["tune", self.write("two.lua", GOOD), "--data", self.data], ["1", "1", "1"])
        self.assertEqual(error, "")
        self.assertIn("First?", out)
        self.assertRegex(" ".join(self.sessions()), r"\d{8}-two-1\.jsonl")
        self.assertIn(status, (0, 1))


class Sessions(Case):
    def setUp(self):
        super().setUp()
        self.procedure = self.write("two.lua", GOOD)
        rig.typed(["tune", self.procedure, "--data", self.data, "--engine", "green six"], ["1", "0"])
        self.file = rig.session_file(self.data)
        self.id = os.path.basename(self.file)[:-len(".jsonl")]
        with open(self.file, "rb") as file:
            self.content = file.read()

    def change(self, content):
        with open(self.file, "wb") as file:
            file.write(content)

    def test_a_session_by_every_name(self):
        for name in (self.id, self.id[:8], "1", self.file):
            with self.subTest(name=name):
                status, shown, error = rig.run(["show", name, "--data", self.data])
                self.assertEqual((status, error), (0, ""))
                self.assertIn("Session " + self.id, shown)
                self.assertIn("Open: the job is not over.", shown)
        rig.run(["tune", self.procedure, "--data", self.data])
        self.fails(["show", self.id[:8]], 2, "2 sessions begin so")
        self.fails(["show", self.id[:-1] + "x"], 2, "the nearest is")

    def test_the_list_says_how_each_stands(self):
        rig.run(["tune", self.procedure, "--data", self.data], stdin=b"stop x\n1\n")
        rig.run(["tune", self.procedure, "--data", self.data])
        third = os.path.join(self.data, "sessions", self.id[:-1] + "3.jsonl")
        with open(third, "rb") as file:
            content = file.read()
        with open(third, "wb") as file:
            file.write(content.replace(b'"title":"Two bores"', b'"title":"Two borez"', 1))
        self.write("sessions/empty.jsonl", b"")
        held = rig.Lines(["tune", self.procedure, "--data", self.data])
        held.next_ask()
        status, listed, error = rig.run(["sessions", "--data", self.data])
        held.close()
        self.assertEqual((status, error), (0, ""))
        states = dict(re.findall(r"(?m)^ *\d+  (\S+)  (\w+)$", listed))
        stem = self.id[:-1]
        self.assertEqual(states, {stem + "1": "open", stem + "2": "stopped", stem + "3": "damaged", stem + "4": "held",
                                  "empty": "unreadable"})
        self.assertIn("green six, two, begun ", listed)
        status, listed, _ = rig.run(["sessions", "--data", self.path("nowhere")])
        self.assertEqual(status, 0)
        self.assertIn("No sessions yet", listed)

    def test_held_by_another_process(self):
        held = rig.Lines(["resume", "--data", self.data])
        held.next_ask()
        self.fails(["resume", "1"], 1, "held by process %d" % held.process.pid)
        self.fails(["resume"], 1, "held by")
        status, _, _ = rig.run(["show", "1", "--data", self.data])
        self.assertEqual(status, 0)
        held.close()

    def test_files_that_are_no_sessions(self):
        os.mkdir(self.path("sessions/folder.jsonl"))
        for name, content in (("empty", b""), ("words", b"not a session\n"), ("other", b'{"kind":"open"}\n'),
                              ("blank", b"\n\n\n"), ("zero", b"\0" * 300), ("folder", None)):
            with self.subTest(name=name):
                path = self.path("sessions/%s.jsonl" % name)
                if content is not None:
                    self.write("sessions/%s.jsonl" % name, content)
                for command in ("show", "resume"):
                    self.fails([command, path], 1, name)
                if content is not None:
                    with open(path, "rb") as file:
                        self.assertEqual(file.read(), content)
        self.fails(["resume", self.path("sessions/missing.jsonl")], 2, "missing")
        self.fails(["show", self.path("sessions/missing.jsonl")], 2, "missing")

    def test_a_later_format(self):
        self.change(self.content.replace(b'"format":1', b'"format":999', 1))
        for command in ("show", "resume"):
            got, _, error = rig.run([command, "1", "--data", self.data])
            self.assertEqual(got, 1)
            self.assertRegex(error, r"\Aevenbore: [^\n]+\n\Z")

    def test_a_torn_tail_is_put_aside(self):
        self.change(self.content + b'{"kind":"answer","n":3,"ti')
        status, shown, error = rig.run(["show", "1", "--data", self.data])
        self.assertEqual((status, error), (0, ""))
        self.assertIn("unfinished record", shown)
        status, out, error = rig.run(["resume", "--data", self.data])
        self.assertEqual((status, error), (0, ""))
        said = " ".join(out.split())
        self.assertIn("26 bytes of an unfinished record were put aside in", said)
        self.assertIn("3 answers so far; the last: Second, no", said)
        with open(self.file + ".torn-1", "rb") as file:
            self.assertEqual(file.read(), b'{"kind":"answer","n":3,"ti')
        self.assertIn("Recovered: 26 bytes", rig.run(["show", "1", "--data", self.data])[1])

    def test_changed_records_are_named(self):
        lines = self.content.split(b"\n")
        for number in range(len(lines) - 1):
            with self.subTest(record=number + 1):
                changed = list(lines)
                changed[number] = changed[number].replace(b'"time":"20', b'"time":"30', 1)
                self.change(b"\n".join(changed))
                self.fails(["resume", "1"], 1, "record %d" % (number + 1))
                out = self.fails(["show", self.file], 1, "record %d" % (number + 1))
                if number > 0:  # before the first record there is nothing to tell
                    self.assertIn("Damaged: record %d" % (number + 1), out)
                with open(self.file, "rb") as file:
                    self.assertEqual(file.read(), b"\n".join(changed))

    def test_over_is_over(self):
        rig.run(["resume", "--data", self.data], stdin=b"stop done with it\n1\n")
        self.fails(["resume", "1"], 1, "over")
        self.fails(["resume"], 2, "no session is open")

    def test_places_that_cannot_be_written(self):
        self.write("file", b"")
        for command in (["tune", "v8-coupled"], ["sessions"], ["engines"], ["gauges"], ["habits"], ["makers"],
                        ["resume"], ["engine", "red", "bore_mm=48"]):
            got, out, error = rig.run(command + ["--data", self.path("file")])
            self.assertEqual((got, out), (2, ""), command)
            self.assertRegex(error, r"\Aevenbore: [^\n]*file: this is no folder[^\n]*--data\n\Z")
        got, _, error = rig.run(["tune", "v8-coupled", "--data", "/proc/nowhere"])
        self.assertEqual(got, 1)
        self.assertRegex(error, r"\Aevenbore: /proc/nowhere[^\n]+--data\n\Z")

    def test_hostile_words_in_a_session_are_spelled_out(self):
        wicked = "V8 \x1b]0;owned\x07\u202e\x9b31m"
        rig.run(["tune", self.procedure, "--data", self.data, "--engine", wicked])
        for arguments in (["sessions"], ["show", "1"]):
            _, out, _ = rig.run(arguments + ["--data", self.data])
            self.assertIn("\\u{1B}]0;owned\\u{7}\\u{202E}\\u{9B}31m", out)
            self.assertFalse(set(out) & set("\x1b\x07\u202e\x9b"))


class Lists(Case):
    def test_procedures_are_listed_with_their_titles(self):
        status, out, error = rig.run(["procedures"])
        self.assertEqual((status, error), (0, ""))
        self.assertRegex(out, r"(?m)^v8-coupled +V8")

    def test_the_version(self):
        status, out, _ = rig.run(["--version"])
        self.assertEqual(status, 0)
        self.assertRegex(out, r"\Aevenbore \d+\.\d+\.\d+ ")


if __name__ == "__main__":
    unittest.main()
