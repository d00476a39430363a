"""Slopes at rest against small steps of settling and levelling themselves."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.physics import statics
from planner.physics.equilibrium import HeldPressure, settle
from planner.physics.levelling import level
from planner.physics.sensitivity import asked, response
from planner.physics.statics import Load

from .rigs import PLUMBING, bag, random_loads, truck

PRESSURE, FORCE, MOMENT, RISE, ROLL = 100.0, 10.0, 10.0, 1e-5, 1e-5  # steps: Pa, N, N·m, m, rad

ROUNDING = 1e-12  # [-] of the largest slope: what should be nought comes out as the rounding of the others


each_height = pytest.mark.parametrize("over", [0.0, 0.7], ids=["low", "high"])  # [m] of all weight over the roll axis


def _case(plumbing, seed=0, over=0.0, **changes):
    rng = np.random.default_rng(seed)
    rig = truck(plumbing, anti_roll_rate=np.array([6e4, 3e4]), **changes)
    load = random_loads(rng, rig, 1, 0.1).take(np.array([True]))
    out = over * load.axle[0]
    load = Load(load.axle[0], load.side_moment[0], load.least_twist[0], out.sum(), out[0])
    levelled = level(rig, load, np.zeros(3))
    return rig, load, settle(rig, load, HeldPressure(levelled.pressure), levelled.state)


def _central(function, step):
    """Return the slope of a function about nought."""
    return (function(step) - function(-step)) / (2 * step)


def _more(load, axle=(0.0, 0.0), side=0.0, twist=0.0):
    more = {"axle": load.axle + np.array(axle), "side_moment": load.side_moment + side}
    return replace(load, least_twist=load.least_twist + twist, **more)


@each_height
@pytest.mark.parametrize("plumbing", PLUMBING)
def test_a_little_air_or_load_moves_the_truck_as_settling_says(plumbing, over):
    rig, load, rest = _case(plumbing, over=over)
    found = response(rig, load, rest)

    def at(more, pressure):
        return settle(rig, more, HeldPressure(pressure), rest.state).state

    for k in (0, 1):
        for i in (0, 1):
            one = np.zeros((2, 2))
            one[k, i] = 1.0
            slope = _central(lambda h, one=one: at(load, rest.pressure + h * one), PRESSURE)
            assert_allclose(found.by_pressure[:3, k, i], slope[:3], rtol=2e-4, atol=1e-11)
            assert_allclose(found.by_pressure[3, k, i], slope[3], rtol=2e-4, atol=1e-6)
        axle = np.eye(2)[k]
        slope = _central(lambda h, axle=axle: at(_more(load, h * axle), rest.pressure), FORCE)
        assert_allclose(found.by_axle_load[:3, k], slope[:3], rtol=2e-4, atol=1e-10)
    slope = _central(lambda h: at(_more(load, side=h), rest.pressure), MOMENT)
    assert_allclose(found.by_side_moment[:3], slope[:3], rtol=2e-4, atol=1e-10)
    assert_allclose(found.by_side_moment[3], slope[3], rtol=2e-4, atol=1e-6)


@each_height
@pytest.mark.parametrize("plumbing", PLUMBING[:-1])
def test_the_pressures_asked_for_are_those_that_levelling_sets(plumbing, over):
    rig, load, rest = _case(plumbing, over=over)
    found = asked(rig, load, rest)
    bags = np.broadcast_to(rig.has_bag[:, None], (2, 2))
    assert np.isnan(found.by_state[~bags]).all()
    assert np.isfinite(found.by_state[bags]).all()

    def at(more, wanted=(0.0, 0.0, 0.0)):
        return level(rig, more, np.array(wanted)).pressure[bags]

    for place, step in enumerate((RISE, RISE, ROLL)):
        wanted = np.eye(3)[place]
        slope = _central(lambda h, wanted=wanted: at(load, h * wanted), step)
        by_state = found.by_state[bags][:, place]
        if place == 2:  # with the roll goes the front axle's part of what swings out
            by_state = by_state - load.overturning_front * found.by_state[bags][:, 3]
        assert_allclose(by_state, slope, rtol=1e-3, atol=2e-3 * np.abs(found.by_state[bags]).max())
    for k in (0, 1):
        axle = np.eye(2)[k]
        slope = _central(lambda h, axle=axle: at(_more(load, h * axle)), FORCE)
        assert_allclose(found.by_axle_load[bags][:, k], slope, rtol=1e-3, atol=1e-3)
    slope = _central(lambda h: at(_more(load, side=h)), MOMENT)
    assert_allclose(found.by_side_moment[bags], slope, rtol=1e-3, atol=1e-3)
    slope = _central(lambda h: at(_more(load, twist=h)), MOMENT)
    assert_allclose(found.by_state[bags][:, 3], slope, rtol=1e-3, atol=1e-3)


@pytest.mark.parametrize("plumbing", PLUMBING[:-1])
def test_air_that_is_asked_for_brings_what_was_wanted(plumbing):
    """The two answers are each other's way back: the pressures for a rise, put in, give that rise and no roll."""
    rig, load, rest = _case(plumbing, seed=3)
    ask, give = asked(rig, load, rest), response(rig, load, rest)
    for k in (0, 1):
        if rig.bags[k] is None:
            continue
        moved = np.einsum("scd,cd->s", give.by_pressure, np.nan_to_num(ask.by_state[..., k]))
        assert_allclose(moved[:2], np.eye(2)[k] + moved[:2] * ~rig.has_bag, atol=1e-9)


