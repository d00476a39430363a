"""The change-over in words and as a drawing: each corner's way is said and shown by an arrow, not by colour alone."""

import re
from dataclasses import replace

import numpy as np
import pytest

from planner.physics.bag_limits import Limit
from planner.plans.changeover import change_over
from planner.plans.saved_state import standing
from planner.show.drawings.changeover import (
    BY_STAGES,
    aboard_words,
    air_words,
    change_drawing,
    end_words,
    facts,
    move_words,
    reads_words,
)
from planner.show.text.numbers import say
from planner.store import Store
from tests.show.carrying import MILL, SLABS, stands
from tests.show.conftest import DEMO
from tests.show.drawings.test_top_view import HOSTILE
from tests.show.reading import misplaced, texts, words

SAW, LOGS, EMPTY = "saw-crew-all-on-the-left", "logs-on-the-gooseneck", "mill-bed-empty"
IN_TURNS = "both sides in turns, a little at a time"
PAIRS = [(MILL, SAW), (SAW, MILL), (LOGS, EMPTY), (EMPTY, MILL), (MILL, MILL), (SLABS, SLABS)]


def change(one, other):
    return change_over(planned(one), planned(other))


def planned(slug):
    """Return a demo profile at the pressures that level it, none saved."""
    outfit = Store(DEMO).read_outfit(slug)
    return standing(outfit.profile.replaced(pressures=None), outfit.truck, outfit.trailer)


def joined_change():
    """Return a change of the yard truck, whose rear bags share a line and whose front is steel."""
    outfit = Store(DEMO).read_outfit(SLABS)
    profile = outfit.profile.replaced(pressures={"rear_left": "40 psi", "rear_right": "40 psi"})
    return change_over(standing(profile, outfit.truck, outfit.trailer), stands(SLABS))


@pytest.mark.parametrize("pair", PAIRS)
@pytest.mark.parametrize("system", ["us", "metric"])
def test_the_drawing_has_every_corner_with_its_way(pair, system):
    way = change(*pair)
    drawing = change_drawing(way, system)
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
            steps = round(abs(by) / step)
            amount = say(steps * step, "pressure", system, step=step)
            aired = any((k, i) in move.corners for move in way.moves)
            still = "set again" if aired else "stays"
            assert (f"{'up' if by > 0 else 'down'} {amount}" if steps else still) in said


def test_an_arrow_points_the_way_it_goes_from_what_the_gauge_reads_now():
    way = change(MILL, SAW)
    svg = change_drawing(way, "us").svg
    heads = re.findall(r'<path d="M\S+ (\S+)L\S+ (\S+)L\S+ (\S+)"[^>]*stroke="#1b5e8c"', svg)
    ups = [float(tip) < float(base) for base, tip, _ in heads]
    assert ups == [True, True, False]  # front right, rear left, rear right; the front left drifts and is set again


def test_corners_stand_where_they_are_on_the_truck():
    place = {one.words: (one.left, one.top) for one in texts(change_drawing(change(MILL, SAW), "us"))}
    assert place["up 4 psi"][0] < 200 < place["up 2 psi"][0]
    assert place["up 4 psi"][1] > place["up 2 psi"][1]
    assert place["set again"][0] < 200
    assert place["down 8 psi"][0] > 200


def moves(change):
    """The moves of a change-over in words."""
    return [move_words(change, move, "us") for move in change.moves]


def test_what_the_gauges_read_comes_first_and_at_which_temperature():
    words = reads_words(change(SAW, LOGS), "us")
    assert words.startswith("Gauges now read: front 39 left, 41 right; rear 56 left, 40 right psi. ")
    assert "at the temperature at which the air was set" in words
    assert reads_words(joined_change(), "us").startswith("Gauges now read: rear 40 psi. ")
    assert " bar. " in reads_words(change(SAW, LOGS), "metric") or " kPa. " in reads_words(change(SAW, LOGS), "metric")


def test_each_move_is_a_sentence_from_what_its_gauge_reads_before():
    assert moves(change(MILL, SAW)) == [
        "Rear right: 33 → 25 psi.",
        "Front left: 40 → 42 psi.",
        "Rear left: 47 → 48 psi.",
    ]
    assert moves(change(SAW, LOGS))[0] == f"Rear, {IN_TURNS}: left: 56 → 54 psi; right: 40 → 55 psi."
    assert moves(joined_change()) == ["Rear, both on one line: 40 → 65 psi."]
    assert moves(change(MILL, MILL)) == []


def test_the_end_says_how_near_the_gauges_come_and_how_far_they_drift():
    assert "the gauges of the others move too, by up to 3 psi" in reads_words(change(MILL, SAW), "us")
    assert "As one bag" not in reads_words(change(EMPTY, LOGS), "us")
    assert end_words(change(MILL, SAW), "us").endswith("each comes to within 1 psi of what is drawn above.")
    assert "do not bring all gauges to within 1 psi" in end_words(replace(change(MILL, SAW), together=False), "us")


def test_the_twist_before_the_first_turn_is_told_and_that_nothing_after_is_worse_or_how_much():
    more = " ".join(facts(change(EMPTY, LOGS), "us"))
    first, peak = (
        say(abs(p), "moment", "us") for p in (change(EMPTY, LOGS).start_twist, change(EMPTY, LOGS).peak_twist)
    )
    assert f"twisted by {first} before the first turn, and by {peak} at the most from there to the end" in more
    assert "and by no more from there to the end" in " ".join(facts(change(SAW, LOGS), "us"))


def test_a_limit_passed_on_the_way_is_told_with_its_step():
    way = change(SAW, LOGS)
    code = np.array([[0, 0], [int(Limit.GREATEST_PRESSURE), 0]], np.int8)
    past = replace(way, moves=(replace(way.moves[0], passed=code), *way.moves[1:]))
    assert "During step 1 the rear left bag is over its greatest pressure." in list(facts(past, "us"))


def test_it_says_which_load_is_aboard():
    assert aboard_words(change(MILL, SAW)).endswith("on the truck and no trailer.")
    hitched = aboard_words(change(EMPTY, MILL))
    assert "Band mill hitched" in hitched
    assert hitched.endswith(BY_STAGES)


@pytest.mark.parametrize("system", ["us", "metric"])
def test_it_tells_of_limits_twist_and_air(system):
    way = change(LOGS, SAW)
    outside, twist, air = facts(way, system)
    assert outside.startswith("With the new load on and all valves still shut the rear right bag is at the greatest")
    assert say(way.start_twist, "moment", system) in twist
    assert f"Air needed: {air_words(way.air_needed, system)}." in air
    assert f"lost: {air_words(way.air_lost, system)}." in air
    assert list(facts(change(MILL, MILL), system)) == []


def test_air_is_said_as_the_trade_does():
    assert air_words(0.0283168, "us") == "1.00 ft³"
    assert air_words(0.0195, "metric") == "19.5 L"


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_do_no_harm(name):
    way = change(MILL, SAW)
    bad = replace(way, after=replace(way.after, profile=way.after.profile.model_copy(update={"name": name})))
    drawing = change_drawing(bad, "us")
    assert misplaced(drawing) == []
    assert "<b>" not in drawing.svg
    assert "\n" not in aboard_words(bad)
