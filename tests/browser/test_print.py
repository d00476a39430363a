"""On paper Level, Hitch up and one profile alone are one page each, on both usual sizes of paper."""

import re
import time

import pytest
from playwright.sync_api import expect

from .conftest import MILL, PATIENCE


@pytest.mark.parametrize(
    "address",
    [
        "/level?profile=weekly-mill-run",
        "/level?profile=slabs-on-friday",
        "/hitch?profile=slabs-on-friday",
        f"/hitch?profile={MILL}",
        f"/?profile={MILL}",
    ],
)
def test_it_is_one_page(server, opened, address):
    page = opened(server, dark=True).go(server.url + address)
    for paper in ("Letter", "A4"):
        deadline = time.monotonic() + PATIENCE  # what has just come may still move
        while (count := len(re.findall(rb"/Type\s*/Page\b", page.pdf(format=paper)))) > 1:
            assert time.monotonic() < deadline, (paper, count)
    page.emulate_media(media="print")
    expect(page.locator(".st-key-nav")).to_be_hidden()
    for picture in page.locator(".st-key-answer img").all():
        assert picture.bounding_box()["height"] > 50