@settings(max_examples=25)
@given(st.integers(0, 10_000))
def test_a_batch_is_its_cases_one_by_one(seed):
    rng = np.random.default_rng(seed)
    rig = truck()
    loads = random_loads(rng, rig, 4, 0.1)
    levelled = level(rig, loads, np.zeros(3))
    rest = settle(rig, loads, HeldPressure(levelled.pressure), levelled.state)
    many, wanted = response(rig, loads, rest), asked(rig, loads, rest)
    for j in range(4):
        one = Load(loads.axle[j], loads.side_moment[j], loads.least_twist[j])
        alone = rest._replace(**{name: getattr(rest, name)[j] for name in rest._fields})
        for name, value in response(rig, one, alone)._asdict().items():
            assert_allclose(getattr(many, name)[j], value, rtol=1e-9, atol=ROUNDING * np.abs(value).max())
        for name, value in asked(rig, one, alone)._asdict().items():
            assert_allclose(getattr(wanted, name)[j], value, rtol=1e-9, atol=ROUNDING * np.abs(value).max())


def test_a_batch_of_trucks_of_one_layout_is_each_truck_alone():
    alone = [truck(tyre_rate=np.array([rate, 6e5])) for rate in (3e5, 5e5)]
    both = replace(alone[0], tyre_rate=np.stack([rig.tyre_rate for rig in alone]))
    load = alone[0].kerb + statics.point_load(np.array([3e3, 2e3]), 1.0, 0.4, 4.0)
    gauge = level(alone[0], load, np.zeros(3)).pressure
    rest = settle(both, load, HeldPressure(gauge), np.zeros(4))
    many = response(both, load, rest)
    for j, rig in enumerate(alone):
        one = Load(load.axle[j], load.side_moment[j], load.least_twist[j])
        there = settle(rig, one, HeldPressure(gauge[j]), np.zeros(4))
        assert_allclose(many.by_axle_load[j], response(rig, one, there).by_axle_load, rtol=1e-5, atol=1e-12)


def test_what_pressure_does_not_fix_has_no_slope_and_the_other_axle_keeps_its_own():
    soft = (bag(0.03, "constant"), bag(0.03))
    rig = truck(bags=soft, steel_rate=np.zeros(2), steel_load=np.zeros(2))
    before = level(rig, rig.kerb, np.zeros(3))
    rest = settle(rig, rig.kerb, HeldPressure(before.pressure), before.state)
    found = response(rig, rig.kerb, rest)
    assert rest.fixed.tolist() == [False, True]
    assert np.isnan(found.by_pressure[0]).all()
    assert np.isfinite(found.by_pressure[1:]).all()
    assert (found.by_pressure[1, 1] > 0).all()


def test_a_truck_whose_roll_is_not_fixed_has_no_slopes():
    flat = (bag(0.03, "constant"), bag(0.03, "constant"))
    rig = truck(bags=flat, steel_rate=np.zeros(2), steel_load=np.zeros(2), anti_roll_rate=np.zeros(2))
    before = level(rig, rig.kerb, np.zeros(3))
    rest = settle(rig, rig.kerb, HeldPressure(before.pressure), before.state)
    assert not rest.roll_fixed
    assert all(np.isnan(part).all() for part in response(rig, rig.kerb, rest))
