"""A real browser for tests, spoken to over its debugging port with the standard library alone.

The protocol is the Chrome DevTools Protocol over a WebSocket (RFC 6455). Clicks and keys go in as a hand would give
them, not as calls into the page.
"""

from __future__ import annotations

import base64
import json
import os
import shutil
import socket
import struct
import subprocess
import tempfile
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from importlib.util import find_spec
from pathlib import Path
from typing import Any

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
PATIENCE = 30.0  # seconds for anything to happen

KEYS = {
    "Enter": (13, "\r"),
    "Tab": (9, ""),
    "Escape": (27, ""),
    " ": (32, " "),
    "ArrowLeft": (37, ""),
    "ArrowUp": (38, ""),
    "ArrowRight": (39, ""),
    "ArrowDown": (40, ""),
    "Home": (36, ""),
    "End": (35, ""),
}


def find_axe() -> Path | None:
    """axe-core (MPL-2.0), which finds what shuts people out: the one that SEAMCHECK_AXE names, else that of the package axe-core-python (MIT)."""
    stated, package = os.environ.get("SEAMCHECK_AXE", ""), find_spec("axe_core_python")
    places = (
        [Path(stated)]
        if stated
        else [Path(one) / "axe.min.js" for one in package.submodule_search_locations or ()]
        if package
        else []
    )
    return next((place for place in places if place.is_file()), None)


def find_browser() -> str | None:
    return next((path for name in NAMES if (path := shutil.which(name))), None)


