"""The change-over in words and as a drawing: each corner's way is said and shown by an arrow, not by colour alone."""

import re

import pytest

from planner.plans.changeover import change_over
from planner.plans.standing import standing
from planner.show.changeover import (
    BY_STAGES,
    aboard_words,
    air_words,
    change_drawing,
    facts,
    move_words,
)
from planner.show.numbers import say
from planner.store import Store

from .carrying import MILL, SLABS, stands
from .conftest import DEMO
from .reading import misplaced, texts, words
from .test_above import HOSTILE

SAW, LOGS, EMPTY = "saw-crew-all-on-the-left", "logs-on-the-gooseneck", "mill-bed-empty"
IN_TURNS = "both sides in turns, a little at a time"
PAIRS = [(MILL, SAW), (SAW, MILL), (LOGS, EMPTY), (EMPTY, MILL), (MILL, MILL), (SLABS, SLABS)]


def change(one, other):
    return change_over(stands(one), stands(other))


def joined_change():
    """Return a change of the yard truck, whose rear bags share a line and whose front is steel."""
    outfit = Store(DEMO).read_outfit(SLABS)
    profile = outfit.profile.replaced(pressures={"rear_left": "40 psi", "rear_right": "40 psi"})
    return change_over(standing(profile, outfit.truck, outfit.trailer), stands(SLABS))


@pytest.mark.parametrize("pair", PAIRS)
@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("dark", [False, True])
def test_the_drawing_has_every_corner_with_its_way(pair, system, dark):
    way = change(*pair)
    drawing = change_drawing(way, system, dark=dark)
    assert misplaced(drawing) == []
    step = float(way.after.setup.truck.instruments.gauge_step)
    said = words(drawing)
    for k in (0, 1):
        for i in (0, 1):
            end, by = float(way.end[k, i]), float(way.change[k, i])
            if by != by:
                assert "no bag" in said
                continue
            assert say(end, "pressure", system, step=step) in said
            amount = say(abs(by), "pressure", system, step=step)
            assert ("stays" if by == 0 else f"{'up' if by > 0 else 'down'} {amount}") in said


def test_an_arrow_points_the_way_it_goes():
    way = change(MILL, SAW)
    svg = change_drawing(way, "us").svg
    heads = re.findall(r'<path d="M\S+ (\S+)L\S+ (\S+)L\S+ (\S+)"[^>]*stroke="#1b5e8c"', svg)
    ups = [float(tip) < float(base) for base, tip, _ in heads]
    assert ups == [float(one) > 0 for one in way.change.ravel()]
    assert ups == [True, True, True, False]


def test_corners_stand_where_they_are_on_the_truck():
    place = {one.words: (one.left, one.top) for one in texts(change_drawing(change(MILL, SAW), "us"))}
    assert place["up 5 psi"][0] < 200 < place["up 2 psi"][0]
    assert place["up 5 psi"][1] < place["up 3 psi"][1]
    assert place["down 14 psi"][0] > 200


def moves(change):
    """The moves of a change-over in words."""
    return [move_words(change, move, "us") for move in change.moves]


def test_each_move_is_a_sentence():
    assert moves(change(MILL, SAW)) == [
        f"Rear, {IN_TURNS}: left from 45 up 3 to 48 psi; right from 38 down 14 to 24 psi.",
        f"Front, {IN_TURNS}: left from 37 up 5 to 42 psi; right from 34 up 2 to 36 psi.",
    ]
    assert moves(change(EMPTY, MILL))[0] == "Rear left: from 37 up 8 to 45 psi."
    assert moves(joined_change()) == ["Rear, both on one line: from 40 up 25 to 65 psi."]
    assert moves(change(MILL, MILL)) == []


def test_it_says_which_load_is_aboard():
    assert aboard_words(change(MILL, SAW)).endswith("on the truck and no trailer.")
    hitched = aboard_words(change(EMPTY, MILL))
    assert "Band mill hitched" in hitched
    assert hitched.endswith(BY_STAGES)


@pytest.mark.parametrize("system", ["us", "metric"])
def test_it_tells_of_limits_twist_and_air(system):
    way = change(MILL, SAW)
    outside, twist, air = facts(way, system)
    assert outside.startswith("With the new load on the old pressures the rear right bag is at the greatest height")
    assert say(way.peak_twist, "moment", system) in twist
    assert say(way.worst_twist, "moment", system) in twist
    assert f"Air needed: {air_words(way.air_needed, system)}." in air
    assert f"lost: {air_words(way.air_lost, system)}." in air
    assert list(facts(change(MILL, MILL), system)) == []


def test_air_is_said_as_the_trade_does():
    assert air_words(0.0283168, "us") == "1.00 ft³"
    assert air_words(0.0195, "metric") == "19.5 L"


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_do_no_harm(name):
    from dataclasses import replace

    way = change(MILL, SAW)
    bad = replace(way, after=replace(way.after, profile=way.after.profile.model_copy(update={"name": name})))
    drawing = change_drawing(bad, "us")
    assert misplaced(drawing) == []
    assert "<b>" not in drawing.svg
    assert "\n" not in aboard_words(bad)
