"""A window of Chromium, of Firefox or of WebKit, which do the same with the same words.

Firefox and WebKit are spoken to in their own standard, the W3C's WebDriver BiDi and WebDriver, whose actions are the
same; no driver is downloaded. On Debian: `apt-get install firefox-esr webkit2gtk-driver xvfb`. What is waited for is a
condition.
"""

import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from abc import ABC, abstractmethod
from base64 import b64decode, b64encode
from collections.abc import Iterator
from contextlib import contextmanager
from glob import glob
from io import BytesIO
from pathlib import Path
from typing import ClassVar
from urllib.error import URLError
from urllib.request import Request, urlopen

from PIL import Image
from playwright.sync_api import Page, sync_playwright
from websockets.sync.client import connect

from .conftest import IDLE, NAMES, PATIENCE, QUIET, free_port

SIZES = ((1280, 900), (390, 844))
READY = f"""!!document.querySelector('.st-key-nav') && !!document.querySelector({json.dumps(IDLE)})
    && [...document.querySelectorAll("[data-testid=stElementContainer]")]
        .every(one => getComputedStyle(one).opacity === "1")
    && !document.querySelector('[data-testid=stSkeleton]')
    && [...document.images].every(image => image.complete && image.naturalWidth)"""
CONTROL, ENTER = "\ue009", "\ue007"


class Window(ABC):
    """A browser's window: what the two standards share. What is asked of a page is JavaScript."""

    def __init__(self, folder: Path, name: str, width: int, dark: bool) -> None:
        self.folder, self.name, self.width, self.dark = folder, name, width, dark

    def go(self, address: str) -> None:
        self.open(address)
        self.ready()

    def until(self, condition: str) -> None:
        """Wait until a condition holds."""
        deadline = time.monotonic() + PATIENCE
        while not self.ask(f"Boolean({condition})"):
            if time.monotonic() > deadline:
                self.picture("failed")
                raise AssertionError(f"{self.name}, {self.width} px: {condition} never came")
            time.sleep(0.05)

    def ready(self) -> None:
        self.until(READY)

    def press(self, selector: str) -> None:
        """Press what a selector finds, as a finger does: where it stands, once nothing moves or covers it."""
        found = f"document.querySelector({json.dumps(selector)})"
        self.until(f"{found} && !{found}.disabled")
        middle = f"(r => [r.x + r.width / 2, r.y + r.height / 2].map(Math.round))({found}.getBoundingClientRect())"
        seen = f"({found}.scrollIntoView({{block: 'center'}}), {middle})"  # anew at each look: an answer pushes it away
        self.until(f"(p => {found}.contains(document.elementFromPoint(...p)))({seen})")
        x, y = self.ask(middle)
        move = {"type": "pointerMove", "x": x, "y": y, "duration": 0}
        down, up = ({"type": f"pointer{way}", "button": 0} for way in ("Down", "Up"))
        self.perform({"type": "pointer", "id": "finger", "actions": [move, down, up]})

    def type(self, selector: str, text: str) -> None:
        """Put a text into a field, in place of what is in it; an answer that comes above it can push it from under."""
        deadline = time.monotonic() + PATIENCE
        while not self.ask(f"document.activeElement === document.querySelector({json.dumps(selector)})"):
            assert time.monotonic() < deadline, f"{self.name}, {self.width} px: {selector} never had the focus"
            self.press(selector)
        self.keys([("keyDown", CONTROL), ("keyDown", "a"), ("keyUp", "a"), ("keyUp", CONTROL)])
        self.keys([(way, letter) for letter in text for way in ("keyDown", "keyUp")])
        self.until(f"document.querySelector({json.dumps(selector)}).value === {json.dumps(text)}")
        self.keys([("keyDown", ENTER), ("keyUp", ENTER)])

    def keys(self, strokes: list[tuple[str, str]]) -> None:
        self.perform({"type": "key", "id": "keys", "actions": [{"type": way, "value": key} for way, key in strokes]})

    def said(self, words: str) -> None:
        """Wait for a reply, which must be in view."""
        reply = "document.querySelector('.st-key-said')"
        self.until(f"{reply} && {reply}.innerText.includes({json.dumps(words)})")
        self.ready()
        self.until(f"(r => r.top >= 0 && r.bottom <= innerHeight)({reply}.getBoundingClientRect())")

    def picture(self, page: str) -> None:
        """Keep what is on the screen."""
        file = self.folder / f"{self.name.lower()}-{self.width}-{page}{'-dark' * self.dark}.png"
        self.look().save(file)
        assert self.ask("document.documentElement.scrollWidth <= innerWidth"), f"{file}: wider than the screen"

    def look(self) -> Image.Image:
        """Return what is on the screen."""
        return Image.open(BytesIO(b64decode(self.shoot()))).convert("RGB")

    def make_tall(self, height: int) -> None:
        """Make the window so high, as wide as it is, and wait until that is painted."""
        self.resize(height)
        self.until(f"innerHeight === {height}")
        twice = "requestAnimationFrame(() => requestAnimationFrame(() => { window.painted = true; }))"
        self.ask(f"(window.painted = false, {twice}, null)")
        self.until("window.painted")

    @abstractmethod
    def open(self, address: str) -> None:
        """Go to an address, until it is loaded."""

    @abstractmethod
    def ask(self, expression: str) -> object:
        """Return the value of an expression on the page."""

    @abstractmethod
    def perform(self, source: dict) -> None:
        """Do what one source of input does: keys or a pointer, as WebDriver's actions have it."""

    @abstractmethod
    def shoot(self) -> str:
        """Return a picture of what is on the screen, a PNG in base 64."""

    @abstractmethod
    def resize(self, height: int) -> None:
        """Ask for a window of another height."""


