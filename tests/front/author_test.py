#!/usr/bin/env python3
"""What an author types before there is a procedure: new, check, manual, and a library file of the shop's own."""
import json
import os
import resource
import shutil
import signal
import subprocess
import unittest

import rig

V8 = ["--rows", "left 1 3 5 7 / right 2 4 6 8", "--parts",
      "link left | right; coupler 1 3 | 5 7; coupler 2 4 | 6 8; plate each", "--title", "Shop V8"]
MINUTES_S = 200  # for what plays many engines under sanitizers

OURS = """local ours = {}
function ours.shims(job)
  job:must { key = "cold.shims", title = "Shims", text = "Shims under both stops?", otherwise = "Put them in." }
end
return ours
"""
USES = """local ours = require "ours"
return procedure {
  id = "uses", version = "1.0.0", api = 1, title = "Uses", layout = { rows = { { 1, 2 } },
    adjusters = { screw { "balance", { 1 }, { 2 } } } },
  run = function(job)
    job:prepare()
    ours.shims(job)
    job:balance()
    job:finish()
  end,
}
"""


class Case(unittest.TestCase):
    def setUp(self):
        self.folder = rig.folder()
        self.addCleanup(shutil.rmtree, self.folder)

    def path(self, name, content=None):
        path = os.path.join(self.folder, name)
        if content is not None:
            os.makedirs(os.path.dirname(path), exist_ok=True)
            with open(path, "w", encoding="utf-8") as file:
                file.write(content)
        return path

    def done(self, *arguments, status=0, stdin=b""):
        got, out, error = rig.run(list(arguments), stdin=stdin, patience=MINUTES_S)
        self.assertEqual(got, status, (arguments, out, error))
        return out if status == 0 else error


