"""The page for a phone, opened as a file in a browser with the network off and scripts off."""

import pytest
from playwright.sync_api import expect

from planner.export import page_of
from planner.show.text.hitching import UNHITCHING
from planner.store import Store
from planner.store.folder import demo_folder
from tests.show.carrying import demo_card

from .conftest import MILL, hard_to_read


@pytest.fixture
def phone(browser):
    """Return a function that opens a file as a phone without network does; nothing may be asked of a network."""
    contexts, asked = [], []

    def opened(path, *, dark=False, width=390):
        context = browser.new_context(
            viewport={"width": width, "height": 844},
            color_scheme="dark" if dark else "light",
            offline=True,
            java_script_enabled=False,
            has_touch=True,
        )
        contexts.append(context)
        page = context.new_page()
        page.on("request", lambda request: asked.append(request.url))
        page.goto(path.as_uri())
        return page

    yield opened
    for context in contexts:
        context.close()
    assert all(url.startswith("file:") for url in asked)


@pytest.fixture
def file(tmp_path):
    store = Store(demo_folder())
    path = tmp_path / "pocket.html"
    path.write_bytes(page_of(store, store.profiles(), "us"))
    return path


@pytest.mark.parametrize("dark", [False, True])
def test_one_tap_from_the_list_to_the_numbers_and_nothing_else(phone, file, dark):
    page = phone(file, dark=dark)
    names = page.locator("main > details > summary")
    assert names.count() == len(Store(demo_folder()).profiles())
    expect(page.get_by_text("front left").first).to_be_hidden()
    mill = page.locator("main > details", has_text=Store(demo_folder()).read_profile(MILL).name)
    mill.locator("> summary").tap()
    numbers = mill.locator(".ramp > .corners b")
    assert numbers.all_inner_texts() == ["37", "34", "45", "38"]
    for number in numbers.all():
        expect(number).to_be_in_viewport(ratio=1)
        assert number.bounding_box()["height"] >= 60  # px: read at arm's length
    assert [name.is_visible() for name in names.all()].count(True) == 1
    mill.locator("> summary").tap()
    expect(numbers.first).to_be_hidden()
    assert all(name.is_visible() for name in names.all())


@pytest.mark.parametrize(("width", "system"), [(320, "metric"), (390, "us"), (1280, "us")])
def test_it_fits_the_screen_and_a_thumb_and_is_read_in_the_sun(phone, file, width, system):
    """Everything is opened, one thing after another, as on the phone of a hand with gloves; half of it at night."""
    store = Store(demo_folder())
    file.write_bytes(page_of(store, store.profiles(), system))
    page = phone(file, width=width, dark=system == "metric")
    for profile in page.locator("main > details").all():
        profile.locator("> summary").tap()
        for inner in (None, *profile.locator("details > summary").all()):
            if inner is not None:
                inner.tap()
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            assert hard_to_read(page, "body") == []
        heights = profile.locator("summary").evaluate_all("all => all.map(e => e.getBoundingClientRect().height)")
        assert min(heights) >= 48
        profile.locator("> summary").tap()


def test_left_and_right_front_and_rear_are_where_they_are_on_the_truck(phone, file):
    page = phone(file)
    page.locator("main > details > summary").nth(2).tap()
    boxes = [one.bounding_box() for one in page.locator("details[open] > .ramp > .corners > div").all()]
    left, right = {round(box["x"]) for box in boxes[::2]}, {round(box["x"]) for box in boxes[1::2]}
    assert max(left) < 100 < 195 < min(right)
    assert boxes[0]["y"] == boxes[1]["y"] < boxes[2]["y"] == boxes[3]["y"]


def test_a_whole_hitching_and_the_way_back_with_no_network(phone, file):
    """Stage after stage is tapped; each shows its own numbers alone, what to do and what to beware of."""
    card = demo_card(MILL)
    page = phone(file)
    mill = page.locator("main > details", has_text=card.name)
    mill.locator("> summary").tap()
    stages = mill.locator("details")
    for one, box in zip(card.stages, stages.all(), strict=False):
        box.locator("summary").tap()
        expect(box).to_contain_text(one.to_do)
        expect(box).to_contain_text(one.watch)
        assert mill.locator(".corners b:visible").all_inner_texts() == [w.number for row in one.rows for w in row]
        number = box.locator(".corners b").first
        assert number.bounding_box()["height"] >= 44
        assert box.locator("summary").bounding_box()["height"] >= 48
        assert size_of(box.locator("summary")) >= 16
    stages.last.locator("summary").tap()
    expect(stages.last).to_contain_text(UNHITCHING[-1])
    shown = stages.last.locator(".corners b").all_inner_texts()
    assert shown == [w.number for row in card.unhitched.rows for w in row]
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    stages.last.locator("summary").tap()
    expect(mill.locator(".ramp > .corners b").first).to_be_visible()


def size_of(locator):
    """The size of its letters. [px]"""
    return float(locator.evaluate("e => getComputedStyle(e).fontSize").removesuffix("px"))
