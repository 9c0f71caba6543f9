#!/usr/bin/env python3
"""Practice: somebody who reads the drawn needle by eye, at a pseudo-terminal and through a pipe."""
import fcntl
import json
import os
import re
import shutil
import signal
import struct
import subprocess
import tempfile
import termios
import unittest

import rig

PROCEDURES = ["cold-baseline", "inline-four", "inline-six", "stop-screws", "twin-bank", "twin-link", "twin-screw", "v12-coupled",
              "v8-coupled"]


def needle(screen):
    """Both ends of the fan that is drawn, read against the marks below it; None where there is none."""
    lines = screen.split("\n")
    for above, below in zip(lines, lines[1:]):
        fan = re.fullmatch(r" +(\\:*/|╲░*╱|\||│)", above)
        marks = [(at.start(), float(at.group())) for at in re.finditer(r"-?\d+(\.\d+)?", below)]
        if fan and len(marks) > 1 and re.search(r"[_─]{4}", below):
            (from_place, from_mark), (to_place, to_mark) = marks[0], marks[1]
            each = (to_mark - from_mark) / (to_place - from_place)
            return [from_mark + (place - from_place) * each for place in (fan.start(1), fan.end(1) - 1)]
    return None


class Person:
    """Answers by what stands on the screen and nothing else."""

    def __init__(self, finds_faults=True):
        self.finds_faults = finds_faults
        self.moves = []
        self.readings = []
        self.known = []

    def answer(self, screen):
        code = re.search(r"Type (\d\d) when all of this is seen to", screen)
        if code:
            return code.group(1)
        if "1 when the engine" in screen:
            return "1"
        if "00 if it cannot be read" in screen:
            ends = needle(screen)
            assert ends, "a reading without a needle:\n" + screen
            self.readings.append(ends)
            return "%g" % (round(sum(ends) / 2 * 4) / 4)
        if "0 cannot be done" in screen:
            return self.moves.pop(0) if self.moves else "1"
        if "Type its number." in screen:
            return self.choose(screen)
        if "1 yes, 0 no" in screen:
            return self.decide(screen)
        return self.number(screen)

    def choose(self, screen):
        for words, chosen in (("hangs a moment", "free it"), ("play where", "tighten it"), ("now later", "take it out"),
                              ("hisses", "sealed"), ("hardly draws", "leave it out"), ("rises and falls", "it hunted"),
                              ("not where it was set", "was moved")):
            option = re.search(r"(?m)^ ?(\d+)  .*" + chosen, screen)
            if words in screen and option:
                return option.group(1)
        return "1"

    def decide(self, screen):
        ends = needle(screen)
        idle = re.search(r"within 3 % of ([\d.]+) rpm", " ".join(screen.split()))
        if ends and idle:
            still = abs(sum(ends) / 2 / float(idle.group(1)) - 1) <= 0.035 and "not where it was set" not in screen
            return "1" if still else "0"
        if ends:
            return "1" if 1 <= sum(ends) / 2 <= 10 else "0"
        bad = re.search(r"hangs a moment|play where|now sooner, now later|A clamp slit hisses", screen)
        return "0" if bad and self.finds_faults else "1"

    def number(self, screen):
        ends = needle(screen)
        if ends:
            return "%.0f" % ends[0]
        leaf = re.search(r"The ([\d.]+) (mm|thou) leaf goes in", screen)
        if leaf:
            return leaf.group(1)
        known = re.search(r"What is known here: ([\d.]+)", screen) or re.search(r"thinnest leaf goes in: (0)", screen)
        assert known, "a number without anything to see:\n" + screen
        self.known.append(known.group(1))
        return known.group(1)


class Case(unittest.TestCase):
    def terminal(self, arguments, **more):
        terminal = rig.Terminal(["practice"] + arguments, **more)
        self.addCleanup(terminal.kill)
        return terminal

    def go_on(self, terminal, person, screen, until="What no gauge shows:"):
        for _ in range(700):
            if until in screen or not screen.endswith("> "):
                return screen
            screen = terminal.type(person.answer(screen.split("\n\n")[-1]))
        raise AssertionError("this practice does not end")

    def whole(self, arguments, person=None, status=0, **more):
        terminal = self.terminal(arguments, **more)
        screen = self.go_on(terminal, person or Person(), terminal.screen())
        self.assertEqual(terminal.wait()[0], status, screen)
        return terminal.text, screen[screen.index("What no gauge shows:"):]

    def check_truth(self, end):
        claim = re.search(r"Claim: even within ([\d.]+) %\. (True|Not true): the farthest of these bores stands\s+"
                          r"([\d.]+) % off", " ".join(end.split()))
        self.assertIsNotNone(claim, end)
        claimed, word, truly = float(claim.group(1)), claim.group(2), float(claim.group(3))
        if abs(claimed - truly) > 0.11:
            self.assertEqual(word == "True", truly <= claimed, end)
        return word


