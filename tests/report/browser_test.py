#!/usr/bin/env python3
"""The report's pages in a headless Chromium: opened, judged for accessibility by axe-core, validated as HTML, measured,
printed to PDF and read back; the same jobs as JSON by their schema. `report_pages` writes them; npm brings the checkers, at the versions that
package-lock.json names, into the build's folder. One browser for all."""
import glob
import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import unittest

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, HERE)
from browser import Browser  # noqa: E402

CHECKERS = os.path.join(os.environ["EB_BUILD"], "checkers")
USUAL = ["v8", "v12", "twin", "screws", "dead", "stopped", "unfinished", "baseline"]
SEVERAL = re.compile("(history|comparison)-")  # pages about several sessions
PAPERS = {"A4": (8.27, 11.69), "Letter": (8.5, 11)}
PAGES_MOST = 4
BYTES_MOST = 500 * 1000
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def call(arguments, **more):
    done = subprocess.run(arguments, capture_output=True, text=True, **more)
    if done.returncode != 0:
        raise AssertionError("%s: %s%s" % (" ".join(arguments), done.stdout[-4000:], done.stderr[-2000:]))
    return done.stdout


def read(path):
    with open(os.path.join(HERE, path)) as file:
        return file.read()


def install_checkers():
    """Into the build's folder, unless those that are there are the lock's."""
    mark = hashlib.sha256((read("package.json") + read("package-lock.json")).encode()).hexdigest()
    marked = os.path.join(CHECKERS, "installed")
    if os.path.exists(marked) and read(marked) == mark:
        return
    shutil.rmtree(CHECKERS, ignore_errors=True)
    os.makedirs(CHECKERS)
    for name in ("package.json", "package-lock.json"):
        shutil.copy(os.path.join(HERE, name), CHECKERS)
    call(["npm", "ci", "--ignore-scripts", "--no-audit", "--no-fund", "--prefer-offline"], cwd=CHECKERS)
    with open(marked, "w") as file:
        file.write(mark)


def setUpModule():
    global folder, pages, browser
    install_checkers()
    folder = tempfile.mkdtemp(prefix="evenbore-pages-")
    call([os.environ["EB_PAGES"], folder])
    pages = {os.path.basename(path)[:-5]: path for path in sorted(glob.glob(os.path.join(folder, "*.html")))}
    browser = Browser()


def tearDownModule():
    browser.close()
    shutil.rmtree(folder, ignore_errors=True)


# Words of one drawing that lie on each other, or outside of it.
MEASURE = """
[...document.querySelectorAll('svg[role=img]')].flatMap(svg => {
  const boxes = [...svg.querySelectorAll('text')].filter(t => t.textContent).map(t => [t.textContent, t.getBBox()]);
  const all = svg.viewBox.baseVal, bad = [];
  boxes.forEach(([words, a], i) => {
    if (a.x < 0 || a.y < 0 || a.x + a.width > all.width || a.y + a.height > all.height + 1)
      bad.push(words + ' leaves its drawing');
    boxes.slice(0, i).forEach(([other, b]) => {
      const over = Math.min(a.x + a.width, b.x + b.width) - Math.max(a.x, b.x);
      const deep = Math.min(a.y + a.height, b.y + b.height) - Math.max(a.y, b.y);
      // A line's box has room above its letters that the line before may use.
      if (over > 0 && deep > 3) bad.push(words + ' lies on ' + other);
    });
  });
  svg.querySelectorAll('g').forEach(g => {
    const cell = g.querySelector('rect').getBBox();
    [...g.querySelectorAll('text')].filter(t => t.textContent).forEach(t => {
      const a = t.getBBox();
      if (a.x < cell.x || a.x + a.width > cell.x + cell.width) bad.push(t.textContent + ' leaves its cell');
    });
  });
  return bad;
})"""

DRAWINGS = """
[...document.querySelectorAll('svg[role=img]')].map(svg => {
  const named = svg.getAttribute('aria-labelledby').split(' ').map(id => document.getElementById(id));
  const follows = [...document.querySelectorAll('table')].some(
    t => svg.compareDocumentPosition(t) & Node.DOCUMENT_POSITION_FOLLOWING);
  return named.length == 2 && named[0].tagName == 'title' && named[1].tagName == 'desc' &&
    named.every(n => n.textContent.length > 0 && svg.contains(n)) && follows;
})"""

ROWS = """
[...document.querySelectorAll('tr')].map(r => [...r.cells].map(c => c.textContent).join(''))
  .concat([...document.querySelectorAll('li,caption,dd')].map(e => e.textContent))"""


VALIDATE = """
const Ajv = require('ajv/dist/2020'), fs = require('fs');
const [schema, ...files] = process.argv.slice(1).map(path => JSON.parse(fs.readFileSync(path)));
const valid = new Ajv({allErrors: true, allowUnionTypes: true}).compile(schema);
const bad = files.filter(file => !valid(file)).map(() => valid.errors);
if (bad.length) throw new Error(JSON.stringify(bad, null, 1));"""