class New(Case):
    def test_what_it_writes_can_be_used_at_once(self):
        path = self.path("my-v8.lua")
        self.assertIn("evenbore check", self.done("new", path, *V8))
        self.assertEqual(sorted(os.listdir(self.folder)), [".luarc.json", "evenbore-api.lua", "my-v8.lua"])
        out = self.done("check", "--strict", path)
        self.assertIn("0 wrong, 0 to look at.", out)
        self.assertIn("coupler between 1 3 and 5 7, engine off: 1 3 against 5 7", out)
        result = json.loads(self.done("rehearse", path, "--engines", "4", "--quiet", "--json"))
        self.assertEqual(result["failed"] + result["stuck"], 0)
        with open(self.path(".luarc.json"), encoding="utf-8") as file:
            self.assertEqual(json.load(file)["workspace.library"], ["evenbore-api.lua"])
        with open(self.path("evenbore-api.lua"), encoding="utf-8") as file:
            self.assertEqual(file.read(), self.done("manual", "api", "--as", "lua"))

    def test_it_asks_for_what_is_not_given(self):
        path = self.path("b.lua")
        out = self.done("new", path, stdin=b"1 2 / x\n3 + 4\n4 + 4\nodd-lefd\nodd-left\nlink left | right; wedge each\n")
        self.assertIn("Not taken: no scheme numbers these rows", out)
        self.assertIn("Not taken: at character 8", out)
        self.assertIn("did you mean \"odd-left\"?", out)
        with open(path, encoding="utf-8") as file:
            text = file.read()
        self.assertIn("{ 1, 3, 5, 7 },\n      { 2, 4, 6, 8 },", text)
        self.assertIn("kind = \"wedge\"", text)
        self.assertIn("0 wrong, 0 to look at.", self.done("check", "--strict", path))

    def test_every_part_has_an_id_and_a_title_of_its_own(self):
        for rows, parts in (("1 2 3 4", "screw 1 | 2; screw 1 | 2 3; screw 1 | 2 4; screw each"),
                            ("left 1 2 / right 3 4", "link left | right; link 1 3 | 2 4; screw 1 2; screw 3 4; plate each"),
                            ("left 1 2 / right 3 4", "screw left; screw 1; screw 2; coupler 1 | 2; coupler 3 | 4; plate each right"),
                            ("a%s b%s c%s" % (("9" * 18,) * 3), "wordofnineteenlette each; screw a%s b%s | c%s; "
                             "screw a%s | c%s b%s" % (("9" * 18,) * 6))):
            path = self.path("a.lua")
            self.done("new", path, "--rows", rows, "--parts", parts)
            self.assertIn("0 wrong, 0 to look at.", self.done("check", "--strict", path))
            os.remove(path)

    def test_titles(self):
        path = self.path("a.lua")
        for title in ("two\nlines", "a \"quote\"", "turn\u202eed", "bell\a", "hid\u200bden", "long " * 25):
            self.assertIn("--title: a title is one line of at most 120 bytes",
                          self.done("new", path, *V8[:-1], title, status=2))
        self.assertEqual(os.listdir(self.folder), [])
        self.done("new", path, *V8[:-1], "Zw\u00f6lf, [[zwei]] -- Reihen " + "x" * 80)
        self.assertIn("0 wrong, 0 to look at.", self.done("check", "--strict", path))

    def test_what_fails_half_way_leaves_nothing(self):
        def limit():
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            resource.setrlimit(resource.RLIMIT_FSIZE, (8192, 8192))
        done = subprocess.run([rig.PROGRAM, "new", self.path("a.lua")] + V8, capture_output=True, check=False,
                              env=rig.environment(), preexec_fn=limit)
        self.assertEqual(done.returncode, 1)
        self.assertIn(b"evenbore-api.lua: this file cannot be written (File too large)", done.stderr)
        self.assertEqual(os.listdir(self.folder), [])
        self.assertIn("there is no folder", self.done("new", self.path("none/a.lua"), *V8, status=2))

    def test_at_a_terminal(self):
        path = self.path("a.lua")
        talk = rig.Terminal(["new", path])
        self.addCleanup(talk.kill)
        self.assertIn("such as  left 1 3 5 7 / right 2 4 6 8", talk.screen())
        self.assertIn("Not taken: at character 3, 1 <here>1: this bore stands in the rows already", talk.type("1 1"))
        self.assertIn("Not taken: at character 3, 1 <here>\u00e92: a bore is a number", talk.type("1 \u00e92"))
        self.assertIn("Not taken: at character 1, <here>: a row without a bore", talk.type(""))
        self.assertIn("How are the cylinders numbered?", talk.type("4"))
        self.assertIn("did you mean \"front-to-rear\"?", talk.type("front-to-raer"))
        self.assertIn("What can be adjusted", talk.type("front-to-rear"))
        self.assertIn("Not taken: at character 1", talk.type("1 | 2"))
        self.assertIn("Not taken: a line of more than", talk.type(b"plate each " + b"; plate 1" * 150 + b"\n"))
        self.assertIn("Written: " + path, talk.type("screw 1 2 | 3 4; plate each"))
        self.assertEqual(talk.wait()[0], 0)
        self.assertIn("0 wrong, 0 to look at.", self.done("check", "--strict", path))

    def test_interrupted(self):
        for key, status, told in ((b"\x03", -signal.SIGINT, ""), (b"\x04", 2, "nothing was written; type it, or give --parts")):
            talk = rig.Terminal(["new", self.path("a.lua")])
            self.addCleanup(talk.kill)
            talk.screen()
            talk.type("1 2 3 4")
            talk.send(key)
            got, rest = talk.wait()
            self.assertEqual(got, status)
            self.assertIn(told, rest)
            self.assertEqual(os.listdir(self.folder), [])

    def test_nothing_is_written_over(self):
        path = self.path("mine.lua", "-- mine")
        api = self.path("evenbore-api.lua", "-- mine too")
        self.assertIn("stays as it is", self.done("new", path, *V8, status=1))
        self.assertIn("Kept:    evenbore-api.lua, which says something else", self.done("new", self.path("other.lua"), *V8))
        for kept, text in ((path, "-- mine"), (api, "-- mine too")):
            with open(kept, encoding="utf-8") as file:
                self.assertEqual(file.read(), text)

    def test_mistakes_point_at_the_character(self):
        path = self.path("a.lua")
        for rows, parts, words in (
                ("1 2 2", "screw each", "--rows: at character 5, 1 2 <here>2: this bore stands in the rows already"),
                ("1 2 /", "screw each", "at character 6"), ("1 a/b", "screw each", "a row without a bore"),
                ("1 2", "screw 1 | 3", "--parts: at character 11, screw 1 | <here>3: this is neither a bore"),
                ("1 2", "screw 1 | 1", "on the other side too"), ("1 2", "link 1", "this joins two sides"),
                ("1 2", "screw each | 1", "no second side"), ("1 2", "1 | 2", "begins with its kind"),
                ("1 2", "screw 1 2 2", "twice on one side"), ("\u00fc", "screw each", "at character 1, <here>\u00fc: "),
                ("1 2", "screw 1 | \u00fc", "at character 11, screw 1 | <here>\u00fc: "),
                ("1 2", "plate each; plate 2", "at character 13, plate each; <here>plate 2: bore 2 has a plate already"),
                ("1 2", "screw 1 | 2; screw 2 | 1", "<here>screw 2 | 1: a screw moves the same bores already"),
                ("a 1 2 / b 3 4", "plate each a; plate each", "<here>plate each: bore 1 has a plate already"), ("1 2", "screw |", "a side without a bore"),
                ("1 2", ";", "begins with its kind")):
            error = self.done("new", path, "--rows", rows, "--parts", parts, status=2)
            self.assertIn(words, error)
        self.assertIn("--rows", self.done("new", path, status=2))
        self.assertIn(".lua", self.done("new", self.path("a"), *V8, status=2))
        self.assertIn("small letters", self.done("new", self.path("My V8.lua"), *V8, status=2))
        self.assertIn("does not fill", self.done("new", path, "--rows", "3 + 3", "--numbering", "front-to-rear", "--parts",
                                                  "screw each", status=2))
        self.assertIn("only one row or two alike", self.done("new", path, "--rows", "3 + 4", "--numbering", "odd-left",
                                                             "--parts", "screw each", status=2))
        self.assertIn("leave it out", self.done("new", path, "--rows", "1 2", "--numbering", "odd-left", "--parts",
                                                "screw each", status=2))
        self.assertEqual(os.listdir(self.folder), [])


