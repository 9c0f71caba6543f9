#!/usr/bin/env python3
"""A procedure's way from one shop to another, each with a data folder of its own: made, packed, taken in, trusted, tuned
with, updated, handed over, revoked. And what a support desk sees of a job that was done elsewhere."""
import hashlib
import json
import os
import re
import shutil
import stat
import unittest

import rig

PROCEDURE = """return procedure {
  id = "%(id)s", version = "%(version)s", api = 1, title = "Twin, one screw",
  layout = { rows = { { 1, 2 } }, adjusters = { screw { "balance", { 1 }, { 2 } } } },
  run = function(job)
    job:prepare()
    job:balance()
    job:finish()
  end,
}
"""
GROUPS = r"fingerprint +(\d{5}(?: \d{5}){7})"
REFUSED = {"form": 11, "payload": 12, "signature": 16, "untrusted": 17, "rollback": 18, "revoked": 19, "shadows": 20,
           "look-alike": 21, "other-maker": 22, "version-taken": 23, "handed-over": 24, "stranger": 25, "fingerprint": 26,
           "key-open": 27, "passphrase": 28}


class Case(unittest.TestCase):
    def setUp(self):
        self.folder = rig.folder()
        self.addCleanup(shutil.rmtree, self.folder)
        self.stick = self.path("stick")
        os.mkdir(self.stick)

    def path(self, *names):
        return os.path.join(self.folder, *names)

    def done(self, shop, *arguments, stdin=b""):
        status, out, error = rig.run(list(arguments) + ["--data", self.path(shop)], stdin=stdin, patience=120)
        self.assertEqual((status, error), (0, ""), (arguments, out))
        return out

    def refused(self, shop, word, *arguments, stdin=b""):
        status, out, error = rig.run(list(arguments) + ["--data", self.path(shop)], stdin=stdin, patience=120)
        self.assertEqual(status, REFUSED[word], (arguments, out, error))
        self.assertEqual(out, "")
        self.assertRegex(error, r"\Aevenbore: (?:[^\n]+: )?refused \(%s\): [^\n]+\n\Z" % word)
        return error

    def key(self, shop, name, title):
        """A key without a passphrase; its fingerprint."""
        out = self.done(shop, "maker", "make", name, title, "--no-passphrase")
        return re.search(GROUPS, out).group(1)

    def pack(self, key, revision, version, shop="maker", name="yard-twin"):
        source = self.path(name + ".lua")
        with open(source, "w", encoding="utf-8") as file:
            file.write(PROCEDURE % {"id": name, "version": version})
        path = os.path.join(self.stick, "%s-%s-%d.evenbore" % (name, key, revision))
        self.done(shop, "pack", source, "--maker", key, "--licence", "CC0-1.0", "--revision", str(revision),
                  "--no-rehearsal", "-o", path)
        return path

    def state(self, name, *arguments):
        """A statement on the stick."""
        path = os.path.join(self.stick, name + ".evenbore")
        self.done("maker", "maker", *arguments, "-o", path)
        return path

    def first_ask(self, *arguments, shop="shop"):
        talk = rig.Lines(list(arguments) + ["--data", self.path(shop)])
        self.addCleanup(talk.kill)
        ask, _ = talk.next_ask()
        return talk, ask

    def leave(self, talk, status=0):
        talk.send({"do": "pause"})
        got, error = talk.close()
        self.assertEqual(got, status, error)
        return error

    def session(self, shop="shop", which=-1):
        folder = self.path(shop, "sessions")
        names = sorted((name for name in os.listdir(folder) if name.endswith(".jsonl")),
                       key=lambda name: int(re.search(r"-(\d+)\.jsonl", name).group(1)))
        return os.path.join(folder, names[which])


