"""What the tests of the program share: an invented engine, a pseudo-terminal, and a talk in lines."""
import fcntl
import json
import os
import pty
import random
import re
import select
import shutil
import signal
import struct
import subprocess
import sys
import tempfile
import termios
import time
from math import exp

PROGRAM = os.environ["EVENBORE"]
PATIENCE_S = 20
HERE = os.path.dirname(os.path.abspath(__file__))


def folder():
    """A folder for sessions that goes away with the test; in memory where the machine has such a place."""
    return tempfile.mkdtemp(prefix="evenbore-", dir="/dev/shm" if os.access("/dev/shm", os.W_OK) else None)


def environment(**more):
    kept = {"PATH": os.environ["PATH"], "LANG": "C.UTF-8", "TERM": "xterm", "HOME": "/nowhere"}
    for name in ("ASAN_OPTIONS", "UBSAN_OPTIONS", "LSAN_OPTIONS"):
        if name in os.environ:
            kept[name] = os.environ[name]
    kept.update(more)
    return {name: value for name, value in kept.items() if value is not None}


class Engine:
    """Eight throttles that are uneven in an irregular way, and answer to moves not quite as wished."""

    LAYOUT = ["1", "3", "5", "7", "2", "4", "6", "8"]

    def __init__(self, seed):
        self.random = random.Random(seed)
        self.flow = {"1": 0.083, "3": 0.041, "5": -0.067, "7": -0.028, "2": 0.019, "4": 0.006, "6": -0.013, "8": -0.044}
        self.level = 6.4
        self.gain = {}

    def start(self):
        self.level = 6.4 * exp(self.random.gauss(0, 0.04))

    def reading(self, bore):
        true = self.level * exp(self.flow[bore] + self.random.gauss(0, 0.008))
        return round(true * 4) / 4

    def move(self, adjuster, share):
        """share: relative change of each bore that is touched. Some adjusters give more than they are asked for."""
        gain = self.gain.setdefault(adjuster, self.random.uniform(0.75, 1.25))
        for bore, change in share.items():
            self.flow[bore] += change * gain + self.random.gauss(0, 0.003)

    def spread(self):
        mean = sum(exp(y) for y in self.flow.values()) / len(self.flow)
        return max(abs(exp(y) / mean - 1) for y in self.flow.values())


def number(title):
    """Answers to what is asked for a number, by words in its title or key."""
    table = [("emperature", 91), ("warm.", 91), ("Idle speed wanted", 870), ("idle.wanted", 870),
             ("Idle speed", 868), ("idle.now", 868), ("ixture", 0.98), ("Exhaust port", 420)]
    for words, value in table:
        if words in title:
            return value
    raise AssertionError("a number is asked for that this test does not know: " + title)


class Terminal:
    """The program at a pseudo-terminal. What it writes up to a prompt is one screen."""

    def __init__(self, arguments, columns=80, env=None, stdout=None):
        self.master, self.slave = pty.openpty()
        fcntl.ioctl(self.master, termios.TIOCSWINSZ, struct.pack("HHHH", 50, columns, 0, 0))
        self.text = ""
        self.process = subprocess.Popen(
            [PROGRAM] + arguments, stdin=self.slave, stdout=stdout or self.slave, stderr=self.slave,
            env=env or environment(), preexec_fn=self.lead_terminal)
        os.close(self.slave)

    @staticmethod
    def lead_terminal():
        os.setsid()
        fcntl.ioctl(0, termios.TIOCSCTTY, 0)

    def read(self):
        """What comes next, or None at the end."""
        ready, _, _ = select.select([self.master], [], [], PATIENCE_S)
        if not ready:
            raise AssertionError("nothing came any more after:\n" + self.text[-2000:])
        try:
            data = os.read(self.master, 65536)
        except OSError:
            return None
        return data.decode("utf-8", "replace").replace("\r\n", "\n") if data else None

    def screen(self):
        """All up to the next prompt, or to the end, without its style; `text` keeps all as it came."""
        text = ""
        while not text.endswith("\n> ") and text != "> ":
            more = self.read()
            if more is None:
                break
            text += more
        self.text += text
        return re.sub(r"\x1b\[[0-9;]*m", "", text)

    def send(self, line):
        os.write(self.master, line if isinstance(line, bytes) else line.encode() + b"\n")

    def type(self, line):
        """Types a line; the screen that follows, without the echo of the line itself."""
        self.send(line)
        screen = self.screen()
        return screen[len(line) + 1:] if isinstance(line, str) and screen.startswith(line + "\n") else screen

    def signal(self, number):
        self.process.send_signal(number)

    def wait(self):
        rest = self.screen()
        status = self.process.wait(PATIENCE_S)
        os.close(self.master)
        return status, rest

    def kill(self):
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()


