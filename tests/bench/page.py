"""How long the Level page takes in a real browser, beside pages with the same widgets and no model. One JSON object.

Besides, what one profile alone brings over a phone's link after the first visit.

Run: python tests/bench/page.py [presses] [cold starts]

Three pages are pressed in turn, so that a busy machine slows all of them alike: the planner's; a bare one, which has
its widgets and its row of links, and one number; and a still one, which has its words and pictures besides, as they
stood at first. All run under the same settings. What planner takes over still is the model and the drawing of new
pictures; what still takes over bare is carrying words and pictures to the screen.
"""

import itertools
import json
import logging
import os
import re
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from contextlib import contextmanager, suppress
from http.client import HTTPConnection
from pathlib import Path
from urllib.request import urlopen

import streamlit
from playwright.sync_api import sync_playwright
from streamlit.testing.v1 import AppTest

from planner.front.shell import environment, launch, places
from planner.store.folder import demo_folder

MILL = "mill-on-the-hill-road"
NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
FLAGS = ("--disable-background-networking", "--disable-extensions", "--no-first-run", "--disable-dev-shm-usage")
IDLE = "[data-testid=stApp][data-test-script-state=notRunning]"
PICTURES = "img.drawing"
NUMBER = "[data-number]"
WORDS = {"html", "markdown", "header", "title", "space", "caption", "error"}  # no widgets
BETWEEN = 0.15  # [s] from one press to the next, so that a browser has swept up after the last

SERVE = """
import json, sys
import streamlit as st

script, config = sys.argv[1:]
del sys.argv[1:]
st.App(script).run(config=json.loads(config))
"""
EMPTY = 'import streamlit as st\n\nst.html("<p data-number>card</p>")\n'
BARE = """
import json
from pathlib import Path

import streamlit as st

SPEC, PAGES = (json.loads((Path(__file__).parent / f"{name}.json").read_text("utf-8")) for name in ("spec", "pages"))
STATE = st.session_state
STATE.setdefault("weight", 7200)


def more(by):
    STATE["weight"] += by
    STATE["Trailer weight"] = f"{STATE['weight']} lb"


def seeded(key, value):
    STATE.setdefault(key, value)
    return key


def draw(node, path=""):
    kind, label, given, inside = node
    key = label if label == "Trailer weight" else f"{kind}{path}"
    if kind == "html":
        st.html(given)
    elif kind == "words":
        st.markdown(given)
    elif kind == "text_input":
        look = {"live": "600ms", "label_visibility": "collapsed"}
        st.text_input(label, key=seeded(key, given), on_change=more, args=(0,), **look)
    elif kind == "button":
        st.button(label, key=key, on_click=more, args=(100 if label.startswith("\\\\+") else -100,))
    elif kind == "selectbox":
        st.selectbox(label, given, index=0, key=key)
    elif kind == "button_group":
        st.segmented_control(label, given, key=seeded(key, given[0]))
    elif kind == "page_link":
        st.page_link(LINKS[label], label=label, query_params={"profile": "any"})
    elif kind == "columns":
        for n, (column, part) in enumerate(zip(st.columns(len(inside), wrap=False), inside)):
            with column:
                for m, one in enumerate(part[3]):
                    draw(one, f"{path}.{n}.{m}")
    else:
        with st.expander(label) if kind == "expander" else st.container(horizontal=kind == "row"):
            for n, one in enumerate(inside):
                draw(one, f"{path}.{n}")


def level():
    st.html(f"<p data-number>{STATE['weight']}</p>")
    for n, one in enumerate(SPEC):
        draw(one, f".{n}")


LINKS = {
    title: st.Page(level if name == "level" else (lambda: None), title=title, url_path=name, default=name == "level")
    for name, title in PAGES.items()
}
st.set_page_config(layout="wide", initial_sidebar_state="collapsed")
st.navigation(list(LINKS.values()), position="hidden").run()
"""
WATCH = """([selector]) => {
  const state = node => node.tagName === "IMG" ? node.src : node.textContent;
  const seen = () => [...document.querySelectorAll(selector)];
  const before = seen().map(state);
  window.marks = {};
  const begin = event => {
    document.removeEventListener("keydown", begin, true);
    const start = performance.now();
    const look = () => {
      seen().forEach((node, n) => {
        const shown = node.tagName !== "IMG" || (node.complete && node.naturalWidth);
        if (!(n in window.marks) && state(node) !== before[n] && shown) {
          window.marks[n] = [performance.now() - start, node.alt || ""];
        }
      });
      window.watching = requestAnimationFrame(look);
    };
    look();
  };
  if (window.watching) cancelAnimationFrame(window.watching);
  document.addEventListener("keydown", begin, true);
}"""


