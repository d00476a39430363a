"""The app on a home screen, as the browser reads it; and the files of its icons, made from our own drawing."""

import io
import json
import os

import pytest
from PIL import Image, ImageChops

from planner.front.shell import theme
from planner.front.shell.index_page import ICONS, SIZES


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
