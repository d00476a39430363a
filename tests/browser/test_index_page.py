"""The app on a home screen, as the browser reads it; and the files of its icons, made from our own drawing."""

import io
import json
import os

import pytest
from PIL import Image, ImageChops
from playwright.sync_api import expect

from planner.front.shell import theme
from planner.front.shell.index_page import ICONS, SIZES

from .conftest import MILL


@pytest.mark.parametrize("size", SIZES)
def test_an_icon_is_the_drawing(browser, size):
    """UPDATE_SNAPSHOTS=1 writes the files anew."""
    page = browser.new_page(viewport={"width": size, "height": size})
    page.set_content(f"<style>body{{margin:0}}svg{{display:block;width:100vw}}</style>{theme.HOME_ICON}")
    drawn, path = page.screenshot(), ICONS / f"icon-{size}.png"
    page.close()
    if os.environ.get("UPDATE_SNAPSHOTS"):
        Image.open(io.BytesIO(drawn)).convert("P", palette=Image.Palette.ADAPTIVE, colors=32).save(path, optimize=True)
    kept = Image.open(path)
    assert kept.size == (size, size)
    assert path.stat().st_size < 10_000
    apart = ImageChops.difference(kept.convert("RGB"), Image.open(io.BytesIO(drawn)).convert("RGB"))
    assert max(high for _, high in apart.convert("RGB").getextrema()) < 48  # 32 colours, and browsers smooth otherwise


def test_a_phone_is_told_name_and_icons(server, opened):
    window = opened(server, phone=True)
    page = window.go(server.url)
    devtools = page.context.new_cdp_session(page)
    found = devtools.send("Page.getAppManifest")
    assert found["errors"] == []
    manifest = json.loads(found["data"])
    assert manifest["short_name"] == "Planner"
    for icon in manifest["icons"]:
        answer = page.request.get(server.url + icon["src"])
        assert Image.open(io.BytesIO(answer.body())).size == tuple(map(int, icon["sizes"].split("x")))
    touch = page.locator("link[rel=apple-touch-icon]").get_attribute("href")
    assert page.request.get(server.url + touch).headers["content-type"] == "image/png"


PARTS = {  # of what is first seen, as Streamlit draws them
    "nav": ".st-key-nav",
    "nav a": ".st-key-nav a",
    ".top a": ".st-key-top a",
    ".soft": ".soft",
    ".drawing": ".drawing",
    ".card-body": ".card-body",
    ".foot a": "[class*=st-key-foot-] a",
    ".ramp": ".ramp",
    ".corners b": ".corners b",
    ".heights": ".heights",
}
PLACES = """selectors => selectors.map(one => document.querySelector(one)?.getBoundingClientRect())
    .map(one => one && [one.x, one.y, one.width, one.height])"""


@pytest.mark.parametrize("query", ["", f"?profile={MILL}"], ids=["list", "alone"])
@pytest.mark.parametrize("width", [1280, 820, 390])
def test_nothing_moves_when_streamlit_has_drawn_what_stood_there_first(server, opened, query, width):
    watched = opened(server)
    page = watched.go(server.url)
    page.set_viewport_size({"width": width, "height": 900})
    address = f"{server.url}/{query}"
    held = page.context.new_page()  # not watched: it misses its scripts
    held.set_viewport_size({"width": width, "height": 900})
    held.route("**/static/js/**", lambda route: route.abort())
    held.goto(address)
    expect(held.locator("#first-view h1, #first-view h2").first).to_be_visible()
    first = held.evaluate(PLACES, [f"#first-view {one}" for one in PARTS])
    watched.go(address)
    expect(page.locator("#first-view")).to_have_count(0)
    drawn = page.evaluate(PLACES, [f"#root {one}" for one in PARTS.values()])
    assert sum(one is not None for one in first) >= 5
    assert {
        part: now
        for part, was, now in zip(PARTS, first, drawn, strict=True)
        if was and was != pytest.approx(now, abs=1)
    } == {}
