"""The app as a person has it: the real server, started by the real command, and a real browser."""

import os
import re
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit
from urllib.request import urlopen

import pytest
from playwright.sync_api import Browser, Error, Locator, Page, expect, sync_playwright
from playwright.sync_api import TimeoutError as TooLong

from planner.store import Store
from planner.store.folder import demo_folder
from tests.show.contrast import contrast

MILL = "mill-on-the-hill-road"
NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
QUIET = (  # what a browser does of its own accord is no request of ours
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-default-apps",
    "--disable-extensions",
    "--disable-domain-reliability",
    "--no-first-run",
    "--no-pings",
    "--disable-dev-shm-usage",
    "--disable-gpu",
)
PATIENCE = 120  # [s] for what comes at once on an idle machine: a busy one is no finding
expect.set_options(timeout=PATIENCE * 1000)
IDLE = "[data-testid=stApp][data-test-script-state=notRunning]"
RESTS = "() => !document.querySelector('[data-test-script-state=running]')"
# Streamlit asks below the page's own path first, finds nothing there, and asks at the top: not an error.
PROBE = re.compile(r"/(level|hitch|weigh|trim|air|garage|method)/_stcore/(health|host-config)$")


READ = """all => all.flatMap(one => {
    const two = n => (+n).toString(16).padStart(2, '0');
    const hex = colour => '#' + colour.match(/\\d+/g).slice(0, 3).map(two).join('');
    const paper = e => {
        const colour = getComputedStyle(e).backgroundColor;
        return /, 0\\)$/.test(colour) ? paper(e.parentElement) : colour;
    };
    return [...one.querySelectorAll('*')]
        .filter(e => e.checkVisibility() && e.tagName !== 'STYLE')
        .filter(e => [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim()))
        .map(e => [e, getComputedStyle(e)])
        .map(([e, look]) => [e.innerText, parseFloat(look.fontSize), hex(look.color), hex(paper(e))]);
})"""


def hard_to_read(page: Page, selector: str) -> list[tuple[str, float, str, str]]:
    """Return what is too small or, of numbers, too faint at arm's length in the sun: words, size [px], ink, paper."""
    found = page.locator(selector).evaluate_all(READ)
    return [one for one in found if one[1] < 16 or (re.search(r"\d", one[0]) and contrast(*one[2:]) < 7)]


def rgb(colour: str) -> str:
    """Return a colour of ours as a browser says it."""
    red, green, blue = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return f"rgb({red}, {green}, {blue})"


@dataclass(frozen=True)
class Server:
    """A running planner: its bare address, and the one with the token."""

    url: str
    first: str
    folder: Path
    process: subprocess.Popen[str]
    said: list[str]

    @property
    def store(self) -> Store:
        return Store(self.folder)


def free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


def started(folder: Path, *options: str) -> Server:
    """Start the planner on a folder, and wait until it answers."""
    clean = {name: value for name, value in os.environ.items() if not name.startswith(("PLANNER_", "STREAMLIT_"))}
    port = free_port()
    process = subprocess.Popen(
        [sys.executable, "-m", "planner", "--profiles", str(folder), "--port", str(port), "--no-browser", *options],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env=clean | {"PYTHONUNBUFFERED": "1", "XDG_CACHE_HOME": str(folder.parent / "cache")},
        cwd=folder.parent,
    )
    said = [process.stdout.readline()]
    found = re.search(r"(http://127\.0\.0\.1:\d+)/\S*", said[0])
    if found is None:
        process.kill()
        pytest.fail(f"no address was printed: {said[0]}{process.stdout.read()}")
    deadline = time.monotonic() + PATIENCE
    while time.monotonic() < deadline:
        try:
            urlopen(found[1], timeout=2).close()  # noqa: S310  # our own address, http
        except OSError:
            time.sleep(0.05)
        else:
            return Server(found[1], found[0], folder, process, said)
    process.kill()
    pytest.fail("the server does not answer")


@pytest.fixture
def demo(tmp_path: Path) -> Path:
    """A copy of the demo."""
    return Path(shutil.copytree(demo_folder(), tmp_path / "profiles"))


