"""Anti-squat in side view, from what is published of it.

T. D. Gillespie, Fundamentals of Vehicle Dynamics, SAE, 1992, ch. 7: a solid drive axle on links does as a trailing arm
from the bars' meeting point, and squats by nothing where e/d = h/L, e over ground and d ahead of the contact (from
memory). W. H. Shope's pages on four-link cars (home.earthlink.net/~whshope/id8.html, read): parallel bars of slope h/L
give the whole of it.
"""

import numpy as np
import pytest

from planner.physics.linkage import AxleLinks, anti_squat, axle_rates, pose_axle
from tests.physics.links import three_bars_and_track_bar

RADIUS, HEIGHT, WHEELBASE = 0.40, 0.72, 4.0  # [m]


def _share(links):
    return float(anti_squat(axle_rates(links, pose_axle(links, 0.0)), RADIUS, HEIGHT, WHEELBASE))


@pytest.mark.parametrize("share", [0.0, 0.5, 1.0, 1.4])
def test_parallel_bars_carry_by_their_slope(compare, share):
    found = _share(three_bars_and_track_bar(slope=share * HEIGHT / WHEELBASE))
    compare(f"anti-squat of parallel bars of slope {share:g} h/L", share, found, "", 1e-9)


@pytest.mark.parametrize(("ahead", "over_ground"), [(2.0, 0.36), (1.5, 0.54), (3.0, 0.27)])
def test_bars_that_meet_carry_by_the_line_from_the_contact(compare, ahead, over_ground):
    meet = np.array([ahead, 0.0, over_ground - RADIUS])
    axle = np.array([[0, 0.5, -0.1], [0, -0.5, -0.1], [0, 0, 0.2], [0, 0.45, 0.0]])
    towards = 0.4 * (meet - axle * [1, 0, 1])
    frame = axle + np.vstack([towards[:3], [0.0, -0.9, 0.0]])
    expected = round(over_ground / ahead * WHEELBASE / HEIGHT, 9)
    what = f"anti-squat of bars that meet {ahead:g} m ahead, {over_ground:g} m up"
    compare(what, expected, _share(AxleLinks(frame, axle)), "", 1e-9)
