#!/usr/bin/env python3
"""What an author gets wrong at first (tests/mistakes): whether check finds each, at which line, and with which remedy."""
import json
import os
import re
import unittest

import rig

FOLDER = os.path.join(os.path.dirname(rig.HERE), "mistakes")
HEAD = re.compile(r"-- expect: line (\d+); remedy: (.+)")


def read(name):
    with open(os.path.join(FOLDER, name), encoding="utf-8") as file:
        line, words = HEAD.fullmatch(file.readline().rstrip("\n")).groups()
    return int(line), words.split(" / ")


class Mistakes(unittest.TestCase):
    def test_all(self):
        names = sorted(name for name in os.listdir(FOLDER) if name.endswith(".lua"))
        self.assertGreaterEqual(len(names), 40)
        paths = [os.path.join(FOLDER, name) for name in names]
        status, out, error = rig.run(["check", "--json"] + paths, patience=200)  # it plays many engines
        self.assertEqual((status, error), (1, ""))
        files = json.loads(out)["files"]
        self.assertEqual([file["file"] for file in files], paths)
        found = right_line = right_remedy = 0
        for name, file in zip(names, files):
            line, words = read(name)
            findings = file["findings"]
            at_line = [f for f in findings if f["line"] == line and f["file"].endswith(name)]
            told = any(all(word in f["text"] for word in words) for f in findings)
            found += bool(findings)
            right_line += bool(at_line)
            right_remedy += told
            mark = ["%s" % bool(findings), "%s" % bool(at_line), "%s" % told]
            first = "%s: %s" % (findings[0]["line"], findings[0]["text"]) if findings else "nothing"
            print("%-36s line %2d  %s  %s" % (name, line, " ".join("%-5s" % m for m in mark), first[:150]))
        print("%d mistakes: %d found, %d at their line, %d with their remedy" % (
            len(names), found, right_line, right_remedy))
        self.assertEqual(found, len(names))
        self.assertGreaterEqual(right_line, len(names) - 2)
        self.assertGreaterEqual(right_remedy, len(names) * 3 // 4)

    def test_the_same_each_time(self):
        path = os.path.join(FOLDER, "bores-that-nothing-moves.lua")
        first, second = (rig.run(["check", path]) for _ in range(2))
        self.assertEqual(first, second)
        self.assertEqual(first[0], 0)
        self.assertEqual(rig.run(["check", "--strict", path])[0], 1)


if __name__ == "__main__":
    unittest.main()