class ByEye(Case):
    def test_a_whole_job(self):
        person = Person()
        text, end = self.whole(["--seed", "17"], person)
        self.assertIn("Practice: a simulated engine. Nothing runs, and nothing is kept.", text)
        self.assertIn("V8, two banks of coupled pairs", text)
        self.check_truth(end)
        self.assertRegex(end, r"(?m)^8 +[+-][\d.]+ % +[+-][\d.]+ ±[\d.]+ %  \w+$")
        self.assertEqual(int(re.search(r"(\d+) readings", end).group(1)), len(person.readings))
        self.assertRegex(end, r"Fault: none was there")
        self.assertRegex(" ".join(end.split()), r"The program's own tuner took \d+ stops?, \d+ readings and \d+ minutes")
        self.assertRegex(text, r"It fires and settles near (8|9)\d0 rpm\.")
        self.assertIn("It runs out and stands.", text)
        self.assertIn("5 minutes pass.", text)

    def test_the_number_is_not_printed_beside_the_needle(self):
        terminal = self.terminal(["twin-screw", "--seed", "3"])
        screen = self.go_on(terminal, Person(), terminal.screen(), "Measure, pass 1: Bore 1")
        drawn = screen[screen.rindex("cannot be read") + 14:].strip("> \n")
        self.assertEqual(re.findall(r"\d+\.\d+", drawn), [])
        self.assertEqual(len(drawn.split("\n")), 2)

    def test_the_needle_moves_between_looks_and_stands_while_one_asks_again(self):
        terminal = self.terminal(["twin-screw", "--seed", "3"])
        screen = self.go_on(terminal, Person(), terminal.screen(), "Measure, pass 1: Bore 1")
        first = needle(screen)
        self.assertLess(first[0], first[1])
        self.assertEqual(needle(terminal.type("")), first)
        self.assertEqual(needle(terminal.type("**")), first)

    def test_the_reading_is_near_what_the_tuner_of_the_program_reads(self):
        person = Person()
        self.whole(["twin-screw", "--seed", "3"], person)
        status, out, _ = rig.run(["practice", "twin-screw", "--seed", "3", "--watch", "--fast"])
        self.assertEqual(status, 0)
        read = [float(value) for value in re.findall(r"cannot be read\n(?:.*\n){2,3}> ([\d.]+) div", out)]
        self.assertGreater(len(read), 1)
        first = sum(person.readings[0]) / 2
        self.assertLess(abs(first / read[0] - 1), 0.08)

    def test_a_mixture_sensor_and_a_probe(self):
        for chosen, seen in (("a mixture sensor", r"The sensor (behind .+ )?shows (lambda )?[01]\.\d\d\."),
                             ("exhaust temperature", "The probe at the port:")):
            terminal = self.terminal(["twin-screw", "--seed", "3"])
            screen = self.go_on(terminal, Person(), terminal.screen(), chosen)
            number = re.search(r"(?m)^ ?(\d+)  .*" + chosen, screen).group(1)
            self.assertRegex(terminal.type(number), seen)
            terminal.kill()

    def test_forty_columns_of_ascii(self):
        terminal = self.terminal(["twin-screw", "--seed", "3", "--ascii"], columns=40)
        screen = self.go_on(terminal, Person(), terminal.screen())
        terminal.wait()
        self.assertTrue(terminal.text.isascii())
        self.check_truth(screen)
        shown = re.sub(r"\x1b\[[0-9;]*m", "", terminal.text)
        self.assertLessEqual(max(len(line) for line in shown.split("\n")), 40)

    def test_other_gauges(self):
        for gauge, step in (("scale 0..50 step 1 best 5..40", 1), ("scale 1..8 step 0.1 best 1..6", 0.1)):
            terminal = self.terminal(["twin-screw", "--seed", "3", "--gauge", gauge])
            screen = self.go_on(terminal, Person(), terminal.screen(), "Measure, pass 1: Bore 1")
            low, high = needle(screen)
            self.assertLess(high - low, 0.35 * high)
            self.assertGreater(high - low, 0.01 * high)
            terminal.kill()

    def test_the_size_of_the_terminal_may_change_to_anything(self):
        terminal = self.terminal(["twin-screw", "--seed", "3"])
        person, screen = Person(), terminal.screen()
        sizes = [(0, 0), (1, 1), (40, 2), (65535, 65535), (39, 3), (80, 24)]
        for i in range(400):
            if not screen.endswith("> "):
                break
            columns, rows = sizes[i % len(sizes)]
            fcntl.ioctl(terminal.master, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
            screen = terminal.type(person.answer(screen.split("\n\n")[-1]))
        self.assertIn("What no gauge shows:", screen)
        self.assertEqual(terminal.wait()[0], 0)


class Moves(Case):
    def adjust(self, *arguments):
        terminal = self.terminal(list(arguments))
        screen = self.go_on(terminal, Person(), terminal.screen(), "0 cannot be done")
        self.assertIn("Or by feel: hair, little, more, much", " ".join(screen.split()))
        return terminal, screen

    def test_by_feel(self):
        for words in ("hair", "a little", "Other way, a hair", "much", "nothing"):
            terminal, _ = self.adjust("v8-coupled", "--seed", "17")
            after = terminal.type(words)
            self.assertNotIn("Not taken", after)
            self.assertRegex(after, r"It stays as it stood" if words == "nothing" else
                             r"takes hold|moves evenly|in jerks")
            terminal.kill()

    def test_what_is_no_move(self):
        terminal, _ = self.adjust("v8-coupled", "--seed", "17")
        for words in ("lots", "hair hair", "other", "a", "hair of the dog", "nan", "x" * 300):
            self.assertIn("Not taken", terminal.type(words))
        self.assertIn("Why not?", terminal.type("0"))
        terminal.type("")

    def test_more_metal_moves_more_air(self):
        """The same engine, the first move made in two ways: the other way round is worse."""
        spread = {}
        for words in ("1", "other much"):
            terminal, _ = self.adjust("stop-screws", "--seed", "5")
            terminal.type(words)
            terminal.signal(signal.SIGINT)
            status, rest = terminal.wait()
            self.assertEqual(status, 0)
            spread[words] = float(re.search(r"off before work, ([\d.]+) % now", " ".join(rest.split())).group(1))
        self.assertLess(spread["1"], spread["other much"])

    def test_an_amount(self):
        terminal, screen = self.adjust("v8-coupled", "--seed", "17")
        amount = re.search(r"about ([\d.]+) mm", screen)
        self.assertIsNotNone(amount, screen)
        after = terminal.type("1 " + amount.group(1))
        self.assertRegex(after, r"takes hold|moves evenly|in jerks")

    def test_a_heavy_hand_all_the_way(self):
        person = Person()
        person.moves = ["much", "other much"] * 60
        terminal = self.terminal(["v8-coupled", "--seed", "4"])
        screen = terminal.screen()
        for _ in range(700):
            if not screen.endswith("> "):
                break
            screen = terminal.type(person.answer(screen.split("\n\n")[-1]))
        self.assertIn("What no gauge shows:", screen)
        self.assertIn("less even than before", " ".join(screen.split()))

    def test_an_answer_that_is_taken_back_leaves_the_metal_as_it_is(self):
        terminal, _ = self.adjust("v8-coupled", "--seed", "17")
        terminal.type("1")
        self.assertIn("0 cannot be done", terminal.type("-"))
        self.assertIn("It stays as it stood", terminal.type("nothing"))
        person = Person()
        screen = self.go_on(terminal, person, terminal.type(""), "Measure, pass 2: Bore")
        for _ in range(6):
            screen = terminal.type("-")
        self.assertTrue(screen.endswith("> "))
        self.check_truth(self.go_on(terminal, person, terminal.type("")))


class Faults(Case):
    def test_found_by_looking(self):
        for fault in ("leak", "stick", "lash", "loose-coupler"):
            terminal = self.terminal(["v8-coupled", "--seed", "6", "--fault", fault])
            screen = self.go_on(terminal, Person(), terminal.screen(), "Is this your gauge")
            self.assertIn("You set that right.", terminal.text)
            terminal.signal(signal.SIGINT)
            self.assertRegex(terminal.wait()[1], r"Fault: %s at bore [\d ]+; found\." % fault)

    def test_not_looked_at(self):
        terminal = self.terminal(["v8-coupled", "--seed", "6", "--fault", "leak"])
        self.go_on(terminal, Person(finds_faults=False), terminal.screen(), "Plates measured cold")
        terminal.signal(signal.SIGINT)
        self.assertRegex(terminal.wait()[1], r"Fault: leak at bore \d; not found\. The cold checks show it\.")

    def test_a_dead_cylinder(self):
        text, end = self.whole(["inline-four", "--seed", "6", "--fault", "dead"])
        self.assertIn("stays cold and hardly draws", text)
        self.assertRegex(end, r"Fault: dead at bore \d; found\.")
        self.check_truth(end)

    def test_the_vent(self):
        text, end = self.whole(["twin-screw", "--seed", "6", "--fault", "band"])
        self.assertIn("You turn the vent", text)
        self.assertIn("Fault: band; found.", end)

    def test_several_and_any(self):
        _, end = self.watch("v8-coupled", "--seed", "2", "--fault", "leak,stick", "--fault", "warming")
        for fault in ("leak", "stick", "warming"):
            self.assertIn("Fault: " + fault, end)
        drawn = set()
        for seed in range(6):
            out, end = self.watch("twin-screw", "--seed", str(seed), "--fault", "any")
            self.assertEqual(len(re.findall(r"(?m)^Fault: [a-z-]+( at|;)", end)), 1)
            before = out[:out.index("What no gauge shows:")]
            drawn.add(re.search(r"Fault: ([a-z-]+)", end).group(1))
            self.assertNotIn("Fault: ", before)
        self.assertGreater(len(drawn), 1)

    def watch(self, *arguments):
        status, out, error = rig.run(["practice"] + list(arguments) + ["--watch", "--fast"])
        self.assertEqual((status, error), (0, ""))
        return out, out[out.index("What no gauge shows:"):]


class Watching(Case):
    def test_every_procedure(self):
        status, listed, _ = rig.run(["procedures"])
        self.assertEqual(status, 0)
        self.assertEqual(sorted(re.findall(r"(?m)^([a-z0-9-]+) +\d+\.\d+\.\d+", listed)) or PROCEDURES, PROCEDURES)
        for procedure in PROCEDURES:
            status, out, error = rig.run(["practice", procedure, "--seed", "8", "--watch", "--fast"])
            self.assertEqual((status, error), (0, ""), procedure)
            end = out[out.index("What no gauge shows:"):]
            self.assertGreater(len(re.findall(r"(?m)^> ", out)), 20)
            if procedure == "cold-baseline":
                self.assertIn("Engine off, by ", " ".join(out.split()))
                continue
            self.check_truth(end)
            self.assertGreater(len(re.findall(r"(?m)^ +╲░*╱$", out)), 4)

    def test_a_paced_one_can_be_left(self):
        terminal = self.terminal(["--watch", "--seed", "1"])
        while not re.search(r"> (\x1b\[1m)?yes", terminal.text):
            terminal.text += terminal.read()
        terminal.signal(signal.SIGINT)
        status, _ = terminal.wait()
        self.assertEqual(status, 0)
        self.assertIn("Left before the end", terminal.text)

    def test_swapped_readings_are_the_tuners(self):
        status, out, _ = rig.run(["practice", "v8-coupled", "--seed", "1", "--watch", "--fast", "--fault", "swap"])
        self.assertEqual(status, 0)
        self.assertIn("Fault: swap", out)


class Same(Case):
    def test_watched_twice(self):
        line = ["practice", "twin-bank", "--seed", "12", "--fault", "any", "--watch", "--fast"]
        self.assertEqual(rig.run(line), rig.run(line))
        line[3] = "13"
        self.assertNotEqual(rig.run(line)[1], rig.run(["practice", "twin-bank", "--seed", "12", "--watch", "--fast"])[1])

    def test_answered_twice(self):
        texts = [self.whole(["twin-screw", "--seed", "9"])[0] for _ in range(2)]
        self.assertEqual(texts[0], texts[1])

    def test_without_a_seed_one_is_drawn_and_printed(self):
        status, out, _ = rig.run(["practice"])
        self.assertEqual(status, 0)
        seeds = re.findall(r"[Ss]eed (\d+)", out)
        self.assertGreaterEqual(len(seeds), 2)
        self.assertEqual(len(set(seeds)), 1)


class Leaving(Case):
    def test_at_once_and_nothing_is_kept(self):
        folder = rig.folder()
        self.addCleanup(shutil.rmtree, folder)
        status, out, error = rig.run(["practice", "--seed", "5", "--data", folder])
        self.assertEqual((status, error), (0, ""))
        self.assertIn("Left before the end: no claim.", out)
        self.assertNotIn("resume", out)
        self.assertEqual(os.listdir(folder), [])

    def test_by_key_signal_and_end_of_input(self):
        for way in ("//", signal.SIGINT, signal.SIGTERM, b"\x04"):
            terminal = self.terminal(["twin-screw", "--seed", "3"])
            screen = self.go_on(terminal, Person(), terminal.screen(), "Measure, pass 1: Bore 2")
            self.assertTrue(screen.endswith("> "))
            if isinstance(way, signal.Signals):
                terminal.signal(way)
            else:
                terminal.send(way)
            status, rest = terminal.wait()
            self.assertEqual(status, 0)
            self.assertIn("Left before the end: no claim.", rest)
            self.assertIn("no verdict was reached", rest)
            self.assertRegex(rest, r"(?m)^1 +[+-][\d.]+ %$")

    def test_a_stop(self):
        terminal = self.terminal(["twin-screw", "--seed", "3"])
        self.go_on(terminal, Person(), terminal.screen(), "Measure, pass 1: Bore 2")
        terminal.type("-- enough")
        terminal.send("1")
        status, rest = terminal.wait()
        self.assertEqual(status, 1)
        self.assertIn("What no gauge shows:", rest)

    def test_the_chart_and_the_notes_are_there(self):
        terminal = self.terminal(["v8-coupled", "--seed", "17"])
        self.go_on(terminal, Person(), terminal.screen(), "Measure, pass 1: Bore 3")
        self.assertRegex(terminal.type("/"), r"(?m)^1 +\d\.\d\d +2 +-$")
        self.assertIn("Noted.", terminal.type("note it smokes"))


class Kept(Case):
    def setUp(self):
        self.folder = rig.folder()
        self.addCleanup(shutil.rmtree, self.folder)
        self.file = os.path.join(self.folder, "first.jsonl")

    def keep(self, *arguments):
        status, out, error = rig.run(["practice", "--keep", self.file] + list(arguments))
        self.assertEqual(error, f"evenbore: kept, marked as practice: evenbore show {self.file}\n")
        self.assertNotIn("nothing is kept", out)
        self.assertNotIn("nothing was kept", out)
        return status

    def test_a_whole_one_says_what_it_is_wherever_it_is_told(self):
        self.assertEqual(self.keep("twin-screw", "--watch", "--fast", "--seed", "5"), 0)
        words = "Practice: a simulated engine (seed 5). This is no record of a real one."
        for command in (["show", self.file], ["report", self.file, "--as", "text"],
                        ["report", self.file, "--as", "page"]):
            status, out, error = rig.run(command)
            self.assertEqual((status, error), (0, ""))
            self.assertIn(words, " ".join(out.split()))
        _, out, _ = rig.run(["report", self.file, "--as", "json"])
        self.assertIs(json.loads(out)["practice"], True)
        os.mkdir(os.path.join(self.folder, "sessions"))
        shutil.copy(self.file, os.path.join(self.folder, "sessions", "other.jsonl"))
        _, out, _ = rig.run(["sessions", "--data", self.folder])
        self.assertIn("(practice)", out)

    def test_it_teaches_no_gauge(self):
        data = ["--data", self.folder]
        status, _, error = rig.run(["gauge", "bench", "scale=1..30", "step=0.25", "best=1..10"] + data)
        self.assertEqual((status, error), (0, ""))
        name = os.path.join(self.folder, "gauges", "bench.json")
        with open(name, encoding="utf-8") as file:
            before = file.read()
        self.assertEqual(self.keep("twin-screw", "--watch", "--fast", "--seed", "5", "--gauge", "bench", *data), 0)
        with open(name, encoding="utf-8") as file:
            self.assertEqual(file.read(), before)

    def test_one_that_was_left_is_not_taken_up_again(self):
        self.assertEqual(self.keep("twin-screw", "--seed", "3"), 0)
        status, out, error = rig.run(["resume", self.file])
        self.assertEqual((status, out), (1, ""))
        self.assertIn("a practice cannot be taken up again", error)
        self.assertIn("evenbore practice --seed 3", error)

    def test_nothing_is_written_over(self):
        with open(self.file, "w", encoding="utf-8") as file:
            file.write("mine")
        status, out, error = rig.run(["practice", "--keep", self.file])
        self.assertEqual((status, out), (2, ""))
        self.assertIn("already", error)
        with open(self.file, encoding="utf-8") as file:
            self.assertEqual(file.read(), "mine")

    def test_a_place_that_cannot_be_written(self):
        """Said before the job, not after an hour of it; and what was tried leaves nothing behind."""
        status, out, error = rig.run(["practice", "twin-screw", "--watch", "--fast", "--seed", "5", "--keep",
                                      os.path.join(self.folder, "no", "x.jsonl")])
        self.assertEqual((status, out), (2, ""))
        self.assertRegex(error, r"\Aevenbore: --keep: [^\n]+cannot be written[^\n]+\n\Z")
        self.assertEqual(rig.run(["practice", "--keep", self.file, "--gauge", "nonsense"])[0], 2)
        self.assertFalse(os.path.exists(self.file))


class Mistakes(Case):
    def fails(self, *arguments):
        status, out, error = rig.run(["practice"] + list(arguments))
        self.assertEqual((status, out), (2, ""), arguments)
        self.assertRegex(error, r"\Aevenbore: [^\n]+\n\Z")
        return error

    def test_the_command_line(self):
        self.assertIn("the nearest is v8-coupled", self.fails("v8-cuopled"))
        self.assertIn("the nearest is leak", self.fails("--fault", "leek"))
        self.assertIn("any or a fault's name", self.fails("--fault", "leak,"))
        self.assertIn("any stands alone", self.fails("--fault", "any,leak"))
        self.assertIn("goes with --watch", self.fails("--fault", "swap"))
        self.assertIn("goes with --watch", self.fails("--fast"))
        self.assertIn("--seed", self.fails("--seed", "-1"))
        self.assertIn("--seed", self.fails("--seed", "1e3"))
        self.assertIn("--gauge", self.fails("--gauge", "scale 9..1"))
        self.assertIn("not an option of practice", self.fails("--lines"))
        self.assertIn("not an option of practice", self.fails("--jobs", "2"))
        self.assertIn("one word too many", self.fails("twin-screw", "v8-coupled"))
        self.assertIn("given twice", self.fails("--seed", "1", "--seed", "2"))

    def test_an_engine_that_cannot_have_the_fault(self):
        status, _, error = rig.run(["practice", "stop-screws", "--seed", "1", "--fault", "loose-coupler", "--watch",
                                    "--fast"])
        self.assertEqual(status, 1)
        self.assertIn("no linkage", error)

    def test_mistyped_answers_harm_nothing(self):
        terminal = self.terminal(["twin-screw", "--seed", "3"])
        screen = self.go_on(terminal, Person(), terminal.screen(), "Measure, pass 1: Bore 1")
        for typed in ("nan", "-500", "0x10", b"\xff\xfe\n", b"\x1b[A\n", "x" * 4000):
            terminal.send(typed)
            self.assertIn("Not taken", terminal.screen())
        self.assertIn("Bore 1", terminal.type(""))
        self.check_truth(self.go_on(terminal, Person(), screen))

    def test_a_full_disk(self):
        with open("/dev/full", "wb") as full:
            done = subprocess.run([rig.PROGRAM, "practice", "--seed", "1", "--watch", "--fast"], stdout=full,
                                  stdin=subprocess.DEVNULL, stderr=subprocess.PIPE, env=rig.environment(), timeout=60)
        self.assertEqual(done.returncode, 1)
        self.assertRegex(done.stderr.decode(), r"\Aevenbore: standard output: cannot be written \([^\n]+\)\n\Z")

    def test_a_procedure_that_fails(self):
        with tempfile.TemporaryDirectory() as folder:
            path = os.path.join(folder, "bad.lua")
            with open(path, "w", encoding="utf-8") as file:
                file.write('return procedure {\n id = "bad", version = "1.0.0", api = 1, title = "Bad",\n'
                           ' layout = { rows = { { 1, 2 } } },\n run = function() while true do end end,\n}\n')
            status, out, error = rig.run(["practice", path, "--watch", "--fast"])
        self.assertEqual(status, 1)
        self.assertIn("The procedure failed.", out)
        self.assertRegex(error, r"\Aevenbore: bad\.lua:4: [^\n]*a loop without end\?\n\Z") # nothing about resuming

    def test_a_fault_that_this_engine_cannot_have(self):
        status, _, error = rig.run(["practice", "stop-screws", "--fault", "loose-coupler", "--watch", "--fast"])
        self.assertEqual(status, 1)
        self.assertRegex(error, r"\Aevenbore: --fault: there is no linkage [^\n]+practise without it[^\n]+\n\Z")


if __name__ == "__main__":
    unittest.main()
