#!/usr/bin/env python3
"""pack and inspect: from a procedure to a bundle, what is read of it before use, and how it is checked without us."""
import base64
import hashlib
import json
import os
import re
import shutil
import subprocess
import unittest

import rig

MINUTES_S = 200  # for what plays many engines under sanitizers
# The first key pair of RFC 8032, section 7.1: public, so nobody's.
SEED = bytes.fromhex("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60")
PUBLIC = bytes.fromhex("d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a")

TWIN = """local ours = require "ours"
return procedure {
  id = "shop-twin", version = "%(version)s", api = 1, title = "Twin with shims",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "balance", { 1 }, { 2 }%(screw)s } } },
  cautions = { %(cautions)s },
  run = function(job)
    job:prepare()
    ours.shims(job)
    job:balance()
    %(finish)s
  end,
}
"""
FIRST = {"version": "1.0.0", "screw": "", "cautions": '"The fan runs on.", "Hot lid."', "finish": "job:finish()"}
OURS = """local ours = {}
function ours.shims(job)
  job:must { key = "shims", title = "Shims", text = "Shims under %s?", otherwise = "Put them in first." }
end
return ours
"""


def base64_of(data):
    return base64.b64encode(data).decode()


def spelled(value):
    """As bundles spell it (json.h); of characters that have no short escape, none."""
    if isinstance(value, str):
        whole = json.dumps(value)
        if len(whole) - 2 <= (56 if " " in value else 100) and "\n" not in value[:-1]:
            return whole
        pieces = [""]
        for character in value:
            step = json.dumps(character)[1:-1]
            if len(pieces[-1]) + len(step) > 68 or pieces[-1].endswith("\\n"):
                pieces.append("")
            pieces[-1] += step
        return '{\n"lines":[\n%s\n]\n}' % ",\n".join('"%s"' % piece for piece in pieces)
    if isinstance(value, dict) and value:
        return "{\n%s\n}" % ",\n".join("%s:%s" % (json.dumps(key), spelled(one)) for key, one in value.items())
    if isinstance(value, list) and value:
        return "[\n%s\n]" % ",\n".join(spelled(one) for one in value)
    return json.dumps(value, separators=(",", ":"))


def joined(value):
    """What was read, its pieces put together."""
    if isinstance(value, dict) and list(value) == ["lines"]:
        return "".join(value["lines"])
    if isinstance(value, dict):
        return {key: joined(one) for key, one in value.items()}
    return [joined(one) for one in value] if isinstance(value, list) else value


class Case(unittest.TestCase):
    def setUp(self):
        self.folder = rig.folder()
        self.addCleanup(shutil.rmtree, self.folder)
        self.data = self.path("data")
        os.makedirs(os.path.join(self.data, "keys"), mode=0o700)
        key = {"format": "evenbore-key", "version": 1, "name": "Bench Nine", "key": base64_of(PUBLIC),
               "seed": base64_of(SEED)}
        path = os.path.join(self.data, "keys", "bench.json")
        with open(path, "w", encoding="utf-8") as file:
            json.dump(key, file)
        os.chmod(path, 0o600)

    def path(self, *names):
        return os.path.join(self.folder, *names)

    def write(self, name, content):
        path = self.path(name)
        os.makedirs(os.path.dirname(path), exist_ok=True)
        with open(path, "w", encoding="utf-8") as file:
            file.write(content)
        return path

    def read(self, *names):
        with open(self.path(*names), "rb") as file:
            return file.read()

    def done(self, *arguments, status=0, stdin=b""):
        got, out, error = rig.run(list(arguments) + ["--data", self.data], stdin=stdin, patience=MINUTES_S)
        self.assertEqual(got, status, (arguments, out, error))
        return out if status == 0 else error

    def pack(self, name="twin.evenbore", shims="both stops", more=("--no-rehearsal",), **changed):
        self.write("lib/ours.lua", OURS % shims)
        source = self.write("twin.lua", TWIN % {**FIRST, **changed})
        path = self.path(name)
        self.done("pack", source, "--licence", "CC0-1.0", "-o", path, *more)
        return path


    def forge(self, good, change, name="forged.evenbore"):
        """A bundle that no `pack` makes, well sealed by its maker: `change` is given what is in it."""
        bundle = joined(json.loads(self.read(good)))
        change(bundle)
        bundle["manifest"]["files"] = [
            {"name": one["name"], "size": len(one["text"].encode()),
             "digest": hashlib.sha256(one["text"].encode()).hexdigest()} for one in bundle["sources"]]
        signed = b"evenbore bundle 1\n" + spelled(bundle["manifest"]).encode() + b"\n"
        with open(self.path("signed"), "wb") as file:
            file.write(signed)
        with open(self.path("seed.der"), "wb") as file:
            file.write(bytes.fromhex("302e020100300506032b657004220420") + SEED)
        signature = subprocess.run(["openssl", "pkeyutl", "-sign", "-keyform", "DER", "-inkey", self.path("seed.der"),
                                    "-rawin", "-in", self.path("signed")], check=True, capture_output=True).stdout
        bundle["seal"]["digest"] = hashlib.sha256(signed).hexdigest()
        bundle["seal"]["signature"] = base64_of(signature)
        return self.write(name, spelled(bundle) + "\n")


