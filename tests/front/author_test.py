#!/usr/bin/env python3
"""What an author types before there is a procedure: new, check, manual, and a library file of the shop's own."""
import json
import os
import resource
import shutil
import signal
import subprocess
import time
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


TWO = """return procedure {
  id = "two", version = "1", api = 1, title = "Two",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "balance", { 1 }, { 2 } } } },
  run = function(job)
    job:prepare()
%s
    job:balance()
    job:finish()
  end,
}
"""


class Meaning(Case):
    """What is sound Lua and makes no sense, each with the line and the words that tell of it; none of it is an error."""

    def look(self, name, text, line, *words):
        path = self.path(name, text)
        file = json.loads(self.done("check", "--json", path))["files"][0]
        told = [(f["line"], f["text"]) for f in file["findings"] if f["severity"] == "warning"]
        self.assertEqual(len(told), len(file["findings"]), file["findings"])
        self.assertTrue([t for at, t in told if at == line and all(word in t for word in words)], (line, words, told))
        self.assertEqual(rig.run(["check", "--strict", path])[0], 1)

    def test_each(self):
        self.look("fixed.lua", "return procedure {\n  id = 'f', version = '1', api = 1, title = 'F', layout = {\n"
                  "    rows = { { 1, 2, 3 } }, adjusters = { screw { 's', { 1 }, { 2, 3 } } } },\n"
                  "  run = function(job) job:prepare() job:balance() job:finish() end }\n", 3,
                  "no adjuster moves bores 2 3 against one another", "plates(rows)")
        self.look("twins.lua", TWO.replace("{ 1 }, { 2 } }", "{ 1 }, { 2 } },\n  screw { \"other\", { 2 }, { 1 } }") % "", 4,
                  "\"other\" does the same as \"balance\" the other way round")
        self.look("never.lua", TWO % "if job:state().pass > 99 then\n    job:must { key = 'k', title = 'T', text = 'Q?', "
                  "otherwise = 'D' } end", 7, "job:must here was never asked", "is what leads to it ever true?")
        self.look("long.lua", TWO % ("job:confirm { key = 'k', title = 'T', text = '%s' }" % ("wide " * 40)), 6,
                  "has a text of 200 characters", "put the reason into why")
        self.look("lines.lua", TWO % "job:confirm { key = 'k', title = 'T', text = 'One.\\nTwo.\\nThree?' }", 6,
                  "has 3 lines; two at most")
        self.look("no-claim.lua", TWO.replace("job:balance()", "job:pass()") % "", 1, "without a claim")

    def test_hands(self):
        sends = (("Press the lever home. Done?", "press"), ("Idling: then turn it. Done?", "turn"),
                 ("Look, and PULL it. Done?", "pull"), ("Is it tight by hand?", "by hand"),
                 ("First\\nTake off the lid. Done?", "take off"), ("Keep your hand there. Done?", "your hand"))
        not_so = ("Pressure steady?", "Is the turn counted?", "Does it return?", "Handbook at hand?", "A single push-rod?")
        prompt = "job:must { key = 'k%d', title = 'T', text = '%s', otherwise = 'D'%s }"

        def whole(texts, more):
            return TWO % "\n".join(prompt % (i, text, more) for i, text in enumerate(texts))
        path = self.path("hands.lua", whole([text for text, _ in sends], ""))
        told = [(f["line"], f["text"]) for f in json.loads(self.done("check", "--json", path))["files"][0]["findings"]]
        self.assertEqual([line for line, _ in told], list(range(6, 12)))
        for (_, words), (_, met) in zip(told, sends):
            self.assertIn("(\"%s\"), and no caution for that comes before it; write hands = true" % met, words)
        path = self.path("known.lua", whole([text for text, _ in sends], ", hands = true"))
        self.assertIn("0 wrong, 0 to look at.", self.done("check", "--strict", path))
        path = self.path("not-so.lua", whole(not_so, ""))
        self.assertIn("0 wrong, 0 to look at.", self.done("check", "--strict", path))

    def test_hands_in_a_library_file(self):
        path = self.path("uses.lua", USES)
        self.path("lib/ours.lua", OURS.replace("Shims under both stops?", "Push shims under both stops. Done?"))
        self.assertIn("lib/ours.lua:3: look: the prompt \"cold.shims\" sends hands to the engine (\"push\")",
                      rig.run(["check", path])[1].replace("\n  ", " "))

    def test_what_cannot_be_seen(self):
        for name, text, words in (("turned.lua", "-- \u202eturned", "U+202E"), ("hidden.lua", "-- hid\u200bden", "U+200B"),
                                  ("bell.lua", "-- bell\a", "U+0007"), ("mark.lua", "-- \ufeff", "U+FEFF")):
            status, out, _ = rig.run(["check", self.path(name, (TWO % text))])
            self.assertEqual(status, 1)
            self.assertIn("%s:6: wrong: the character %s hides" % (name, words), out.replace("\n  ", " "))
        self.look("alike.lua", TWO % "job:tell 'Sp\u0430cer fitted.'", 6, "U+0430 looks like a letter of another alphabet")
        self.assertIn("0 wrong, 0", self.done("check", "--strict", self.path("greek.lua", TWO % "job:tell '5 \u00b5m, \u03b1.'")))

    def test_units(self):
        for line, words in (("job:number { key = 'k', title = 'T', text = 'Q', quantity = 'length', unit = 'C', low = 0, high = 1 }",
                             "unit"),
                            ("job:number { key = 'k', title = 'T', text = 'Q', quantity = 'lenght', unit = 'mm', low = 0, high = 1 }",
                             "it is one of: ")):
            status, out, _ = rig.run(["check", self.path("units.lua", TWO % line)])
            self.assertEqual(status, 1, out)
            self.assertIn("units.lua:6: wrong: ", out)
            self.assertIn(words, out.replace("\n  ", " "))

    def test_loops(self):
        for line, words in (("while true do end", "more than 5000000 steps"),
                            ("while true do job:confirm { key = 'k', title = 'T', text = 'Q' } end", "times in a row")):
            begun = time.monotonic()
            status, out, _ = rig.run(["check", self.path("loop.lua", TWO % line)], patience=MINUTES_S)
            self.assertLess(time.monotonic() - begun, MINUTES_S / 2)
            self.assertEqual(status, 1, out)
            self.assertIn("loop.lua:6: wrong: ", out)
            self.assertIn(words, out.replace("\n  ", " "))


