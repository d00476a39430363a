"""The tank's gauge over the moves."""

import re
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from planner import open_folder
from planner.plans.air_budget import air_budget
from planner.plans.setup import Setup
from planner.records import Air, read_record
from planner.show.drawings.air import tank_curve


@cache
def make_budget(tank="10 gal"):
    outfit = open_folder("profiles").read_outfit("mill-on-the-hill-road")
    air = read_record(Air, outfit.truck.air.as_file() | {"tank_volume": tank}, "truck")
    budget = air_budget(Setup.of(outfit.profile, outfit.truck.replaced(air=air), outfit.trailer))
    return replace(budget, moves=tuple(map(rounded, budget.moves)), levelling=rounded(budget.levelling))


def rounded(move):
    """Return a move in round numbers, its tank's curve straight: a drawing of it is the same whatever integrates."""
    return replace(move, fillings=tuple(map(_rounded, move.fillings)))


def _rounded(one):
    even = np.linspace(0.0, one.times[-1], 9)
    gauges = np.stack([np.interp(even, one.times, gauge) for gauge in one.pressure.reshape(-1, 4).T], axis=1)
    return replace(
        one,
        times=np.linspace(0.0, np.round(one.times[-1], 1), 9),
        tank_pressure=np.round(np.linspace(*one.tank_pressure[[0, -1]], 9), -3),
        pressure=np.round(gauges, -3).reshape(-1, 2, 2),
        roll=np.round(np.interp(even, one.times, one.roll), 4),
        tank=one.tank._replace(pressure=round(one.tank.pressure, -3)),
        time=np.round(one.time, 1),
    )


def points(drawing):
    """Return the points of the tank's line."""
    path = re.search(r'<path class="tank"[^>]*|<path [^>]*class="tank"', drawing.svg).group()
    return [tuple(map(float, one.split())) for one in re.search(r'd="M(.*?)"', path).group(1).split("L")]


@pytest.mark.parametrize("tank", ["10 gal", "0.5 gal"])
@pytest.mark.parametrize("system", ["us", "metric"])
def test_the_line_goes_forward_and_a_dot_ends_each_move(tank, system):
    drawing = tank_curve(make_budget(tank), system)
    xs = [x for x, _ in points(drawing)]
    assert xs == sorted(xs)
    assert drawing.svg.count('class="after"') == 5
    assert ("psi" in drawing.alt) == (system == "us")


def test_the_highest_bag_is_told_where_it_stalls_too():
    assert "needs 53 psi" in tank_curve(make_budget(), "us").alt
    assert "needs 53 psi" in tank_curve(make_budget("0.5 gal"), "us").alt


def test_a_truck_alone_has_one_column():
    drawing = tank_curve(replace(make_budget(), moves=()), "us")
    assert drawing.svg.count('class="after"') == 1
    assert "level 139 psi" in drawing.alt
