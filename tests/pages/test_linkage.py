"""The links on the truck's page: a height to try moves both views and the lines, a wish says which bars to turn."""

import pytest
import tomlkit

from tests.linkages import make_linkage

from .conftest import MILL, Tab

RIDGE = "ridge-truck"


@pytest.fixture
def linked(folder):
    path = folder / f"trucks/{RIDGE}.toml"
    table = tomlkit.parse(path.read_text("utf-8"))
    table["rear"]["linkage"] = make_linkage(shock=make_linkage()["shock"] | {"shortest": "18.2 in"})
    path.write_text(tomlkit.dumps(table), "utf-8")
    return Tab("garage", truck=RIDGE)


def slide(page, name, value):
    (slider,) = [one for one in page.at.slider if one.key == f"links-{name}-us"]
    slider.set_value(value)
    page.run()


def test_a_height_to_try_moves_pictures_lines_and_findings(linked):
    (before,) = [one for one in linked.pictures() if one.startswith("The rear axle from the left")]
    assert "Pinion 2° nose up, against ride height as it was." in before
    slide(linked, "height", -2.5)
    (after,) = [one for one in linked.pictures() if one.startswith("The rear axle from the left")]
    assert "nose down" in after
    assert "Rear shocks, left and right: fully closed" in linked.html()
    slide(linked, "lean", 1.0)
    assert [one for one in linked.pictures() if one.startswith("The rear axle from behind") and "steers to" in one]


def test_a_wish_says_which_bars_by_how_much_and_a_bad_one_is_said_where_it_was_typed(linked):
    assert "An inch more on both upper bars turns the pinion" in linked.html()
    linked.type("truck.wanted.pinion_up", "3 deg")
    assert "Both upper bars: 0." in linked.html()
    linked.type("truck.wanted.pinion_up", "60 deg")
    assert "must be within 15° of now" in linked.html()


def test_an_end_that_is_typed_moves_the_drawing_and_is_saved(linked, folder):
    linked.type("truck.rear.at.lower.frame", "30; 16; 15 in").press("truck-save")
    assert 'x = "30 in"' in (folder / f"trucks/{RIDGE}.toml").read_text("utf-8")
    assert [one for one in linked.pictures() if "Lower bar, frame: 30 in;" in one]


def test_hitch_up_tells_it_at_its_stage(linked):
    page = Tab("hitch", profile=MILL)
    assert "At clear: Rear shock" in page.html()


def test_a_truck_without_links_asks_and_shows_nothing_else(folder):
    page = Tab("garage", truck=RIDGE)
    assert not page.at.slider
    (bars,) = [one for one in page.at.segmented_control if "rear.links" in one.key]
    bars.set_value("track bar")
    page.run()
    assert len(page.at.slider) == 2
