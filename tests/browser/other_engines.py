"""The main journeys in Firefox and in WebKit, wide and narrow, with a picture of each page to look at.

`python -m tests.browser.other_engines [FOLDER]`, other_engines where none is named. On Debian:
`apt-get install firefox-esr webkit2gtk-driver xvfb`. Both are spoken to in their own standard, the W3C's WebDriver BiDi
and WebDriver, whose actions are the same; no driver is downloaded. What is waited for is a condition.
"""

import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from abc import ABC, abstractmethod
from base64 import b64decode
from collections.abc import Iterator
from contextlib import contextmanager
from glob import glob
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from io import BytesIO
from pathlib import Path
from threading import Thread
from urllib.error import URLError
from urllib.request import Request, urlopen

from PIL import Image
from websockets.sync.client import connect

from planner.show.drawings.palette import DARK, LIGHT, Ink
from planner.store.folder import demo_folder

from .conftest import IDLE, MILL, PATIENCE, free_port, started
from .test_trim import READ, WHOLE

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
        file.write_bytes(b64decode(self.shoot()))
        assert self.ask("document.documentElement.scrollWidth <= innerWidth"), f"{file}: wider than the screen"

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


class Firefox(Window):
    """Firefox over WebDriver BiDi: messages on a web socket."""

    def __init__(self, socket, folder: Path, width: int, height: int, dark: bool) -> None:
        super().__init__(folder, "Firefox", width, dark)
        self.socket, self.number = socket, 0
        self.context = self.call("browsingContext.create", type="tab")["context"]
        self.call("browsingContext.setViewport", context=self.context, viewport={"width": width, "height": height})

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
        self.call("/window/rect", width=width, height=height)
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
        _running([_find("Xvfb"), screen, "-screen", "0", "1600x1200x24", "-nolisten", "tcp"]),
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
        sys.exit(f"{names[0]} is not here: apt-get install firefox-esr webkit2gtk-driver xvfb")
    return found


# The journeys


def level_and_save(window: Window, url: str) -> None:
    """Type a weight, see other pressures, save without the changed number."""
    window.go(f"{url}/level?profile={MILL}")
    window.picture("level")
    first = "document.querySelector('.st-key-answer img').alt"
    before = window.ask(first)
    window.type('.st-key-field-weight input[type="text"]', "9000 lb")
    window.until(f"{first} !== {json.dumps(before)}")
    window.ready()
    window.press('[data-testid="stRadioGroup"] > div:last-child label')
    window.until("[...document.querySelectorAll('input[type=radio]')].some(one => one.checked)")
    window.ready()
    window.press(".st-key-save button")
    window.said("is saved")
    window.picture("level-saved")


def set_these(window: Window, url: str) -> None:
    """From the list to a profile alone."""
    window.go(url)
    window.picture("profiles")
    window.press(f".st-key-go-profiles-{MILL} a")
    window.until("document.querySelector('.st-key-alone .corners') && !document.querySelector('.st-key-cards')")
    window.ready()
    window.picture("set-these")


def hitch_up(window: Window, url: str) -> None:
    """Through all stages, where one is shown at a time."""
    window.go(f"{url}/hitch?profile={MILL}")
    window.picture("hitch")
    if window.width < 800:
        for stage in ("meet", "lift", "tow"):
            window.press(".st-key-stage-next button")
            window.until(f"document.querySelector('.st-key-now-{stage}')")
            window.ready()
    window.picture("hitch-tow")


def trim(window: Window, url: str) -> None:
    """Type what gauge and tape say, and keep it."""
    window.go(f"{url}/trim?profile={MILL}")
    for corner, numbers in READ.items():
        for place, text in enumerate(numbers, 1):
            column = f'[data-testid="stColumn"]:nth-child({place})'
            window.type(f".st-key-corner-{corner} {column} input", text)
    window.until(f"document.querySelector('.st-key-answer img')?.alt.includes({json.dumps(WHOLE)})")
    window.ready()
    window.press(".st-key-trim-accept button")
    window.said("has the reading and its pressures")
    window.picture("trimmed")


