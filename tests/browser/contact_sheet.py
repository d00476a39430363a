"""Draw all pages and their main states, in three engines, wide and narrow, light and dark, as one picture to look at.

`python -m tests.browser.contact_sheet [FILE]`, contact_sheet.png where none is named.
"""

import shutil
import sys
import tempfile
from pathlib import Path

from PIL import Image, ImageDraw

from planner.store.folder import demo_folder

from .conftest import started
from .engines import SIZES, Window, chromium, firefox, webkit
from .states import STATES

TALLEST = 2400  # [px] of a page that is shown; the rest of it is below
SCALE = 0.25
GAP, NAME = 8, 20  # [px] between pictures; for a row's name


def main() -> None:
    """Serve the demo, take a picture of every state in every window, and lay them out in a row for each state."""
    out = Path(sys.argv[1] if len(sys.argv) > 1 else "contact_sheet.png")
    columns = []
    with tempfile.TemporaryDirectory() as place:
        server = started(Path(shutil.copytree(demo_folder(), Path(place) / "profiles")), "--no-token")
        try:
            for engine in (chromium, firefox, webkit):
                for width, height in SIZES:
                    for dark in (False, True):
                        with engine(out.parent, width, height, dark=dark) as window:
                            columns.append([_picture(window, height, server, name) for name in STATES])
                        sys.stdout.write(f"{window.name}, {width} px{', dark' * dark}\n")
                        sys.stdout.flush()
        finally:
            server.process.terminate()
            server.process.wait()
    _laid_out([list(row) for row in zip(*columns, strict=True)]).save(out)


def _picture(window: Window, height: int, server: object, name: str) -> Image.Image:
    """Return a small picture of a state of the demo as it comes, down to its foot."""
    address, act = STATES[name]
    shutil.rmtree(server.folder)
    shutil.copytree(demo_folder(), server.folder)
    window.go(server.url + address)
    if act:
        act(window)
        window.ready()
    tall = window.ask("document.querySelector('[data-testid=stMainBlockContainer]').scrollHeight")
    window.make_tall(min(max(tall, height), TALLEST))
    window.ready()
    window.ask("document.querySelector('[data-testid=stMain]').scrollTo(0, 0)")
    assert window.ask("document.documentElement.scrollWidth <= innerWidth"), f"{window.name}, {name}: sticks out"
    shot = window.look()
    window.make_tall(height)
    wide = round(window.width * SCALE)
    return shot.resize((wide, round(shot.height * wide / shot.width)), Image.Resampling.LANCZOS)


def _laid_out(rows: list[list[Image.Image]]) -> Image.Image:
    """Return rows of pictures below each other, each under the name of its state."""
    tall = [max(one.height for one in row) + GAP + NAME for row in rows]
    sheet = Image.new("RGB", (sum(one.width + GAP for one in rows[0]) + GAP, sum(tall)), "#888888")
    pen, top = ImageDraw.Draw(sheet), 0
    for name, row, high in zip(STATES, rows, tall, strict=True):
        pen.text((GAP, top + GAP / 2), name, "black")
        left = GAP
        for one in row:
            sheet.paste(one, (left, top + NAME))
            left += one.width + GAP
        top += high
    return sheet


if __name__ == "__main__":
    main()
