"""A move against time: a line for each bag, and the lean of uneven lines."""

from dataclasses import replace

import pytest

from planner import open_folder
from planner.plans.air_budget import air_budget
from planner.plans.setup import Setup
from planner.plans.typical_air import with_typical_air
from planner.records import Air, read_record
from planner.show.drawings.airing import airing_view


def make_move(slug="mill-on-the-hill-road", name="lift", **changes):
    outfit = open_folder("profiles").read_outfit(slug)
    truck = with_typical_air(outfit.truck)
    truck = truck.replaced(air=read_record(Air, truck.air.as_file() | changes, "truck"))
    budget = air_budget(Setup.of(outfit.profile, truck.replaced(typical=()), outfit.trailer))
    return next(move for move in budget.moves if move.name == name)


@pytest.mark.parametrize("system", ["us", "metric"])
def test_each_bag_has_its_line_and_its_gauges_in_words(system):
    drawing = airing_view(make_move(), 1.7, system)
    assert drawing.svg.count('class="gauge"') == 4
    assert drawing.svg.count('class="lean"') == 1
    assert "rear left" in drawing.alt
    assert ("psi" in drawing.alt) == (system == "us")


def test_uneven_lines_lean_it_on_the_way_and_that_is_said():
    even = make_move()
    uneven = make_move(
        line_length=dict.fromkeys(("front_left", "front_right", "rear_left"), "2 ft") | {"rear_right": "60 ft"}
    )
    assert abs(uneven.fillings[0].lean_on_the_way) > 1.5 * abs(even.fillings[0].lean_on_the_way)
    assert "on the way the left is further up" in airing_view(uneven, 1.7, "us").alt


def test_steel_has_no_line_and_a_move_of_several_ways_is_drawn_in_one():
    drawing = airing_view(make_move("slabs-on-friday", "unhitch"), 1.7, "us")
    assert drawing.svg.count('class="gauge"') == 2
    assert "front" not in drawing.alt


def test_a_move_without_time_is_drawn():
    move = make_move()
    still = replace(move, fillings=(replace(move.fillings[0], times=move.fillings[0].times * 0.0),))
    assert "nan" not in airing_view(still, 1.7, "us").svg