def delete_and_undo(window: Window, url: str) -> None:
    """By the menu of a card."""
    window.go(url)
    window.press(f".st-key-more-{MILL} button")
    window.until(f"document.querySelector('.st-key-delete-{MILL}')")
    window.ready()
    if window.width >= 800:  # the cards beside it are not drawn out
        heights = "[...document.querySelectorAll('.st-key-cards > div')].map(one => one.offsetHeight)"
        window.until(f"(([one, menu]) => one < menu)({heights})")
    window.picture("menu")
    window.press(f".st-key-delete-{MILL} button")
    window.said("is deleted")
    window.picture("deleted")
    window.press(".st-key-undo button")
    window.said("is back in the list")


def both_papers(window: Window, url: str) -> None:
    """What is first seen without Streamlit's scripts, the pages' drawings and how they are laid out, on this paper."""
    ink, deadline = DARK if window.dark else LIGHT, time.monotonic() + PATIENCE
    while b'id="first-view"' not in (seen := urlopen(url, timeout=PATIENCE).read()):  # noqa: S310  # our own, http
        assert time.monotonic() < deadline, "a planner just started first imports what makes it"
    with _served(seen) as first:
        window.open(first)
        window.until("document.querySelectorAll('#first-view .drawing').length > 1")
        _look_at_drawings(window, "#first-view .drawing", ink, "first-seen")
    for page, parts in (("level", ("answer", "inputs")), ("hitch", ("after", "inputs")), ("air", ("answer", "inputs"))):
        window.go(f"{url}/{page}?profile={MILL}")
        assert window.ask("!document.querySelector('#first-view')")
        _look_at_drawings(window, ".drawing", ink, f"{page}-paper")
        left, right = (
            window.ask(f"(r => [r.x, r.y, r.width])(document.querySelector('.st-key-{part}').getBoundingClientRect())")
            for part in parts
        )
        beside = window.width >= 800
        assert (right[0] >= left[0] + left[2]) is beside, (page, left, right)
        assert min(left[2], right[2]) > (400 if beside else 300), (page, left, right)


def _look_at_drawings(window: Window, selector: str, ink: Ink, name: str) -> None:
    """Keep a picture; the first drawing is on this paper, in its corner and on the page around it."""
    place = f"document.querySelector({json.dumps(selector)})"
    window.until(f"{place}?.naturalWidth")
    window.ask(f"{place}.scrollIntoView({{block: 'center'}})")
    x, y, scale = window.ask(f"(r => [r.x + 3, r.y + 3, innerWidth])({place}.getBoundingClientRect())")
    window.picture(name)
    shot = Image.open(BytesIO(b64decode(window.shoot()))).convert("RGB")
    seen = "#{:02x}{:02x}{:02x}".format(*shot.getpixel((round(x * shot.width / scale), round(y * shot.width / scale))))
    assert seen == ink.paper, f"{window.name}, {window.width} px: a drawing on {seen}, not on {ink.paper}"


@contextmanager
def _served(page: bytes) -> Iterator[str]:
    """The address of a page and nothing else."""

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self.send_response(200 if self.path == "/" else 404)
            self.send_header("Content-Type", "text/html; charset=utf-8")
            self.end_headers()
            self.wfile.write(page if self.path == "/" else b"")

        def log_message(self, *args: object) -> None:
            pass

    with ThreadingHTTPServer(("127.0.0.1", 0), Handler) as server:
        Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}/"
        server.shutdown()


JOURNEYS = (
    (level_and_save, False),
    (set_these, False),
    (hitch_up, False),
    (trim, False),
    (delete_and_undo, False),
    (both_papers, False),
    (both_papers, True),
)


def main() -> None:
    """Go through all journeys in both engines, wide and narrow, each on a demo of its own."""
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else "other_engines")
    folder.mkdir(exist_ok=True)
    for engine in (firefox, webkit):
        for size in SIZES:
            for journey, dark in JOURNEYS:
                with tempfile.TemporaryDirectory() as place:
                    server = started(Path(shutil.copytree(demo_folder(), Path(place) / "profiles")), "--no-token")
                    try:
                        with engine(folder, *size, dark=dark) as window:
                            journey(window, server.url)
                    finally:
                        server.process.terminate()
                        server.process.wait()
                words = f"{journey.__name__.replace('_', ' ')}{', dark' * dark}"
                sys.stdout.write(f"{window.name}, {size[0]} px: {words}\n")
                sys.stdout.flush()


if __name__ == "__main__":
    main()