class TwoShops(Case):
    def test_the_whole_way(self):
        nine = self.key("maker", "nine", "Bench Nine")
        first = self.pack("nine", 1, "1.0.0")
        self.assertIn(nine[:5], self.done("shop", "inspect", first))
        self.assertIn("yard-twin@1.0.0, revision 1", self.done("shop", "shelf", self.stick))
        self.assertIn("is not trusted", self.done("shop", "add", first).replace("\n", " "))
        self.assertRegex(self.done("shop", "procedures"),
                         r"yard-twin@1\.0\.0  Twin, one screw\n  by Bench Nine \(not trusted\), revision 1")
        self.untrusted()
        self.trusted(nine)
        self.updated()
        self.handed_over()
        self.revoked()

    def untrusted(self):
        """Looked at and tried, and before each job asked for by a code."""
        self.done("shop", "check", "yard-twin")
        self.assertIn("3 simulated engines", self.done("shop", "rehearse", "yard-twin", "--engines", "3", "--quiet"))
        for _ in range(2):
            talk, ask = self.first_ask("tune", "yard-twin")
            self.assertEqual((ask["kind"], ask["key"]), ("caution", "safety.origin"))
            self.assertIn("Bench Nine", ask["hazards"][0])
            for value in (True, "", "y", "yes", "1", "99"):
                talk.answer(ask, value)
                self.assertEqual(talk.next()["type"], "refused", value)
            self.assertIn("refused (untrusted)", self.leave(talk, REFUSED["untrusted"]))
        talk, ask = self.first_ask("tune", "yard-twin")
        talk.answer(ask, ask["code"])
        ask, _ = talk.next_ask()
        self.assertEqual(ask["key"], "safety.place")
        self.leave(talk)
        kept = rig.records(self.session())
        origin = kept[0]["inputs"]["origin"]
        self.assertEqual((origin["standing"], origin["maker"], origin["id"], origin["revision"]),
                         ("not trusted", "Bench Nine", "yard-twin", 1))
        answers = [record for record in kept if record["kind"] == "answer"]
        self.assertEqual(answers[0]["ask"]["key"], "safety.origin")
        self.assertEqual(answers[0]["ask"]["hazards"], origin["cautions"])
        told = self.done("shop", "show", self.session())
        self.assertIn("Bench Nine, yard-twin@1.0.0 revision 1, not trusted", told.replace("\n", " "))

    def trusted(self, fingerprint):
        other = self.key("elsewhere", "other", "Bench Nine")
        for typed in ("", "\n", "y\n", "yes\n", "Y\n", fingerprint[:-1] + "\n", fingerprint + "0\n"):
            self.refused("shop", "fingerprint", "trust", "Bench Nine", stdin=typed.encode())
        error = self.refused("shop", "fingerprint", "trust", "Bench Nine", stdin=other.encode() + b"\n")
        self.assertNotIn(fingerprint[:5], error)
        slip = fingerprint[:12] + str((int(fingerprint[12]) + 1) % 10) + fingerprint[13:]
        self.assertIn("group 3", self.refused("shop", "fingerprint", "trust", "Bench Nine", stdin=slip.encode() + b"\n"))
        self.assertIn("(not trusted)", self.done("shop", "procedures"))
        self.done("shop", "trust", "Bench Nine", stdin=fingerprint.replace(" ", "").encode() + b"\n")
        self.assertIn("trusted since", self.done("shop", "makers"))
        talk, ask = self.first_ask("tune", "yard-twin")
        self.assertEqual(ask["key"], "safety.place")
        self.leave(talk)
        self.assertEqual(rig.records(self.session())[0]["inputs"]["origin"]["standing"], "trusted")
        began = self.session()
        talk, _ = self.first_ask("resume", began)
        self.assertNotIn("not trusted", self.leave(talk))
        self.done("shop", "distrust", "Bench Nine")
        for shop in ("shop", "desk"):
            talk, _ = self.first_ask("resume", began, shop=shop)
            self.assertIn("Bench Nine, whose key was trusted where the job began and is not trusted here now", self.leave(talk))
        talk, ask = self.first_ask("tune", "yard-twin")
        self.assertEqual(ask["key"], "safety.origin")
        self.leave(talk, REFUSED["untrusted"])
        self.done("shop", "trust", fingerprint[:5], stdin=fingerprint.encode() + b"\n")

    def updated(self):
        """Versions side by side; none comes back; a job goes on with what it was begun with."""
        talk, ask = self.first_ask("tune", "yard-twin")
        self.leave(talk)
        began = self.session()
        second = self.pack("nine", 2, "1.1.0")
        self.done("shop", "add", second)
        for name, version in (("yard-twin", "1.1.0"), ("yard-twin@1.0.0", "1.0.0"), ("yard-twin@1.1.0", "1.1.0")):
            talk, _ = self.first_ask("tune", name)
            self.leave(talk)
            self.assertEqual(rig.records(self.session())[0]["procedure"]["version"], version)
        self.done("shop", "remove", "yard-twin@1.0.0")
        error = self.refused("shop", "rollback", "add", os.path.join(self.stick, "yard-twin-nine-1.evenbore"))
        self.assertIn("revision 2", error)
        talk, again = self.first_ask("resume", began)
        self.assertEqual((again["key"], again["hazards"]), (ask["key"], ask["hazards"]))
        self.assertIn("yard-twin@1.0.0 is not on the shelf here; this job goes on", self.leave(talk))

    def handed_over(self):
        self.ten = self.key("maker", "ten", "Bench Nine")
        handover = self.state("handover", "handover", "nine", "ten")
        third = self.pack("ten", 3, "1.2.0")
        self.refused("shop", "other-maker", "add", third)
        self.done("shop", "add", handover)
        self.assertIn("known already", self.done("shop", "add", handover))
        self.done("shop", "add", third)
        self.refused("shop", "handed-over", "add", self.pack("nine", 4, "1.3.0"))
        talk, ask = self.first_ask("tune", "yard-twin")
        self.assertEqual(ask["key"], "safety.place")
        self.leave(talk)
        self.assertEqual(rig.records(self.session())[0]["procedure"]["version"], "1.2.0")

    def revoked(self):
        began = self.session()
        stranger = self.path("stranger.evenbore")
        self.done("elsewhere", "maker", "card", "other", "-o", self.path("card.evenbore"))
        self.done("maker", "maker", "card", "ten", "-o", self.path("ten.evenbore"))
        self.done("elsewhere", "maker", "revoke", self.path("ten.evenbore"), "stolen", "--by", "other", "-o", stranger)
        self.refused("shop", "stranger", "add", stranger)
        self.done("shop", "add", self.state("revocation", "revoke", "ten", "stolen", "from the van"))
        error = self.refused("shop", "revoked", "tune", "yard-twin")
        self.assertIn("stolen", error)
        self.refused("shop", "revoked", "add", self.pack("ten", 5, "1.4.0"))
        self.refused("shop", "revoked", "trust", self.ten[:5])
        self.done("shop", "check", "yard-twin")
        talk, _ = self.first_ask("resume", began)
        self.assertIn("is revoked (stolen)", self.leave(talk))

    def test_a_built_in_procedure_stays_what_it_is(self):
        self.key("maker", "nine", "Bench Nine")
        self.refused("shop", "look-alike", "add", self.pack("nine", 1, "9.0.0", name="v8-coup1ed"))
        self.assertFalse(os.path.isdir(self.path("shop", "shelf")))

    def test_a_stick_with_all_sorts_on_it(self):
        self.key("maker", "nine", "Bench Nine")
        good = self.pack("nine", 1, "1.0.0")
        with open(good, "rb") as file:
            text = file.read()
        for name, content in (("cut", text[:-50]), ("changed", text.replace(b"one screw", b"two screw")),
                              ("esc\x1b[2Jape", b"x"), ("deep", b'{\n"format":"evenbore-bundle",\n"a":' + b"[" * 5000)):
            with open(os.path.join(self.stick, name + ".evenbore"), "wb") as file:
                file.write(content)
        os.symlink("/etc/passwd", os.path.join(self.stick, "link.evenbore"))
        os.mkfifo(os.path.join(self.stick, "pipe.evenbore"))
        with open(os.path.join(self.stick.encode(), b"\xff.evenbore"), "wb"):
            pass
        status, out, error = rig.run(["shelf", self.stick, "--data", self.path("shop")])
        self.assertEqual((status, error), (1, ""))
        self.assertNotIn("\x1b", out)
        self.assertEqual(out.count("refused ("), 7)
        self.assertIn("yard-twin@1.0.0, revision 1", out)
        self.done("shop", "add", good)
        for name in ("link", "pipe"):
            status, _, error = rig.run(["add", os.path.join(self.stick, name + ".evenbore"), "--data", self.path("shop")])
            self.assertNotEqual(status, 0)
            self.assertRegex(error, r"\Aevenbore: [^\n]+\n\Z")

    def test_mistakes_are_told(self):
        for arguments, words in ((["add"], "a file is missing"), (["remove"], "procedure is missing"),
                                 (["trust"], "maker is missing"), (["shelf"], "folder is missing"),
                                 (["add", "/nowhere/x.evenbore"], "no such file"),
                                 (["shelf", "/nowhere/at/all"], "no such folder"),
                                 (["remove", "yard-twin"], "no such procedure"),
                                 (["trust", "Bench Nine"], "no maker is known"),
                                 (["tune", "x.evenbore"], "evenbore add"), (["tune", "yard-twin@2"], "on the shelf"),
                                 (["maker", "mkae", "a", "b"], "make KEY"), (["maker", "card", "none"], "no such key"),
                                 (["maker", "make", "Bad Name", "x", "--no-passphrase"], "small letters"),
                                 (["maker", "revoke", "a", "bored"], "lost, stolen and retired")):
            status, out, error = rig.run(arguments + ["--data", self.path("shop")])
            self.assertEqual((status, out), (2, ""), (arguments, error))
            self.assertRegex(error, r"\Aevenbore: [^\n]+\n\Z")
            self.assertIn(words, error)
        for command in ("add", "remove", "shelf", "makers", "maker", "trust", "distrust"):
            self.assertIn("evenbore " + command, self.done("shop", "help", command))