class Pages(unittest.TestCase):
    def each(self, look, names=None):
        for name in names or pages:
            with self.subTest(page=name):
                look(name, pages[name])

    def test_all_are_there_and_small(self):
        self.assertGreaterEqual(len(pages), 25)
        self.each(lambda _, path: self.assertLess(os.path.getsize(path), BYTES_MOST))

    def look_at(self, path, axe):
        complaints, asked = browser.open(path)
        self.assertEqual(complaints, [])
        self.assertEqual(asked, [])
        self.assertEqual(browser.run("document.scripts.length"), 0)
        self.assertEqual(browser.run(MEASURE), [])
        drawings = browser.run(DRAWINGS)
        self.assertEqual(drawings, [True] * len(drawings))
        browser.run(axe + ";0")
        result = browser.run("axe.run(document, {runOnly: %s}).then(r => ({passes: r.passes.length, "
                             "bad: r.violations.map(v => [v.id, v.help, v.nodes.map(n => n.html)])}))" %
                             json.dumps(RULES))
        self.assertEqual(result["bad"], [])
        self.assertGreater(result["passes"], 15)

    def test_open_quietly_and_hold_to_the_rules(self):
        axe = read(os.path.join(CHECKERS, "node_modules", "axe-core", "axe.min.js"))
        self.each(lambda _, path: self.look_at(path, axe))

    def test_the_checker_finds_what_is_wrong(self):
        """A page without a language, with grey words on white, fails: the rules are really looked at."""
        path = os.path.join(folder, "wrong.txt.html")
        with open(path, "w") as file:
            file.write("<!DOCTYPE html><title>Wrong</title><p style='color:#bbb;background:#fff'>Grey</p>")
        axe = read(os.path.join(CHECKERS, "node_modules", "axe-core", "axe.min.js"))
        browser.open(path)
        browser.run(axe + ";0")
        bad = browser.run("axe.run(document, {runOnly: %s}).then(r => r.violations.map(v => v.id))" % json.dumps(RULES))
        self.assertIn("html-has-lang", bad)
        self.assertIn("color-contrast", bad)

    def test_is_valid_html(self):
        call([os.path.join(CHECKERS, "node_modules", ".bin", "html-validate"), "--config",
              os.path.join(HERE, "html-validate.json"), *pages.values()], cwd=CHECKERS)

    def test_json_is_as_its_schema_says(self):
        include = os.path.join(HERE, "..", "..", "include", "evenbore")
        schema = os.path.join(include, "report.schema.json")
        several = [path[:-5] + ".json" for name, path in pages.items() if SEVERAL.match(name)]
        files = [path[:-5] + ".json" for name, path in pages.items() if not SEVERAL.match(name)]
        self.assertGreaterEqual(len(several), 9)
        call(["node", "-e", VALIDATE, schema, *files], cwd=CHECKERS)
        call(["node", "-e", VALIDATE, os.path.join(include, "history.schema.json"), *several], cwd=CHECKERS)
        wrong = os.path.join(folder, "wrong.json")
        with open(files[0]) as file:
            job = json.load(file)
        job["claim"] = {"tolerance": 0.05}
        with open(wrong, "w") as file:
            json.dump(job, file)
        self.assertRaises(AssertionError, call, ["node", "-e", VALIDATE, schema, wrong], cwd=CHECKERS)

    def print(self, path, paper):
        """Pages, and the text without white space."""
        pdf = os.path.join(folder, "printed.pdf")
        browser.print(pdf, *PAPERS[paper])
        count = int(re.search(r"Pages:\s+(\d+)", call(["pdfinfo", pdf])).group(1))
        return count, re.sub(r"\s+", "", call(["pdftotext", "-raw", pdf, "-"]))

    def print_all(self, name, path):
        browser.open(path)
        rows = [re.sub(r"\s+", "", row) for row in browser.run(ROWS)]
        self.assertGreater(len(rows), 5)
        for paper in PAPERS if name in USUAL or SEVERAL.match(name) else ["A4"]:
            count, text = self.print(path, paper)
            if name in USUAL:
                self.assertLessEqual(count, PAGES_MOST, paper)
            for row in rows:
                self.assertIn(row, text)

    def test_prints_whole_on_either_paper(self):
        self.each(self.print_all)

    def narrow(self, path):
        browser.open(path, width=320, height=640)
        wide = browser.run("[...document.querySelectorAll('h1,h2,h3,p,dl,ul,figure')].filter("
                           "e => e.getBoundingClientRect().right > 320).map(e => e.textContent)")
        self.assertEqual(wide, [])

    def test_narrow_screens_need_no_scrolling_for_words(self):
        self.each(lambda _, path: self.narrow(path), USUAL + ["long-words", "hostile"] + [name for name in pages if SEVERAL.match(name)])


if __name__ == "__main__":
    unittest.main()
