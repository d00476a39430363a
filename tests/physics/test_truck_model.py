"""The truck as arrays: every state's forces and moments, taken anew from a drawing of the truck."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from .rigs import PLUMBING, loads, rigs, stances, truck


def drawn_state(data, rig, load):
    rises = data.draw(stances(0.1, 0.1))
    moment = data.draw(st.floats(-1e4, 1e4))
    return np.append(rises, moment)


@given(st.data())
def test_body_and_axles_balance_in_any_state(data):
    rig = data.draw(rigs())
    load = data.draw(loads(rig))
    state = drawn_state(data, rig, load)
    moments = rig.axle_moments(load, state)
    tyres, springs = rig.tyre_loads(load, moments), rig.corners(load, state).spring_force
    seats = springs * rig.motion_ratio[:, None]  # a spring of ratio m pushes its seat with m times its force
    bar = rig.anti_roll_rate * (state[2] - rig.axle_roll(moments))
    weight, arm = load.axle.sum(), rig.half_spacing
    assert_allclose(tyres.sum(), weight, rtol=1e-12)
    assert_allclose(seats.sum(axis=-1), load.axle - rig.unsprung_load, rtol=1e-12)
    wheels_side = ((tyres[:, 0] - tyres[:, 1]) * rig.track / 2).sum()
    assert_allclose(wheels_side, load.side_moment, atol=1e-9 * weight)
    seats_side = (seats[:, 0] - seats[:, 1]) * arm - bar  # a bar takes from the body what it gives the axle
    assert_allclose(seats_side.sum(), load.side_moment, atol=1e-9 * weight)
    assert_allclose(seats_side, (tyres[:, 0] - tyres[:, 1]) * rig.track / 2, atol=1e-9 * weight)


@given(st.data())
def test_heights_follow_from_tyres_and_body(data):
    rig = data.draw(rigs())
    load = data.draw(loads(rig))
    state = drawn_state(data, rig, load)
    squash = (rig.tyre_loads(load, rig.axle_moments(load, state)) - rig.kerb.axle[:, None] / 2) / rig.tyre_rate[:, None]
    wheel = -squash  # height of each wheel centre against the kerb's mean
    middle, tilt = wheel.mean(axis=-1), (wheel[:, 0] - wheel[:, 1]) / rig.track
    for k in (0, 1):
        for side, sign in ((0, 1.0), (1, -1.0)):
            seat = state[k] + sign * rig.half_spacing[k] * state[2]
            axle = middle[k] + sign * rig.half_spacing[k] * tilt[k]
            expected = rig.design_height[k, side] + rig.motion_ratio[k] * (seat - axle)
            assert_allclose(rig.corners(load, state).spring_height[k, side], expected, atol=1e-12)
            arch = state[k] + sign * rig.track[k] / 2 * state[2] - wheel[k, side]
            assert_allclose(rig.ride_heights(load, state)[k, side], arch, atol=1e-12)


def test_constant_slopes_are_those_of_the_corners():
    rig = truck()
    state = np.zeros(4)
    base = rig.corners(rig.kerb, state)
    for j, (by_height, by_force) in enumerate(
        [(rig.height_by_roll, rig.force_by_roll), (rig.height_by_moment, rig.force_by_moment)], start=2
    ):
        step = rig.corners(rig.kerb, state + np.eye(4)[j])
        sign = np.array([1.0, -1.0 if j == 3 else 1.0])[:, None]  # what the front axle gains in moment the rear loses
        assert_allclose(step.spring_height - base.spring_height, sign * by_height, rtol=1e-10)
        assert_allclose(step.spring_force - base.spring_force, sign * by_force, rtol=1e-7)


def test_steel_and_stops():
    rig = truck(("separate", "no bag"))
    ends = np.array([[0.08 - 1e-3, 0.22 + 2e-3], [-1.0, 1.0]])
    slack = rig.steel_load[:, None] - rig.steel_rate[:, None] * (ends - rig.design_height)
    assert_allclose(rig.steel_force(ends) - slack, [[1e7 * 1e-3, -1e7 * 2e-3], [0, 0]], atol=1e-6)
    assert rig.on_stop(ends).tolist() == [[True, True], [False, False]]
    assert_allclose(rig.springs(ends).steel_slope, [[1e4 + 1e7, 1e4 + 1e7], [9e4, 9e4]])
    assert rig.has_bag.tolist() == [True, False]
    assert_allclose(rig.area(ends)[1], 0.0)
    assert_allclose(rig.springs(ends).area_slope[1], 0.0)
    assert_allclose(rig.gas_volume(ends)[1], 1.0)


@pytest.mark.parametrize("plumbing", PLUMBING)
@pytest.mark.parametrize("shape", [(), (1,), (2, 3), (2, 1, 2, 2)])
def test_cases_broadcast_over_any_rank(plumbing, shape):
    rig = truck(plumbing)
    state = np.broadcast_to([0.01, -0.01, 0.002, 100.0], (*shape, 4))
    corners = rig.corners(rig.kerb, state)
    assert corners.spring_height.shape == corners.spring_force.shape == (*shape, 2, 2)
    assert rig.ride_heights(rig.kerb, state).shape == (*shape, 2, 2)
    assert_allclose(
        corners.spring_force, np.broadcast_to(rig.corners(rig.kerb, state[(0,) * len(shape)])[1], (*shape, 2, 2))
    )


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("wheelbase", np.array(0.0), r"wheelbase must be > 0 m, got 0 m"),
        ("half_spacing", np.array([0.5, -0.5]), r"half spring spacing must be > 0 m, got -0.5 m"),
        ("track", np.array([np.nan, 1.7]), r"track must be > 0 m"),
        ("motion_ratio", np.array([1.0, 0.0]), r"motion ratio must be > 0 -, got 0"),
        ("tyre_rate", np.array([0.0, 1e5]), r"tyre rate must be > 0 N/m"),
    ],
)
def test_a_rig_that_no_stance_could_carry_is_refused(name, value, words):
    with pytest.raises(ValueError, match=words):
        replace(truck(), **{name: value})


def test_an_axle_with_neither_bag_nor_steel_is_refused():
    with pytest.raises(ValueError, match=r"steel rate of an axle with no bag must be > 0 N/m, got 0 N/m"):
        truck(("separate", "no bag"), steel_rate=np.array([1e4, 0.0]))
