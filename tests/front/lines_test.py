#!/usr/bin/env python3
"""The line protocol over standard input and output, as another program speaks it."""
import json
import os
import shutil
import signal
import subprocess
import unittest

import rig


class Lines(unittest.TestCase):
    def setUp(self):
        self.data = rig.folder()
        self.addCleanup(shutil.rmtree, self.data)
        self.engine = rig.Engine(23)

    def talk(self, arguments):
        talk = rig.Lines(arguments + ["--data", self.data])
        self.addCleanup(talk.kill)
        return talk

    def reply(self, ask):
        kind, key = ask["kind"], ask["key"]
        if kind == "engine" and ask["state"] == "running":
            self.engine.start()
        if kind == "caution":
            return ask["code"]
        if kind == "engine":
            return True
        if kind == "confirm":
            return key != "part.wanted"
        if kind == "choose":
            return {"cold.baseline": "on-paper", "cross.way": "none"}.get(key, ask["options"][0]["id"])
        if kind == "adjust":
            self.engine.move(ask["adjuster"], ask["share"])
            return {"done": True}
        if kind == "reading":
            return self.engine.reading(ask["bore"])
        return rig.number(key)

    def until(self, talk, kind):
        """Answers up to the first ask of a kind, or the end; what came before it too."""
        seen = []
        while True:
            message, before = talk.next_ask()
            seen += before
            if message["type"] == "end" or message["kind"] == kind:
                return message, seen
            talk.answer(message, self.reply(message))

    def test_a_whole_job(self):
        uneven = self.engine.spread()
        talk = self.talk(["tune", "v8-coupled", "--engine", "on the bench", "--tolerance", "6%"])
        hello = talk.next()
        self.assertEqual((hello["type"], hello["protocol"], hello["resumed"]), ("hello", 1, False))
        self.assertEqual(hello["layout"]["rows"], [["1", "3", "5", "7"], ["2", "4", "6", "8"]])
        self.assertAlmostEqual(hello["tolerance"], 0.06)
        self.assertEqual(hello["file"], rig.session_file(self.data))
        reading, _ = self.until(talk, "reading")
        talk.answer(reading, 620)
        again, _ = talk.next_ask()
        self.assertEqual((again["kind"], again["bore"], again["again"]["value"]), ("reading", reading["bore"], 620))
        talk.answer(again, {"value": self.engine.reading("1"), "unit": "div"})
        following, _ = talk.next_ask()
        self.assertEqual(following["bore"], "3")
        talk.send({"do": "back"})
        back, _ = talk.next_ask()
        self.assertEqual(back["bore"], "1")
        self.assertIn("before", back)
        self.assertGreater(back["n"], following["n"])
        talk.send({"do": "note", "text": "wind in the yard"})
        talk.send({"do": "why"})
        self.assertEqual([talk.next()["kind"] for _ in range(2)], ["note", "note"])
        talk.send({"do": "pause"})
        status, error = talk.close()
        self.assertEqual(status, 0)
        self.assertIn("evenbore resume ", error)
        talk = self.talk(["resume"])
        self.assertTrue(talk.next()["resumed"])
        end, seen = self.until(talk, "none")
        self.assertIn(end["outcome"], ("even", "claimed"), end)
        self.assertLess(self.engine.spread(), 0.05)  # what is wanted
        self.assertLess(self.engine.spread(), uneven)
        self.assertLess(self.engine.spread(), end["claim"]["tolerance"])
        self.assertEqual(talk.close(), (0, ""))
        verdicts = [m for m in seen if m["type"] == "tell" and m["kind"] == "verdict"]
        self.assertEqual(set(verdicts[-1]["verdict"]["bores"]), set(self.engine.flow))

    def test_wrong_lines_are_refused_one_by_one(self):
        talk = self.talk(["tune", "v8-coupled"])
        ask, _ = talk.next_ask()
        wrong = [b"\n", b"not json\n", b"[]\n", b"{}\n", b'{"n":1}\n', b'{"value":true}\n', b'{"n":99,"value":true}\n',
                 b'{"do":"dance"}\n', b'{"do":"note"}\n', b'{"n":1,"value":false}\n', b'{"n":1,"value":"yes"}\n',
                 b'{"n":1,"value":"%s"}\n' % ask["code"][::-1].encode(),
                 b'{"n":1,"value":1e400}\n', b'{"n":1,"value":\xff}\n', b'{"n":1,"n":1,"value":true}\n',
                 b'{"n":1,"value":"' + b"x" * 70000 + b'"}\n', b"[" * 1000 + b"\n", b"7" * 200000 + b"\n"]
        for line in wrong:
            talk.send(line)
            refused, _ = talk.next_ask()
            self.assertEqual((refused["type"], refused["n"]), ("refused", ask["n"]), line[:40])
            self.assertTrue(refused["why"] and refused["wanted"])
        self.assertEqual(len(rig.records(rig.session_file(self.data))), 1)
        talk.send(b'{"n":1,"value":"%s","unknown":[1]}\r\n' % ask["code"].encode())
        following, _ = talk.next_ask()
        self.assertEqual((following["type"], following["n"]), ("ask", 2))
        self.assertEqual(talk.close()[0], 0)

    def test_every_line_is_one_object_and_flushed(self):
        process = subprocess.Popen([rig.PROGRAM, "tune", "v8-coupled", "--lines", "--data", self.data],
                                   stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                                   stderr=subprocess.DEVNULL, env=rig.environment())
        for _ in range(2):
            self.assertIsInstance(json.loads(process.stdout.readline()), dict)
        process.stdin.close()
        self.assertEqual(process.stdout.read(), b"")
        process.stdout.close()
        self.assertEqual(process.wait(rig.PATIENCE_S), 0)

    def test_signals_are_a_pause(self):
        for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP):
            with self.subTest(signal=number):
                talk = self.talk(["tune", "v8-coupled"])
                ask, _ = talk.next_ask()
                talk.answer(ask, self.reply(ask))
                talk.next_ask()
                talk.process.send_signal(number)
                talk.process.send_signal(number)
                self.assertEqual(talk.process.wait(rig.PATIENCE_S), 0)
                talk.close()
                talk = self.talk(["resume", "1"])
                again, _ = talk.next_ask()
                self.assertEqual(again["stage"], "Back at the engine")
                talk.close()

    def test_a_reader_that_goes_away_is_a_pause(self):
        talk = self.talk(["tune", "v8-coupled"])
        ask, _ = talk.next_ask()
        talk.process.stdout.close()
        talk.answer(ask, self.reply(ask))
        self.assertEqual(talk.process.wait(rig.PATIENCE_S), 0)
        talk.process.stdin.close()
        talk.process.stderr.close()
        self.assertEqual(len(rig.records(rig.session_file(self.data))), 2)

    def test_stop_ends_it(self):
        talk = self.talk(["tune", "v8-coupled"])
        talk.next_ask()
        talk.send({"do": "stop", "why": "rain"})
        end, _ = talk.next_ask()
        self.assertEqual((end["type"], end["outcome"], end["claim"]), ("end", "stopped", None))
        self.assertEqual(talk.close()[0], 1)


if __name__ == "__main__":
    unittest.main()