# The pages to compare with


def spec_of(folder, *, still):
    """Return the Level page as nested widgets, with its words and pictures if it is to stand still."""
    os.environ[environment.PROFILES] = str(folder)
    logging.getLogger("streamlit").setLevel(logging.ERROR)  # it warns that this is no server
    page = AppTest.from_file(str(places.ENTRY), default_timeout=60)
    page.switch_page(os.path.relpath(places.pages() / "level.py", places.ENTRY.parent))
    page.query_params["profile"] = MILL
    page.run()
    assert not page.exception, page.exception
    return [one for node in page.main.children.values() for one in nodes(node, still)]


def nodes(node, still):
    """Yield a node of the page as kind, label, what it is given, what is inside."""
    kind, proto = node.type, getattr(node, "proto", None)
    if hasattr(node, "children"):
        parts = list(node.children.values())
        inside = [one for part in parts for one in nodes(part, still)]
        if parts and all(part.type == "column" for part in parts):
            yield "columns", "", None, inside
        elif kind == "expander":
            yield kind, node.label, None, inside
        elif inside:
            row = kind == "flex_container" and proto.flex_container.direction == proto.flex_container.HORIZONTAL
            yield "row" if row else "box", "", None, inside
    elif kind in WORDS:
        yield from words(kind, proto) if still else ()
    else:
        yield widget(kind, proto)


def words(kind, proto):
    """Yield words and pictures as they stand."""
    if kind == "html":
        yield "html", "", proto.body, []
    elif kind != "space":
        yield "words", "", proto.body, []


def widget(kind, proto):
    """Return a widget; one that this bench does not know stops it, for then the pages would not be alike."""
    given = {
        "text_input": lambda: proto.value,
        "button": lambda: None,
        "selectbox": lambda: list(proto.options),
        "radio": lambda: list(proto.options),
        "button_group": lambda: [one.content for one in proto.options],
        "page_link": lambda: None,
    }
    if kind not in given:
        raise SystemExit(f"the Level page has a {kind}, which the bare page cannot draw: teach it to {__file__}")
    return "selectbox" if kind == "radio" else kind, proto.label, given[kind](), []


def count(spec):
    """Return how many widgets of each kind a page has."""
    kinds = [node[0] for node in flat(spec)]
    return {kind: kinds.count(kind) for kind in sorted({*kinds} - {"row", "box", "columns", "html", "words"})}


def flat(spec):
    """Yield all nodes of a page."""
    for node in spec:
        yield node
        yield from flat(node[3])


def written(folder, spec):
    """Write a page without a model, and return its script."""
    folder.mkdir()
    titles = {"profiles": "Profiles", "level": "Level", "hitch": "Hitch up", "garage": "Truck & trailers"}
    links = {node[1] for node in flat(spec) if node[0] == "page_link"}
    names = titles | {f"more-{n}": link for n, link in enumerate(sorted(links - set(titles.values())))}
    (folder / "spec.json").write_text(json.dumps(spec), "utf-8")
    (folder / "pages.json").write_text(json.dumps(names), "utf-8")
    (folder / "app.py").write_text(BARE, "utf-8")
    return folder / "app.py"


# Servers


def free_port():
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


def answers(address):
    """Tell whether a server of our own answers at an address."""
    with suppress(OSError):
        urlopen(address, timeout=2).close()  # noqa: S310  # our own address, http
        return True
    return False


def planner_command(folder, port):
    return [sys.executable, "-m", "planner", "--profiles", str(folder), "--port", str(port), "--no-browser"]


def streamlit_command(script, port):
    """Return the command that serves a script under the planner's own settings."""
    must, nice = launch.settings(port, share=False)
    return [sys.executable, "-c", SERVE, str(script), json.dumps(must | nice)]


