"""The axle on its links: what must hold of any links, and of poses that they cannot reach."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.optimize import root

from planner.errors import Refusal
from planner.physics.linkage import (
    AxleLinks,
    anti_squat,
    axle_rates,
    bar_swing,
    pose_axle,
    roll_centre,
    side_view_centre,
)

from .links import INCH, four_bars, three_bars_and_track_bar

RISES = np.linspace(-4, 4, 9) * INCH
MOVED = ("x", "y", "pitch", "yaw")
seeds = st.integers(0, 10_000).map(lambda seed: four_bars(np.random.default_rng(seed)))
few = settings(max_examples=15, deadline=None)


@few
@given(seeds)
def test_bars_keep_their_length(links):
    pose = pose_axle(links, RISES[:, None], np.array([-0.08, 0.0, 0.08]))
    assert pose.reached.all()
    ends = pose.turn[..., None, :, :] @ links.axle[..., None]
    centre = np.stack([pose.x, pose.y, pose.z], axis=-1)[..., None, :]
    assert_allclose(np.linalg.norm(centre + ends[..., 0] - links.frame, axis=-1) - links.length, 0.0, atol=1e-9)


@few
@given(seeds)
def test_links_alike_on_both_sides_move_alike_to_both_sides(links):
    left, right = pose_axle(links, RISES, 0.06), pose_axle(links, RISES, -0.06)
    for name, sign in zip(MOVED, (1, -1, 1, -1), strict=True):
        assert_allclose(getattr(left, name), sign * getattr(right, name), atol=1e-9)
    straight = pose_axle(links, RISES)
    assert_allclose(np.abs([straight.y, straight.yaw]), 0.0, atol=1e-9)


@few
@given(seeds)
def test_nothing_has_moved_at_design_height(links):
    pose = pose_axle(links, 0.0)
    assert [float(getattr(pose, name)) for name in MOVED] == [0.0] * 4
    assert not pose.stretch.any()
    assert not bar_swing(links, pose).any()


@few
@given(seeds)
def test_rates_are_slopes_of_the_pose(links):
    step, at = 1e-6, (0.04, 0.03)
    rates = axle_rates(links, pose_axle(links, *at))
    for found, move in ((rates.by_rise, np.array([step, 0])), (rates.by_roll, np.array([0, step]))):
        ahead, behind = (pose_axle(links, *(np.array(at) + sign * move)) for sign in (1, -1))
        slopes = [(getattr(ahead, name) - getattr(behind, name)) / (2 * step) for name in MOVED]
        assert_allclose(found, slopes, atol=1e-6)  # a central difference of step 1e-6: its square, and rounding over it


def test_a_general_solver_finds_the_same_pose():
    links = four_bars()

    def left_over(q, rise, roll):
        (x, y, pitch, yaw), (cr, sr) = q, (np.cos(roll), -np.sin(roll))
        about_z = np.array([[np.cos(yaw), -np.sin(yaw), 0], [np.sin(yaw), np.cos(yaw), 0], [0, 0, 1]])
        about_x = np.array([[1, 0, 0], [0, cr, -sr], [0, sr, cr]])
        about_y = np.array([[np.cos(pitch), 0, np.sin(pitch)], [0, 1, 0], [-np.sin(pitch), 0, np.cos(pitch)]])
        ends = np.array([x, y, -rise]) + links.axle @ (about_z @ about_x @ about_y).T
        return np.linalg.norm(ends - links.frame, axis=1) - links.length

    for rise, roll in ((-0.1, 0.0), (0.08, 0.05)):
        found = root(left_over, np.zeros(4), args=(rise, roll), tol=1e-13)
        pose = pose_axle(links, rise, roll)
        assert_allclose([getattr(pose, name) for name in MOVED], found.x, atol=1e-9)


def test_what_bars_do_not_reach_is_said_and_not_clipped():
    links = three_bars_and_track_bar(length=1e5)  # bars of 0.7 m along the truck end where they hang straight down
    pose = pose_axle(links, [0.5, 0.69, 0.71, 0.9])
    assert pose.reached.tolist() == [True, True, False, False]
    assert_allclose(pose.z, [-0.5, -0.69, -0.71, -0.9])
    assert np.abs(pose.stretch[2:]).max(axis=-1) == pytest.approx([0.01, 0.2], abs=0.008)


def test_a_bar_too_short_to_reach_is_said():
    links = four_bars()
    assert not pose_axle(links, 0.0, longer=[0.0, 0.0, -0.5, -0.5]).reached


def test_one_bar_too_many_goes_where_bars_are_stretched_least_and_says_by_how_much():
    spare = three_bars_and_track_bar()
    frame = np.vstack([spare.frame, [0.2, 0.3, 0.3]])
    axle = np.vstack([spare.axle, [0.0, 0.3, 0.3]])
    links = AxleLinks(frame, axle)
    pose = pose_axle(links, RISES, 0.05)
    assert pose.converged.all()
    q = np.stack([getattr(pose, name) for name in MOVED], axis=-1)

    def squares(moved):
        turn = pose._replace(**dict(zip(MOVED, moved.T, strict=True)))
        ends = turn.turn[:, None] @ axle[..., None]
        centre = np.stack([turn.x, turn.y, turn.z], axis=-1)[:, None]
        return ((np.linalg.norm(centre + ends[..., 0] - frame, axis=-1) - links.length) ** 2).sum(axis=-1)

    assert_allclose(squares(q), (pose.stretch**2).sum(axis=-1), rtol=1e-6)
    for move in 1e-5 * np.vstack([np.eye(4), -np.eye(4)]):
        assert (squares(q + move) >= squares(q)).all()
    assert pose.reached[4]
    assert not pose.reached[0]


def test_a_track_bar_moves_the_axle_on_its_arc():
    """A bar of length l that is level at design height, swung by h, is l - sqrt(l² - h²) shorter across."""
    links, length = three_bars_and_track_bar(length=0.9), 0.9
    pose = pose_axle(links, RISES)
    assert_allclose(
        pose.y, -(length - np.sqrt(length**2 - RISES**2)), atol=2e-4
    )  # it also sweeps with the fore-aft arc
    assert_allclose(pose.x, 0.7 - np.sqrt(0.49 - RISES**2), atol=2e-3)


def test_parallel_bars_of_a_parallelogram_keep_the_pinion_s_angle():
    links = three_bars_and_track_bar(length=1e5)
    pose = pose_axle(links, RISES)
    assert_allclose(pose.pitch, 0.0, atol=1e-9)
    assert_allclose(pose.x, 0.7 - np.sqrt(0.49 - RISES**2), atol=1e-9)
    assert np.isinf(side_view_centre(axle_rates(links, pose_axle(links, 0.0)))[0])


def test_a_level_track_bar_puts_the_roll_centre_at_its_height():
    links = three_bars_and_track_bar()
    raised = AxleLinks(*(ends + np.array([0, 0, 0.03]) for ends in (links.frame, links.axle)))
    assert roll_centre(axle_rates(links, pose_axle(links, 0.0))) == pytest.approx(0.0, abs=1e-9)
    assert roll_centre(axle_rates(raised, pose_axle(raised, 0.0))) == pytest.approx(0.03, abs=1e-9)


def test_a_sloped_track_bar_puts_the_roll_centre_where_it_crosses_the_centre_line():
    links = three_bars_and_track_bar()
    frame = links.frame + np.array([[0, 0, 0]] * 3 + [[0, 0, 0.06]])  # from (0.45, 0) to (-0.45, 0.06)
    tilted = AxleLinks(frame, links.axle)
    assert roll_centre(axle_rates(tilted, pose_axle(tilted, 0.0))) == pytest.approx(0.03, abs=1e-9)


def test_the_instant_centre_is_where_the_bars_meet_in_side_view():
    links = four_bars()
    ahead, above = side_view_centre(axle_rates(links, pose_axle(links, 0.0)))
    for frame, axle in zip(links.frame, links.axle, strict=True):
        slope = (frame[2] - axle[2]) / (frame[0] - axle[0])
        assert axle[2] + slope * (ahead - axle[0]) == pytest.approx(above, abs=1e-9)


@pytest.mark.parametrize("bad", [0.0, -0.4, np.nan])
def test_anti_squat_refuses_lengths_that_are_none(bad):
    rates = axle_rates(four_bars(), pose_axle(four_bars(), 0.0))
    with pytest.raises(Refusal, match="wheel radius must be > 0"):
        anti_squat(rates, bad, 0.7, 4.0)


@pytest.mark.parametrize(
    ("frame", "axle", "words"),
    [
        (np.zeros((3, 3)), np.ones((3, 3)), "four bars or more"),
        (np.ones((4, 3)), np.ones((4, 3)), "length of a bar"),
        (np.ones((4, 2)), np.ones((4, 2)), "shape"),
    ],
)
def test_what_are_no_bars_is_refused(frame, axle, words):
    with pytest.raises(Refusal, match=words):
        AxleLinks(frame, axle)
