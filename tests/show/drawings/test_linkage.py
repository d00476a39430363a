"""The rear axle on its links: nothing cut or on other words at any height, and bars to scale where they say."""

import numpy as np
import pytest

from planner.plans.linkage import move_axle
from planner.show.drawings.linkage import link_ends, linkage_from_behind, linkage_from_side
from tests.linkages import make_linkage, make_track_bar
from tests.show.conftest import BAGGED, make_truck
from tests.show.reading import middle, misplaced, shapes, words

INCH = 0.0254
TABLES = {"uppers meet": make_linkage(), "track bar": make_track_bar(), "one upper": make_track_bar(uppers=1)}
STANCES = [(-3.0, 0.0), (0.0, 0.0), (2.0, 0.0), (-1.0, 0.05), (1.0, -0.05)]


def linked(table=TABLES["uppers meet"]):
    return make_truck(rear=BAGGED | {"linkage": table})


@pytest.mark.parametrize("name", TABLES)
def test_words_are_whole_and_apart_at_every_height(name):
    for n, (rise, roll) in enumerate(STANCES):
        system = ("us", "metric")[n % 2]
        for draw in (linkage_from_side, linkage_from_behind):
            drawing = draw(linked(TABLES[name]), rise * INCH, roll, system)
            assert misplaced(drawing) == []
            assert "nan" not in drawing.svg


def test_joints_are_as_far_apart_as_their_bars_are_long_and_stand_over_the_ground():
    drawing = linkage_from_side(linked(), -0.05, 0.0, "us")
    joints = [middle(one) for one in shapes(drawing, "joint")]
    lower, upper = (np.subtract(joints[n + 1], joints[n]) for n in (0, 4))
    (side,) = shapes(drawing, "hub")
    scale = np.hypot(*lower) / (INCH * np.hypot(28, 2))
    assert np.hypot(*upper) / scale == pytest.approx(INCH * np.hypot(22, 1.5), rel=0.02)  # it lies a little askew
    assert middle(side)[1] < joints[1][1]  # lower bars end under the axle's centre


def test_the_angles_written_are_those_of_the_pose():
    said = words(linkage_from_side(linked(), -2 * INCH, 0.0, "us"))
    moved = move_axle(linked(), -2 * INCH)
    degrees = np.degrees([*moved.joint_angles, 0.03491 + moved.pinion_up])
    for found in (f"joint {degrees[1]:.1f}°", f"front joint {degrees[0]:.1f}°", f"pinion {degrees[2]:.1f}°"):
        assert found.replace(".0°", "°") in said


def test_where_bars_do_not_reach_the_drawing_says_so():
    drawing = linkage_from_side(linked(), 40 * INCH, 0.0, "us")
    assert "The bars do not let the axle get there." in words(drawing)
    assert "do not let the axle get there" in drawing.alt


@pytest.mark.parametrize("name", TABLES)
@pytest.mark.parametrize("system", ["us", "metric"])
def test_ends_are_named_where_they_are_entered(name, system):
    drawing = link_ends(linked(TABLES[name]), system)
    assert misplaced(drawing) == []
    assert {"lower", "upper", "pinion", "shock", "hose"} <= set(words(drawing))
