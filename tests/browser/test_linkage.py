"""Links in a real browser: arrow keys move the axle, a finger that scrolls past a slider does not."""

import pytest
import tomlkit
from playwright.sync_api import expect

from tests.linkages import make_linkage

ASKED = "garage?truck=ridge-truck&question=links"
SCROLLED = "document.querySelector('[data-testid=stMain]').scrollTop"


@pytest.fixture
def linked(server):
    path = server.folder / "trucks/ridge-truck.toml"
    table = tomlkit.parse(path.read_text("utf-8"))
    table["rear"]["linkage"] = make_linkage()
    path.write_text(tomlkit.dumps(table), "utf-8")
    return server


def test_arrow_keys_move_the_axle_and_a_scrolling_finger_does_not(linked, opened):
    window = opened(linked, phone=True)
    page = window.go(f"{linked.url}/{ASKED}")
    slider = page.get_by_role("slider").first
    slider.scroll_into_view_if_needed()
    box = page.get_by_test_id("stSlider").first.bounding_box()
    x, y = box["x"] + 0.2 * box["width"], box["y"] + box["height"] - 30
    finger = page.context.new_cdp_session(page)
    before = page.evaluate(SCROLLED)
    finger.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
    for up in range(20, 180, 20):
        finger.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [{"x": x, "y": y - up}]})
    finger.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    page.wait_for_function(f"from => {SCROLLED} > from", arg=before)
    expect(slider).to_have_value("0")
    slider.focus()
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("ArrowLeft")
    expect(page.get_by_text("against ride height 0.4° nose down").first).to_be_visible()
    expect(slider).to_have_value("-0.5")
    scrolled, widest = window.reaches()
    assert scrolled <= 390
    assert widest <= 391
