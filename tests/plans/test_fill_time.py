"""Filling and emptying: air is conserved, a longer line is never faster, and a plain solve says the same."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.integrate import solve_ivp

from planner import read_truck
from planner.physics.air_flow import FREE_AIR_PRESSURE, flow, tube_conductance
from planner.physics.equilibrium import SealedAir, settle
from planner.plans.air_supply import Port, Supply, Tank
from planner.plans.fill_time import UNTOUCHED, air_at_rest, fill_alike, fill_time
from planner.plans.setup import rig_of
from planner.records import BadInput

TRUCK = read_truck("profiles/trucks/ridge-truck.toml")
RIG = rig_of(TRUCK)
SUPPLY = Supply.of(TRUCK)
LEVEL = np.array([[270e3, 268e3], [160e3, 158e3]])


def rest(gauge, rig=RIG):
    return air_at_rest(rig, rig.kerb, np.asarray(gauge, float), np.zeros(4), SUPPLY.ambient)


@cache
def start():
    return rest(LEVEL)


def lines(*lengths):
    """Return the supply with lines of four lengths [m] and no valve."""
    made = (tube_conductance(length, 0.006) for length in lengths)
    ports = (Port(old.corners, float(c), float(b)) for old, (c, b) in zip(SUPPLY.ports, made, strict=True))
    return replace(SUPPLY, ports=tuple(ports))


gauges = st.lists(st.floats(100e3, 350e3), min_size=4, max_size=4)
tanks = st.floats(150e3, 1000e3)
few = settings(max_examples=25, deadline=None)


@few
@given(gauges, tanks)
def test_air_is_conserved_whatever_is_moved(wanted, pressure):
    near = LEVEL + 0.1 * (np.reshape(wanted, (2, 2)) - LEVEL)
    found = fill_time(RIG, SUPPLY, start(), rest(near), Tank(pressure))
    lost = (pressure - found.tank.pressure) * SUPPLY.volume / FREE_AIR_PRESSURE
    into = float(np.nansum(found.air_in))
    assert_allclose(lost + found.delivered, into, rtol=0, atol=1e-9 * (into + 0.3))  # the tank holds some 0.3 m³
    gained = (rest(near).amount - start().amount) / FREE_AIR_PRESSURE
    assert_allclose(
        found.air_in - found.air_out,
        np.where(np.abs(gained) > UNTOUCHED * start().amount / 1e5, gained, 0.0),
        rtol=1e-9,
    )


@few
@given(st.lists(st.floats(0.5, 6.0), min_size=4, max_size=4), st.floats(1.0, 3.0))
def test_longer_lines_are_never_faster(lengths, factor):
    more = rest(LEVEL + np.array([[12e3, 10e3], [20e3, 21e3]]))
    short, long = (
        fill_time(RIG, lines(*(f * length for length in lengths)), start(), more, SUPPLY.full) for f in (1.0, factor)
    )
    assert (long.time >= short.time * (1 - 1e-3)).all()


def test_a_longer_line_takes_longer_and_the_truck_leans_on_the_way():
    more = rest(LEVEL + np.array([[0.0, 0.0], [25e3, 25e3]]))
    even, uneven = (fill_time(RIG, lines(2.0, 2.0, left, 2.0), start(), more, SUPPLY.full) for left in (2.0, 8.0))
    assert uneven.time[1, 0] > 1.3 * even.time[1, 0]
    assert uneven.lean_on_the_way < 1.5 * even.lean_on_the_way < 0.001  # the left comes up later: left side down
    assert abs(uneven.lean_on_the_way) > 0.004


def symmetric():
    rig = replace(RIG, kerb=replace(RIG.kerb, side_moment=np.zeros(()), least_twist=np.zeros(())))
    return rig, np.mean(LEVEL, axis=1, keepdims=True) * np.ones((2, 2))


def test_a_symmetric_truck_fills_alike_on_both_sides():
    rig, level = symmetric()
    more = rest(level + np.array([[8e3, 8e3], [15e3, 15e3]]), rig)
    found = fill_time(rig, SUPPLY, rest(level, rig), more, SUPPLY.full)
    assert_allclose(found.time[:, 0], found.time[:, 1], rtol=1e-6)
    assert abs(found.lean_on_the_way) < 1e-9


def test_a_plain_solve_that_settles_the_truck_at_every_step_says_the_same():
    end = rest(LEVEL + np.array([[-6e3, 4e3], [25e3, 20e3]]))
    begin = start()
    found = fill_time(RIG, SUPPLY, begin, end, Tank(700e3))
    goal = (end.amount - begin.amount) / FREE_AIR_PRESSURE
    c, b = (np.array([getattr(port, name) for port in SUPPLY.ports]).reshape(2, 2) for name in Port._fields[1:])

    def rates(_, moved):
        moved = moved.reshape(2, 2)
        air = SealedAir(begin.amount + FREE_AIR_PRESSURE * moved, np.asarray(SUPPLY.ambient))
        bag = settle(RIG, RIG.kerb, air, begin.state).pressure + SUPPLY.ambient
        into = moved[goal > 0].sum()
        tank = 700e3 + SUPPLY.ambient - FREE_AIR_PRESSURE * into / SUPPLY.volume
        passed = np.where(goal > 0, flow(tank, bag, c, b), -flow(bag, SUPPLY.ambient, c, b))
        return np.where(np.abs(moved) < np.abs(goal), passed, 0.0).ravel()

    plain = solve_ivp(rates, (0.0, 3.0), np.zeros(4), max_step=0.05, rtol=1e-3, atol=1e-7)
    for place, (k, i) in enumerate(np.ndindex(2, 2)):
        reached = np.flatnonzero(np.abs(plain.y[place]) >= 0.999 * abs(goal[k, i]))[0]
        at = np.interp(0.999 * abs(goal[k, i]), np.abs(plain.y[place, : reached + 1]), plain.t[: reached + 1])
        assert_allclose(found.time[k, i], at, rtol=0.02, atol=0.01)


@pytest.mark.parametrize("slower", [1.0, 1e4])
def test_the_end_is_where_settle_puts_the_truck_on_the_air_that_has_moved(slower):
    end = rest(LEVEL + np.array([[5e3, 5e3], [20e3, 22e3]]))
    ports = tuple(port._replace(conductance=port.conductance / slower) for port in SUPPLY.ports)
    found = fill_time(RIG, replace(SUPPLY, ports=ports), start(), end, SUPPLY.full)
    assert found.longest > 0.1 * slower
    held = start().amount + FREE_AIR_PRESSURE * (found.air_in - found.air_out)
    settled = settle(RIG, RIG.kerb, SealedAir(held, np.asarray(SUPPLY.ambient)), start().state)
    assert_allclose(found.pressure[-1], settled.pressure, rtol=1e-9)
    assert_allclose(found.roll[-1], settled.state[2], atol=1e-9)


@settings(max_examples=12, deadline=None)
@given(
    st.lists(st.floats(0.5, 6.0), min_size=4, max_size=4),
    st.floats(0.8, 1.3),
    st.sampled_from([0.6, 1.0, 1.5]),
    st.floats(500e3, 1000e3),
)
def test_by_the_way_it_went_another_supply_takes_as_long_as_worked_out_afresh(lengths, factor, size, pressure):
    end = rest(LEVEL + np.array([[-6e3, 4e3], [25e3, 20e3]]))
    known = fill_time(RIG, lines(*lengths), start(), end, SUPPLY.full)
    other = replace(lines(*(factor * length for length in lengths)), volume=SUPPLY.volume * size)
    found = fill_alike(known, lines(*lengths), other, Tank(pressure))
    afresh = fill_time(RIG, other, start(), end, Tank(pressure))
    assert_allclose(found.time, afresh.time, rtol=0.02)
    assert_allclose(found.tank.pressure, afresh.tank.pressure, rtol=0.005)  # a compressor that hardly counts left out


def test_where_the_tank_may_stall_the_way_it_went_says_nothing():
    end = rest(LEVEL + np.array([[0.0, 0.0], [30e3, 30e3]]))
    known = fill_time(RIG, SUPPLY, start(), end, SUPPLY.full)
    assert fill_alike(known, SUPPLY, SUPPLY, SUPPLY.full) is known
    assert fill_alike(known, SUPPLY, SUPPLY, Tank(165e3)) is None
    slow = tuple(port._replace(conductance=port.conductance / 1e3) for port in SUPPLY.ports)
    fed = replace(SUPPLY, ports=slow, cut_in=SUPPLY.cut_out - 1e3)
    assert fill_alike(known, SUPPLY, fed, fed.full) is None  # minutes in which the compressor counts


def test_a_tank_that_is_down_to_the_bags_stalls_and_waits_for_the_compressor():
    end = rest(LEVEL + np.array([[0.0, 0.0], [30e3, 30e3]]))
    found = fill_time(RIG, SUPPLY, start(), end, Tank(165e3))
    assert found.stalls
    assert np.isfinite(found.stalled_at[1]).all()
    assert np.isnan(found.stalled_at[0]).all()
    assert (found.stalled_at[1] < 165e3).all()
    assert 10.0 < found.wait < found.longest
    slower = fill_time(RIG, replace(SUPPLY, duty=0.5), start(), end, Tank(165e3))
    assert_allclose(slower.wait, 2.0 * found.wait, rtol=1e-6)
    never = fill_time(RIG, replace(SUPPLY, cut_in=100e3, cut_out=170e3), start(), end, Tank(165e3))
    assert never.wait == np.inf
    assert never.longest == np.inf


def test_the_compressor_starts_at_cut_in_while_air_is_taken():
    end = rest(LEVEL + np.array([[20e3, 20e3], [30e3, 30e3]]))
    found = fill_time(RIG, SUPPLY, start(), end, Tank(SUPPLY.cut_in + 5e3))
    assert found.tank.running
    assert 0.0 < found.compressor_time < found.longest
    assert found.delivered > 0.0


def test_nothing_to_do_takes_no_time():
    found = fill_time(RIG, SUPPLY, start(), start(), SUPPLY.full)
    assert found.longest == 0.0
    assert found.tank == SUPPLY.full


def test_bags_on_one_line_have_one_valve_and_fill_together():
    axle = TRUCK.rear.replaced(plumbing="joined")
    truck = TRUCK.replaced(rear=axle)
    rig, supply = rig_of(truck), Supply.of(truck)
    assert [port.corners for port in supply.ports] == [((0, 0),), ((0, 1),), ((1, 0), (1, 1))]
    one, other = (
        air_at_rest(rig, rig.kerb, np.array([[270e3, 268e3], [rear, rear]]), np.zeros(4), supply.ambient)
        for rear in (159e3, 190e3)
    )
    found = fill_time(rig, supply, one, other, supply.full)
    assert found.time[1, 0] == found.time[1, 1] > 0
    assert_allclose(found.air_in[1].sum(), (other.amount - one.amount)[1, 0] / FREE_AIR_PRESSURE, rtol=1e-6)


def test_a_truck_without_air_says_what_it_needs():
    with pytest.raises(BadInput, match=r"air: is needed to work out the air: add \[air\] with tank_volume"):
        Supply.of(TRUCK.replaced(air=None))
