"""How much memory the server takes while tabs are worked in, and whether closing them gives it back. One JSON object.

Run: python tests/bench/soak.py [minutes] [tabs] [--trace]

Each tab goes round the pages and changes numbers there, as fast as the server answers with a pause between. Memory is
the resident set of the server's process (Linux: /proc), read every ten seconds. The first fifth of the time warms up;
growth is from the mean of the second fifth to the mean of the last. Then all tabs are closed, and the server is given
the time after which it forgets a tab. With --trace the server tells what grew, by line, on standard error.
"""

import itertools
import json
import os
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from contextlib import suppress
from pathlib import Path

from page import FLAGS, IDLE, NAMES, answers, free_port
from playwright.sync_api import Error, sync_playwright

from planner.store.folder import demo_folder

PAGES = (
    "/level?profile=mill-on-the-hill-road",
    "/hitch?profile=logs-on-the-gooseneck",
    "/garage?trailer=log-deck",
    "/",
    "/level?profile=slabs-on-friday",
)
STEPS = re.compile(r"^\\?[+−]\d")
EVERY = 10.0  # [s] from one reading to the next
PAUSE = 0.3  # [s] of a person between two presses
STARTED = 60  # [s] after which a server that does not answer will not
FORGOTTEN = 15  # [s] after which this server forgets a tab that was closed; by itself it would wait half an hour
SERVE = """
import os, sys, threading
from planner.front.shell import launch
launch.TAB_KEPT = int(os.environ["SOAK_KEPT"])
if os.environ.get("SOAK_TRACE"):
    import gc, time, tracemalloc
    from collections import Counter
    def count():
        return Counter(type(one).__name__ for one in gc.get_objects())
    def watch():
        time.sleep(float(os.environ["SOAK_TRACE"]))
        tracemalloc.start(12)
        gc.unfreeze(); gc.collect()
        kinds, first = count(), tracemalloc.take_snapshot()
        while True:
            time.sleep(float(os.environ["SOAK_TRACE"]))
            gc.collect()
            now, new = tracemalloc.take_snapshot(), count()
            print("grew by line", *now.compare_to(first, "lineno")[:15], sep="\\n", file=sys.stderr)
            print("grew by kind", (new - kinds).most_common(15), file=sys.stderr, flush=True)
    threading.Thread(target=watch, daemon=True).start()
from pathlib import Path
launch.start(Path(sys.argv[1]), int(sys.argv[2]), browser=False, token=False)
"""


def resident(pid):
    """Return the resident set of a process. [MB]"""
    status = Path(f"/proc/{pid}/status").read_text("utf-8")
    return int(re.search(r"VmRSS:\s+(\d+)", status)[1]) / 1024


def press(page, number):
    """Press one of the page's step buttons, if it has any, and wait until the page has answered."""
    buttons = page.get_by_role("button", name=STEPS).filter(visible=True)
    if count := buttons.count():
        buttons.nth(number % count).click(timeout=5_000)
    page.wait_for_selector(IDLE, timeout=60_000)


def soak(pid, tabs, url, minutes, browser):
    """Work in tabs for some minutes; return the readings, (s, MB)."""
    contexts = [browser.new_context(viewport={"width": 1280, "height": 900}) for _ in range(tabs)]
    pages = [context.new_page() for context in contexts]
    begin, readings, next_look = time.perf_counter(), [], 0.0
    for number in itertools.count():
        now = time.perf_counter() - begin
        if now >= next_look:
            readings.append((round(now), round(resident(pid), 1)))
            next_look = now + EVERY
        if now > 60 * minutes:
            break
        tab, turn = number % tabs, number // tabs
        with suppress(Error):  # a busy machine: the next round goes on
            if turn % 8 == 0:
                pages[tab].goto(url + PAGES[(turn // 8 + tab) % len(PAGES)], timeout=60_000)
            press(pages[tab], turn)
        time.sleep(PAUSE)
    for context in contexts:
        context.close()
    return readings, number


def after(pid):
    """Return the memory once the closed tabs are forgotten. [MB]"""
    least = resident(pid)
    for _ in range(3 * FORGOTTEN):
        time.sleep(1)
        least = min(least, resident(pid))
    return round(least, 1)


def report(readings, presses, closed, idle):
    """Return all of it as one object."""
    fifth = max(len(readings) // 5, 1)
    warm = statistics.mean(mb for _, mb in readings[fifth : 2 * fifth])
    last = statistics.mean(mb for _, mb in readings[-fifth:])
    return {
        "presses": presses,
        "before_mb": idle,
        "warm_mb": round(warm, 1),
        "last_mb": round(last, 1),
        "growth_mb": round(last - warm, 1),
        "closed_mb": closed,
        "curve": readings,
    }


def main():
    """Serve a copy of the demo, work in it, close it, print what it took."""
    given = [one for one in sys.argv[1:] if not one.startswith("--")]
    minutes, tabs = float(given[0]) if given else 30.0, int(given[1]) if len(given) > 1 else 5
    path = next(found for name in NAMES if (found := shutil.which(name)))
    clean = {name: value for name, value in os.environ.items() if not name.startswith(("PLANNER_", "STREAMLIT_"))}
    clean["SOAK_KEPT"] = str(FORGOTTEN)
    if "--trace" in sys.argv:
        clean["SOAK_TRACE"] = str(60 * minutes / 4)
    with tempfile.TemporaryDirectory() as home, sync_playwright() as playwright:
        folder, port = Path(shutil.copytree(demo_folder(), Path(home) / "profiles")), free_port()
        server = subprocess.Popen(
            [sys.executable, "-c", SERVE, str(folder), str(port)], stdout=subprocess.DEVNULL, env=clean, cwd=home
        )
        url = f"http://127.0.0.1:{port}"
        try:
            for _ in range(STARTED):
                if answers(f"{url}/_stcore/health"):
                    break
                time.sleep(1)
            else:
                sys.exit("the server does not answer")
            idle = round(resident(server.pid), 1)
            browser = playwright.chromium.launch(executable_path=path, args=FLAGS)
            readings, presses = soak(server.pid, tabs, url, minutes, browser)
            browser.close()
            closed = after(server.pid)
        finally:
            server.terminate()
            server.wait(timeout=30)
    print(json.dumps(report(readings, presses, closed, idle)))


if __name__ == "__main__":
    main()
