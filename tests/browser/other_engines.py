"""The main journeys in Firefox and in WebKit, wide and narrow, with a picture of each page to look at.

`python -m tests.browser.other_engines [FOLDER]`, other_engines where none is named.
"""

import json
import shutil
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread
from urllib.request import urlopen

from planner.show.drawings.palette import DARK, LIGHT, Ink
from planner.store.folder import demo_folder

from .conftest import MILL, PATIENCE, started
from .engines import SIZES, Window, firefox, webkit
from .states import read_all


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
    read_all(window)
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
    shot = window.look()
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
