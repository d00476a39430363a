"""Weight that swings out as the truck leans: levers written anew, a textbook's roll angle, and what no spring holds."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.physics import statics
from planner.physics.equilibrium import HeldPressure, settle
from planner.physics.levelling import level
from planner.physics.standing_truck import StandingTruck

from .rigs import PLUMBING, truck

HELD = HeldPressure(np.zeros((2, 2)))
height, place = st.floats(-0.5, 2.0), st.floats(-3.0, 6.0)


@given(height, height, height, place, st.floats(2.0, 6.0))
def test_height_over_the_roll_axis_is_that_over_a_straight_line(z, front, rear, x, wheelbase):
    """numpy's own straight line through the two axles, taken on past both."""
    line = np.polynomial.Polynomial.fit([0.0, wheelbase], [rear, front], 1)
    assert_allclose(statics.height_over_roll_axis(z, x, wheelbase, (front, rear)), z - line(x), atol=1e-12)


def test_height_over_the_roll_axis_takes_many_loads_and_many_axes():
    axes = np.array([[0.1, 0.4], [0.0, 0.3]])
    found = statics.height_over_roll_axis([0.7, 1.0, 1.2], [4.0, 0.0, -1.0], 4.0, axes[:, None, :])
    assert_allclose(found, [[0.6, 0.6, 0.725], [0.7, 0.7, 0.825]])


@given(st.floats(-5e3, 3e4), place, st.floats(-1, 1), st.floats(-0.5, 2.0))
def test_what_a_load_swings_out_is_its_weight_times_its_height_by_its_place(w, x, y, over):
    added = statics.point_load(w, x, y, 4.0, over)
    assert_allclose(added.overturning, w * over, rtol=1e-12)
    assert_allclose(added.overturning_front, w * over * min(max(x / 4.0, 0.0), 1.0), rtol=1e-12)
    flat = statics.point_load(w, x, y, 4.0)
    assert flat.overturning == 0
    assert_allclose(added.axle, flat.axle, rtol=0)


def test_the_kerb_swings_out_what_its_masses_do():
    """Five masses at places of their own, put on the axles by levers; the kerb has one height, that of their middle."""
    rng = np.random.default_rng(2)
    w, x, z = rng.uniform(1e3, 9e3, 5), rng.uniform(-0.5, 4.5, 5), rng.uniform(0.4, 1.3, 5)
    axis = np.array([0.05, 0.38])
    sprung = np.array([(w * x).sum() / 4.0, (w * (1 - x / 4.0)).sum()])
    kerb = statics.kerb_load(sprung + 3e3, sprung, 0.5, (1.7, 1.7), (w * z).sum() / w.sum() - axis)
    line = axis[1] + (axis[0] - axis[1]) * x / 4.0
    assert_allclose(kerb.overturning, (w * (z - line)).sum(), rtol=1e-12)
    assert_allclose(kerb.overturning_front, sprung[0] * ((w * z).sum() / w.sum() - axis[0]), rtol=1e-12)


def test_loads_in_one_batch_swing_out_what_they_do_one_by_one():
    many = statics.point_load(np.array([1e3, 2e3]), np.array([1.0, -1.0]), 0.2 * np.ones(2), 4.0, np.array([0.5, 0.9]))
    assert_allclose(many.summed().overturning, 1e3 * 0.5 + 2e3 * 0.9)
    assert_allclose((many.summed() + many.summed()).overturning_front, 2 * 1e3 * 0.5 * 0.25)


def _steel_truck(**changes):
    """A truck on steel alone, its tyres as good as rigid: a roll stiffness that can be written down."""
    return truck(("no bag", "no bag"), tyre_rate=np.full(2, 1e13), **changes)


def _roll_rate(rig):
    """Roll stiffness of springs at an arm and of bars. [N·m/rad]"""
    arm = rig.half_spacing * rig.motion_ratio
    return float((2 * rig.steel_rate * arm**2 + rig.anti_roll_rate).sum())


