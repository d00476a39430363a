"""Draw all pages and their main states, wide and narrow, light and dark, as one picture to look at.

`python -m tests.browser.contact_sheet [FILE]`, contact_sheet.png where none is named. Chromium only.
"""

import shutil
import sys
import tempfile
from base64 import b64encode
from pathlib import Path

from playwright.sync_api import sync_playwright

from planner.store.folder import demo_folder

from .conftest import IDLE, NAMES, QUIET, started
from .test_accessibility import STATES

WIDTHS = (1280, 390)
TALLEST = 2400  # [px] of a page that is shown; the rest of it is below
SCALE = 0.25


def main() -> None:
    """Serve the demo, take a picture of every state, and lay them out in a row for each."""
    out = Path(sys.argv[1] if len(sys.argv) > 1 else "contact_sheet.png")
    browser_path = next(found for name in NAMES if (found := shutil.which(name)))
    with tempfile.TemporaryDirectory() as place, sync_playwright() as playwright:
        server = started(Path(shutil.copytree(demo_folder(), Path(place) / "profiles")), "--no-token")
        browser = playwright.chromium.launch(executable_path=browser_path, args=QUIET)
        try:
            contexts = [_opened(browser, width, dark) for width in WIDTHS for dark in (False, True)]
            rows = "".join(_row(contexts, server, name) for name in STATES)
            sheet = browser.new_page(viewport={"width": 1000, "height": 800})
            sheet.set_content(f"<style>{STYLE}</style><table>{rows}</table>")
            sheet.screenshot(path=out, full_page=True)
        finally:
            browser.close()
            server.process.terminate()
            server.process.wait()


STYLE = """
body{margin:8px;font:14px system-ui;background:#888}
td{vertical-align:top;padding:4px}
th{text-align:left;writing-mode:vertical-rl}
img{display:block}
"""


def _opened(browser, width, dark):
    """Return a browser's window; one for all states, so that it fetches the app once."""
    phone = width < 640
    return browser.new_context(
        viewport={"width": width, "height": 844 if phone else 900},
        color_scheme="dark" if dark else "light",
        has_touch=phone,
        is_mobile=phone,
    )


def _row(contexts, server, name):
    return f"<tr><th>{name}</th>{''.join(f'<td>{_picture(context, server, name)}</td>' for context in contexts)}</tr>"


def _picture(context, server, name):
    """Return a picture of a state as an element of HTML; each is of the demo as it comes."""
    address, act = STATES[name]
    shutil.rmtree(server.folder)
    shutil.copytree(demo_folder(), server.folder)
    page = context.new_page()
    page.goto(server.url + address)
    _wait(page)
    if act:
        act(page)
        _wait(page)
    width = page.viewport_size["width"]
    tall = page.evaluate("document.querySelector('[data-testid=stMainBlockContainer]').scrollHeight")
    page.set_viewport_size({"width": width, "height": min(max(tall, 844), TALLEST)})
    _wait(page)
    page.evaluate("document.querySelector('[data-testid=stMain]').scrollTo(0, 0)")
    shot = b64encode(page.screenshot()).decode()
    page.close()
    return f'<img width="{width * SCALE:.0f}" src="data:image/png;base64,{shot}">'


def _wait(page):
    page.wait_for_selector(".st-key-nav")
    page.wait_for_selector(IDLE)
    page.wait_for_selector("[data-testid=stSkeleton]", state="detached")
    page.wait_for_function("() => [...document.images].every(image => image.complete && image.naturalWidth)")


if __name__ == "__main__":
    main()
