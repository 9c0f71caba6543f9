#!/usr/bin/env python3
"""The guide for authors (procedures/README.md): every block is run as it stands there, and what was written by it."""
import json
import os
import re
import shlex
import shutil
import subprocess
import unittest

import rig

ROOT = os.path.dirname(os.path.dirname(rig.HERE))
with open(os.path.join(ROOT, "procedures", "README.md"), encoding="utf-8") as guide:
    BLOCKS = re.findall(r"^```(\S+) ?(\S*)\n(.*?)^```$", guide.read(), re.M | re.S)
WHOLE = """return procedure {
  id = "block", version = "1.0.0", api = 1, title = "Block",
  layout = { rows = { { 1, 2, 3, 4 } }, adjusters = { %(adjusters)s } },
  %(fields)s
  run = function(job)
%(run)s  end,
}
"""
USUAL = {"adjusters": "plates { { 1, 2, 3, 4 } }", "fields": "",
         "run": "job:prepare()\njob:balance()\njob:finish()\n"}


class Guide(unittest.TestCase):
    def setUp(self):
        self.folder = rig.folder()
        self.addCleanup(shutil.rmtree, self.folder)

    def run_here(self, words, status=0, stdin=b""):
        done = subprocess.run([rig.PROGRAM] + words, cwd=self.folder, input=stdin, capture_output=True, check=False,
                              env=rig.environment(XDG_DATA_HOME=self.folder), timeout=60)
        out = done.stdout.decode()
        self.assertEqual(done.returncode, status, (words, out, done.stderr.decode()))
        return out

    def write(self, name, text):
        path = os.path.join(self.folder, name)
        os.makedirs(os.path.dirname(path), exist_ok=True)
        with open(path, "w", encoding="utf-8") as file:
            file.write(text)

    def clean(self, name):
        self.assertIn("0 wrong, 0 to look at.", self.run_here(["check", "--strict", name]))

    def test_the_commands(self):
        commands = [line for kind, _, text in BLOCKS if kind == "sh" for line in text.splitlines()]
        self.assertTrue(0 < len(commands) <= 8, commands)
        for line in commands:
            words = shlex.split(line)
            self.assertEqual(words[0], "evenbore")
            out = self.run_here(words[1:])
            if words[1] == "check":
                self.assertIn("0 wrong, 0 to look at.", out)
            if words[1] == "rehearse" and "--show" not in words:
                self.assertRegex(out, r"failed +0 .*")
                self.assertRegex(out, r"stuck +0 .*")

    def test_the_blocks(self):
        kinds = set()
        for kind, what, text in BLOCKS:
            if kind != "lua":
                continue
            kinds.add(what.split("=")[0])
            if what.startswith("file="):
                self.write(what[5:], text)
                if "lib/" not in what:
                    self.clean(what[5:])
            else:
                self.write("block.lua", WHOLE % dict(USUAL, **{what: text}))
                self.clean("block.lua")
        self.assertEqual(kinds, {"adjusters", "fields", "run", "file"})

    def test_minutes_of_the_kinds(self):
        with open(os.path.join(ROOT, "procedures", "README.md"), encoding="utf-8") as file:
            told = re.search(r"one use of a (link is .*?)\.", file.read(), re.S).group(1)
        with open(os.path.join(ROOT, "procedures", "lib", "adjusters.lua"), encoding="utf-8") as file:
            kinds = dict(re.findall(r"^  (\w+) = \{\n    title = .*?effort = (\d+)", file.read(), re.M))
        self.assertEqual(dict(re.findall(r"(\w+)(?: is)? (\d+)", told)), kinds)

    def test_the_account(self):
        command = next(line for kind, _, text in BLOCKS if kind == "sh" for line in text.splitlines() if " new " in line)
        self.run_here(shlex.split(command)[1:])
        with open(os.path.join(self.folder, "w-nine.lua"), encoding="utf-8") as file:
            made = file.read().splitlines()
        with open(os.path.join(ROOT, "tests", "procedures", "w-nine.lua"), encoding="utf-8") as file:
            kept = file.read().splitlines()
        self.assertEqual([line.split()[0] for line in kept if line not in made],
                         ["--", "title", "link", "idle_rpm", "idle_by"])

    def test_a_layout_that_is_not_shipped(self):
        path = os.path.join(ROOT, "tests", "procedures", "w-nine.lua")
        self.clean(path)
        result = json.loads(self.run_here(["rehearse", path, "--engines", "20", "--faults", "all", "--json", "--quiet"]))
        self.assertEqual(result["failed"] + result["stuck"], 0)
        self.assertEqual(result["never_asked"], [])
        self.assertGreater(result["even"], 10)


if __name__ == "__main__":
    unittest.main()
