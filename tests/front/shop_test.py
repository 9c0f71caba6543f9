#!/usr/bin/env python3
"""A shop's own files: engines, gauges, habits; made, changed, wrong, and taken into a job."""
import fcntl
import json
import os
import re
import shutil
import unittest

import rig

GOOD_ENGINE = {"format": "evenbore-engine", "version": 1, "name": "Red V8", "procedure": "v8-coupled"}
GOOD_GAUGE = {"format": "evenbore-gauge", "version": 1, "name": "Bench", "scale": [1, 30], "step": 0.25,
              "best": [1, 10]}


class Case(unittest.TestCase):
    def setUp(self):
        self.data = rig.folder()
        self.addCleanup(shutil.rmtree, self.data)

    def path(self, *names):
        return os.path.join(self.data, *names)

    def write(self, name, content):
        os.makedirs(os.path.dirname(self.path(name)), exist_ok=True)
        if isinstance(content, dict):
            content = json.dumps(content)
        with open(self.path(name), "wb") as file:
            file.write(content if isinstance(content, bytes) else content.encode())
        return self.path(name)

    def read(self, *names):
        with open(self.path(*names), "rb") as file:
            return file.read()

    def json(self, *names):
        return json.loads(self.read(*names))

    def runs(self, *arguments, data=True):
        got, out, error = rig.run(list(arguments) + (["--data", self.data] if data else []))
        self.assertEqual((got, error), (0, ""), (arguments, out, error))
        return out

    def fails(self, status, arguments, *parts):
        got, out, error = rig.run(list(arguments) + ["--data", self.data])
        self.assertEqual(got, status, (arguments, out, error))
        self.assertRegex(error, r"\Aevenbore: [^\n]+\n\Z")
        for part in parts:
            self.assertIn(part, error)


