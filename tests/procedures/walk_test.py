#!/usr/bin/env python3
"""Each built-in procedure as a tuner meets it: walked through at a pseudo-terminal, the whole screen compared with a
text file under walks/. `EVENBORE=... walk_test.py --update` writes these anew; they are there to be read."""
import os
import re
import shutil
import sys
import unittest
from math import exp

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, "..", "front"))
import rig  # noqa: E402

# Invented deviations, ln, by cylinder number: each engine is off in one way, and otherwise fairly even.
SCREWS = [0.083, -0.048, 0.041, -0.061]
FRONT_PAIR = [0.002, -0.006, 0.004, -0.003, 0.066, 0.058]
ONE_LOW = [0.031, -0.066, 0.022]
LEFT_SIDE = [0.046, 0.038, 0.043, -0.041, -0.036, -0.047]
TWO_SIDES = [0.041, -0.038, 0.036, -0.043, 0.039, -0.033, 0.044, -0.040, 0.035, -0.036, 0.042, -0.037]
TWO_PLATES = [0.006, -0.011, 0.087, 0.004, -0.008, -0.091, 0.003, 0.009]

# What is typed by what a prompt is headed; the first that fits. Lists are used up one by one, their last one stays.
USUAL = {
    "Plates measured cold": "3",
    "Temperature": ["84", "91", "92"],
    "Idle speed wanted": "870",
    "Idle speed": ["880", "868"],
    "Part throttle": "0",
}

WALKS = {
    "cold-baseline": {"flow": SCREWS, "typed": {
        "Bores": "4", "Cylinder numbers": "5", "Plates measured cold": "1",
        "Feeler gap": ["0.1", "0.11", "0.2", "0.1", "0.1", "0.1"]}},
    "inline-four": {"flow": SCREWS, "seed": 5},
    "inline-six": {"flow": FRONT_PAIR, "seed": 5, "typed": {"Cylinder numbers": "2"}},
    "stop-screws": {"flow": ONE_LOW, "typed": {
        "Bores": ["3 1/2", "3"], "Cylinder numbers": "1", "Screw pitch": "0.8", "Lever": "25 mm", "Throttle bore": "45",
        "Closed angle": "6", "Plates measured cold": "1", "Feeler gap": ["0.1", "0.09", "0.11", "0.1"]}},
    "twin-bank": {"flow": LEFT_SIDE, "typed": {"Cylinders": ["8", "6"], "Cylinder numbers": ["back", "3"]}},
    "twin-link": {"flow": SCREWS[:2]},
    "twin-screw": {"flow": SCREWS[2:], "seed": 2, "columns": 40, "ascii": True},
    "v12-coupled": {"flow": TWO_SIDES, "seed": 4, "typed": {"Cylinder numbers": "1"}},
    "v8-coupled": {"flow": TWO_PLATES, "seed": 2, "typed": {"Part throttle": "1"}},
}


class Engine(rig.Engine):
    def __init__(self, flow, seed):
        super().__init__(seed)
        self.flow = {str(i + 1): value for i, value in enumerate(flow)}


class Tuner(rig.Tuner):
    """Types what a walk says, and for the rest what the engine shows."""

    def __init__(self, walk):
        super().__init__(Engine(walk["flow"], walk.get("seed", 1)))
        typed = {**USUAL, **walk.get("typed", {})}
        self.typed = {words: list(value) if isinstance(value, list) else [value] for words, value in typed.items()}
        self.prompt = ""

    def answer(self, screen):
        last = screen.split("\n\n")[-1].strip("\n")
        if not last.startswith("Not taken"):
            self.prompt = last
        # A narrow screen breaks lines anywhere: what is looked for is looked for in one line.
        flat = " ".join(self.prompt.split())
        subject = self.prompt.split("\n")[0].split(": ", 1)[-1]
        for words in sorted(self.typed, key=len, reverse=True):
            if subject.startswith(words) and not flat.endswith("1 yes, 0 no"):
                answers = self.typed[words]
                return answers.pop(0) if len(answers) > 1 else answers[0]
        if "cannot be done" in flat:
            return self.adjust(subject, flat)
        if "Go round once more" in flat:
            return self.typed["Part throttle"][0]
        return super().answer(self.prompt.split("\n")[0] + "\n" + flat)

    def adjust(self, title, screen):
        share = {}
        for sign, words in ((1, "Open (more air): "), (-1, "Close (less air): ")):
            rest = screen.partition(words)[2]
            while group := re.match(r"([\d ]+) by ([\d.]+) %,? ?", rest):
                share.update({bore: sign * float(group[2]) / 100 for bore in group[1].split()})
                rest = rest[group.end():]
        assert share, "an adjustment without bores:\n" + screen
        self.engine.move(title, share)
        return "1"


def walked(name, data):
    """All that stood on the screen, and was typed, from the start to the end; dates, folders and codes made alike."""
    walk = WALKS[name]
    columns = walk.get("columns", 80)
    arguments = ["tune", name, "--data", data] + (["--ascii"] if walk.get("ascii") else [])
    env = rig.environment(COLUMNS=str(columns))
    terminal = rig.Terminal(arguments, columns=columns, env=env)
    try:
        tuner = Tuner(walk)
        screen = terminal.screen()
        for _ in range(400):
            if not screen.endswith("> "):
                break
            screen = terminal.type(tuner.answer(screen[:-2]))
        status, _ = terminal.wait()
    finally:
        terminal.kill()
    assert status in (0, 1), status
    text = re.sub(r"\x1b\[[0-9;]*m", "", terminal.text).replace(data, "/jobs")
    text = re.sub(r"(Type )\d\d( when all of this is seen to\.\n> )\d\d\n", r"\g<1>47\g<2>47\n", text)
    return re.sub(r"\b20\d{6}-", "20260102-", text)


class Walks(unittest.TestCase):
    maxDiff = None

    def test_walks_are_as_they_were_read(self):
        names = re.findall(r"^([a-z0-9-]+) ", rig.run(["procedures"])[1], re.M)
        self.assertIn("v8-coupled", names)
        for name in names:
            with self.subTest(walk=name):
                self.assertIn(name, WALKS, "a procedure without a walk: add one, then --update and read it")
                self.compare(name)

    def compare(self, name):
        data = rig.folder()
        self.addCleanup(shutil.rmtree, data)
        text = walked(name, data)
        path = os.path.join(HERE, "walks", name + ".txt")
        if UPDATE:
            with open(path, "w", encoding="utf-8") as file:
                file.write(text)
        with open(path, encoding="utf-8") as file:
            self.assertEqual(file.read(), text, "the screens changed: --update, and read what they say now")


UPDATE = "--update" in sys.argv

if __name__ == "__main__":
    unittest.main(argv=[word for word in sys.argv if word != "--update"])