class Tuner:
    """Answers screens from an engine, as a person would: by what stands there."""

    def __init__(self, engine):
        self.engine = engine
        self.asked = []

    def answer(self, screen):
        title = [line for line in screen.split("\n\n")[-1].split("\n") if line][0]
        self.asked.append(title)
        code = re.search(r"Type (\d\d) when all of this is seen to", screen)
        if code:
            return code.group(1)
        if "1 when the engine" in screen:
            if "runs" in screen:
                self.engine.start()
            return "1"
        if "00 if it cannot be read" in screen:
            return "%g" % self.engine.reading(re.search(r"Bore (\S+?)(,|$)", title).group(1))
        if "0 cannot be done" in screen:
            return self.adjust(title, screen)
        if "Type its number." in screen:
            return "3" if "Plates measured cold" in screen else "1"
        if "1 yes, 0 no" in screen:
            return "0" if "Part throttle" in title and "Go round once more" in screen else "1"
        return "%g" % number(title)

    def adjust(self, title, screen):
        share = {}
        for sign, words in ((1, r"Open \(more air\): +(.*)"), (-1, r"Close \(less air\): +(.*)")):
            found = re.search(words, screen)
            for group in found.group(1).split(", ") if found else []:
                bores, percent = re.fullmatch(r"([\w ]+) by ([\d.]+) %", group).groups()
                share.update({bore: sign * float(percent) / 100 for bore in bores.split()})
        assert share, "an adjustment without bores:\n" + screen
        self.engine.move(title, share)
        return "1"


class Lines:
    """The program spoken to in lines."""

    def __init__(self, arguments, env=None):
        self.process = subprocess.Popen([PROGRAM] + arguments + ["--lines"], stdin=subprocess.PIPE,
                                        stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=env or environment())

    def next(self):
        """The next message, or None at the end of what it has to say."""
        line = self.process.stdout.readline()
        return json.loads(line) if line.endswith(b"\n") else None

    def next_ask(self):
        """The next ask or end, and what came before it."""
        before = []
        while True:
            message = self.next()
            if message is None or message["type"] in ("ask", "end", "refused"):
                return message, before
            before.append(message)

    def send(self, message):
        line = message if isinstance(message, bytes) else json.dumps(message).encode() + b"\n"
        try:
            self.process.stdin.write(line)
            self.process.stdin.flush()
        except BrokenPipeError:
            pass

    def answer(self, ask, value):
        self.send({"n": ask["n"], "value": value})

    def close(self):
        """Ends the input; exit status and what was said on standard error."""
        try:
            self.process.stdin.close()
        except BrokenPipeError:
            pass
        self.process.stdout.read()
        error = self.process.stderr.read().decode()
        self.process.stdout.close()
        self.process.stderr.close()
        return self.process.wait(PATIENCE_S), error


    def kill(self):
        """What a failed test leaves behind goes too."""
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()
        for pipe in (self.process.stdin, self.process.stdout, self.process.stderr):
            try:
                pipe.close()
            except BrokenPipeError:
                pass


def records(path):
    with open(path, "rb") as file:
        return [json.loads(line) for line in file]


def run(arguments, env=None, stdin=b"", patience=PATIENCE_S):
    """A command to its end: status, output, errors."""
    done = subprocess.run([PROGRAM] + arguments, input=stdin, capture_output=True, env=env or environment(),
                          timeout=patience)
    return done.returncode, done.stdout.decode("utf-8", "replace"), done.stderr.decode("utf-8", "replace")


def typed(arguments, answers):
    """A command with answers to its prompts, one after the other, and the code to every caution; then the end of input.
    Status, output, errors."""
    process = subprocess.Popen([PROGRAM] + arguments, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                               env=environment())
    left, out = list(answers), ""
    while True:
        data = os.read(process.stdout.fileno(), 65536)
        out += data.decode("utf-8", "replace")
        if not data:
            break
        if not out.endswith("> "):
            continue
        code = re.search(r"Type (\d\d) when all of this", out.split("\n\n")[-1])
        if code is None and not left:
            break
        process.stdin.write((code.group(1) if code else left.pop(0)).encode() + b"\n")
        process.stdin.flush()
    rest, error = process.communicate(timeout=PATIENCE_S)
    return process.returncode, out + rest.decode("utf-8", "replace"), error.decode("utf-8", "replace")


def session_file(data):
    names = [name for name in os.listdir(os.path.join(data, "sessions")) if name.endswith(".jsonl")]
    assert len(names) == 1, names
    return os.path.join(data, "sessions", names[0])