class Commands(Case):
    def test_an_engine_is_made_shown_and_changed(self):
        self.assertIn("No engines yet", self.runs("engines"))
        self.runs("engine", "red-v8", "name=Red V8", "procedure=v8-coupled", "idle_rpm=870", "tolerance=4%",
                  "bore_mm=1.89in", "throttle.unit=mil", "layout.cylinders=8", "layout.order=odd-left",
                  "layout.marked=true", "bores.7=seal renewed", "warm_c=176 F")
        self.assertEqual(self.json("engines", "red-v8.json"), {
            "format": "evenbore-engine", "version": 1, "name": "Red V8", "procedure": "v8-coupled", "idle_rpm": 870,
            "tolerance": 0.04, "throttle": {"bore_mm": 48.006, "unit": "thou"},
            "layout": {"cylinders": 8, "order": "odd-left", "marked": True}, "bores": {"7": "seal renewed"},
            "warm_c": 80})
        self.assertTrue(self.read("engines", "red-v8.json").startswith(b'{\n  "format": "evenbore-engine",\n'))
        self.runs("engine", "red-v8", "layout.cylinders=", "layout.order=", "layout.marked=", "bores.7=", "risk=")
        self.assertNotIn("layout", self.json("engines", "red-v8.json"))
        self.assertNotIn("bores", self.json("engines", "red-v8.json"))
        out = self.runs("engine", "red-v8")
        for part in ("Red V8", "870 rpm", "4 %", "48.006 mm", "80 C"):
            self.assertIn(part, out)
        self.assertRegex(self.runs("engines"), r"red-v8 +Red V8, v8-coupled")
        self.runs("habits", "temperature=F")
        self.assertIn("80 C (176 F)", self.runs("engine", "red-v8"))
        self.assertEqual(os.listdir(self.path("engines")), ["red-v8.json"])

    def test_a_gauge_is_made_shown_and_changed(self):
        self.assertIn("No gauges yet", self.runs("gauges"))
        self.runs("habits", "flow=kg/h")
        self.runs("gauge", "bench", "scale=1..30", "step=1/4", "best=1..10", "repeatability=1.5%")
        self.assertEqual(self.json("gauges", "bench.json"), {
            "format": "evenbore-gauge", "version": 1, "name": "bench", "unit": "kg/h", "scale": [1, 30], "step": 0.25,
            "best": [1, 10], "repeatability": 0.015})
        self.assertIn("1.5 %", self.runs("gauge", "bench"))
        self.assertIn("bench", self.runs("gauges"))

    def test_habits_are_set_shown_and_ended(self):
        self.assertIn("No habits", self.runs("habits"))
        self.runs("habits", "temperature=°F", "length=mil")
        self.assertEqual(self.json("habits.json"), {"format": "evenbore-habits", "version": 1, "temperature": "F",
                                                    "length": "thou"})
        self.assertRegex(self.runs("habits"), r"temperature +F\n +length +thou")
        self.runs("habits", "temperature=", "length=")
        self.assertIn("No habits", self.runs("habits"))

    def test_mistakes_change_nothing(self):
        self.runs("engine", "red-v8", "idle_rpm=870")
        self.runs("gauge", "bench", "scale=1..30", "step=0.25")
        before = self.read("engines", "red-v8.json"), self.read("gauges", "bench.json")
        self.fails(2, ["engine"], "a name is missing")
        self.fails(2, ["engines", "red-v8"], "one word too many")
        self.fails(2, ["engine", "red-v9"], "red-v9", "the nearest is red-v8")
        self.fails(2, ["engine", "red-v8", "idle_rmp=3"], "idle_rmp=3", "did you mean idle_rpm?")
        self.fails(2, ["engine", "red-v8", "colour=red"], "evenbore help engine")
        self.fails(2, ["engine", "red-v8", "idle_rpm"], "KEY=VALUE")
        self.fails(2, ["engine", "red-v8", "idle_rpm=fast"], "idle_rpm=fast")
        self.fails(2, ["engine", "red-v8", "idle_rpm=9000"], "from 300 to 3000 rpm")
        self.fails(2, ["engine", "red-v8", "idle_rpm=900", "warm_c=900"], "from 20 to 150 C")
        self.fails(2, ["engine", "red-v8", "bore_mm=5 bar"], "is a unit of pressure")
        self.fails(2, ["engine", "red-v8", "unit=C"], "mm or thou")
        self.fails(2, ["engine", "red-v8", "tolerance=4"], "0.05 for 5 %")
        self.fails(2, ["engine", "red-v8", "name="], "an engine needs \"name\"")
        self.fails(2, ["engine", "red-v8", "name=" + "x" * 61], "1 to 60 characters")
        self.fails(2, ["engine", "red-v8", "notes=a\x07b"], "1 to 1000 characters")
        self.fails(2, ["engine", "red-v8", "bore_mm=20", "shaft_mm=20"], "a shaft is thinner than its bore")
        self.fails(2, ["gauge", "bench", "scale=30..1"], "the lower first")
        self.fails(2, ["gauge", "bench", "scale=1-30"], "two points")
        self.fails(2, ["gauge", "bench", "best=0..10"], "inside the scale")
        self.fails(2, ["gauge", "bench", "step=20"], "at most 14.5")
        self.fails(2, ["gauge", "bench", "learned=0.01"], "the program's own part")
        self.fails(2, ["gauge", "second", "scale=1..30"], "a gauge needs \"step\"")
        self.fails(2, ["habits", "temprature=F"], "did you mean temperature?")
        self.fails(2, ["habits", "length=F"], "mm, um, cm, in or thou")
        self.assertEqual((self.read("engines", "red-v8.json"), self.read("gauges", "bench.json")), before)
        self.assertEqual(os.listdir(self.path("gauges")), ["bench.json"])
        self.assertFalse(os.path.exists(self.path("habits.json")))

    def test_names_that_lead_astray_are_refused(self):
        for name in ("..", ".", "../red", "a/b", "Red", "r\u00e9d", "r\u0435d", "red v8", "red\n", "con.",
                     "x" * 41, "r\u202eed", "%2e%2e", ""):
            self.fails(2, ["engine", name, "idle_rpm=870"], "small letters, digits and hyphens")
        self.fails(2, ["engine", "Red V8", "idle_rpm=870"], "such as red-v8")
        self.fails(2, ["tune", "--engine", "Red-V8"], "such as red-v8")
        self.fails(2, ["tune", "v8-coupled", "--gauge", "../bench"], "such as bench")
        self.assertFalse(os.path.exists(self.path("engines")))

    def test_a_path_may_be_named(self):
        path = self.path("elsewhere", "blue.json")
        self.runs("engine", path, "idle_rpm=870")
        self.assertEqual(self.json("elsewhere", "blue.json")["name"], "blue")
        self.assertIn("870 rpm", self.runs("engine", path))
        self.fails(2, ["engine", self.path("elsewhere", "none.json")], "no such file")

    def test_what_cannot_be_written_is_said(self):
        self.write("engines", b"")
        self.fails(1, ["engine", "red-v8", "idle_rpm=870"], "a folder is wanted")
        os.remove(self.path("engines"))
        os.makedirs(self.path("engines", "red-v8.json"))
        self.fails(1, ["engine", "red-v8", "idle_rpm=870"], "no file")

    def test_one_process_at_a_time_changes_files(self):
        self.runs("engine", "red-v8", "idle_rpm=870")
        folder = os.open(self.path("engines"), os.O_RDONLY)
        fcntl.flock(folder, fcntl.LOCK_EX)
        self.fails(1, ["engine", "red-v8", "idle_rpm=880"], "another evenbore is changing files")
        self.assertIn("870", self.runs("engine", "red-v8"))
        os.close(folder)
        self.runs("engine", "red-v8", "idle_rpm=880")

    def test_a_file_that_cannot_be_used_is_listed_and_not_overwritten(self):
        self.write("engines/red-v8.json", b"{\n\"format\": \"evenbore-engine\",\n}")
        self.assertRegex(self.runs("engines"), r"red-v8 +cannot be used")
        self.fails(1, ["engine", "red-v8", "idle_rpm=870"], "red-v8.json:3: no comma stands before")
        self.assertEqual(self.read("engines", "red-v8.json"), b"{\n\"format\": \"evenbore-engine\",\n}")

    def test_help_lists_every_key_that_a_file_may_have(self):
        for word, keys in (("engine", ("throttle.bore_mm", "idle_rpm", "layout", "bores")),
                           ("gauge", ("scale", "best", "repeatability")), ("habits", ("temperature", "flow"))):
            out = self.runs("help", word, data=False)
            for key in keys:
                self.assertRegex(out, r"(?m)^  " + re.escape(key) + r" ")


