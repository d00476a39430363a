"""Bags whose area depends on pressure: a chart of several pressures, read and turned round."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.interpolate import pchip_interpolate
from scipy.optimize import brentq

from planner.errors import Refusal
from planner.physics.air_spring import Bag
from planner.physics.constants import STANDARD_PRESSURE as AMBIENT
from planner.physics.equilibrium import HeldPressure, SealedAir, settle
from planner.physics.levelling import level
from planner.physics.sensitivity import asked, response
from tests.physics.rigs import PLUMBING, bag, family, truck

PRESSURES = np.array([1.4, 2.8, 4.1, 5.5, 6.9]) * 1e5
HEIGHTS = np.linspace(0.08, 0.22, 8)


def true_area(height, pressure):
    """A bag that swells: known at every height and pressure, curved in the one and straight in the other. [m²]"""
    part = (height - 0.15) / 0.07
    return 0.03 * (1.0 - 0.15 * part - 0.05 * part**2) * (0.92 + 0.02 * pressure / 1e5)


def synthetic():
    return Bag(HEIGHTS, true_area(HEIGHTS, PRESSURES[:, None]), 0.15, 0.008, 0.5e5, 7e5, pressures=PRESSURES)


heights = st.floats(0.08, 0.22)
rows = st.lists(st.floats(0.8, 1.25), min_size=2, max_size=5)


@st.composite
def families(draw):
    """Random charts that load rises on: each row's area some part of the one before it."""
    parts = np.cumprod([1.0, *draw(rows)])
    pressures = np.cumsum(draw(st.lists(st.floats(0.8e5, 2e5), min_size=len(parts), max_size=len(parts))))
    shape = np.array(draw(st.lists(st.floats(0.9, 1.1), min_size=4, max_size=4)))
    areas = 0.03 * parts[:, None] * shape
    low, high = pressures[:-1], pressures[1:]
    assume(np.all(parts[1:] * (2 * high - low) > 1.02 * parts[:-1] * high))
    return Bag(np.array([0.08, 0.12, 0.17, 0.22]), areas, 0.15, 0.012, 0.2e5, 9e5, pressures=pressures)


def test_a_known_area_is_recovered_between_the_points():
    height, pressure = np.meshgrid(np.linspace(0.08, 0.22, 57), np.linspace(1.4e5, 6.9e5, 41))
    assert_allclose(
        synthetic().area(height, pressure), true_area(height, pressure), rtol=2e-4
    )  # PCHIP over 20 mm steps


def test_rows_are_read_by_pchip_and_straight_between_them():
    b, height = synthetic(), np.linspace(0.08, 0.22, 57)
    low, high = (pchip_interpolate(HEIGHTS, row, height) for row in b.areas[1:3])
    assert_allclose(b.area(height, PRESSURES[1]), low, rtol=1e-12)
    part = 0.3
    between = PRESSURES[1] + part * (PRESSURES[2] - PRESSURES[1])
    assert_allclose(b.area(height, between), (1 - part) * low + part * high, rtol=1e-12)


def test_past_the_first_and_the_last_row_the_nearest_is_read():
    b = synthetic()
    assert_allclose(b.area(HEIGHTS, 0.3e5), b.areas[0])
    assert_allclose(b.area(HEIGHTS, -1e5), b.areas[0])
    assert_allclose(b.area(HEIGHTS, 9e5), b.areas[-1])
    assert_allclose(b.area_slope([0.05, 0.3], 3e5), 0.0)


@given(families(), heights, st.floats(-2e3, 5e4))
def test_the_pressure_of_a_load_carries_it(b, height, load):
    pressure = b.pressure(height, load)
    assert_allclose(pressure * b.area(height, pressure), load, rtol=1e-11, atol=1e-7)


@given(families(), heights, st.floats(1e5, 8e5))
def test_and_the_load_of_a_pressure_asks_for_it(b, height, pressure):
    assert_allclose(b.pressure(height, pressure * b.area(height, pressure)), pressure, rtol=1e-9)


@given(families(), heights, st.floats(0, 4e4), st.floats(1.0, 5e3))
def test_more_load_asks_for_more_pressure(b, height, load, more):
    assert b.pressure(height, load + more) > b.pressure(height, load)