class Files(Case):
    """What is no procedure costs one line, and the others are looked at all the same."""

    def test_no_procedure(self):
        os.mkdir(self.path("folder.lua"))
        os.mkfifo(self.path("pipe.lua"))
        os.symlink("nowhere", self.path("dangling.lua"))
        for name, content, words in (
                ("folder.lua", None, "this is no file, it is a folder"), ("pipe.lua", None, "this is no file, it is a pipe or a device"),
                ("dangling.lua", None, "no such file"), ("none.lua", None, "no such file"),
                ("empty.lua", b"", "this file is empty"), ("huge.lua", b"-- \n" * 20000, "this file is larger than 64 KiB"),
                ("bytes.lua", b"return \0procedure {}", "this file holds a NUL byte"), ("latin.lua", b"-- \xe9", "byte 4 is not UTF-8"),
                ("compiled.lua", b"\x1bLuaT", "compiled Lua"), ("no-lua.txt", None, "no such file"), ("no-lua", None, "no such file"),
                ("half.lua", b"return procedure {", "unexpected symbol near <eof>")):
            path = self.path(name)
            if content is not None:
                with open(path, "wb") as file:
                    file.write(content)
            status, out, error = rig.run(["check", path])
            self.assertEqual((status, error), (1, ""), name)
            self.assertIn("wrong: " + words, out.replace("\n  ", " "), name)

    def test_unreadable(self):
        path = self.path("shut.lua", TWO % "")
        os.chmod(path, 0)
        program = ["setpriv", "--reuid", "65534", "--clear-groups"] if os.geteuid() == 0 else []
        os.chmod(self.folder, 0o755)
        done = subprocess.run(program + [rig.PROGRAM, "check", path], capture_output=True, check=False,
                              env=rig.environment())
        self.assertEqual(done.returncode, 1)
        self.assertIn(b"cannot be read (Permission denied)", done.stdout.replace(b"\n  ", b" "))

    def test_sorted_and_complete(self):
        many = "\n".join("job:confirm { key = 'k%d', title = 'T', text = '%s' }" % (i, "long " * 40) for i in range(250))
        file = json.loads(self.done("check", "--json", self.path("many.lua", TWO % many)))["files"][0]
        lines = [f["line"] for f in file["findings"]]
        self.assertEqual((lines, len(lines), file["more"]), (sorted(lines), 200, True))
        self.assertIn("There is more, for which there is no room here", self.done("check", self.path("many.lua")))

    def test_names_that_are_no_text(self):
        name = os.fsencode(self.folder) + b"/a\xff\nb.lua"
        done = subprocess.run([rig.PROGRAM.encode(), b"check", b"--json", name], capture_output=True, check=False,
                              env=rig.environment())
        self.assertTrue(json.loads(done.stdout.decode())["files"][0]["file"].endswith("a\\xFF\\u{A}b.lua"), done.stdout)

    def test_output_that_cannot_be_written(self):
        path = self.path("two.lua", TWO % "")
        for json_too in ([], ["--json"]):
            with open("/dev/full", "wb") as full:
                done = subprocess.run([rig.PROGRAM, "check", path] + json_too, stdout=full, stderr=subprocess.PIPE,
                                      check=False, env=rig.environment())
            self.assertEqual(done.returncode, 1)
            self.assertIn(b"standard output", done.stderr)

    def test_budget(self):
        out = self.done("check", "--budget", self.path("two.lua", TWO % ""))
        for words in ("steps between two answers", "memory, bytes", "prompts of one job", "text of one prompt", "one request"):
            self.assertRegex(out, words + r",?.* of +\d+, +\d+\.\d %")


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