class Lines(Case):
    """A wrong file is pointed at with its line."""

    def engine(self, lines):
        return "{\n\"format\": \"evenbore-engine\",\n\"version\": 1,\n\"name\": \"Red\"" + lines + "\n}\n"

    def test_engines(self):
        wrong = [
            (",\n\"idle_rmp\": 870", 5, "an engine has no \"idle_rmp\"; did you mean idle_rpm?"),
            (",\n\"idle_rpm\": 870,\n\"idle_rpm\": 870", 6, "for the second time"),
            (",\n\"idle_rpm\": \"870\"", 5, "\"idle_rpm\" is \"870\"; it is to be a number from 300 to 3000 rpm, without"),
            (",\n\"idle_rpm\": 30", 5, "\"idle_rpm\" is 30; it is to be a number from 300 to 3000 rpm"),
            (",\n\"idle_rpm\": 1e400", 5, "a number is too large"),
            (",\n\"throttle\": {\n\"bore_mm\": 48,\n\"schaft_mm\": 8}", 7, "throttle has no \"schaft_mm\"; did you mean"),
            (",\n\"throttle\": {\n\"bore_mm\": 48,\n\"shaft_mm\": 48}", 7, "a shaft is thinner than its bore"),
            (",\n\"throttle\": {\n\"unit\": \"in\"}", 6, "it is to be mm or thou"),
            (",\n\"throttle\": [48]", 5, "a table in braces"),
            (",\n\"layout\": {\n\"a\": 1,\n\"b\": null}", 7, "\"b\" is null; it is to be a text"),
            (",\n\"layout\": {\n\"a\": {\"b\": 1}}", 6, "it is to be a text of at most 100 characters, a number"),
            (",\n\"bores\": {\n\"7/8\": 3}", 6, "\"7/8\" is 3"),
            (",\n\"notes\": \"\"", 5, "a text of 1 to 1000 characters"),
            (",\n\"notes\": \"a\\u0007b\"", 5, "a text of 1 to 1000 characters"),
            (",\n\"tolerance\": 4", 5, "such as 0.05 for 5 %"),
            (",\n\"notes\": \"two\nlines\"", 5, "the closing quote"),
            (",\n\"throttle\": " + "[" * 40, 5, "deeper than 32 levels"),
            ("\n\"risk\": 0.05", 5, "a comma or } is wanted"),
        ]
        for lines, line, part in wrong:
            path = self.write("wrong.json", self.engine(lines))
            for command in (["engine", path], ["tune", "v8-coupled", "--engine", path]):
                self.fails(1, command, "wrong.json:%d: " % line, part)

    def test_whole_files(self):
        wrong = [
            (b"", "wrong.json:1: the text ends too early"),
            (b"\xef\xbb\xbf{}", "wrong.json:1: the file begins with a byte order mark"),
            (b"{\n\"a\": \"\xff\"}", "wrong.json:2: this line is not UTF-8"),
            (b"[]", "wrong.json:1: this is no file of an engine"),
            (b"{}", "wrong.json:1: this is no file of an engine"),
            (b"{\n\"format\": \"evenbore-gauge\"}", "wrong.json:2: this is no file of an engine"),
            (b"{\"format\": \"evenbore-engine\"}", "wrong.json:1: the version of the format is missing"),
            (b"{\"format\": \"evenbore-engine\",\n\"version\": 2}", "wrong.json:2: the file is of version 2"),
            (b"{\"format\": \"evenbore-engine\",\n\"version\": 0.5}", "wrong.json:2: the version of the format"),
            (b"{\"format\": \"evenbore-engine\",\n\"version\": 1}", "wrong.json:1: an engine needs \"name\""),
            (b" " * 16385, "wrong.json: this file is larger than 16 KiB"),
            (b"{\"a\":" * 3000, "deeper than 32 levels"),
        ]
        for content, part in wrong:
            self.fails(1, ["engine", self.write("wrong.json", content)], part)

    def test_gauges(self):
        wrong = [({"scale": [30, 1]}, "the lower first"), ({"scale": [1]}, "two numbers"), ({"step": 20}, "at most 14.5"),
                 ({"best": [0, 10]}, "inside the scale"), ({"unit": "rpm"}, "div, kg/h, g/s or lb/h"),
                 ({"learned": {"repeatability": 0.01}}, "learned needs \"degrees_of_freedom\""),
                 ({"learned": {"repeatability": 0.01, "degrees_of_freedom": 3, "sessions": 1, "from": [3]}}, "3 is no table"),
                 ({"learned": {"repeatability": 0.01, "degrees_of_freedom": 3, "sessions": 1.5, "from": []}},
                  "a whole number"),
                 ({"vent": "\u00e9" * 20}, "longer than 31 bytes")]
        for more, part in wrong:
            self.fails(1, ["gauge", self.write("wrong.json", {**GOOD_GAUGE, **more})], "wrong.json:1: ", part)

    def test_habits(self):
        self.write("habits.json", b"{\"format\": \"evenbore-habits\", \"version\": 1,\n\"length\": \"inch\"}")
        self.fails(1, ["habits"], "habits.json:2: \"length\" is \"inch\"; it is to be mm, um, cm, in or thou")
        self.fails(1, ["tune", "v8-coupled"], "habits.json:2: ")

    def test_the_examples_of_the_header_are_good(self):
        with open(os.path.join(rig.HERE, "..", "..", "include", "evenbore", "shop.h"), encoding="utf-8") as file:
            comment = file.read().split("*/")[0]
        examples = re.findall(r"(?ms)^ \*   \{$.*?^ \*   \}", comment)
        self.assertEqual(len(examples), 3)
        for command, example in zip(("engine", "gauge", "habits"), examples):
            text = "\n".join(line[5:] for line in example.split("\n"))
            path = self.write("habits.json" if command == "habits" else "example.json", text)
            self.runs(command, *([] if command == "habits" else [path]))
            if command != "habits":
                self.runs(command, path, "notes=the same otherwise")
                self.assertEqual({**self.json("example.json"), "notes": None}, {**json.loads(text), "notes": None})