@contextmanager
def serving(command, port, where):
    """Run a server, wait until it answers, and stop it in the end; yields its address and its token, if it has one.

    It finds its modules compiled, as what was installed does.
    """
    other = ("PLANNER_", "STREAMLIT_", "PYTHONDONTWRITEBYTECODE")
    clean = {name: value for name, value in os.environ.items() if not name.startswith(other)}
    piped = {"stdout": subprocess.PIPE, "stderr": subprocess.DEVNULL, "text": True}
    env = clean | {
        "PYTHONUNBUFFERED": "1",
        "PYTHONPYCACHEPREFIX": str(where / "compiled"),
        "XDG_CACHE_HOME": str(where),
    }
    process = subprocess.Popen(command, env=env, cwd=where, **piped)
    url = f"http://127.0.0.1:{port}"
    try:
        printed = process.stdout.readline() if "planner" in command else ""
        token = re.search(r"token=(\w+)", printed)
        while not answers(url):
            if process.poll() is not None:
                raise SystemExit(f"the server ended with {process.returncode}: {' '.join(command)}")
            time.sleep(0.01)
        yield url, token[1] if token else ""
    finally:
        process.terminate()
        process.wait(timeout=30)


# Measuring


def settle(page):
    """Wait until the script has run and every picture is there."""
    page.wait_for_selector(IDLE)
    page.wait_for_function("() => [...document.images].every(image => image.complete && image.naturalWidth)")
    time.sleep(BETWEEN)


def pressed(page, button, selector):
    """Press a step button by its key, and return when each thing watched had changed: by name, in ms."""
    page.bring_to_front()
    button.focus()
    page.evaluate(WATCH, [selector])
    page.keyboard.press("Enter")
    page.wait_for_function("() => 0 in window.marks")
    settle(page)
    found = sorted(page.evaluate("Object.entries(window.marks)"), key=lambda one: int(one[0]))
    return {short(alt) or "number": when for _, (when, alt) in found}


def short(alt):
    """Return what a picture is of, from its words."""
    return re.split(r"[.,:;]", alt)[0][:40]


def presses(browser, urls, rounds):
    """Return the times of presses on each page: by page, by thing that changed, in ms."""
    times = {name: {} for name in urls}
    pages = {name: browser.new_context(viewport={"width": 1280, "height": 900}).new_page() for name in urls}
    for name, page in pages.items():
        page.goto(urls[name])
        page.wait_for_selector(PICTURES if name == "planner" else NUMBER)
        settle(page)
    ways = itertools.cycle(["+100 lb", "−100 lb"])
    for n in range(rounds + 3):
        way = next(ways)
        for name, page in pages.items():
            button = page.get_by_role("button", name=way, exact=True).first
            took = pressed(page, button, PICTURES if name == "planner" else NUMBER)
            if n >= 3:  # the first ones warm up
                for what, when in took.items():
                    times[name].setdefault(what, []).append(when)
    for page in pages.values():  # or it would ask for its server again and again, while others are measured
        page.context.close()
    return times


def cold(browser, command, port, where, *selectors):
    """Return how long it takes from a command until each thing is on the screen. [s]"""
    start = time.perf_counter()
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    with serving(command, port, where) as (url, token):
        page = context.new_page()
        page.goto(f"{url}/?token={token}", wait_until="commit")
        took = []
        for selector in selectors:
            page.wait_for_selector(selector)
            took.append(time.perf_counter() - start)
        context.close()
    return took


def cold_starts(browser, folder, script, rounds):
    """Return cold starts: until a card can be read, until Streamlit has drawn it, and of an empty app, in turn. [s]

    The first ones compile, and keep what is shown before; they do not count.
    """
    found = []
    for _ in range(rounds + 1):
        one, other = free_port(), free_port()
        cards = cold(browser, planner_command(folder, one), one, folder.parent, ".drawing", ".st-key-cards .drawing")
        found.append((*cards, *cold(browser, streamlit_command(script, other), other, folder.parent, NUMBER)))
    return dict(zip(("card", "drawn", "empty"), zip(*found[1:], strict=True), strict=True))


def handing_out(url, token, rounds=40):
    """Return the median time of one request for a small script on a connection that is kept. [ms]"""
    script = min(
        (Path(streamlit.__file__).parent / "static/static/js").glob("*.js"), key=lambda one: one.stat().st_size
    )
    kept, times = HTTPConnection(url.removeprefix("http://")), []
    cookie = {"Cookie": f"planner-{url.rpartition(':')[2]}={token}"}
    for _ in range(rounds):
        start = time.perf_counter()
        kept.request("GET", f"/static/js/{script.name}", headers=cookie)
        kept.getresponse().read()
        times.append(time.perf_counter() - start)
    kept.close()
    return 1e3 * statistics.median(times)