class Chromium(Window):
    """A page of Playwright's."""

    KEYS: ClassVar = {CONTROL: "Control", ENTER: "Enter"}

    def __init__(self, page: Page, folder: Path, width: int, dark: bool) -> None:
        super().__init__(folder, "Chromium", width, dark)
        self.page = page

    def open(self, address: str) -> None:
        self.page.goto(address)

    def ask(self, expression: str) -> object:
        return self.page.evaluate(expression)

    def perform(self, source: dict) -> None:
        for action in source["actions"]:
            match action["type"]:
                case "pointerMove":
                    self.page.mouse.move(action["x"], action["y"])
                case "pointerDown":
                    self.page.mouse.down()
                case "pointerUp":
                    self.page.mouse.up()
                case "keyDown":
                    self.page.keyboard.down(self.KEYS.get(action["value"], action["value"]))
                case "keyUp":
                    self.page.keyboard.up(self.KEYS.get(action["value"], action["value"]))

    def shoot(self) -> str:
        return b64encode(self.page.screenshot()).decode()

    def resize(self, height: int) -> None:
        self.page.set_viewport_size({"width": self.width, "height": height})


class Firefox(Window):
    """Firefox over WebDriver BiDi: messages on a web socket."""

    def __init__(self, socket, folder: Path, width: int, height: int, dark: bool) -> None:
        super().__init__(folder, "Firefox", width, dark)
        self.socket, self.number = socket, 0
        self.context = self.call("browsingContext.create", type="tab")["context"]
        self.resize(height)

    def call(self, method: str, **params: object) -> dict:
        self.number += 1
        self.socket.send(json.dumps({"id": self.number, "method": method, "params": params}))
        while (answer := json.loads(self.socket.recv(timeout=PATIENCE))).get("id") != self.number:
            pass  # an event
        if answer["type"] == "error":
            raise AssertionError(f"{method}: {answer['message']}")
        return answer["result"]

    def open(self, address: str) -> None:
        self.call("browsingContext.navigate", context=self.context, url=address, wait="complete")

    def ask(self, expression: str) -> object:
        target, words = {"context": self.context}, f"JSON.stringify({expression}) ?? 'null'"
        answer = self.call("script.evaluate", expression=words, target=target, awaitPromise=False)
        if answer["type"] == "exception":
            raise AssertionError(f"{expression}: {answer['exceptionDetails']['text']}")
        return json.loads(answer["result"]["value"])

    def perform(self, source: dict) -> None:
        self.call("input.performActions", context=self.context, actions=[source])

    def shoot(self) -> str:
        return self.call("browsingContext.captureScreenshot", context=self.context)["data"]

    def resize(self, height: int) -> None:
        viewport = {"width": self.width, "height": height}
        self.call("browsingContext.setViewport", context=self.context, viewport=viewport)