class Browser:
    """One window; `errors` are what went wrong in the page, `requests` what it asked the network or the disk for."""

    def __init__(self, url: str, downloads: Path) -> None:
        self.downloads = downloads
        self.errors: list[str] = []
        self.requests: list[str] = []
        self._scripts: list[str] = []
        self._events: list[dict[str, Any]] = []
        self._number = 0
        self._socket = _connect(url)
        self._buffer = b""
        for domain in ("Page", "Runtime", "Network", "DOM", "Log"):
            self.call(f"{domain}.enable")
        self.call("Browser.setDownloadBehavior", behavior="allow", downloadPath=str(downloads))

    def call(self, method: str, **parameters: Any) -> dict[str, Any]:
        self._number += 1
        _send(self._socket, json.dumps({"id": self._number, "method": method, "params": parameters}))
        while True:
            message = json.loads(self._frame())
            if message.get("id") == self._number:
                if "error" in message:
                    raise AssertionError(f"{method}: {message['error']['message']}")
                return message["result"]
            self._note(message)

    def _note(self, message: dict[str, Any]) -> None:
        method, given = message.get("method"), message.get("params", {})
        self._events.append(message)
        if method == "Runtime.exceptionThrown":
            details = given["exceptionDetails"]
            self.errors.append(details.get("exception", {}).get("description", details["text"]))
        elif method == "Log.entryAdded" and given["entry"]["level"] == "error":
            self.errors.append(given["entry"]["text"])
        elif method == "Network.requestWillBeSent":
            self.requests.append(given["request"]["url"])

    def _frame(self) -> str:
        whole = b""
        while True:
            first, second = self._read(2)
            length = second & 127
            if length == 126:
                length = struct.unpack(">H", self._read(2))[0]
            elif length == 127:
                length = struct.unpack(">Q", self._read(8))[0]
            whole += self._read(length)
            if first & 128:
                return whole.decode()

    def _read(self, count: int) -> bytes:
        while len(self._buffer) < count:
            got = self._socket.recv(1 << 16)
            if not got:
                raise AssertionError("the browser has gone")
            self._buffer += got
        taken, self._buffer = self._buffer[:count], self._buffer[count:]
        return taken

    def open(self, page: Path) -> None:
        self.go(page.as_uri())

    def go(self, address: str) -> None:
        self.errors.clear()
        self.requests.clear()
        self._events.clear()
        self.call("Page.navigate", url=address)
        self._loaded()

    def picture(self, path: Path) -> None:
        path.write_bytes(base64.b64decode(self.call("Page.captureScreenshot")["data"]))

    def reload(self) -> None:
        self._events.clear()
        self.call("Page.reload")
        self._loaded()

    def _loaded(self) -> None:
        end = time.monotonic() + PATIENCE
        while not any(event.get("method") == "Page.loadEventFired" for event in self._events):
            assert time.monotonic() < end, "the page does not load"
            self.call("Runtime.evaluate", expression="0")

    @contextmanager
    def before_every_page(self, script: str) -> Iterator[None]:
        """Run a script before those of each page."""
        known = self.call("Page.addScriptToEvaluateOnNewDocument", source=script)["identifier"]
        yield
        self.call("Page.removeScriptToEvaluateOnNewDocument", identifier=known)

    def js(self, expression: str) -> Any:
        result = self.call("Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True)
        if "exceptionDetails" in result:
            raise AssertionError(result["exceptionDetails"].get("exception", {}).get("description", expression))
        return result["result"].get("value")

    def barriers(self, axe: Path) -> list[str]:
        """What axe-core finds on the page as it stands, by its rules for WCAG and for good practice; [] where nothing is wrong."""
        self.js(axe.read_text(encoding="utf-8"))
        return self.js(
            "axe.run(document, {resultTypes: ['violations']}).then((result) => result.violations.map((one) =>"
            " `${one.impact}: ${one.help}: ${one.nodes[0].html.slice(0, 160)}`))"
        )

    def wait(self, expression: str) -> Any:
        end = time.monotonic() + PATIENCE
        while not (value := self.js(expression)):
            assert time.monotonic() < end, f"never true: {expression}"
            time.sleep(0.02)
        return value

    def click_at(self, x: float, y: float) -> None:
        for kind in ("mousePressed", "mouseReleased"):
            self.call("Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", clickCount=1)

    def click(self, selector: str) -> None:
        """Click the middle of an element, which must lie open to the mouse."""
        self._press(selector, self.click_at)

    def _press(self, selector: str, press: Callable[[float, float], None]) -> None:
        spot = self.js(
            f"(() => {{ const e = document.querySelector({json.dumps(selector)}); if (!e) return null;"
            "e.scrollIntoView({block: 'center', inline: 'center', behavior: 'instant'});"
            "const r = e.getBoundingClientRect(), x = r.x + r.width / 2, y = r.y + r.height / 2;"
            "const hit = document.elementFromPoint(x, y);"
            "return e === hit || e.contains(hit) || hit?.contains(e) ? [x, y] : null; })()"
        )
        assert spot, f"nothing to click at {selector}: {self.js('document.body.innerText')[-3000:]}"
        press(*spot)

    @contextmanager
    def as_wide_as(self, width: int, *, touch: bool = False, scheme: str = "light") -> Iterator[None]:
        """A window of that width, which may be touched, by day or by night."""
        self.call("Emulation.setDeviceMetricsOverride", width=width, height=900, deviceScaleFactor=1, mobile=False)
        self.call("Emulation.setTouchEmulationEnabled", enabled=touch)
        features = [{"name": "prefers-color-scheme", "value": scheme}]
        self.call("Emulation.setEmulatedMedia", media="", features=features)
        try:
            yield
        finally:
            self.call("Emulation.clearDeviceMetricsOverride")
            self.call("Emulation.setTouchEmulationEnabled", enabled=False)
            self.call("Emulation.setEmulatedMedia", media="", features=[])

    def tap_at(self, x: float, y: float) -> None:
        self.call("Input.dispatchTouchEvent", type="touchStart", touchPoints=[{"x": x, "y": y}])
        self.call("Input.dispatchTouchEvent", type="touchEnd", touchPoints=[])

    def tap(self, selector: str) -> None:
        """Tap the middle of an element, which must lie open to the finger."""
        self._press(selector, self.tap_at)

    def key(self, key: str, *, shift: bool = False, control: bool = False) -> None:
        code, text = KEYS[key] if key in KEYS else (ord(key.upper()), "" if control else key)
        given = {
            "key": key,
            "code": key,
            "windowsVirtualKeyCode": code,
            "modifiers": (8 if shift else 0) | (2 if control else 0),
        }
        self.call("Input.dispatchKeyEvent", type="keyDown", text=text, **given)
        self.call("Input.dispatchKeyEvent", type="keyUp", **given)

    def type(self, text: str) -> None:
        self.call("Input.insertText", text=text)

    def choose_file(self, selector: str, path: Path) -> None:
        root = self.call("DOM.getDocument")["root"]["nodeId"]
        node = self.call("DOM.querySelector", nodeId=root, selector=selector)["nodeId"]
        self.call("DOM.setFileInputFiles", nodeId=node, files=[str(path)])

    def downloaded(self, name: str) -> str:
        path, end = self.downloads / name, time.monotonic() + PATIENCE
        while not (path.exists() and path.stat().st_size):
            assert time.monotonic() < end, f"{name} was never saved"
            time.sleep(0.02)
        text = path.read_text(encoding="utf-8")
        path.unlink()
        return text

    def end(self) -> None:
        _send(self._socket, json.dumps({"id": self._number + 1, "method": "Browser.close"}))

    def close(self) -> None:
        self._socket.close()


def _connect(url: str) -> socket.socket:
    host, _, path = url.removeprefix("ws://").partition("/")
    name, _, port = host.partition(":")
    link = socket.create_connection((name, int(port)), PATIENCE)
    key = base64.b64encode(os.urandom(16)).decode()
    link.sendall(
        f"GET /{path} HTTP/1.1\r\nHost: {host}\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n"
        f"Sec-WebSocket-Key: {key}\r\nSec-WebSocket-Version: 13\r\n\r\n".encode()
    )
    answer = b""
    while not answer.endswith(b"\r\n\r\n"):
        answer += link.recv(1)
    assert b" 101 " in answer.split(b"\r\n")[0], answer
    return link


def _send(link: socket.socket, text: str) -> None:
    data, mask = text.encode(), os.urandom(4)
    head = b"\x81"
    if len(data) < 126:
        head += bytes([128 | len(data)])
    elif len(data) < 1 << 16:
        head += bytes([128 | 126]) + struct.pack(">H", len(data))
    else:
        head += bytes([128 | 127]) + struct.pack(">Q", len(data))
    stretched = (mask * (len(data) // 4 + 1))[: len(data)]
    masked = int.from_bytes(data, "big") ^ int.from_bytes(stretched, "big")
    link.sendall(head + mask + masked.to_bytes(len(data), "big"))


@contextmanager
def browser(executable: str) -> Iterator[Browser]:
    """Start a browser without a window and end it again."""
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        profile, downloads = Path(folder) / "profile", Path(folder) / "saved"
        downloads.mkdir()
        process = subprocess.Popen(
            [
                executable,
                "--headless",
                "--no-sandbox",
                "--disable-gpu",
                "--force-prefers-reduced-motion",  # a page that still glides moves away from under a click
                "--disable-background-networking",
                "--disable-dev-shm-usage",
                "--no-first-run",
                "--remote-debugging-port=0",
                "--window-size=1400,1000",
                f"--user-data-dir={profile}",
                "about:blank",
            ],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        try:
            window = Browser(_page_url(profile, process), downloads)
            try:
                yield window
                window.end()
            finally:
                window.close()
        finally:
            try:
                process.wait(5)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait(PATIENCE)


def _page_url(profile: Path, process: subprocess.Popen[bytes]) -> str:
    told, end = profile / "DevToolsActivePort", time.monotonic() + PATIENCE
    while True:
        assert time.monotonic() < end, "the browser does not open its debugging port"
        assert process.poll() is None, "the browser ended at once"
        time.sleep(0.05)
        if not told.exists() or not (lines := told.read_text().splitlines()):
            continue
        with urllib.request.urlopen(f"http://127.0.0.1:{lines[0]}/json/list", timeout=PATIENCE) as answer:
            pages = [page for page in json.load(answer) if page["type"] == "page"]
        if pages:
            return str(pages[0]["webSocketDebuggerUrl"])
