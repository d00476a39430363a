"""Every page in its main states, wide and on a phone, light and dark: whole, and axe-core finds nothing.

axe is no part of the planner: it comes with axe-playwright-python, which only the tests need.
"""

from collections import Counter
from importlib.resources import files

import pytest
from playwright.sync_api import expect

from planner.export import page_of
from planner.plans.fleet import judge_fleet
from planner.show.drawings.palette import DARK, LIGHT
from planner.show.paper.fleet_page import fleet_page
from planner.store import Store
from planner.store.folder import demo_folder

from .conftest import MILL, rgb
from .engines import Chromium
from .states import STATES

# What is Streamlit's own and cannot be mended from here: rule, and the start of the element, each with its reason.
STREAMLIT_S = {
    ("presentation-role-conflict", '<section role="presentation" tabindex="-1" data-testid="stFileUploaderDropzone"'): (
        "the place where files are dropped, which a mouse alone can use; its button is beside it"
    ),
}
RUN = """async only => {
    const options = {resultTypes: ['violations'], rules: {'target-size': {enabled: true}}};
    if (only) { options.runOnly = only; delete options.rules; }
    const found = await axe.run(document, options);
    const told = (rule, node) => [rule.id, node.html.slice(0, 200), node.failureSummary];
    return found.violations.flatMap(rule => rule.nodes.map(node => told(rule, node)));
}"""


# The names of the fields for a reading or a number; what rows of things, each under its own name, ask is alike.
FIELDS = """() => [...document.querySelectorAll('input')]
    .filter(e => ['text', 'tel'].includes(e.type) && e.checkVisibility() && !e.closest('details'))
    .map(e => e.getAttribute('aria-label') ?? e.labels[0]?.innerText)"""


PHONE = {"width": 390, "height": 844}


@pytest.fixture(scope="module")
def axe():
    return files("axe_playwright_python").joinpath("axe.min.js").read_text("utf-8")


@pytest.mark.parametrize("state", STATES)
def test_it_comes_whole_and_axe_finds_nothing(server, opened, axe, tmp_path, state):
    """The page turns dark while it is open, as in the evening, and a phone's; what it says is the same then."""
    address, act = STATES[state]
    window = opened(server)
    page = window.go(server.url + address)
    if act:
        act(Chromium(page, tmp_path, 1280, dark=False))
        page = window.ready()
    page.evaluate(axe)
    page.add_style_tag(content="* { transition: none !important; }")  # colours turn at once
    _look_through(window, 1280)
    devtools = page.context.new_cdp_session(page)
    devtools.send("Emulation.setDeviceMetricsOverride", PHONE | {"deviceScaleFactor": 1, "mobile": True})
    devtools.send("Emulation.setTouchEmulationEnabled", {"enabled": True})
    page.wait_for_function("matchMedia('(pointer: coarse)').matches")
    _look_through(window, PHONE["width"])
    devtools.send("Emulation.setTouchEmulationEnabled", {"enabled": False})
    devtools.detach()
    page.set_viewport_size({"width": 1280, "height": 900})


@pytest.mark.parametrize("query", ["", f"?profile={MILL}", "?profile=slabs-on-friday"])
def test_what_is_first_seen_has_nothing_for_axe_either(server, opened, axe, query):
    held = opened(server).go(server.url).context.new_page()  # not watched: it misses its scripts
    held.route("**/static/js/**", lambda route: route.abort())
    for size in (PHONE, {"width": 1280, "height": 900}):
        held.set_viewport_size(size)
        held.goto(f"{server.url}/{query}")
        held.evaluate(axe)
        for scheme in ("light", "dark"):
            held.emulate_media(color_scheme=scheme)
            assert held.evaluate(RUN, None) == []


@pytest.mark.parametrize("carried", ["phone", "fleet"])
def test_pages_that_are_carried_away_have_nothing_for_axe(browser, axe, tmp_path, carried):
    store, path = Store(demo_folder()), tmp_path / "carried.html"
    if carried == "phone":
        path.write_bytes(page_of(store, store.profiles(), "us"))
    else:
        trucks, trailers = map(store.read_truck, store.trucks()), map(store.read_trailer, store.trailers())
        path.write_text(fleet_page(judge_fleet(list(trucks), list(trailers)), "us"), "utf-8")
    page = browser.new_page(viewport=PHONE)
    page.goto(path.as_uri())
    page.evaluate(axe)
    for _ in range(2):
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            assert page.evaluate(RUN, None) == []
        page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")  # or the last
    page.close()


def test_whoever_is_locked_out_reads_a_page_that_has_nothing_for_axe(server, browser, axe):
    page = browser.new_page(viewport=PHONE)
    page.goto(server.url)
    expect(page.get_by_text("This planner is locked")).to_be_visible()
    page.evaluate(axe)
    assert page.evaluate(RUN, None) == []
    page.close()


def _look_through(window, width):
    """Look at a page at a width, light and dark: nothing sticks out, pictures have words, axe has nothing to say."""
    page = window.page
    page.wait_for_function("width => window.innerWidth === width", arg=width)
    for theme in (LIGHT, DARK):
        page.emulate_media(color_scheme="dark" if theme is DARK else "light")
        expect(page.locator(".stApp")).to_have_css("background-color", rgb(theme.paper))
        window.ready()
        scrolled, widest = window.reaches()
        assert scrolled <= width
        assert widest <= width + 1
        assert all(page.locator("img").evaluate_all("images => images.map(image => image.alt)"))
        assert [name for name, count in Counter(page.evaluate(FIELDS)).items() if count > 1] == []
        found = page.evaluate(RUN, ["color-contrast"] if theme is DARK else None)
        assert [one for one in found if not any(_known(one, *key) for key in STREAMLIT_S)] == []


def _known(found, rule, start):
    return found[0] == rule and found[1].startswith(start)
