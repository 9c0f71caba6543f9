#!/usr/bin/env python3
"""Several sessions of one engine: what a new one starts from, the history, two compared, names completed."""
import json
import os
import random
import re
import shutil
import subprocess
import unittest

import rig


def play(arguments, engine):
    """A whole job at a terminal: exit status, and all that was on the screen."""
    terminal = rig.Terminal(arguments)
    tuner = rig.Tuner(engine)
    screen = terminal.screen()
    while screen.rstrip().endswith(">"):
        screen = terminal.type(tuner.answer(screen))
    status, _ = terminal.wait()
    return status, re.sub(r"\x1b\[[0-9;]*m", "", terminal.text)


def chain(lines):
    """A journal's lines with their digests made anew: what a careful forger, or a later version, would leave."""
    import hashlib
    before, out = "", []
    for line in lines:
        text = line[:line.rindex(',"h":"')]
        before = hashlib.sha256((before + text).encode()).hexdigest()
        out.append('%s,"h":"%s"}\n' % (text, before))
    return "".join(out)


class Case(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        """Three jobs on one engine whose left coupler goes back in between."""
        cls.made = rig.folder()
        cls.addClassCleanup(shutil.rmtree, cls.made)
        data = ["--data", cls.made]
        assert rig.run(["engine", "red-v8", "name=Red V8", "procedure=v8-coupled", "idle_rpm=870"] + data)[0] == 0
        engine, draws, cls.screens = rig.Engine(5), random.Random(7), []
        for _ in range(3):
            status, screen = play(["tune", "--engine", "red-v8"] + data, engine)
            assert status == 0, screen[-2000:]
            cls.screens.append(screen)
            for bore in engine.flow:
                engine.flow[bore] += draws.gauss(0, 0.003) + {"1": .08, "3": .08, "5": -.08, "7": -.08}.get(bore, 0)
        cls.names = sorted(name[:-6] for name in os.listdir(os.path.join(cls.made, "sessions")) if name.endswith("l"))

    def setUp(self):
        self.data = rig.folder()
        self.addCleanup(shutil.rmtree, self.data)
        shutil.copytree(self.made, self.data, dirs_exist_ok=True)

    def path(self, name):
        return os.path.join(self.data, "sessions", name + ".jsonl")

    def runs(self, *arguments):
        got, out, error = rig.run(list(arguments) + ["--data", self.data])
        self.assertEqual((got, error), (0, ""), (arguments, out))
        return out

    def fails(self, status, arguments, *parts):
        got, out, error = rig.run(list(arguments) + ["--data", self.data])
        self.assertEqual((got, out), (status, ""), error)
        self.assertRegex(error, r"\Aevenbore: [^\n]+\n\Z")
        for part in parts:
            self.assertIn(part, error)

    def lines(self, name):
        with open(self.path(name), encoding="utf-8") as file:
            return file.readlines()

    def write(self, name, text):
        with open(self.path(name), "w", encoding="utf-8") as file:
            file.write(text)

    def begin(self, *more):
        """Begins a job and leaves it: what it was told, its first record, standard error."""
        talk = rig.Lines(["tune", "--engine", "red-v8", "--data", self.data] + list(more))
        _, before = talk.next_ask()
        file = before[0]["file"]
        error = re.sub(r"evenbore: paused; to go on: [^\n]*\n", "", talk.close()[1])
        return [m["text"] for m in before if m.get("kind") == "note"], rig.records(file)[0], error


class Known(Case):
    def test_a_job_starts_from_the_last_one_and_says_so(self):
        self.assertNotIn("Starts from", self.screens[0])
        for before, screen in zip(self.names, self.screens[1:]):
            self.assertIn("Starts from what was answered in session", screen)
            self.assertIn(before, re.sub(r"\s+", " ", screen))
        told, opening, error = self.begin()
        self.assertEqual(error, "")
        self.assertEqual(len(told), 1)
        self.assertIn(self.names[-1], told[0])
        known = opening["known"]
        self.assertEqual(known["session"], self.names[-1])
        self.assertEqual(known["digest"], rig.records(self.path(self.names[-1]))[-1]["h"])
        answered = {one["adjuster"]: one for one in rig.records(self.path(self.names[-1]))[-1]["answered"]}
        for one in known["adjusters"]:
            self.assertEqual(one["gain"], answered[one["adjuster"]]["gain"])
            self.assertGreater(one["spread"], answered[one["adjuster"]]["spread"])
        report = self.runs("report", self.names[1])
        self.assertIn("Starts from what was answered", re.sub(r"\s+", " ", report))
        self.assertIn("Starts from what was answered", self.runs("report", self.names[1], "--as", "page"))
        self.assertEqual(json.loads(self.runs("report", self.names[1], "--as", "json"))["known"]["session"], self.names[0])

    def test_it_stands_alone_and_is_taken_up_again(self):
        _, opening, _ = self.begin()
        new = opening["session"]
        for name in self.names:
            os.remove(self.path(name))
        os.remove(os.path.join(self.data, "engines", "red-v8.json"))
        talk = rig.Lines(["resume", new, "--data", self.data])
        ask, before = talk.next_ask()
        self.assertEqual(ask["type"], "ask")
        self.assertTrue(any(self.names[-1] in message.get("text", "") for message in before))
        self.assertEqual(talk.close()[0], 0)

    def test_a_job_goes_on_after_a_pause_as_it_was(self):
        """The same engine and hands, once in one go and once left and resumed at every tenth prompt."""
        ends = []
        for every in (10 ** 9, 10):
            data = rig.folder()
            self.addCleanup(shutil.rmtree, data)
            shutil.copytree(self.made, data, dirs_exist_ok=True)
            engine, tuner = rig.Engine(11), None
            tuner = rig.Tuner(engine)
            terminal = rig.Terminal(["tune", "--engine", "red-v8", "--data", data])
            screen, count = terminal.screen(), 0
            while screen.rstrip().endswith(">"):
                count += 1
                if count % every == 0:
                    terminal.type("pause")
                    terminal.wait()
                    terminal = rig.Terminal(["resume", "--data", data])
                    screen = terminal.screen()
                    continue
                screen = terminal.type(tuner.answer(screen))
            self.assertEqual(terminal.wait()[0], 0)
            name = [n for n in os.listdir(os.path.join(data, "sessions"))
                    if n.endswith(".jsonl") and n[:-6] not in self.names][0]
            end = rig.records(os.path.join(data, "sessions", name))[-1]
            ends.append({key: end[key] for key in ("outcome", "kind")})
        self.assertEqual(ends[0], ends[1])

    def test_it_can_be_left(self):
        told, opening, error = self.begin("--fresh")
        self.assertEqual((told, error), ([], ""))
        self.assertNotIn("known", opening)
        self.fails(2, ["report", "1", "--fresh"], "not an option of report")

    def test_other_engines_and_words_are_strangers(self):
        self.runs("engine", "blue-v8", "name=Red V8", "procedure=v8-coupled", "idle_rpm=870")
        for engine in ("blue-v8", "Red V8"):
            talk = rig.Lines(["tune", "v8-coupled", "--engine", engine, "--data", self.data])
            _, before = talk.next_ask()
            self.assertFalse([m for m in before if m.get("kind") == "note"])
            talk.close()

    def test_what_is_not_to_be_believed_is_passed_over_and_said(self):
        lines = self.lines(self.names[2])
        damaged = list(lines)
        damaged[5] = damaged[5].replace("a", "b", 1)
        open_ended = lines[:-1]
        wild = lines[:-1] + [re.sub(r'"gain":[\d.]+', '"gain":77', lines[-1])]
        for content, part in (("".join(damaged), "record 6 is damaged"), (chain(open_ended), "it is not over"),
                              (chain(wild), "cannot be")):
            self.write(self.names[2], content)
            told, opening, error = self.begin()
            self.assertIn("session %s of this engine is passed over: " % self.names[2], error)
            self.assertIn(part, error)
            self.assertEqual(opening["known"]["session"], self.names[1])
            self.assertIn(self.names[1], told[0])
            os.remove(self.path(opening["session"]))
        self.write(self.names[2], "".join(lines))
        os.rename(self.path(self.names[2]), self.path("20990101-from-afar-1"))
        _, opening, error = self.begin()
        self.assertIn("20990101-from-afar-1 of this engine is passed over: its file does not bear its name", error)
        self.assertEqual(opening["known"]["session"], self.names[1])

    def test_what_the_readings_speak_against_is_set_aside_and_said(self):
        """The last session says of every adjuster that it answers a quarter of the wish, and is sure of it."""
        lines = self.lines(self.names[2])
        lines[-1] = re.sub(r'"gain":[^,]+,"spread":[^,]+', '"gain":0.25,"spread":0.01', lines[-1])
        self.write(self.names[2], chain(lines))
        engine = rig.Engine(5)
        for bore, off in {"1": .2, "3": .2, "5": -.2, "7": -.2}.items(): # far off: its coupler is moved by much
            engine.flow[bore] += off
        status, screen = play(["tune", "--engine", "red-v8", "--data", self.data], engine)
        self.assertEqual(status, 0, screen[-2000:])
        said = "What session %s taught of the adjusters does not fit the readings so far" % self.names[2]
        self.assertEqual(re.sub(r"\s+", " ", screen).count(said), 1)
        new = [n[:-6] for n in os.listdir(os.path.join(self.data, "sessions"))
               if n.endswith(".jsonl") and n[:-6] not in self.names][0]
        records = rig.records(self.path(new))
        self.assertEqual(records[0]["known"]["session"], self.names[2])
        notes = [r["message"]["text"] for r in records if r["kind"] == "told" and r["message"]["kind"] == "note"]
        self.assertEqual([said in note for note in notes].count(True), 1)
        moved = {r["ask"]["adjuster"] for r in records if r["kind"] == "answer" and r["ask"].get("kind") == "adjust"}
        self.assertEqual({one["adjuster"] for one in records[-1]["answered"]}, moved)
        self.assertIn(said, re.sub(r"\s+", " ", self.runs("show", new)))

    def test_other_throttles_answer_otherwise(self):
        self.runs("engine", "red-v8", "bore_mm=48", "closed_deg=5")
        told, opening, error = self.begin()
        self.assertEqual(told, [])
        self.assertNotIn("known", opening)
        self.assertIn("other things of its throttles", error)


class History(Case):
    def test_what_goes_back_is_found(self):
        out = self.runs("history", "red-v8")
        self.assertIn("3 sessions", out)
        self.assertRegex(out, r"left coupler: left at [^:]+: \+[\d.]+ ±[\d.]+\s+%, more\s+than the doubt; it\s+went back")
        for name in self.names:
            self.assertIn(name, out)
        self.assertTrue(all(len(line) <= 84 for line in out.split("\n")), [l for l in out.split("\n") if len(l) > 84])
        history = json.loads(self.runs("history", "red-v8", "--as", "json"))
        self.assertEqual([one["name"] for one in history["sessions"]], self.names)
        for gap in history["between"]:
            beyond = {one["adjuster"] for one in gap["adjusters"] if one["difference"]["beyond"]}
            self.assertIn("coupler-left", beyond)
            self.assertTrue(gap["all"]["beyond"])
        for one in history["sessions"]:
            self.assertTrue(one["repeatability_own"])
            self.assertTrue(0.004 < one["repeatability_share"] < 0.03, one)

    def test_the_display_name_does_too(self):
        self.assertIn("3 sessions", self.runs("history", "Red V8"))
        os.remove(os.path.join(self.data, "engines", "red-v8.json"))
        self.assertIn("3 sessions", self.runs("history", "red-v8"))

    def test_files_of_every_form(self):
        for ending, begin in (("html", "<!DOCTYPE html>"), ("txt", "History of engine"), ("csv", "session,begun,"),
                              ("json", '{"format":"evenbore history"')):
            path = os.path.join(self.data, "h." + ending)
            self.assertEqual(self.runs("history", "red-v8", "-o", path), "")
            with open(path, encoding="utf-8", newline="") as file:
                text = file.read()
            self.assertTrue(text.startswith(begin), text[:80])
            self.fails(1, ["history", "red-v8", "-o", path], "is there already")
        semicolons = self.runs("history", "red-v8", "--as", "csv", "--semicolon")
        self.assertTrue(semicolons.startswith("session;begun;"))
        self.assertRegex(semicolons, r";\d+,\d\d;")
        self.fails(2, ["history", "red-v8", "--as", "json", "--semicolon"], "goes with --as csv only")
        self.fails(2, ["history", "red-v8", "--as", "xml"], "page, text, csv, json")

    def test_sessions_that_take_no_part_are_named(self):
        lines = self.lines(self.names[0])
        self.write(self.names[0], "".join(lines[:40]).replace("answer", "answes", 1) + "".join(lines[40:]))
        self.write("newer", '{"kind":"open","format":999,"time":1}\n')
        first = json.loads(self.lines(self.names[1])[0])
        first["session"] = "practice"
        rest = self.lines(self.names[1])[1:]
        del first["h"]
        self.write("practice", chain([json.dumps(first, separators=(",", ":"), ensure_ascii=False)[:-1] + ',"h":"x"}'] + rest))
        shutil.copy(self.path(self.names[1]), self.path("from-afar"))
        self.write(self.names[2], "".join(self.lines(self.names[2])[:-1]) + '{"kind":"en')
        out = self.runs("history", "red-v8")
        self.assertIn("2 sessions", out)
        flat = re.sub(r"\s+", " ", out)
        self.assertIn("not over, its last record cut off", flat)
        for part in (self.names[0] + ": record ", "newer: a later version wrote it", "practice: it is practice",
                     "from-afar: its file does not bear its name"):
            self.assertIn(part, flat)

    def test_one_session_alone(self):
        for name in self.names[1:]:
            os.remove(self.path(name))
        out = self.runs("history", "red-v8")
        self.assertIn("1 session\n", out)
        self.assertIn("no two sessions", out)
        self.assertIn("1 session.", self.runs("history", "red-v8", "--as", "page"))

    def test_unknown_engines(self):
        self.fails(2, ["history"], "an engine is missing")
        self.fails(2, ["history", "red-v9"], "did you mean red-v8?")
        self.fails(2, ["history", "nothing like it"], "no such engine")
        self.fails(2, ["history", ""], "no such engine")
        self.fails(2, ["history", "a\x1b[31m"], "no such engine")
        self.runs("engine", "blue-six", "procedure=inline-six")
        self.fails(2, ["history", "blue-six"], "no session is about this engine yet")


class Compare(Case):
    def test_two_sessions(self):
        out = self.runs("compare", "1", "2")
        self.assertEqual(out, self.runs("compare", self.names[1], self.path(self.names[2])))
        self.assertIn("The bores differ by more than the doubt of the readings explains", out)
        self.assertIn("more than doubt", out)
        both = json.loads(self.runs("compare", "2", "3", "--as", "json"))
        self.assertEqual([both["first"]["name"], both["second"]["name"]], self.names[:2])
        self.assertLess(both["between"]["all"]["p"], 0.05)
        self.assertEqual(set(both["ends"]["bores"]), set("12345678"))
        table = self.runs("compare", "2", "3", "--as", "csv").split("\r\n")
        self.assertEqual(len(table), 1 + 1 + 8 + 1)
        self.assertEqual({line.count(",") for line in table if line}, {table[0].count(",")})
        path = os.path.join(self.data, "c.html")
        self.runs("compare", "2", "3", "-o", path)
        self.assertGreater(os.path.getsize(path), 4000)

    def test_what_does_not_compare(self):
        self.fails(2, ["compare", "1"], "two sessions are wanted")
        self.fails(2, ["compare", "1", "2", "3"], "one word too many")
        self.fails(2, ["compare", "1", "99"], "no such session")
        self.fails(2, ["compare", "x", "1"], "no such session")
        self.fails(1, ["compare", "1", "1"], "the same session twice")
        talk = rig.Lines(["tune", "inline-six", "--data", self.data])
        talk.next_ask()
        talk.close()
        self.fails(1, ["compare", "1", "2"], "no verdict at idle")


class Complete(Case):
    def words(self, *words):
        return self.runs_bare(["complete", "words"] + list(words)).split()

    def runs_bare(self, arguments):
        status, out, error = rig.run(arguments)
        self.assertEqual((status, error), (0, ""))
        return out

    def test_names(self):
        data = ["--data", self.data]
        self.assertIn("history", self.words("h"))
        self.assertEqual(sorted(self.words(*data, "compare", self.names[0], "")), self.names)
        self.assertEqual(self.words(*data, "history", "red"), ["red-v8"])
        self.assertEqual(self.words("tune", *data, "--engine", "r"), ["red-v8"])
        self.assertIn("v8-coupled", self.words("tune", "v"))
        self.assertIn("--fresh", self.words("tune", "--f"))
        self.assertEqual(self.words("no-such-command", "x"), [])
        self.assertEqual(self.words("history", "red", "--as", ""), [])
        self.write("hostile $(touch x);", "")
        self.write("-rf", "")
        self.assertEqual(sorted(self.words(*data, "show", "")), sorted(self.names + ["-rf"]))
        self.assertEqual(self.words(), self.words(""))
        self.assertEqual(rig.run(["complete"])[0], 2)

    def test_bash_completes(self):
        bash = shutil.which("bash")
        script = ('eval "$(evenbore complete bash)"; COMP_WORDS=(evenbore --data "$1" history re); COMP_CWORD=4; '
                  '_evenbore_names evenbore re history; printf "%s\\n" "${COMPREPLY[@]}"')
        folder = rig.folder()
        self.addCleanup(shutil.rmtree, folder)
        os.symlink(rig.PROGRAM, os.path.join(folder, "evenbore"))
        done = subprocess.run([bash, "--norc", "-c", script, "bash", self.data], capture_output=True,
                              env=rig.environment(PATH=folder + ":" + os.environ["PATH"]), check=True)
        self.assertEqual((done.stdout, done.stderr), (b"red-v8\n", b""))


class Lists(Case):
    def test_many_sessions_are_looked_at_by_their_ends(self):
        with open(self.path(self.names[0]), "rb") as file:
            content = file.read()
        middle = content.replace(b'"kind":"answer"', b'"kind":"answes"', 1)
        for number in range(140):
            with open(self.path("copy-%d" % number), "wb") as file:
                file.write(middle if number == 50 else content)
        quick = self.runs("sessions")
        self.assertIn("only the beginning and the end of each was looked at", re.sub(r"\s+", " ", quick))
        self.assertNotIn("damaged", quick.split("So many")[0])
        whole = self.runs("sessions", "--whole")
        self.assertNotIn("was looked at", re.sub(r"\s+", " ", whole))
        self.assertRegex(whole, r"copy-50  damaged")
        self.assertEqual(len(re.findall(r"  damaged$", whole, re.M)), 1)


if __name__ == "__main__":
    unittest.main()
