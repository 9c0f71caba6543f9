"""A headless Chromium, spoken to by the DevTools protocol over a pipe: no port, no network, no further library.

Messages are JSON objects that end in a zero byte: what is sent goes to the browser's descriptor 3, what it says comes
from its descriptor 4 (`--remote-debugging-pipe`)."""
import base64
import json
import os
import select
import shutil
import subprocess
import tempfile
import time

PATIENCE_S = 60


class Browser:
    def __init__(self):
        self.profile = tempfile.mkdtemp(prefix="evenbore-browser-")
        to_browser, self.write = os.pipe()
        self.read, from_browser = os.pipe()
        self.process = subprocess.Popen(
            ["bash", "-c", 'exec "$@" 3<&"$IN" 4>&"$OUT"', "bash", "chromium", "--headless=new", "--no-sandbox",
             "--disable-gpu", "--disable-dev-shm-usage", "--disable-extensions", "--no-first-run",
             "--force-color-profile=srgb", "--user-data-dir=" + self.profile, "--remote-debugging-pipe", "about:blank"],
            env={**os.environ, "IN": str(to_browser), "OUT": str(from_browser), "HOME": self.profile},
            pass_fds=(to_browser, from_browser), stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL)
        os.close(to_browser)
        os.close(from_browser)
        self.left = b""
        self.number = 0
        self.events = []
        target = self.call("Target.createTarget", {"url": "about:blank"}, None)["targetId"]
        self.session = self.call("Target.attachToTarget", {"targetId": target, "flatten": True}, None)["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.call(domain + ".enable")

    def next(self, until):
        while b"\0" not in self.left:
            ready, _, _ = select.select([self.read], [], [], max(0, until - time.monotonic()))
            if not ready:
                raise AssertionError("the browser says nothing any more")
            data = os.read(self.read, 1 << 20)
            if not data:
                raise AssertionError("the browser has ended")
            self.left += data
        message, self.left = self.left.split(b"\0", 1)
        return json.loads(message)

    def call(self, method, parameters=None, session=""):
        self.number += 1
        message = {"id": self.number, "method": method, "params": parameters or {}}
        if session is not None:
            message["sessionId"] = self.session
        data = json.dumps(message).encode() + b"\0"
        while data:
            data = data[os.write(self.write, data):]
        until = time.monotonic() + PATIENCE_S
        while True:
            answer = self.next(until)
            if answer.get("id") == self.number:
                if "error" in answer:
                    raise AssertionError("%s: %s" % (method, answer["error"]))
                return answer["result"]
            self.events.append(answer)

    def wait_for(self, method):
        until = time.monotonic() + PATIENCE_S
        while not any(event.get("method") == method for event in self.events):
            self.events.append(self.next(until))

    def open(self, path, width=1000, height=1400, scheme="light"):
        """Opens a file; what the browser complained of and what it asked for beside it."""
        self.call("Emulation.setDeviceMetricsOverride",
                  {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False})
        self.call("Emulation.setEmulatedMedia", {"features": [{"name": "prefers-color-scheme", "value": scheme}]})
        self.events = []
        url = "file://" + os.path.abspath(path)
        self.call("Page.navigate", {"url": url})
        self.wait_for("Page.loadEventFired")
        complaints = [event["params"] for event in self.events if event.get("method") in (
            "Runtime.exceptionThrown", "Runtime.consoleAPICalled", "Log.entryAdded", "Network.loadingFailed")]
        asked = [event["params"]["request"]["url"] for event in self.events
                 if event.get("method") == "Network.requestWillBeSent"]
        return complaints, [address for address in asked if address != url]

    def run(self, script):
        """The value of an expression of JavaScript in the page; a promise's is waited for."""
        answer = self.call("Runtime.evaluate", {"expression": script, "awaitPromise": True, "returnByValue": True})
        if "exceptionDetails" in answer:
            raise AssertionError(json.dumps(answer["exceptionDetails"])[:2000])
        return answer["result"].get("value")

    def screenshot(self, path, whole=True):
        answer = self.call("Page.captureScreenshot", {"format": "png", "captureBeyondViewport": whole})
        with open(path, "wb") as file:
            file.write(base64.b64decode(answer["data"]))

    def print(self, path, width_in, height_in):
        answer = self.call("Page.printToPDF", {"paperWidth": width_in, "paperHeight": height_in,
                                               "preferCSSPageSize": True, "printBackground": False})
        with open(path, "wb") as file:
            file.write(base64.b64decode(answer["data"]))

    def close(self):
        try:
            self.call("Browser.close", None, None)
        except AssertionError:
            pass
        try:
            self.process.wait(10)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        os.close(self.read)
        os.close(self.write)
        shutil.rmtree(self.profile, ignore_errors=True)
