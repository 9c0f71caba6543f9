#!/usr/bin/env python3
"""Sessions as they were kept by this program when it was younger (tests/journal/kept, a simulated engine): they are
read for ever, and taken up again or said plainly to be of another program. Add some when what is kept changes; never
change one."""
import os
import shutil
import unittest

import rig

KEPT = os.path.join(rig.HERE, "..", "journal", "kept")


class Kept(unittest.TestCase):
    def setUp(self):
        self.data = rig.folder()
        self.addCleanup(shutil.rmtree, self.data)
        os.mkdir(os.path.join(self.data, "sessions"))

    def take(self, name):
        path = os.path.join(self.data, "sessions", name)
        shutil.copyfile(os.path.join(KEPT, name), path)
        return path

    def run_well(self, *arguments):
        status, out, error = rig.run([*arguments, "--data", self.data])
        self.assertEqual((status, error), (0, ""), arguments)
        return out

    def read(self, name, words):
        """The account and every kind of report."""
        self.take(name)
        self.assertIn("v8-coupled", self.run_well("sessions"))
        shown = " ".join(self.run_well("show", "1").split())
        for word in words:
            self.assertIn(word, shown)
        for ending in ("html", "txt", "csv", "json"):
            path = os.path.join(self.data, "report." + ending)
            self.run_well("report", "1", "-o", path)
            with open(path, encoding="utf-8") as file:
                self.assertIn("7.25", file.read(), ending)

    def test_a_finished_job_is_read(self):
        self.read("v8-even.jsonl", ["Even: every bore within 5.9 % of the mean, at a risk of 5 %.", "on the bench"])
        status, out, error = rig.run(["resume", "1", "--lines", "--data", self.data])
        self.assertEqual((status, out), (1, ""))
        self.assertIn("over (even)", error)

    def test_an_open_job_is_read(self):
        self.read("v8-open.jsonl", ["Session 20261127-v8-coupled-1", "Bore 7: 6.75 div; pass 2, idle", "left coupler: done"])

    def test_an_open_job_is_taken_up_or_said_to_be_of_another_program(self):
        path = self.take("v8-open.jsonl")
        answers = [record["typed"] for record in rig.records(path) if record["kind"] == "answer"]
        talk = rig.Lines(["resume", "1", "--data", self.data])
        self.addCleanup(talk.kill)
        ask, _ = talk.next_ask()
        status, error = talk.close()
        if ask is None:
            self.assertEqual(status, 1)
            for word in ("the journal has", "now comes to", "they differ in", "nothing is lost", "a new session"):
                self.assertIn(word, error)
        else:
            self.assertEqual((status, ask["key"]), (0, "resume.caution"))
        self.assertEqual([record["typed"] for record in rig.records(path) if record["kind"] == "answer"], answers)


if __name__ == "__main__":
    unittest.main()