@pytest.mark.parametrize("part", [0.0, 0.2, 0.5, 0.9])
def test_the_roll_angle_is_a_textbook_s(part):
    """T. D. Gillespie, Fundamentals of Vehicle Dynamics, SAE 1992, ch. 6: φ = M / (K_φ - W h); from memory."""
    rig = _steel_truck(left_share=0.5)
    stiffness, side = _roll_rate(rig), 200.0
    load = replace(rig.kerb, side_moment=np.asarray(side), overturning=np.asarray(part * stiffness))
    settled = settle(rig, load, HELD, np.zeros(4))
    assert settled.converged
    assert_allclose(settled.state[2], -side / (stiffness - part * stiffness), rtol=1e-6)


@pytest.mark.parametrize("part", [0.5, 0.95, 1.05, 2.0])
def test_springs_fix_the_roll_only_if_stiffer_than_what_swings_out(part):
    rig = _steel_truck(left_share=0.5)
    load = replace(rig.kerb, overturning=np.asarray(part * _roll_rate(rig)))
    settled = settle(rig, load, HELD, level(rig, rig.kerb, np.zeros(3)).state)
    assert settled.fixed.all()
    assert bool(settled.roll_fixed) == (part < 1)


@pytest.mark.parametrize("plumbing", PLUMBING[:2] + PLUMBING[3:5])
@pytest.mark.parametrize("side", [-300.0, 1.0, 900.0])
def test_a_truck_that_its_springs_do_not_hold_upright_leans_onto_its_stops(plumbing, side):
    """Soft springs, a high load: no rest near upright. It goes down with its weight until a bag is on its stop."""
    rig = truck(plumbing, anti_roll_rate=np.zeros(2), left_share=0.5)
    pressure = level(rig, rig.kerb, np.zeros(3)).pressure
    high = replace(rig.kerb, side_moment=np.asarray(side), overturning=np.asarray(1.2e5))
    settled = settle(rig, high, HeldPressure(pressure), np.zeros(4))
    assert settled.converged
    assert settled.roll_fixed
    assert rig.on_stop(rig.corners(high, settled.state).spring_height).any()
    assert np.sign(settled.state[2]) == -np.sign(side)


@given(st.floats(-0.02, 0.02))
def test_a_side_slope_leans_a_truck_as_far_as_it_swings_out_more(slope):
    """Against the ground: φ (K - G) = G θ, the downhill side down; and no lean where nothing stands over the axis."""
    rig = _steel_truck(left_share=0.5)
    stiffness = _roll_rate(rig)
    load = replace(rig.kerb, overturning=np.asarray(0.3 * stiffness), overturning_front=np.asarray(0.1 * stiffness))
    there = load.on_side_slope(np.asarray(slope))
    state = settle(rig, there, HELD, np.zeros(4)).state
    assert_allclose(state[2], 0.3 * slope / 0.7, rtol=1e-6, atol=1e-9)
    assert_allclose(there.least_twist, load.least_twist - 0.1 * stiffness * slope)
    assert settle(rig, rig.kerb.on_side_slope(np.asarray(slope)), HELD, np.zeros(4)).state[2] == pytest.approx(
        0, abs=1e-9
    )


@pytest.mark.parametrize("part", [0.5, 0.95, 1.05, 2.0])
def test_a_steel_truck_stands_upright_only_if_stiffer_than_what_swings_out(part):
    rig = _steel_truck(left_share=0.5)
    load = replace(rig.kerb, overturning=np.asarray(part * _roll_rate(rig)))
    assert bool(StandingTruck(rig, load, np.zeros(4), np.zeros((2, 2))).upright) == (part < 1)


def test_shut_in_air_holds_a_truck_upright_that_held_pressures_do_not():
    rig = truck(PLUMBING[0], anti_roll_rate=np.zeros(2), left_share=0.5)
    found = level(rig, rig.kerb, np.zeros(3))
    more = replace(rig.kerb, overturning=np.asarray(4e4))
    assert not settle(rig, more, HeldPressure(found.pressure), found.state).roll_fixed
    assert StandingTruck(rig, more, found.state, found.pressure).upright
    most = replace(rig.kerb, overturning=np.asarray(8e4))
    assert not StandingTruck(rig, most, found.state, found.pressure).upright