def carried(browser, url, token):
    """Return what a phone that has been there before fetches to read a profile alone, all of it. [kB]

    Answers as they come over the wire, and the messages of the web socket as they are before they are packed.
    """
    context = browser.new_context(viewport={"width": 390, "height": 844})
    sizes = []
    for first in (True, False):
        page = context.new_page()
        watching = context.new_cdp_session(page)
        watching.send("Network.enable")
        watching.on("Network.loadingFinished", lambda event: sizes.append(event["encodedDataLength"]))
        watching.on("Network.webSocketFrameReceived", lambda event: sizes.append(_length(event["response"])))
        sizes.clear()
        page.goto(f"{url}/?profile={MILL}{f'&token={token}' if first else ''}")
        page.wait_for_selector(".st-key-alone .corners")
        settle(page)
        page.close()
    context.close()
    return sum(sizes) / 1e3


def _length(frame):
    """Return the bytes of a message of a web socket, which are told as base64."""
    return len(frame["payloadData"]) * (3 / 4 if frame["opcode"] == 2 else 1)


def summary(times):
    """Return median and spread of times in ms."""
    tenths = statistics.quantiles(times, n=10) if len(times) > 1 else times * 9
    return {"median": round(statistics.median(times), 1), "tenth": round(tenths[0], 1), "ninth": round(tenths[-1], 1)}


def report(times, cold_times, widgets):
    """Return all of it as one object."""
    first = {name: next(iter(found.values())) for name, found in times.items()}
    median = {name: statistics.median(values) for name, values in first.items()}
    starts = {name: statistics.median(values) for name, values in cold_times.items()}
    return {
        "presses": len(first["planner"]),
        "widgets": widgets,
        "press_to_number_ms": {name: summary(values) for name, values in first.items()},
        "planner_over_bare": round(median["planner"] / median["bare"], 2),
        "planner_over_still": round(median["planner"] / median["still"], 2),
        "pictures_ms": {what: round(statistics.median(values), 1) for what, values in times["planner"].items()},
        "cold_starts": len(cold_times["empty"]),
        "cold_start_s": {name: round(value, 2) for name, value in starts.items()},
        "cold_card_over_empty": round(starts["card"] / starts["empty"], 2),
        "cold_drawn_over_empty": round(starts["drawn"] / starts["empty"], 2),
    }


def main():
    """Serve the pages, press and start them in turn, print what it took."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 30
    starts = int(sys.argv[2]) if len(sys.argv) > 2 else 5
    path = next(found for name in NAMES if (found := shutil.which(name)))
    with tempfile.TemporaryDirectory() as temporary, sync_playwright() as playwright:
        home = Path(temporary)
        folder = Path(shutil.copytree(demo_folder(), home / "profiles"))
        bare, still = (spec_of(folder, still=still) for still in (False, True))
        scripts = {"bare": written(home / "bare", bare), "still": written(home / "still", still)}
        empty = home / "empty.py"
        empty.write_text(EMPTY, "utf-8")
        ports = [free_port() for _ in range(3)]
        browser = playwright.chromium.launch(executable_path=path, args=FLAGS)
        with (
            serving(planner_command(folder, ports[0]), ports[0], home) as (planner, token),
            serving(streamlit_command(scripts["bare"], ports[1]), ports[1], home) as (bare_url, _),
            serving(streamlit_command(scripts["still"], ports[2]), ports[2], home) as (still_url, _),
        ):
            first = f"{planner}/level?profile={MILL}&token={token}"
            times = presses(browser, {"planner": first, "bare": bare_url, "still": still_url}, rounds)
            asked = {"planner": (planner, token), "bare": (bare_url, "")}
            requests = {name: round(handing_out(*one), 2) for name, one in asked.items()}
            recall = round(carried(browser, planner, token), 1)
        cold_times = cold_starts(browser, folder, empty, starts)
        browser.close()
    print(json.dumps(report(times, cold_times, count(bare)) | {"one_request_ms": requests, "recall_kb": recall}))


if __name__ == "__main__":
    main()
