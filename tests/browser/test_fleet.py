"""The fleet in a real browser: which trucks take a trailer, as a list; who takes what, drawn, sorted and filtered."""

import re

import pytest
from playwright.sync_api import expect

from tests.plans.any_fleet import write_yard


@pytest.fixture
def yard(server):
    """The running planner, four trucks and four trailers in its folder; two of the trucks have no gooseneck."""
    write_yard(server.folder, 4, 4)
    return server


def test_which_trucks_take_a_trailer_and_who_takes_what(yard, opened):
    window = opened(yard, phone=True)
    page = window.go(yard.url)
    page.get_by_text("Fleet: which of my trucks").tap()
    fleet = page.locator(".st-key-fleet")
    one, matrix = fleet.locator(".st-key-fleet-one"), fleet.get_by_role("img")

    def choose(label, option):
        window.choose(fleet.get_by_label(label, exact=True), option)

    choose("Trailer", "Upper Lot trailer 2")
    expect(one.locator("li").filter(has_text="Creek truck 4 cannot")).to_be_visible()
    expect(one).to_contain_text(re.compile(r"1 of 4 trucks take it at [\d,]+ lb"))
    expect(one.locator("li")).to_have_count(4)
    expect(matrix).to_have_attribute("alt", re.compile("^Quarry truck 3 takes"))
    choose("Trucks", "By name")
    expect(matrix).to_have_attribute("alt", re.compile("^Creek truck 4 takes"))
    choose("Kind of coupling", "gooseneck")
    expect(matrix).to_have_attribute("alt", re.compile("^Creek truck 4 takes none of them"))
    window.ready()
    fleet.get_by_text("Only trucks that take one").tap()
    expect(matrix).to_have_attribute("alt", re.compile("^(?!.*Creek).*Quarry truck 3 takes Upper Lot trailer 2"))
    scrolled, widest = window.reaches()
    assert scrolled <= 390
    assert widest <= 391
