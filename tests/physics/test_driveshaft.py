"""Universal joints: against a joint's cross turned through its angles, and shafts joint by joint."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.errors import Refusal
from planner.physics.driveshaft import residual_angle, speed_ratio, working_angles

TURN = np.linspace(0, 2 * np.pi, 721)


def shaft(down, left=0.0):
    return [-np.cos(down) * np.cos(left), np.sin(left), -np.sin(down) * np.cos(left)]


def second_angle(first, bend):
    """Return how far the second shaft of a joint has turned: its pin stays square to the first shaft's pin."""
    return np.unwrap(np.arctan2(np.sin(first), np.cos(first) * np.cos(bend)))


def test_the_speed_formula_is_the_slope_of_the_angles():
    slope = np.gradient(second_angle(TURN, 0.4), TURN)
    assert_allclose(slope[1:-1], speed_ratio(0.4, TURN)[1:-1], atol=1e-4)  # a central difference over half a degree


@pytest.mark.parametrize("angles", [(0.1, 0.1), (0.1, 0.05), (0.0, 0.12)])
def test_what_is_left_of_two_joints_is_what_one_would_do(angles):
    """Two joints in one plane, yokes in line: the second meets the turned shaft a quarter turn on."""
    between = second_angle(TURN, angles[0])
    after = second_angle(between + np.pi / 2, angles[1]) - np.pi / 2
    directions = [shaft(0.0), shaft(angles[0]), shaft(angles[0] - angles[1])]
    left = residual_angle(directions)
    uneven = np.abs(after - TURN - (after - TURN).mean()).max()
    assert uneven == pytest.approx(left**2 / 4, abs=0.01 * max(angles) ** 2 / 4)  # β⁴ is left out


def test_bends_in_planes_across_each_other_add_up():
    across = [shaft(0.0), shaft(0.1), shaft(0.1, 0.1)]
    assert working_angles(across) == pytest.approx([0.1, 0.1])
    assert residual_angle(across) == pytest.approx(np.sqrt(2) * 0.1, rel=0.01)


def test_a_joint_at_a_right_angle_is_refused():
    with pytest.raises(Refusal, match="under 90"):
        speed_ratio(np.pi / 2, 0.0)


def test_one_shaft_has_no_joint():
    with pytest.raises(Refusal, match="n >= 2"):
        working_angles([[1.0, 0.0, 0.0]])