class Check(Case):
    def test_all_that_is_built_in(self):
        folder = os.path.join(os.path.dirname(os.path.dirname(rig.HERE)), "procedures")
        paths = sorted(os.path.join(folder, name) for name in os.listdir(folder) if name.endswith(".lua"))
        out = self.done("check", "--strict", "--json", "--budget", *paths)
        for file in json.loads(out)["files"]:
            self.assertEqual(file["findings"], [])
            self.assertTrue(all(0 < share < 0.5 for share in file["budget"].values()), file["budget"])

    def test_several_files_in_order(self):
        good, bad = self.path("good.lua", USES.replace("ours.shims(job)", "").replace("local ours = require \"ours\"", "")), \
            self.path("bad.lua", "return procedure {\n  titel = 1 }\n")
        status, out, error = rig.run(["check", bad, good, self.path("none.lua")])
        self.assertEqual((status, error), (1, ""))
        self.assertIn("did you mean title?", out.replace("\n  ", " "))
        self.assertIn("no such file", out)
        self.assertLess(out.index("bad.lua"), out.index("good.lua"))


class Library(Case):
    def test_a_file_beside_the_procedure(self):
        path = self.path("uses.lua", USES)
        self.path("lib/ours.lua", OURS)
        self.assertIn("0 wrong, 0 to look at.", self.done("check", "--strict", path))
        self.assertIn("Shims under both stops?", self.done("rehearse", path, "--engines", "1", "--show", "--quiet"))

    def test_it_goes_into_the_record_and_is_resumed_without_the_file(self):
        path, library = self.path("uses.lua", USES), self.path("lib/ours.lua", OURS)
        data = self.path("data")
        lines = rig.Lines(["tune", path, "--data", data])
        self.addCleanup(lines.kill)
        lines.next_ask()
        lines.close()
        first = rig.records(rig.session_file(data))[0]
        self.assertIn({"./lib/ours.lua": OURS}, [{file["name"]: file["source"]} for file in first["library"]])
        os.remove(library)
        again = rig.Lines(["resume", "--data", data])
        self.addCleanup(again.kill)
        ask, before = again.next_ask()
        self.assertEqual(ask["type"], "ask")
        self.assertTrue(before[0]["resumed"])
        again.close()

    def test_it_sees_what_the_procedure_sees(self):
        path = self.path("uses.lua", USES)
        self.path("lib/ours.lua", OURS + "local x = core\n")
        self.assertIn("lib/ours.lua:6: wrong: there is no core here", rig.run(["check", path])[1].replace("\n  ", " "))
        self.path("lib/ours.lua", "return {\n  shims = function(job)\n    job:mast {}\n  end,\n}\n")
        self.assertIn("lib/ours.lua:3: wrong: job:mast: there is no such call; did you mean job:must?",
                      rig.run(["check", path])[1].replace("\n  ", " "))

    def test_a_built_in_name_is_not_taken_over(self):
        path = self.path("uses.lua", USES.replace("\"ours\"", "\"balance\"").replace("ours.shims(job)", ""))
        self.path("lib/balance.lua", OURS)
        self.assertIn("give yours another", rig.run(["check", path])[1].replace("\n  ", " "))


class Manual(Case):
    def test_one_call(self):
        self.assertIn("job:confirm { ... } gives true or false", self.done("manual", "api", "confirm"))
        self.assertIn("takes_off", self.done("manual", "api", "link"))
        self.assertIn("the nearest is confirm", self.done("manual", "api", "confrim", status=2))
        self.assertIn("evenbore manual api", self.done("manual", "lua", status=2))


if __name__ == "__main__":
    unittest.main()