def test_the_pressure_is_that_of_a_root_finder():
    b = synthetic()
    for load in np.linspace(500, 25e3, 13):
        found = brentq(lambda p, load=load: p * float(b.area(0.131, p)) - load, 0, 2e6, xtol=1e-6)
        assert_allclose(b.pressure(0.131, load), found, rtol=1e-9)


@given(families(), st.floats(0.085, 0.215), st.floats(1e5, 8e5))
def test_slopes_are_those_of_small_differences(b, height, pressure):
    assume(np.abs(b.pressures - pressure).min() > 5e3)
    assume(np.abs(b.heights - height).min() > 1e-4)
    step = 1e-6
    slope = (b.area(height + step, pressure) - b.area(height - step, pressure)) / (2 * step)
    assert_allclose(b.area_slope(height, pressure), slope, rtol=1e-5, atol=1e-7)
    up, down = ((pressure + s) * b.area(height, pressure + s) for s in (1.0, -1.0))
    assert_allclose(b.load_gain(height, pressure), (up - down) / 2.0, rtol=1e-6)


def test_a_load_that_falls_with_pressure_is_refused():
    b = synthetic()
    with pytest.raises(Refusal, match="load must rise with pressure at every height"):
        replace(b, areas=b.areas * np.linspace(1.0, 0.2, 5)[:, None])
    with pytest.raises(Refusal, match="between charted pressures must be > 0"):
        replace(b, pressures=PRESSURES[::-1])
    with pytest.raises(Refusal, match="read at a pressure"):
        b.area(0.15)


# The whole truck


def both(plumbing, bags, **changes):
    return truck(plumbing, bags=tuple(None if kind == "no bag" else bags for kind in plumbing), **changes)


def loaded(rig, more=6e3):
    return replace(rig.kerb, axle=rig.kerb.axle + np.array([0.2, 0.8]) * more)


@pytest.mark.parametrize("plumbing", PLUMBING)
@pytest.mark.parametrize("wanted", [(0.0, 0.0, 0.0), (0.02, -0.01, 0.004), (0.09, 0.09, 0.0)])
def test_rows_of_equal_areas_answer_as_one_row(plumbing, wanted):
    """Also where limits bind (the last stance is past the chart); to rounding of the arithmetic."""
    one = bag()
    alike = replace(one, areas=np.tile(one.areas, (4, 1)), pressures=PRESSURES[:4])
    rig, same = both(plumbing, one), both(plumbing, alike)
    found, other = (level(r, loaded(r), np.array(wanted)) for r in (rig, same))
    assert_allclose(other.pressure, found.pressure, rtol=1e-6, atol=1.0)
    assert_allclose(other.state[:3], found.state[:3], rtol=0, atol=1e-8)
    assert (other.held == found.held).all()
    start = np.zeros(4)
    at, like = (settle(r, loaded(r), HeldPressure(found.pressure), start) for r in (rig, same))
    assert_allclose(like.state[:3], at.state[:3], rtol=0, atol=1e-9)


@pytest.mark.parametrize("plumbing", PLUMBING)
@pytest.mark.parametrize("swells", [-0.06, 0.08])
def test_what_levels_also_rests_there(plumbing, swells):
    rig = both(plumbing, family(swells=swells))
    load = loaded(rig)
    found = level(rig, load, np.array([0.01, -0.01, 0.002]))
    assert found.converged
    rest = settle(rig, load, HeldPressure(found.pressure), found.state)
    assert_allclose(rest.state[:3], found.state[:3], rtol=0, atol=1e-8)
    height = rig.corners(load, rest.state).spring_height
    carried = rig.bag_load(height, rest.pressure) + rig.steel_force(height)
    assert_allclose(carried, rig.corners(load, rest.state).spring_force, rtol=1e-7, atol=1e-3)