class Job(Case):
    """A whole job by the line protocol; what is asked in another unit is answered in it."""

    WARM = {"C": 90, "F": 194}
    GAPS = {"mm": [0.1016, 0.0762, 0.127, 0.1016, 0.0762, 0.1016, 0.127, 0.1016], "thou": [4, 3, 5, 4, 3, 4, 5, 4]}

    def setUp(self):
        super().setUp()
        self.engine = rig.Engine(23)
        self.asked = []
        self.gauge_marks = {}

    def talk(self, arguments):
        talk = rig.Lines(arguments + ["--data", self.data])
        self.addCleanup(talk.kill)
        return talk

    def reply(self, ask):
        kind, key = ask["kind"], ask["key"]
        self.asked.append(key)
        if kind == "engine" and ask["state"] == "running":
            self.engine.start()
        if kind == "caution":
            return ask["code"]
        if kind == "engine":
            return True
        if kind == "confirm":
            return key != "part.wanted" and not (key == "gauge.right" and self.gauge_marks)
        if kind == "choose":
            return {"cold.baseline": self.baseline, "cross.way": "none"}.get(key, ask["options"][0]["id"])
        if kind == "adjust":
            self.engine.move(ask["adjuster"], ask["share"])
            return {"done": True}
        if kind == "reading" and ask["quantity"] == "length":
            return self.GAPS[ask["unit"]][rig.Engine.LAYOUT.index(ask["bore"])]
        if kind == "reading":
            return self.engine.reading(ask["bore"])
        if kind == "number" and key.startswith("warm."):
            return self.WARM[ask["unit"]]
        if kind == "number" and key.startswith("gauge."):
            return self.gauge_marks.pop(key)
        if kind == "number":
            return rig.number(key)
        return "x"

    baseline = "on-paper"

    def whole(self, talk):
        seen = []
        while True:
            message, before = talk.next_ask()
            seen += before + [message]
            if message["type"] == "end":
                status, error = talk.close()
                return seen, status, error
            self.assertNotEqual(message["type"], "refused", message)
            talk.answer(message, self.reply(message))

    def shop(self, **more):
        self.write("engines/red-v8.json", {**GOOD_ENGINE, **more})
        self.write("gauges/bench.json", GOOD_GAUGE)

    def opening(self):
        return rig.records(rig.session_file(self.data))[0]

    def test_an_engines_file_answers_for_it(self):
        self.shop(tolerance=0.055, risk=0.1, idle_rpm=870, held_rpm=1800, warm_c=85, throttle={"bore_mm": 48})
        before = self.read("engines", "red-v8.json")
        talk = self.talk(["tune", "--engine", "red-v8", "--gauge", "bench", "--risk", "5%"])
        hello = talk.next()
        self.assertEqual((hello["procedure"]["id"], hello["tolerance"], hello["risk"]), ("v8-coupled", 0.055, 0.05))
        self.assertEqual(hello["gauge"]["best"], [1, 10])
        seen, status, _ = self.whole(talk)
        self.assertEqual(status, 0)
        self.assertIn("idle.now", self.asked)
        self.assertNotIn("idle.wanted", self.asked)
        texts = [message.get("text", "") for message in seen]
        self.assertIn("Coolant or oil, at operating temperature: at least 85 C.", texts)
        self.assertTrue(any("at a held 1800 rpm" in text for text in texts))
        inputs = self.opening()["inputs"]
        self.assertEqual(inputs["engine"], "Red V8")
        self.assertEqual(inputs["engine_file"], {**json.loads(before), "file": "red-v8"})
        self.assertEqual(inputs["gauge_file"], {**GOOD_GAUGE, "file": "bench"})
        self.assertEqual(self.read("engines", "red-v8.json"), before)
        self.assertIn("Red V8", self.runs("sessions"))

    def test_a_path_with_a_space_is_a_path(self):
        path = self.write("my engines/red.json", {**GOOD_ENGINE, "idle_rpm": 870})
        talk = self.talk(["tune", "--engine", path])
        self.assertEqual(talk.next()["procedure"]["id"], "v8-coupled")
        talk.close()
        self.assertEqual(self.opening()["inputs"]["engine_file"]["file"], "red.json")
        self.fails(2, ["tune", "v8-coupled", "--engine", self.path("my engines", "blue.json")], "no such file")
        self.fails(2, ["tune", "v8-coupled", "--gauge", self.path("my engines", "blue.json")], "no such file")

    def test_what_is_missing_is_said(self):
        self.shop()
        self.write("engines/bare.json", {key: GOOD_ENGINE[key] for key in ("format", "version", "name")})
        self.fails(2, ["tune"], "a procedure is missing")
        self.fails(2, ["tune", "--engine", "bare"], "names no procedure", "evenbore engine bare procedure=ID")
        self.fails(2, ["tune", "--engine", "red-v9"], "the nearest is red-v8")
        self.fails(2, ["tune", "--engine", "blue"], "make it with evenbore engine blue")
        self.fails(2, ["tune", "v8-coupled", "--gauge", "bensh"], "the nearest is bench")
        self.fails(2, ["tune", "v8-coupled", "--gauge", "scale"], "a value is missing behind scale")
        self.fails(2, ["tune", "v8-coupled", "--habits", "length"], "has no unit")
        self.fails(2, ["tune", "v8-coupled", "--habits", "length=F"], "is a unit of temperature")
        self.fails(2, ["resume", "--habits", "length=mm"], "a session keeps what it began with")
        self.shop(layout={"cylinders": 8})
        self.fails(1, ["tune", "--engine", "red-v8"], "engine file red-v8", "layout gives \"cylinders\"")
        self.assertFalse(os.path.exists(self.path("sessions")) and os.listdir(self.path("sessions")))

    def plans(self, seen):
        """What was decided: verdicts and moves, amounts in millimetres (NIST SP 811: an inch is 25.4 mm)."""
        decided = []
        for message in seen:
            if message.get("kind") == "verdict":
                decided.append(("verdict", message["verdict"]["word"], message["verdict"]["claim"]))
            for move in message.get("plan", {}).get("moves", []):
                amount = move["amount"]
                if amount is not None:
                    self.assertEqual(amount["unit"], self.unit)
                    self.assertEqual(amount["what"], "feeler gap")
                    amount = amount["value"] * {"mm": 1, "thou": 0.0254}[self.unit]
                decided.append(("move", move["adjuster"], move["move"], amount))
        return decided

    def test_a_job_in_other_units_comes_to_the_same_decisions(self):
        self.baseline = "feeler-gap"
        self.shop(tolerance=0.03, idle_rpm=870, throttle={"bore_mm": 48, "closed_deg": 5})
        found = []
        for self.unit, words in (("mm", []), ("thou", ["--habits", "temperature=F length=thou"])):
            self.engine = rig.Engine(23)
            seen, status, _ = self.whole(self.talk(["tune", "--fresh", "--engine", "red-v8"] + words))
            self.assertEqual(status, 0)
            found.append(self.plans(seen))
            units = {ask["key"]: ask["unit"] for ask in seen if ask.get("kind") in ("number", "reading")}
            self.assertEqual(units["warm.temperature"], "F" if words else "C")
            self.assertEqual(units["cold.plate.1"], self.unit)
            text = "\n".join(message.get("text", "") for message in seen)
            self.assertIn("at least 167 F" if words else "at least 75 C", text)
            self.assertNotRegex(text, r"\d C\b" if words else r"\d F\b")
        self.assertEqual(len(found[0]), len(found[1]))
        self.assertTrue(any(step[0] == "move" for step in found[0]))
        self.assertTrue(any(step[0] == "move" and step[3] is not None for step in found[0]), found[0])
        for one, other in zip(*found):
            self.assertEqual(one[:2], other[:2])
            for mine, theirs in zip(one[2:], other[2:]):
                if mine is None:
                    self.assertIsNone(theirs)
                else:
                    self.assertAlmostEqual(mine, theirs, places=9)

    def test_a_resume_where_other_habits_are_kept_keeps_the_sessions_own(self):
        self.shop(idle_rpm=870)
        self.runs("habits", "temperature=F")
        talk = self.talk(["tune", "--engine", "red-v8"])
        while True:
            ask, _ = talk.next_ask()
            if ask["key"] == "warm.temperature":
                break
            talk.answer(ask, self.reply(ask))
        self.assertEqual((ask["unit"], ask["low"], ask["high"]), ("F", -40, 320))
        talk.answer(ask, 194)
        talk.next_ask()
        talk.send({"do": "pause"})
        self.assertEqual(talk.close()[0], 0)
        self.runs("habits", "temperature=K", "length=um")
        shutil.rmtree(self.path("engines"))
        talk = self.talk(["resume"])
        while True:
            ask, _ = talk.next_ask()
            if ask["key"] == "warm.temperature":
                break
            talk.answer(ask, self.reply(ask))
        self.assertEqual(ask["unit"], "F")
        self.assertIn("194 F before", ask["text"])
        _, status, _ = self.whole_from(talk, ask)
        self.assertEqual(status, 0)
        answers = [record for record in rig.records(rig.session_file(self.data)) if record["kind"] == "answer"
                   and record["ask"]["key"] == "warm.temperature"]
        self.assertEqual([(a["given"], a["unit"], a["value"]) for a in answers],
                         [({"value": 194, "unit": "F"}, "C", 90)] * len(answers))
        self.assertIn("194 F", self.runs("show", "1"))

    def whole_from(self, talk, ask):
        talk.answer(ask, self.reply(ask))
        return self.whole(talk)

    def test_a_gauge_learns_from_each_job_once(self):
        self.shop(idle_rpm=870)
        _, status, error = self.whole(self.talk(["tune", "--engine", "red-v8", "--gauge", "bench"]))
        self.assertEqual(status, 0)
        self.assertRegex(error, r"\Aevenbore: gauge bench: repeats to \d\.\d\d % in this session \(\d+ degrees of "
                                r"freedom\), to \d\.\d\d % over all \(\d+\)\n\Z")
        first = self.json("gauges", "bench.json")["learned"]
        opening = self.opening()
        self.assertEqual(first["sessions"], 1)
        self.assertEqual([(one["session"], one["digest"]) for one in first["from"]],
                         [(opening["session"], opening["h"])])
        self.assertGreater(first["degrees_of_freedom"], 2)
        kept = self.read("gauges", "bench.json")
        self.runs("show", "1")
        self.assertEqual(rig.run(["resume", "1", "--data", self.data])[0], 1)
        self.assertEqual(self.read("gauges", "bench.json"), kept)
        # The next job begins with what is known: 2 % with weight 4, pooled [JCGM 100:2008, 4.2.4] with the learned.
        self.engine = rig.Engine(29)
        talk = self.talk(["tune", "--engine", "red-v8", "--gauge", "bench"])
        gauge = talk.next()["gauge"]
        nu = 4 + first["degrees_of_freedom"]
        pooled = (4 * 0.02 ** 2 + first["degrees_of_freedom"] * first["repeatability"] ** 2) / nu
        self.assertAlmostEqual(gauge["repeatability_weight"], min(nu, 30))
        self.assertAlmostEqual(gauge["repeatability"] ** 2, pooled)
        self.whole(talk)
        second = self.json("gauges", "bench.json")["learned"]
        self.assertEqual(second["sessions"], 2)
        parts = second["from"]
        self.assertAlmostEqual(second["degrees_of_freedom"], sum(one["degrees_of_freedom"] for one in parts))
        self.assertAlmostEqual(second["repeatability"] ** 2 * second["degrees_of_freedom"],
                               sum(one["degrees_of_freedom"] * one["repeatability"] ** 2 for one in parts))
        self.runs("gauge", "bench", "learned=")
        self.assertNotIn("learned", self.json("gauges", "bench.json"))

    def test_a_gauge_that_is_not_what_it_was_does_not_learn(self):
        self.shop(idle_rpm=870)
        for content, part in ((b"{\n\"format\": \"evenbore-gauge\"\n", "bench.json:3: a comma or } is wanted"),
                              (json.dumps({**GOOD_GAUGE, "step": 0.5}).encode(), "marks were changed since"),
                              (None, "no such file")):
            self.engine = rig.Engine(23)
            self.write("gauges/bench.json", GOOD_GAUGE)
            talk = self.talk(["tune", "--engine", "red-v8", "--gauge", "bench"])
            talk.next()
            if content is None:
                os.remove(self.path("gauges", "bench.json"))
            else:
                self.write("gauges/bench.json", content)
            _, status, error = self.whole(talk)
            self.assertEqual(status, 0)
            self.assertRegex(error, r"\Aevenbore: [^\n]*; the gauge's file is left as it is\n\Z")
            self.assertIn(part, error)
            if content is not None:
                self.assertEqual(self.read("gauges", "bench.json"), content)

    def test_another_gauges_marks_teach_nothing(self):
        self.shop(idle_rpm=870)
        before = self.read("gauges", "bench.json")
        self.gauge_marks = {"gauge.low": 0, "gauge.high": 40, "gauge.step": 0.25, "gauge.best.low": 1,
                            "gauge.best.high": 30, "gauge.repeats": 2}
        _, status, error = self.whole(self.talk(["tune", "--engine", "red-v8", "--gauge", "bench"]))
        self.assertEqual(status, 0)
        self.assertIn("other marks than the gauge's were typed", error)
        self.assertEqual(self.read("gauges", "bench.json"), before)

    def test_a_stopped_job_teaches_too_and_a_paused_one_at_its_end(self):
        self.shop(idle_rpm=870)
        talk = self.talk(["tune", "--engine", "red-v8", "--gauge", "bench"])
        for _ in range(2):
            while True:
                ask, _ = talk.next_ask()
                talk.answer(ask, self.reply(ask))
                if ask["kind"] == "reading" and "again" in ask.get("text", "") and ask["bore"] == "1":
                    break
            following, _ = talk.next_ask()
            talk.answer(following, self.reply(following))
            talk.next_ask()
            talk.send({"do": "pause"})
            self.assertEqual(talk.close()[0], 0)
            self.assertNotIn("learned", self.json("gauges", "bench.json"))
            talk = self.talk(["resume"])
        talk.next_ask()
        talk.send({"do": "stop", "why": "enough"})
        talk.next_ask()
        _, error = talk.close()
        self.assertIn("gauge bench: repeats to", error)
        self.assertEqual(self.json("gauges", "bench.json")["learned"]["sessions"], 1)


if __name__ == "__main__":
    unittest.main()