@pytest.fixture(scope="session")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A planner on a copy of the demo, for all tests that do not stop it."""
    running = started(Path(shutil.copytree(demo_folder(), tmp_path_factory.mktemp("app") / "profiles")))
    yield running
    running.process.terminate()
    running.process.wait(timeout=PATIENCE)


@pytest.fixture
def server(running: Server) -> Server:
    """The running planner, its folder as the demo has it."""
    shutil.rmtree(running.folder)
    shutil.copytree(demo_folder(), running.folder)
    return running


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """A browser of this machine; none is downloaded. Its event loop ends with the module: others want theirs."""
    path = next((found for name in NAMES if (found := shutil.which(name))), None)
    if path is None:
        missing = f"no browser here: none of {', '.join(NAMES)} is on the path"
        if os.environ.get("CI"):
            pytest.fail(missing)
        pytest.skip(missing)
    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=path, args=QUIET)
        yield running
        running.close()


@dataclass
class Watched:
    """A page, and what it did that it should not do."""

    page: Page
    faults: list[str]

    def go(self, address: str) -> Page:
        """Open an address, and wait until the page is whole."""
        self.page.goto(address)
        self.ready()
        return self.page

    def ready(self) -> Page:
        """Wait until the script has run and all pictures are there."""
        self.page.wait_for_selector(".st-key-units")  # the last that is drawn
        self.page.wait_for_selector(IDLE)
        self.page.wait_for_function("() => [...document.images].every(image => image.complete && image.naturalWidth)")
        return self.page

    def choose(self, field: Locator, option: str) -> None:
        """Choose from a list by its words; it is opened anew where a page that still moved has closed it."""
        wanted, deadline = self.page.get_by_role("option", name=option), time.monotonic() + PATIENCE
        while True:
            self.ready()
            field.click()
            try:
                wanted.wait_for(timeout=5_000)
            except TooLong:
                if time.monotonic() > deadline:
                    raise
            else:
                return wanted.click()

    def tab_to(self, target: Locator, most: int) -> None:
        """Press Tab until something has the focus, at most so many times."""
        for _ in range(most):
            self.page.keyboard.press("Tab")
            if target.evaluate("e => e === document.activeElement"):
                break
        expect(target).to_be_focused()

    def reaches(self) -> tuple[float, float]:
        """Return how wide the page scrolls, and how far right anything reaches that is in no box to be pushed aside."""
        widest = """() => {
            const main = document.querySelector('[data-testid=stMain]');
            const pushed = e => e !== main
                && (['auto', 'scroll'].includes(getComputedStyle(e).overflowX) || pushed(e.parentElement));
            const all = [...main.querySelectorAll('*:not(svg *, .katex-mathml *)')];
            return Math.max(...all.filter(e => !pushed(e.parentElement)).map(e => e.getBoundingClientRect().right));
        }"""
        return self.page.evaluate("document.documentElement.scrollWidth"), self.page.evaluate(widest)

    def small(self, selector: str) -> list[str]:
        """Return what is too small for a thumb, units and choices apart, which are as large as Streamlit has them."""
        return self.page.locator(selector).evaluate_all(
            """all => all.filter(e => !e.closest('.st-key-units, [data-testid=stSelectbox]'))
                .filter(e => e.getBoundingClientRect().height < 43.5).map(e => e.outerHTML.slice(0, 300))"""
        )


@pytest.fixture
def opened(browser: Browser) -> Iterator[Callable[..., Watched]]:
    """Open windows: wide or as a phone, light or dark. At the end none may have had a fault or asked another host."""
    contexts, windows = [], []

    def window(server: Server, *, phone: bool = False, dark: bool = False) -> Watched:
        size = {"width": 390, "height": 844} if phone else {"width": 1280, "height": 900}
        scheme = "dark" if dark else "light"
        context = browser.new_context(viewport=size, color_scheme=scheme, has_touch=phone, is_mobile=phone)
        context.set_default_timeout(PATIENCE * 1000)
        contexts.append(context)
        context.request.get(server.first, max_redirects=0).dispose()  # the cookie
        watched = Watched(context.new_page(), [])
        watched.page.on("request", lambda request: _same_host(request.url, server.url, watched.faults))
        watched.page.on("console", lambda message: _quiet(message, watched.faults))
        watched.page.on("pageerror", lambda error: watched.faults.append(str(error)))
        windows.append(watched)
        return watched

    yield window
    for watched in windows:  # a run that ends later would write its draft into the next test's folder
        with suppress(Error):
            watched.page.wait_for_function(RESTS, timeout=5_000)
    faults = [fault for watched in windows for fault in watched.faults]
    for context in contexts:
        context.close()
    assert not faults


def _same_host(url: str, home: str, faults: list[str]) -> None:
    """Note a request that leaves this machine."""
    parts = urlsplit(url)
    if parts.scheme not in ("data", "blob") and parts.netloc != urlsplit(home).netloc:
        faults.append(f"asked {url}")


def _quiet(message: object, faults: list[str]) -> None:
    """Note an error or a warning on the console."""
    if message.type in ("error", "warning") and not PROBE.search(message.location.get("url", "")):
        faults.append(f"console {message.type}: {message.text}")
