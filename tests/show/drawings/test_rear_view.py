"""From behind: left is left, the lean to scale, on springs and on tyres."""

import math

import numpy as np
import pytest

from planner.plans.answer import Stance
from planner.show.drawings.rear_view import from_behind
from tests.show.conftest import COILS, DUALS_JOINED, INCH, LEAVES, POUND, make_answer, make_setup, make_truck
from tests.show.reading import middle, misplaced, points, shapes, texts, words


def _drawn(setup, system="us", before=None, **changes):
    return from_behind(setup, make_answer(setup, **changes), system, before=before)


@pytest.mark.parametrize("system", ["us", "metric"])
def test_the_demo_is_drawn_with_nothing_cut_or_overlapping(demo, system):
    setup, answer = demo
    assert misplaced(from_behind(setup, answer, system)) == []


def test_track_wheels_and_bags_are_to_one_scale():
    drawing = _drawn(make_setup())
    left, right = (middle(tyre) for tyre in shapes(drawing, "tyre rear"))
    inch = (right[0] - left[0]) / 68.5
    height = float(shapes(drawing, "tyre rear")[0].get("height")) / 2
    assert height / inch == pytest.approx(16.6 - 2449 / 2000, abs=0.02)
    folds = shapes(drawing, "bag")
    assert (middle(folds[2])[0] - middle(folds[0])[0]) / inch == pytest.approx(40, abs=0.05)
    assert sum(float(fold.get("height")) for fold in folds[:2]) / inch == pytest.approx(6.4, abs=0.05)


def test_tyres_stand_on_the_ground_and_the_heavier_is_lower():
    left, right = shapes(_drawn(make_setup()), "tyre rear")
    feet = [float(tyre.get("y")) + float(tyre.get("height")) for tyre in (left, right)]
    assert feet[0] == pytest.approx(feet[1], abs=0.02)
    assert float(left.get("height")) < float(right.get("height"))


@pytest.mark.parametrize("roll", [0.03, -0.02, 0.0])
def test_the_body_leans_as_the_stance_says_left_up_positive(roll):
    drawing = _drawn(make_setup(), stance=Stance(0.0, 0.0, roll))
    outline = points(shapes(drawing, "body")[0])
    left, right = outline[0], outline[-1]  # the rail, left and right
    assert left[0] < right[0]
    assert math.atan2(right[1] - left[1], right[0] - left[0]) == pytest.approx(roll, abs=2e-4)


def test_numbers_are_on_their_sides():
    drawing = _drawn(make_setup())
    drawn = {text.words: text for text in texts(drawing)}
    assert drawn["left"].right < drawn["right"].left
    assert drawn["20.4 in"].right < 200 < drawn["20.3 in"].left
    assert drawn["2,449 lb, heavier"].right < 200 < drawn["2,215 lb"].left
    assert "Rear level, no lean" in drawn


def test_no_side_is_called_heavier_where_none_is():
    drawing = _drawn(make_setup(), tyre_load=np.full((2, 2), 2000.0 * POUND))
    assert not any("heavier" in one for one in words(drawing))


def test_before_is_in_dashes_and_said():
    drawing = _drawn(make_setup(), before=Stance(0.0, -2 * INCH, 0.02))
    assert "dashes: rear 2 in low, left side 1.4 in higher" in words(drawing)
    assert drawing.svg.count("stroke-dasharray") == _drawn(make_setup()).svg.count("stroke-dasharray") + 2
    assert misplaced(drawing) == []


def test_a_pair_of_tyres_is_two():
    drawing = _drawn(make_setup(make_truck(rear=DUALS_JOINED)))
    assert len(shapes(drawing, "tyre rear")) == 4
    assert misplaced(drawing) == []


@pytest.mark.parametrize(("axle", "parts"), [(COILS, 2), (LEAVES, 6)])
def test_steel_is_drawn_as_steel(axle, parts):
    drawing = _drawn(make_setup(make_truck(rear=axle)))
    assert len(shapes(drawing, "steel")) == parts
    assert shapes(drawing, "bag") == []


def test_the_drawing_is_said_in_words():
    alt = _drawn(make_setup()).alt
    assert "Ride height left 20.4 in, right 20.3 in." in alt
    assert "Tyres carry left 2,449 lb, right 2,215 lb." in alt