class Keys(Case):
    def test_a_key_is_its_owners_alone(self):
        self.key("maker", "nine", "Bench Nine")
        path = self.path("maker", "keys", "nine.json")
        self.assertEqual(stat.S_IMODE(os.stat(path).st_mode), 0o600)
        self.assertEqual(stat.S_IMODE(os.stat(os.path.dirname(path)).st_mode), 0o700)
        for mode in (0o640, 0o604, 0o620):
            os.chmod(path, mode)
            self.refused("maker", "key-open", "maker", "card", "nine")
        os.chmod(path, 0o600)
        self.assertIn("evenbore-card", self.done("maker", "maker", "card", "nine"))
        # What lies where it is written first is neither written to nor followed.
        ten = self.path("maker", "keys", "ten.json")
        for link in (False, True):
            if link:
                os.symlink(self.path("elsewhere"), ten + ".new")
            reader = os.open(ten + ".new", os.O_RDONLY | os.O_CREAT, 0o666)
            self.addCleanup(os.close, reader)
            self.key("maker", "ten", "Bench Ten")
            self.assertEqual(os.read(reader, 100), b"")
            self.assertEqual(stat.S_IMODE(os.lstat(ten).st_mode), 0o600)
            os.remove(ten)
        with open(path, "rb") as file:
            before = file.read()
        status, _, error = rig.run(["maker", "make", "nine", "Other", "--no-passphrase", "--data", self.path("maker")])
        self.assertEqual(status, 1, error)
        with open(path, "rb") as file:
            self.assertEqual(file.read(), before)

    def test_a_passphrase_from_a_file(self):
        with open(self.path("words"), "w", encoding="utf-8") as file:
            file.write("four tyres\nand more\n")
        self.done("maker", "maker", "make", "nine", "Bench Nine", "--passphrase-file", self.path("words"))
        self.refused("maker", "passphrase", "maker", "card", "nine")
        with open(self.path("wrong"), "w", encoding="utf-8") as file:
            file.write("four tyre\n")
        self.refused("maker", "passphrase", "maker", "card", "nine", "--passphrase-file", self.path("wrong"))
        self.assertIn("evenbore-card", self.done("maker", "maker", "card", "nine", "--passphrase-file", "/dev/stdin",
                                                 stdin=b"four tyres\n"))
        self.refused("maker", "passphrase", "maker", "make", "ten", "Bench Nine")

    def test_a_passphrase_at_a_terminal_is_not_shown(self):
        def at(*arguments):
            terminal = rig.Terminal(list(arguments) + ["--data", self.path("maker")])
            self.addCleanup(terminal.kill)
            return terminal

        def until(terminal, words):
            text = ""
            while words not in text:
                more = terminal.read()
                self.assertIsNotNone(more, text)
                text += more
            return text

        terminal = at("maker", "make", "nine", "Bench Nine")
        seen = until(terminal, "(Enter alone: none): ")
        terminal.send("four tyrez\x7fs")
        seen += until(terminal, "once more: ")
        terminal.send("four tyres")
        status, rest = terminal.wait()
        self.assertEqual(status, 0)
        self.assertNotIn("tyre", seen + rest)
        self.assertIn("sealed with its passphrase", rest)
        terminal = at("maker", "make", "ten", "Bench Nine")
        until(terminal, "none): ")
        terminal.send("one")
        until(terminal, "once more: ")
        terminal.send("two")
        self.assertEqual(terminal.wait()[0], REFUSED["passphrase"])
        terminal = at("maker", "card", "nine")
        until(terminal, "nine: ")
        terminal.send(b"\x03")
        self.assertEqual(terminal.wait()[0], REFUSED["passphrase"])
        self.assertEqual(os.listdir(self.path("maker", "keys")), ["nine.json"])

    def test_a_held_enter_trusts_nobody_and_begins_nothing(self):
        self.key("maker", "nine", "Bench Nine")
        self.done("shop", "add", self.pack("nine", 1, "1.0.0"))
        terminal = rig.Terminal(["trust", "Bench Nine", "--data", self.path("shop")])
        self.addCleanup(terminal.kill)
        terminal.screen()
        terminal.send("")
        self.assertEqual(terminal.wait()[0], REFUSED["fingerprint"])
        terminal = rig.Terminal(["tune", "yard-twin", "--data", self.path("shop")])
        self.addCleanup(terminal.kill)
        screen = terminal.screen()
        for _ in range(20):
            self.assertIn("Whose procedure this is", screen)
            screen = terminal.type("")
        terminal.send("//")
        self.assertEqual(terminal.wait()[0], REFUSED["untrusted"])