class Pack(Case):
    def test_the_same_input_gives_the_same_bytes_with_figures(self):
        figures = ("--engines", "5", "--quiet", "--revision", "4")
        first = self.pack("a.evenbore", more=figures)
        second = self.pack("b.evenbore", more=figures + ("--jobs", "3"))
        self.assertEqual(self.read(first), self.read(second))
        out = self.done("inspect", first)
        self.assertIn("shop-twin 1.0.0, revision 4, api 1, licence: CC0-1.0", out)
        self.assertRegex(out, r"engines +5\n")
        self.assertRegex(out, r"failed +0\n")
        out = self.done("inspect", first, "--rehearse", "--quiet")
        self.assertRegex(out, r"engines +5 +5\n")
        even = re.search(r"ended even +(\d) +(\d)\n", out)
        self.assertEqual(even[1], even[2])

    def test_what_check_refuses_is_not_packed(self):
        source = self.write("bad.lua", "return procedure { id = 'bad', version = '1', api = 1, titel = 'Bad' }\n")
        _, out, error = rig.run(["pack", source, "--licence", "x", "--data", self.data])
        self.assertRegex(out, r"bad\.lua:1: wrong: .*titel")
        self.assertIn("not packed: 1 finding is to be put right first", error)
        self.assertEqual([name for name in os.listdir(self.folder) if name.endswith(".evenbore")], [])
        # What check only wants to be looked at is packed, unless --strict forbids it.
        never = 'if false then job:must { key = "m", title = "M", text = "M?", otherwise = "M." } end\n job:finish()'
        odd = self.write("odd.lua", TWIN.replace("ours.shims(job)", "").replace('local ours = require "ours"\n', "")
                         % {**FIRST, "finish": never})
        command = ["pack", odd, "--licence", "x", "--no-rehearsal", "-o", self.path("odd.evenbore"), "--data", self.data]
        status, out, error = rig.run(command + ["--strict"], patience=MINUTES_S)
        self.assertEqual((status, "never asked" in out, "not packed" in error), (1, True, True), out + error)
        self.assertEqual(rig.run(command, patience=MINUTES_S)[0], 0)

    def test_a_built_in_id_is_nobodys(self):
        source = self.write("mine.lua", TWIN.replace('local ours = require "ours"\n', "").replace(
            "ours.shims(job)", "").replace("shop-twin", "twin-screw") % FIRST)
        self.assertIn("refused (shadows)", self.done("pack", source, "--licence", "x", status=20))

    def test_it_is_asked_for_what_is_missing(self):
        source = self.write("twin.lua", TWIN % FIRST)
        self.write("lib/ours.lua", OURS % "both stops")
        self.assertIn("--licence CC0-1.0", self.done("pack", source, status=2))
        self.assertIn("-o", self.done("help", "pack"))
        terminal = rig.Terminal(["pack", source, "--no-rehearsal", "-o", self.path("t.evenbore"), "--data", self.data])
        self.assertIn("what may others do with it?", terminal.screen())
        terminal.send("for our customers")
        status, rest = terminal.wait()
        self.assertEqual((status, "Packed: " in rest), (0, True), rest)
        self.assertIn("licence: for our customers", self.done("inspect", self.path("t.evenbore")))
        for more, words in ((["--revision", "0"], "--revision"), (["-o", self.path("x.txt")], "ends in .evenbore"),
                            (["--no-rehearsal", "--engines", "3"], "--no-rehearsal"), (["--maker", "none"], "none"),
                            (["--faults", "gremlins", "-o", self.path("g.evenbore")], "--faults")):
            error = self.done("pack", source, "--licence", "x", *more, status=2)
            self.assertIn(words, error)
            self.assertNotIn(" engines\n", error) # nothing was rehearsed for that
        os.remove(self.path("data", "keys", "bench.json"))
        self.assertIn("evenbore maker", self.done("pack", source, "--licence", "x", "--no-rehearsal", status=2))

    def test_revisions_count_up_and_nothing_is_written_over(self):
        self.write("lib/ours.lua", OURS % "both stops")
        source = self.write("twin.lua", TWIN % FIRST)
        here = os.getcwd()
        os.chdir(self.folder)
        self.addCleanup(os.chdir, here)
        for revision in (1, 2):
            self.assertIn(f"Packed: shop-twin-{revision}.evenbore",
                          self.done("pack", source, "--licence", "x", "--no-rehearsal"))
        before = self.read("shop-twin-2.evenbore")
        error = self.done("pack", source, "--licence", "y", "--no-rehearsal", "--revision", "2", status=1)
        self.assertIn("is not written over", error)
        self.assertEqual(self.read("shop-twin-2.evenbore"), before)


