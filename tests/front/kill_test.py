#!/usr/bin/env python3
"""SIGKILL at random moments of a job: no answer that was taken is lost, none is asked twice.

An answer counts as taken once the next message has been seen. Each session is killed and resumed until it ends; what
it holds then must equal a session that nobody disturbed, but for times and the questions of a resume."""
import os
import random
import shutil
import signal
import threading
import time
import unittest

import rig

KILLS = 200
KILLS_A_JOB = 12
SEED = int(os.environ.get("EVENBORE_SEED", "20261104"))
READINGS = {"1": 6.5, "3": 6.25, "5": 6.25, "7": 6.5, "2": 6.5, "4": 6.25, "6": 6.5, "8": 6.25}


def reply(ask):
    """The same for the same question, whoever asks it when: by key, bore, pass and repeat."""
    kind, key = ask["kind"], ask["key"]
    if kind == "caution":
        return ask["code"]
    if kind == "engine":
        return True
    if kind == "confirm":
        return not key.startswith("part.wanted")
    if kind == "choose":
        return {"cold.baseline": "on-paper", "cross.way": "none"}.get(key, ask["options"][0]["id"])
    if kind == "text":
        return "as before"
    if kind == "adjust":
        return {"done": True}
    if kind == "reading":
        shift = 1.09 if ask["pass"] == 1 and ask["bore"] in ("1", "3") else 1
        return round(READINGS[ask["bore"]] * shift * 4) / 4 + (0.25 if ask["repeat"] % 3 == 2 else 0)
    return rig.number(key)


def is_own(ask):
    """What the core asks by itself: its cautions, and how things stand when somebody comes back."""
    return ask["key"].startswith(("resume.", "safety."))


def answers(path):
    """The answers that hold, as (key, bore, pass, value), those to the core's own asks left out."""
    held = []
    for record in rig.records(path):
        if record["kind"] == "withdraw":
            held = [answer for answer in held if answer["n"] < record["to"]]
        if record["kind"] == "answer":
            held.append(record)
    return [(r["ask"]["key"], r["ask"].get("bore"), r["ask"].get("pass"), r["value"]) for r in held if not is_own(r["ask"])]


class Kill(unittest.TestCase):
    def setUp(self):
        self.data = rig.folder()
        self.addCleanup(shutil.rmtree, self.data)

    def undisturbed(self):
        data = os.path.join(self.data, "undisturbed")
        talk = rig.Lines(["tune", "v8-coupled", "--data", data])
        began = time.monotonic()
        while True:
            ask, _ = talk.next_ask()
            if ask["type"] == "end":
                break
            self.assertEqual(ask["type"], "ask", ask)
            talk.answer(ask, reply(ask))
        talk.close()
        return answers(rig.session_file(data)), time.monotonic() - began

    def stretch(self, talk, taken, sent, deadline):
        """Answers until the process dies or the job ends. `sent`: the answer in flight, if any.
        `deadline`: seconds from the first ask to the kill; None: no kill from here."""
        timer = None
        while True:
            ask, _ = talk.next_ask()
            if timer is None and deadline is not None and ask is not None:
                timer = threading.Timer(deadline, talk.process.kill)
                timer.start()
                self.addCleanup(timer.cancel)
            if ask is None:
                return False
            if sent:
                taken.extend(sent)
                sent.clear()
            if ask["type"] == "end":
                return True
            self.assertEqual(ask["type"], "ask", ask)
            value = reply(dict(ask, key=ask["key"].replace("resume.", "", 1)))
            if not is_own(ask):
                expected = self.expected[len(taken)]
                self.assertEqual((ask["key"], ask.get("bore"), ask.get("pass")), expected[:3], "asked twice, or passed over")
                sent.append((ask["key"], ask.get("bore"), ask.get("pass"), value))
            talk.answer(ask, value)

    def check_file(self, data, taken, sent):
        """What is in the file after a kill: all that was taken, and at most the one in flight."""
        held = answers(rig.session_file(data))
        self.assertEqual(held[:len(taken)], taken, "an answer that was taken is lost")
        self.assertIn(held[len(taken):], ([], sent), "an answer nobody gave")
        return held

    def job(self, name, left, span):
        data = os.path.join(self.data, name)
        taken, sent, kills = [], [], 0
        while True:
            begun = os.path.isdir(os.path.join(data, "sessions")) and any(
                entry.endswith(".jsonl") for entry in os.listdir(os.path.join(data, "sessions")))
            talk = rig.Lines((["resume"] if begun else ["tune", "v8-coupled"]) + ["--data", data])
            # One kill in four comes while the session is being opened and replayed, the others while it is answered.
            early = self.random.random() < 0.25
            timer = threading.Timer(self.random.uniform(0, span / 2), talk.process.kill)
            if kills < left and early:
                timer.start()
            deadline = self.random.uniform(0, span / 4) if kills < left and not early else None
            over = self.stretch(talk, taken, sent, deadline)
            timer.cancel()
            status, error = talk.close()
            if over:
                break
            self.assertEqual(status, -signal.SIGKILL, error)
            kills += 1
            self.places.add(len(taken))
            begun = os.path.isdir(os.path.join(data, "sessions")) and any(
                entry.endswith(".jsonl") for entry in os.listdir(os.path.join(data, "sessions")))
            if begun:
                torn = self.tear(rig.session_file(data))
                self.torn += torn
                taken[:] = self.check_file(data, taken, sent) if not torn else taken
                # The end was recorded, and the kill came before it could be told.
                if not torn and rig.records(rig.session_file(data))[-1]["kind"] == "end":
                    break
            sent.clear()
        self.assertEqual(answers(rig.session_file(data)), self.expected)
        return kills

    @staticmethod
    def tear(path):
        with open(path, "rb") as file:
            return not file.read().endswith(b"\n")

    def test_two_hundred_kills(self):
        self.random = random.Random(SEED)
        self.torn, self.places = 0, set()
        self.expected, span = self.undisturbed()
        kills = jobs = 0
        while kills < KILLS:
            kills += self.job("job-%d" % jobs, min(KILLS_A_JOB, KILLS - kills), span)
            jobs += 1
        self.assertGreater(len(self.places), 20, "the kills do not spread over the job")
        print("seed %d: %d kills at %d places of %d jobs of %d answers, %d torn tails; every answer that was taken is there"
              % (SEED, kills, len(self.places), jobs, len(self.expected), self.torn))


if __name__ == "__main__":
    unittest.main()