def chained(records):
    """A journal of these records, its chain made anew."""
    lines, previous = [], ""
    for record in records:
        record.pop("h", None)
        line = json.dumps(record, ensure_ascii=False, separators=(",", ":"))[:-1]
        previous = hashlib.sha256((previous + line).encode()).hexdigest()
        lines.append('%s,"h":"%s"}\n' % (line, previous))
    return "".join(lines).encode()


class SupportDesk(Case):
    def test_a_job_of_another_shop_is_read_and_never_run(self):
        self.key("maker", "nine", "Bench Nine")
        self.done("shop", "add", self.pack("nine", 1, "1.0.0"))
        talk, ask = self.first_ask("tune", "yard-twin")
        talk.answer(ask, ask["code"])
        ask, _ = talk.next_ask()
        talk.answer(ask, ask["code"])
        talk.next_ask()
        talk.send({"do": "note", "text": "the first of the week"})
        self.leave(talk)
        records = rig.records(self.session())
        records[0]["procedure"]["source"] = 'error("it was run")'
        records[0]["procedure"]["title"] = "Twin \x1b]0;owned\x07\x1b[2J<script>alert(1)</script>"
        for file in records[0]["library"]:
            file["source"] = 'error("it was run")'
        sent = self.path("sent.jsonl")
        with open(sent, "wb") as file:
            file.write(chained(records))
        # Where it is run it says so, so that silence below means something.
        status, _, error = rig.run(["resume", sent, "--data", self.path("desk")])
        self.assertEqual(status, 1)
        self.assertIn("it was run", error)
        for arguments in (["show", sent], ["report", sent, "--as", "text"], ["report", sent, "--as", "page"],
                          ["report", sent, "--as", "csv"], ["report", sent, "--as", "json"]):
            status, out, error = rig.run(arguments + ["--data", self.path("desk")])
            self.assertEqual((status, error), (0, ""), arguments)
            self.assertNotIn("it was run", out)
            self.assertNotIn("\x1b", out)
            self.assertNotIn("<script>alert", out) if "page" in arguments else None
        told = self.done("desk", "show", sent).replace("\n", " ")
        self.assertIn("the first of the week", told)
        self.assertIn("Bench Nine, yard-twin@1.0.0 revision 1, not trusted", told)
        self.assertFalse(os.path.exists(self.path("desk")))


if __name__ == "__main__":
    unittest.main()