class Inspect(Case):
    def test_what_a_person_reads(self):
        out = self.done("inspect", self.pack(more=("--no-rehearsal", "--instruments", "mirror; long spanner")),
                        "--source")
        for words in ("Twin with shims", "Made by Bench Nine", "not known here", "Verified: whole", "- airflow gauge",
                      "- mirror", "- long spanner", "- The fan runs on.", "- Hot lid.", "balance screw",
                      "- asks: Shims | Shims under both stops? | Put them in first.", "- step finish",
                      "not by its maker", "- lib/ours.lua, ", '   1  local ours = require "ours"'):
            self.assertIn(words, out)
        self.assertRegex(out, r"\n  (\d{5} ){7}\d{5}\n")

    def test_what_changed(self):
        first = self.pack("a.evenbore")
        second = self.pack("b.evenbore", "one stop", version="1.1.0", cautions='"Hot lid."', finish="job:tell 'Done.'",
                           screw=', title = "the screw", effort = 9')
        out = self.done("inspect", second, "--against", first)
        out = out[out.index("Changed against"):]
        for words in ("! caution lost: The fan runs on.", "! step lost: job:finish", "+ says now: Done.",
                      "~ worded otherwise, was: Shims | Shims under both stops? | Put them in first.",
                      "is now: Shims | Shims under one stop? | Put them in first.", "~ another move, was: balance screw",
                      "is now: the screw, engine", "\n-    job:finish()\n+    job:tell 'Done.'\n", "\n./lib/ours.lua\n@@ "):
            self.assertIn(words, out)
        self.assertNotIn("Hot lid", out.split("@@")[0])
        out = self.done("inspect", first, "--against", second)
        self.assertIn("+ warns now of: The fan runs on.", out)
        self.assertIn("byte by byte", self.done("inspect", first, "--against", first))

    def test_a_manifest_that_tells_something_else_than_its_procedure(self):
        good = self.pack()
        self.assertEqual(self.read(self.forge(good, lambda bundle: None)), self.read(good))
        other = {"rows": [["1", "2"]], "row_titles": ["only row"], "adjusters": []}
        for number, (part, value) in enumerate((("version", "1.0.1"), ("title", "Twin, all of it"), ("api", 2),
                                                ("layout", [other]), ("hazards", ["Hot lid."]))):
            def change(bundle, part=part, value=value, number=number):
                manifest = bundle["manifest"]
                manifest["revision"] = number + 1
                manifest["version"] = "1.%d" % number
                manifest["layouts" if part == "layout" else part] = value
                text = bundle["sources"][0]["text"]
                if part != "version":
                    text = text.replace('version = "1.0.0"', 'version = "1.%d"' % number)
                bundle["sources"][0]["text"] = text
            forged = self.forge(good, change, part + ".evenbore")
            if part != "api":
                out = self.done("inspect", forged, "--rehearse", "--engines", "1", "--quiet")
                self.assertIn("! the procedure itself has another %s than" % part, out)
            self.done("add", forged)
            error = self.done("tune", "shop-twin", status=13)
            self.assertRegex(error, r"\Aevenbore: shop-twin: refused \(manifest\): [^\n]* another %s [^\n]*\n\Z" % part)
        self.assertFalse(os.listdir(self.path("data", "sessions")))

    def test_a_library_file_that_would_not_be_the_one_that_is_taken(self):
        def change(bundle):
            bundle["sources"].append({"name": "lib/balance.lua", "text": "return {}\n"})
        forged = self.forge(self.pack(), change)
        for command in (["add"], ["inspect", "--rehearse", "--quiet"]):
            error = self.done(*command, forged, status=20)
            self.assertRegex(error, r"\Aevenbore: shop-twin: refused \(shadows\): [^\n]*lib/balance\.lua[^\n]*\n\Z")
        self.assertFalse(os.path.exists(self.path("data", "shelf")))

    def test_nothing_that_a_screen_would_obey_comes_out(self):
        hostile = "\u202e\x1b[2J\x9b\u200b\u2066"

        def change(bundle):
            text = bundle["sources"][0]["text"]
            bundle["sources"][0]["text"] = text.replace("Hot lid.", "Hot " + hostile).replace(
                "job:prepare()", "job:tell '%s' -- %s" % (hostile, hostile))
        good = self.pack()
        forged = self.forge(good, change)
        out = self.done("inspect", forged, "--source", "--against", good)
        self.assertIn("job:tell", out)
        for command in (["inspect", forged, "--rehearse", "--engines", "1", "--quiet"], ["add", forged],
                        ["check", "shop-twin"], ["tune", "shop-twin"]):
            out += "".join(rig.run(command + ["--data", self.data], patience=MINUTES_S)[1:])
        for character in hostile:
            if character not in "[2J":
                self.assertNotIn(character, out)
        for part in ("title", "licence", "version"):
            forged = self.forge(good, lambda bundle, part=part: bundle["manifest"].update({part: "x" + hostile}))
            error = self.done("inspect", forged, status=11)
            self.assertRegex(error, r"\Aevenbore: [^\n]*refused \(form\): [ -~]+\n\Z")

    def test_it_is_checked_by_other_programs(self):
        self.done("inspect", self.pack(), "--take-apart", self.path("parts"))
        parts = self.path("parts")
        verify = ["openssl", "pkeyutl", "-verify", "-pubin", "-inkey", "maker.pem", "-rawin", "-in", "signed",
                  "-sigfile", "signature"]
        subprocess.run(verify, cwd=parts, check=True, stdout=subprocess.DEVNULL)
        subprocess.run(["sha256sum", "--strict", "-c", "SHA256SUMS"], cwd=parts, check=True, stdout=subprocess.DEVNULL)
        signed = self.read("parts", "signed")
        self.assertTrue(signed.startswith(b"evenbore bundle 1\n{\n\"id\":\"shop-twin\",\n"))
        for line in self.read("parts", "SHA256SUMS").splitlines():
            self.assertIn(b'"digest":"' + line[:64] + b'"', signed)
        self.assertEqual(self.read("parts", "lib", "ours.lua").decode(), OURS % "both stops")
        with open(self.path("parts", "signed"), "ab") as file:
            file.write(b" ")
        self.assertNotEqual(subprocess.run(verify, cwd=parts, check=False, capture_output=True).returncode, 0)
        self.assertIn("is there already",
                      self.done("inspect", self.path("twin.evenbore"), "--take-apart", parts, status=1))

    def test_each_reason_has_its_exit_status(self):
        good = self.read(self.pack())
        bad = self.path("bad.evenbore")
        signature = re.search(rb'"signature":"(.)', good)
        known = [
            (10, "not-a-bundle", TWIN.encode()), (10, "not-a-bundle", b""), (10, "not-a-bundle", b"\x7fELF\0\0"),
            (11, "form", good + b"-- \n"), (11, "form", good[:-200]), (11, "form", good.replace(b'"api":1', b'"api": 1')),
            (12, "payload", good.replace(b"both stops", b"each stop.")),
            (13, "manifest", good.replace(b"Hot lid", b"Hot led", 1)),
            (14, "purpose", good.replace(b'"purpose":"bundle"', b'"purpose":"handover"')),
            (15, "signer", good[:-300] + good[-300:].replace(base64_of(PUBLIC).encode(), base64_of(SEED).encode())),
            (16, "signature", good.replace(signature[0], signature[0][:-1] + (b"A" if signature[1] != b"A" else b"B"))),
        ]
        for status, word, content in known:
            with open(bad, "wb") as file:
                file.write(content)
            error = self.done("inspect", bad, status=status)
            self.assertRegex(error, rf"\Aevenbore: .*bad\.evenbore(:\d+)?: refused \({word}\): [^\n]+\n\Z")
        with open(bad, "wb") as file:
            file.write(good.replace(b"\n", b"\r\n") + b"\r\n\r\n")
        self.done("inspect", bad)

    def test_wrong_input(self):
        for arguments, status, words in ((["inspect"], 2, "a bundle is missing"), (["pack"], 2, "a file is missing"),
                                         (["inspect", self.path("none")], 2, "no such file"),
                                         (["inspect", self.folder], 2, "folder"),
                                         (["inspect", "/dev/null"], 2, "/dev/null")):
            self.assertIn(words, self.done(*arguments, status=status))
        with open(self.path("huge.evenbore"), "wb") as file:
            file.truncate(2 << 20)
        self.assertIn("larger", self.done("inspect", self.path("huge.evenbore"), status=2))

    def test_what_a_screen_would_obey_is_written_out(self):
        bundle = json.loads(self.read(self.pack()))
        text = "".join(bundle["sources"][0]["text"]["lines"])
        self.write("twin.lua", "-- \u202e\x1b[2J\u200b\n" + text)
        source = self.path("twin.lua")
        _, out, error = rig.run(["pack", source, "--licence", "x", "--data", self.data])
        self.assertNotIn("\x1b", out + error)
        self.assertNotIn("\u202e", out + error)


if __name__ == "__main__":
    unittest.main()