class WebKit(Window):
    """WebKit over WebDriver: requests to its driver."""

    def __init__(self, driver: str, folder: Path, width: int, height: int, dark: bool) -> None:
        super().__init__(folder, "WebKit", width, dark)
        options = ["--automation", "--javascript-can-open-windows-automatically=true", *["--dark-mode"] * dark]
        browser = {"binary": _find("MiniBrowser"), "args": options}
        wanted = {"capabilities": {"alwaysMatch": {"webkitgtk:browserOptions": browser}}}
        self.session = f"{driver}/session"
        self.session += f"/{self.call('', **wanted)['sessionId']}"
        first = self.call("/window/handles", "GET")
        bare = f"width={width},height={height},toolbar=no,menubar=no,location=no"  # else its buttons make it wider
        self.until(f"window.open('about:blank', 'bare', '{bare}')")
        (handle,) = (one for one in self.call("/window/handles", "GET") if one not in first)
        self.call("/window", handle=handle)
        self.resize(height)
        self.until(f"innerWidth === {width}")

    def call(self, path: str, method: str = "POST", **params: object) -> dict:
        body = json.dumps(params).encode() if method == "POST" else None
        request = Request(self.session + path, body, {"Content-Type": "application/json"}, method=method)  # noqa: S310
        with urlopen(request, timeout=PATIENCE) as answer:  # noqa: S310  # our own address, http
            return json.load(answer)["value"]

    def open(self, address: str) -> None:
        self.call("/url", url=address)

    def ask(self, expression: str) -> object:
        return self.call("/execute/sync", script=f"return {expression}", args=[])

    def perform(self, source: dict) -> None:
        self.call("/actions", actions=[source])

    def shoot(self) -> str:
        return self.call("/screenshot", "GET")

    def resize(self, height: int) -> None:
        self.call("/window/rect", width=self.width, height=height)


@contextmanager
def chromium(folder: Path, width: int, height: int, *, dark: bool = False) -> Iterator[Window]:
    """A window of a Chromium of its own, a phone's where it is narrow."""
    phone = width < 640
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=_find(*NAMES), args=QUIET)
        page = browser.new_page(
            viewport={"width": width, "height": height},
            color_scheme="dark" if dark else "light",
            has_touch=phone,
            is_mobile=phone,
        )
        yield Chromium(page, folder, width, dark)
        browser.close()


@contextmanager
def firefox(folder: Path, width: int, height: int, *, dark: bool = False) -> Iterator[Window]:
    """A window of a Firefox of its own, with a profile that nobody has."""
    with tempfile.TemporaryDirectory() as home:
        port = free_port()
        Path(home, "user.js").write_text(
            f'user_pref("layout.css.prefers-color-scheme.content-override", {int(not dark)});'
        )
        options = ["--headless", "--no-remote", "--profile", home, f"--remote-debugging-port={port}"]
        with _running([_find("firefox-esr", "firefox"), *options]), _reached(port) as socket:
            window = Firefox(socket, folder, width, height, dark)
            yield window
            window.call("browser.close")


@contextmanager
def webkit(folder: Path, width: int, height: int, *, dark: bool = False) -> Iterator[Window]:
    """A window of a WebKit of its own, on a screen that nobody sees."""
    port, screen = free_port(), f":{free_port()}"
    with (
        _running([_find("Xvfb"), screen, "-screen", "0", "1600x2600x24", "-nolisten", "tcp"]),
        _running([_find("WebKitWebDriver"), f"--port={port}"], DISPLAY=screen),
    ):
        _answers(f"http://127.0.0.1:{port}/status")
        window = WebKit(f"http://127.0.0.1:{port}", folder, width, height, dark)
        yield window
        window.call("", "DELETE")


@contextmanager
def _running(command: list[str], **more: str) -> Iterator[None]:
    """A program that runs meanwhile."""
    quiet = subprocess.DEVNULL
    process = subprocess.Popen(command, stdout=quiet, stderr=quiet, env=os.environ | more)
    try:
        yield
    finally:
        process.terminate()
        process.wait()


@contextmanager
def _reached(port: int) -> Iterator[object]:
    """The web socket of a Firefox that has just been started."""
    deadline = time.monotonic() + PATIENCE
    while True:
        try:
            socket = connect(f"ws://127.0.0.1:{port}/session", max_size=None, proxy=None)
            break
        except OSError:
            if time.monotonic() > deadline:
                raise
            time.sleep(0.1)
    with socket:
        socket.send(json.dumps({"id": 0, "method": "session.new", "params": {"capabilities": {}}}))
        socket.recv(timeout=PATIENCE)
        yield socket


def _answers(address: str) -> None:
    deadline = time.monotonic() + PATIENCE
    while True:
        try:
            urlopen(address, timeout=2).close()  # noqa: S310  # our own address, http
            return
        except (URLError, OSError):
            if time.monotonic() > deadline:
                raise
            time.sleep(0.1)


def _find(*names: str) -> str:
    """Return where a program is."""
    places = [shutil.which(name) for name in names] + glob(f"/usr/lib/*/webkit2gtk-*/{names[0]}")
    found = next((place for place in places if place), None)
    if found is None:
        sys.exit(f"{names[0]} is not here: apt-get install chromium firefox-esr webkit2gtk-driver xvfb")
    return found
