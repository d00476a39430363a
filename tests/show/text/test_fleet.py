"""A fleet in words: the list of one trailer, the table, the object."""

import csv
import io

import pytest

from planner.plans.fleet import NO_BARS, NO_HITCH, judge_fleet
from planner.show.text.fleet import (
    fleet_line,
    fleet_object,
    fleet_table,
    header,
    left_over,
    pair_sentences,
    pair_words,
    trucks_for,
)
from planner.store import Store
from tests.plans.any_fleet import DEMO, LIKE


@pytest.fixture(scope="module")
def demo_fleet():
    """Return two trucks of the demo with three trailers."""
    store = Store(DEMO)
    trucks, trailers = map(store.read_truck, LIKE["trucks"]), map(store.read_trailer, LIKE["trailers"])
    return judge_fleet([*trucks], [*trailers])


def test_who_takes_a_trailer_comes_first_and_each_line_says_why_not(demo_fleet):
    mill, logs, slabs = (trucks_for(demo_fleet, n, "us") for n in range(3))
    assert [one.takes for one in mill] == [True, True]
    assert [one.level for one in mill] == [True, False]
    assert pair_sentences(mill[0], "us") == (
        "Front 36 left, 34 right psi, rear 37 left, 36 right psi. The most of this kind: 10,000 lb."
    )
    assert pair_sentences(mill[1], "us").startswith(
        "Front steel, rear 30 psi. Nothing is over, but the front stays off its height."
    )
    assert pair_sentences(logs[1], "us") == "The truck has no gooseneck ball."
    assert pair_sentences(slabs[0], "metric").startswith("The tongue is over the hitch's rating.")
    assert left_over(demo_fleet) == ["Slab hauler"]
    assert fleet_line(demo_fleet) == "2 trucks with 3 trailers: 3 of 6 pairs can be towed"


def test_what_is_no_hitch_is_told_by_the_kind_it_lacks():
    assert pair_words(NO_HITCH, "fifth_wheel") == "the truck has no fifth wheel"
    assert "behind its rear axle" in pair_words(NO_BARS, "gooseneck")


@pytest.mark.parametrize("system", ["us", "metric"])
def test_the_table_has_a_row_for_each_pair_in_the_units_of_its_header(demo_fleet, system):
    rows = list(csv.reader(io.StringIO(fleet_table(demo_fleet, system).decode("utf-8-sig"))))
    assert rows[0] == header(system)
    assert len(rows) == 1 + 6
    assert rows[1][:7] == [
        "Ridge truck",
        "Band mill",
        "receiver",
        "yes",
        "yes",
        "",
        {"us": "36", "metric": "2.49"}[system],
    ]
    assert rows[5][2:] == ["", "no", "no", "the truck has no gooseneck ball", "", "", "", "", ""]


def test_the_object_is_in_si_and_has_null_where_there_is_none(demo_fleet):
    found = fleet_object(demo_fleet)
    first, none = found["pairs"][0], found["pairs"][4]
    assert first["pressure"]["front_left"] == pytest.approx(demo_fleet.pressure[0, 0, 0, 0])
    assert (none["hitch"], none["heaviest"], set(none["pressure"].values())) == (None, None, {None})
    assert none["stop"]["code"] == "no-such-hitch"


def test_the_frame_has_the_same_pairs(demo_fleet):
    found = demo_fleet.to_frame()
    assert list(found["takes"]) == [one["takes"] for one in fleet_object(demo_fleet)["pairs"]]
    assert list(found["stopped_by"])[4] == "no-such-hitch"