@settings(max_examples=30)
@given(st.sampled_from(PLUMBING), st.floats(-0.06, 0.1), st.floats(-0.12, 0.12), st.floats(-0.12, 0.12))
def test_no_limit_is_passed_wherever_it_is_asked_to_stand(plumbing, swells, front, rear):
    rig = both(plumbing, family(swells=swells))
    found = level(rig, loaded(rig), np.array([front, rear, 0.003]))
    height = rig.corners(loaded(rig), found.state).spring_height
    for k, b in enumerate(rig.bags):
        if b is not None:
            assert (found.pressure[k] >= b.least_pressure - 1).all()
            assert (found.pressure[k] <= b.greatest_pressure + 1).all()
            assert (height[k] >= b.lowest - 2e-3).all()
            assert (height[k] <= b.highest + 2e-3).all()
    if found.converged:
        rest = settle(rig, loaded(rig), HeldPressure(found.pressure), found.state)
        assert_allclose(rest.state[:3], found.state[:3], rtol=0, atol=1e-6)


@pytest.mark.parametrize("plumbing", PLUMBING)
def test_slopes_of_shut_air_are_those_of_small_differences(plumbing):
    rig = both(plumbing, family(swells=0.08))
    height = np.array([[0.141, 0.152], [0.163, 0.137]])
    air = SealedAir.shut(
        rig,
        height,
        np.full((2, 2), 3.3e5),
        ambient=AMBIENT,
        temperature=293.0,
        ambient_now=AMBIENT,
        temperature_now=293.0,
    )

    def force(at):
        return rig.bag_load(at, air.pressure(rig, at))

    pressure = air.pressure(rig, height)
    own, across = air.slopes(rig, height, rig.springs(height, pressure), pressure)
    step = 1e-7
    for k in (0, 1):
        for i in (0, 1):
            moved = np.zeros((2, 2))
            moved[k, i] = step
            gained = (force(height + moved) - force(height - moved)) / (2 * step)
            assert_allclose(gained[k, i], own[k, i], rtol=1e-5, atol=1e-3)
            assert_allclose(gained[k, 1 - i], across[k, 1 - i], rtol=1e-5, atol=1e-3)


@pytest.mark.parametrize("plumbing", [("separate", "separate"), ("joined", "separate"), ("separate", "no bag")])
def test_sensitivities_are_those_of_small_differences(plumbing):
    rig = both(plumbing, family(swells=0.08), steel_rate=np.array([6e4, 9e4]))
    load = loaded(rig)
    found = level(rig, load, np.zeros(3))
    settled = settle(rig, load, HeldPressure(found.pressure), found.state)
    by_pressure = response(rig, load, settled).by_pressure
    step = np.where(rig.has_bag[:, None], 10.0, 0.0)
    up, down = (settle(rig, load, HeldPressure(found.pressure + s * step), found.state).state for s in (1, -1))
    assert_allclose((by_pressure * step).sum(axis=(-1, -2))[:3], (up - down)[:3] / 2, rtol=1e-4, atol=1e-10)
    steers, rise = asked(rig, load, settled).by_state, np.array([1e-5, 0.0, 0.0])
    more, less = (level(rig, load, s * rise).pressure for s in (1, -1))
    bagged = rig.has_bag
    assert_allclose(steers[..., 0][bagged], ((more - less) / 2e-5)[bagged], rtol=1e-4, atol=1e-2 / 2e-5)


def test_volumes_are_charted_or_follow_from_the_row_that_is_nearest():
    b = synthetic()
    low, high = replace(b, gas_row=0), replace(b, gas_row=4)
    assert high.gas_volume(0.2) - high.volume > low.gas_volume(0.2) - low.volume
    assert_allclose(low.gas_growth(HEIGHTS), b.areas[0])
    volumes = 0.001 + np.cumsum(np.linspace(0.0006, 0.0004, 8))
    charted = replace(b, volumes=volumes)
    assert_allclose(charted.gas_volume(HEIGHTS) - charted.gas_volume(0.08), volumes - volumes[0], atol=1e-15)
    assert_allclose(charted.gas_volume(0.15), b.volume)
    step = 1e-6
    grown = (charted.gas_volume(0.131 + step) - charted.gas_volume(0.131 - step)) / (2 * step)
    assert_allclose(charted.gas_growth(0.131), grown, rtol=1e-6)
