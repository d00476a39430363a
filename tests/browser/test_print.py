"""On paper Level, Hitch up and one profile alone are one page each, on both usual sizes of paper, and can be read."""

import re
import time

import pytest
from playwright.sync_api import expect

from planner.show.drawings.svg import SMALL, WIDTH

from .conftest import MILL, PATIENCE

PRINTED = {"width": 740, "height": 979}  # [px] Letter less its margins
WORDS = """() => [...document.querySelectorAll('[data-testid=stMainBlockContainer] :is(p, li, h1, h2)')]
    .filter(e => e.checkVisibility()).map(e => parseFloat(getComputedStyle(e).fontSize) * e.currentCSSZoom * 0.75)"""
DRAWN = """() => [...document.querySelectorAll('.drawing')].filter(e => e.checkVisibility())
    .map(e => e.getBoundingClientRect().width * 0.75)"""

# Headings on which the words below them lie.
TOUCHED = """() => {
  const found = [];
  for (const heading of document.querySelectorAll(".st-key-after h2, .st-key-unhitching h2")) {
    let box = heading.closest("[data-testid=stElementContainer]");
    while (!box.nextElementSibling) box = box.parentElement;
    const next = box.nextElementSibling.getBoundingClientRect(), here = heading.getBoundingClientRect();
    if (next.height && next.top < here.bottom && next.left < here.right) found.push(heading.textContent);
  }
  return found;
}"""


@pytest.mark.parametrize(
    ("address", "least", "least_drawn"),  # [pt] of words, and of what is small in a drawing
    [
        ("/level?profile=weekly-mill-run", 7.0, 7.0),
        ("/level?profile=slabs-on-friday", 7.0, 7.0),
        ("/hitch?profile=slabs-on-friday", 6.3, 4.6),  # whose numbers are larger
        (f"/hitch?profile={MILL}", 6.3, 4.6),
        (f"/?profile={MILL}", 9.0, 7.0),
    ],
)
def test_it_is_one_page_that_can_be_read(server, opened, address, least, least_drawn):
    page = opened(server, dark=True).go(server.url + address)
    for paper in ("Letter", "A4"):
        deadline = time.monotonic() + PATIENCE  # what has just come may still move
        while (count := len(re.findall(rb"/Type\s*/Page\b", page.pdf(format=paper)))) > 1:
            assert time.monotonic() < deadline, (paper, count)
    page.emulate_media(media="print")
    expect(page.locator(".st-key-nav")).to_be_hidden()
    page.set_viewport_size(PRINTED)
    assert min(page.evaluate(WORDS)) >= least
    assert all(width * SMALL / WIDTH >= least_drawn for width in page.evaluate(DRAWN))
    assert page.evaluate(TOUCHED) == []
    for picture in page.locator(".st-key-answer img").all():
        assert picture.bounding_box()["height"] > 50
