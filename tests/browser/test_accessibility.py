"""axe-core finds nothing on any page and in its main states, light and dark, wide and narrow.

axe is no part of the planner and of none of its packages: npm fetches it into .ci, as .ci/run does.
"""

import os
from pathlib import Path

import pytest
from playwright.sync_api import expect

from planner.show.drawings.palette import DARK

from .conftest import MILL, rgb
from .test_app import weight

AXE = Path(__file__).parents[2] / ".ci" / "node_modules" / "axe-core" / "axe.min.js"
# What is Streamlit's own and cannot be mended from here: rule, and the start of the element, each with its reason.
STREAMLIT_S: dict[tuple[str, str], str] = {}
RUN = """async only => {
    const options = {resultTypes: ['violations'], rules: {'target-size': {enabled: true}}};
    if (only) { options.runOnly = only; delete options.rules; }
    const found = await axe.run(document, options);
    const told = (rule, node) => [rule.id, node.html.slice(0, 200), node.failureSummary];
    return found.violations.flatMap(rule => rule.nodes.map(node => told(rule, node)));
}"""


def wrong_weight(page):
    weight(page).fill("twelve")
    expect(page.locator(".wrong").first).to_be_visible()


def open_figures(page):
    page.locator("details summary").first.click()


STATES = {
    "list": ("/", None),
    "alone": (f"/?profile={MILL}", None),
    "alone, stop": ("/?profile=slabs-on-friday", None),
    "level": ("/level?profile=slabs-on-friday", None),
    "level, wrong": ("/level?profile=mill-bed-empty", wrong_weight),
    "level, nothing": ("/level?profile=no-such-profile", None),
    "hitch": (f"/hitch?profile={MILL}", None),
    "weigh": ("/weigh", None),
    "trim": (f"/trim?profile={MILL}", None),
    "air": (f"/air?profile={MILL}", None),
    "trailer": ("/garage", None),
    "truck": ("/garage?truck=_new", None),
    "method": ("/method", open_figures),
}


@pytest.fixture(scope="module")
def axe():
    if not AXE.is_file():
        missing = "no axe-core here: npm install --prefix .ci"
        if os.environ.get("CI"):
            pytest.fail(missing)
        pytest.skip(missing)
    return AXE.read_text("utf-8")


@pytest.mark.parametrize("state", STATES)
def test_axe_finds_nothing(server, opened, axe, state):
    """The page turns dark while it is open, as a phone does in the evening; what it says is the same then."""
    address, act = STATES[state]
    window = opened(server)
    page = window.go(server.url + address)
    if act:
        act(page)
        page = window.ready()
    page.evaluate(axe)
    faults = []
    for dark, width in ((False, 1280), (False, 390), (True, 390), (True, 1280)):
        page.emulate_media(color_scheme="dark" if dark else "light")
        page.set_viewport_size({"width": width, "height": 900})
        if dark:
            expect(page.locator(".stApp")).to_have_css("background-color", rgb(DARK.paper))
        found = page.evaluate(RUN, ["color-contrast"] if dark else None)
        faults += [(dark, width, *one) for one in found if not any(_known(one, *key) for key in STREAMLIT_S)]
    assert faults == []


def _known(found, rule, start):
    return found[0] == rule and found[1].startswith(start)
