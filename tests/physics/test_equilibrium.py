"""Settling: rest, sealed air, shared lines, and when the pressures do not fix the stance."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.physics import equilibrium, statics
from planner.physics.equilibrium import HeldPressure, PartlySealed, SealedAir, enclosed_volume, settle
from planner.physics.levelling import level

from .rigs import PLUMBING, bag, lopsided, mirrored, random_loads, random_rig, truck

P0, T0 = 101_325.0, 293.15
SAME = {"ambient": P0, "temperature": T0, "ambient_now": P0, "temperature_now": T0}


@pytest.mark.parametrize("plumbing", PLUMBING)
def test_air_shut_in_and_left_alone_moves_nothing(plumbing):
    rig = truck(plumbing)
    before = level(rig, rig.kerb, np.zeros(3))
    height = rig.corners(rig.kerb, before.state).spring_height
    settled = settle(rig, rig.kerb, SealedAir.shut(rig, height, before.pressure, **SAME), before.state)
    assert_allclose(settled.state, before.state, atol=1e-9)
    assert_allclose(settled.pressure[rig.has_bag], before.pressure[rig.has_bag], rtol=1e-10)
    assert settled.fixed.all()


@given(
    st.sampled_from(PLUMBING[:5]), st.floats(0.085, 0.21), st.floats(0.085, 0.21), st.floats(0, 8e5), st.floats(0, 8e5),
    st.floats(6e4, 1.1e5), st.floats(230, 320),
)  # fmt: skip
def test_sealed_air_law_is_that_of_an_ideal_gas(plumbing, then, now, left, right, ambient_now, temperature_now):
    """P V / T of all gas on a line stays, for bags of any heights; joined bags end at one pressure."""
    rig = truck(plumbing)
    gauge = np.array([[left, right], [left, right]])
    gauge = np.where(np.array(rig.joined)[:, None], gauge[:, :1], gauge)
    at = np.array([[then, 0.12], [0.15, then]])
    later = np.array([[now, 0.16], [now, 0.14]])
    air = SealedAir.shut(
        rig, at, gauge, ambient=P0, temperature=T0, ambient_now=ambient_now, temperature_now=temperature_now
    )
    pressure = air.pressure(rig, later)
    for k, b in enumerate(rig.bags):
        if b is None:
            continue
        amount = (gauge[k] + P0) * b.gas_volume(at[k]) / T0
        amount_later = (pressure[k] + ambient_now) * b.gas_volume(later[k]) / temperature_now
        if rig.joined[k]:
            assert_allclose(amount_later.sum(), amount.sum(), rtol=1e-12)
            assert pressure[k, 0] == pressure[k, 1]
        else:
            assert_allclose(amount_later, amount, rtol=1e-12)


@pytest.mark.parametrize("plumbing", PLUMBING)
def test_slopes_of_the_air_are_those_of_its_force(plumbing):
    rig, small = truck(plumbing), 1e-7
    gauge = np.array([[3e5, 2.5e5], [4e5, 4.5e5]])
    gauge = np.where(np.array(rig.joined)[:, None], gauge[:, :1], gauge) * rig.has_bag[:, None]
    height = np.array([[0.131, 0.147], [0.162, 0.153]])
    held, sealed = HeldPressure(gauge), SealedAir.shut(rig, height, gauge, **SAME)
    valves = np.array([[True, True], [False, False]])
    for air in (held, sealed, PartlySealed(valves, held, sealed), PartlySealed(~valves, held, sealed)):
        own, across = air.slopes(rig, height, rig.springs(height), air.pressure(rig, height))
        for side in (0, 1):
            step = np.zeros((2, 2))
            step[:, side] = small
            up, down = (air.pressure(rig, height + s * step) * rig.area(height + s * step) for s in (1, -1))
            slope = (up - down) / (2 * small)
            assert_allclose(own[:, side], slope[:, side], rtol=1e-5, atol=1.0)
            assert_allclose(np.broadcast_to(across, own.shape)[:, 1 - side], slope[:, 1 - side], rtol=1e-5, atol=1.0)


def test_a_cold_morning_lets_the_truck_down_and_altitude_lifts_it():
    rig = truck()
    before = level(rig, rig.kerb, np.zeros(3))
    height = rig.corners(rig.kerb, before.state).spring_height
    cold = SealedAir.shut(rig, height, before.pressure, **(SAME | {"temperature_now": 263.15}))
    high = SealedAir.shut(rig, height, before.pressure, **(SAME | {"ambient_now": 80e3}))
    assert (settle(rig, rig.kerb, cold, before.state).state[:2] < -1e-3).all()
    assert (settle(rig, rig.kerb, high, before.state).state[:2] > 1e-4).all()


@pytest.mark.parametrize("plumbing", PLUMBING)
@pytest.mark.parametrize("axle", [0, 1])
def test_with_some_valves_open_a_truck_rests_as_on_sealed_air_of_what_the_bags_then_hold(plumbing, axle):
    """Shut bags keep their air to 1e-12; and that air alone gives the same rest and the same gauges."""
    rig, more = truck(plumbing), statics.point_load(2000.0, 0.5, 0.4, 4.0)
    before = level(rig, rig.kerb, np.zeros(3))
    height = rig.corners(rig.kerb, before.state).spring_height
    sealed = SealedAir.shut(rig, height, before.pressure, **SAME)
    valves = np.zeros((2, 2), bool)
    valves[axle, :] = [True, rig.joined[axle]]
    aim = (before.pressure + 20e3) * rig.has_bag[:, None]
    load = rig.kerb + more
    settled = settle(rig, load, PartlySealed(valves, HeldPressure(aim), sealed), before.state)
    assert settled.converged
    assert_allclose(settled.pressure[valves], aim[valves])
    amount = (settled.pressure + P0) * enclosed_volume(rig, rig.corners(load, settled.state).spring_height)
    assert_allclose(amount[~valves], sealed.amount[~valves], rtol=1e-12)
    again = settle(rig, load, SealedAir(amount, np.array(P0)), before.state)
    assert_allclose(again.state, settled.state, atol=1e-7)
    assert_allclose(again.pressure, settled.pressure, rtol=1e-6, atol=1e-3)


def test_joined_bags_share_what_they_enclose():
    rig = truck(("joined", "separate"))
    height = np.array([[0.1, 0.2], [0.1, 0.2]])
    gas = rig.gas_volume(height)
    assert_allclose(enclosed_volume(rig, height), [[gas[0].sum()] * 2, gas[1]])


@pytest.mark.parametrize("plumbing", PLUMBING)
def test_a_batch_is_its_cases_one_by_one_and_any_rank(plumbing):
    rng = np.random.default_rng(3)
    rig = truck(plumbing, anti_roll_rate=np.array([6e4, 3e4]))
    load = random_loads(rng, rig, 12, 0.2)
    levelled = level(rig, load, np.zeros(3))
    batch = settle(rig, load, HeldPressure(levelled.pressure), np.zeros(4))
    for j in range(12):
        one = load.take(np.arange(12) == j)
        alone = settle(rig, one, HeldPressure(levelled.pressure[j]), np.zeros(4))
        assert_allclose(alone.state[0, :3], batch.state[j, :3], atol=1e-8)
        assert (alone.fixed[0] == batch.fixed[j]).all()
        assert alone.roll_fixed[0] == batch.roll_fixed[j]
    deep = statics.Load(
        load.axle.reshape(3, 1, 4, 2), load.side_moment.reshape(3, 1, 4), load.least_twist.reshape(3, 1, 4)
    )
    again = settle(rig, deep, HeldPressure(levelled.pressure.reshape(3, 1, 4, 2, 2)), np.zeros(4))
    assert_allclose(again.state.reshape(12, 4)[:, :3], batch.state[:, :3], atol=1e-8)
    assert again.fixed.shape == (3, 1, 4, 2)
    assert again.roll_fixed.shape == (3, 1, 4)


def test_a_batch_of_trucks_of_one_layout_is_each_truck_alone():
    names = ("unsprung_load", "half_spacing", "track", "motion_ratio", "tyre_rate", "anti_roll_rate")
    names += ("steel_rate", "steel_load")
    alone = [
        truck(anti_roll_rate=np.array([a, 1e4]), tyre_rate=np.array([t, 6e5])) for a, t in ((2e4, 3e5), (9e4, 5e5))
    ]
    kerb = statics.Load(
        *(np.stack([getattr(r.kerb, n) for r in alone]) for n in ("axle", "side_moment", "least_twist"))
    )
    stacked = {n: np.stack([getattr(r, n) for r in alone]) for n in names}
    both = replace(alone[0], kerb=kerb, **stacked)
    load = kerb + statics.point_load(3e3, 1.0, 0.4, 4.0)
    gauge = np.array([[3.2e5, 2.9e5], [2.6e5, 2.5e5]])
    batch = settle(both, load, HeldPressure(gauge), np.zeros(4))
    for j, rig in enumerate(alone):
        one = settle(rig, rig.kerb + statics.point_load(3e3, 1.0, 0.4, 4.0), HeldPressure(gauge), np.zeros(4))
        assert_allclose(batch.state[j], one.state, atol=1e-8, rtol=1e-8)


def test_where_area_does_not_fall_and_no_steel_helps_pressure_does_not_fix_the_stance():
    flat = (bag(0.03, "constant"), bag(0.03, "constant"))
    rig = truck(bags=flat, steel_rate=np.zeros(2), steel_load=np.zeros(2), anti_roll_rate=np.zeros(2))
    before = level(rig, rig.kerb, np.zeros(3))
    settled = settle(rig, rig.kerb, HeldPressure(before.pressure), before.state)
    assert not settled.fixed.any()
    assert not settled.roll_fixed
    shut = SealedAir.shut(rig, rig.corners(rig.kerb, before.state).spring_height, before.pressure, **SAME)
    settled = settle(rig, rig.kerb, shut, before.state)
    assert settled.fixed.all()
    assert settled.roll_fixed


def test_each_axle_is_told_of_by_itself():
    rig = truck(bags=(bag(0.03, "constant"), bag(0.03)), steel_rate=np.zeros(2), steel_load=np.zeros(2))
    before = level(rig, rig.kerb, np.zeros(3))
    settled = settle(rig, rig.kerb, HeldPressure(before.pressure), before.state)
    assert settled.fixed.tolist() == [False, True]
    assert settled.roll_fixed


def test_what_is_told_of_as_fixed_is_told_by_its_rate():
    """An axle's height counts as fixed where rising a little takes force: more than 500 N/m of each spring."""
    for rate, fixed in ((400.0, False), (600.0, True)):
        rig = truck(bags=(bag(0.03, "constant"),) * 2, steel_rate=np.full(2, rate), steel_load=np.zeros(2))
        before = level(rig, rig.kerb, np.zeros(3))
        settled = settle(rig, rig.kerb, HeldPressure(before.pressure), before.state)
        assert settled.fixed.tolist() == [fixed, fixed]


@pytest.mark.parametrize("bags", [(bag(0.03, "constant"),) * 2, (bag(0.03, "rising"),) * 2])
@pytest.mark.parametrize("gauge", [1e5, 6e5])
def test_wrong_pressures_in_unsteady_bags_end_on_a_stop(bags, gauge):
    rig = truck(bags=bags, steel_rate=np.zeros(2), steel_load=np.zeros(2))
    settled = settle(rig, rig.kerb, HeldPressure(np.full((2, 2), gauge)), np.zeros(4))
    height = rig.corners(rig.kerb, settled.state).spring_height
    assert rig.on_stop(height).all(axis=-1).all()
    assert (height < 0.15).all() == (gauge == 1e5)
    assert np.abs(height - np.clip(height, 0.08, 0.22)).max() < 3e-3
    assert settled.fixed.all()


def test_no_rest_is_said_not_guessed():
    rig = truck()
    nonsense = np.full((2, 2), np.nan)
    assert not settle(rig, rig.kerb, HeldPressure(nonsense), np.zeros(4)).converged


def test_few_of_many_that_are_not_at_rest_are_said(monkeypatch):
    """One in ten starts far away and is not there when the others have dropped out."""
    rig = truck()
    before = level(rig, rig.kerb, np.zeros(3))
    start = np.tile(before.state, (50, 1))
    start[::10, :2] += 0.05
    monkeypatch.setattr(equilibrium, "MOST_STEPS", 1)
    found = settle(rig, rig.kerb, HeldPressure(before.pressure), start)
    assert found.converged.tolist() == [place % 10 > 0 for place in range(50)]
    assert np.isfinite(found.state).all()


@settings(max_examples=40)
@given(st.integers(0, 10_000), st.floats(0.47, 0.53))
def test_mirrored_load_and_pressures_give_the_mirrored_stance(seed, share):
    rng = np.random.default_rng(seed)
    rig = lopsided(random_rig(rng, shape="falling"), share)
    rig = replace(rig, anti_roll_rate=np.array([8e4, 4e4]))
    other = lopsided(rig, 1.0 - share)
    load = random_loads(rng, rig, 3, 0.2)
    gauge = level(rig, load, np.zeros(3)).pressure
    here = settle(rig, load, HeldPressure(gauge), np.zeros(4)).state
    there = settle(other, mirrored(load), HeldPressure(gauge[..., ::-1]), np.zeros(4)).state
    assert_allclose(there[:, :3], here[:, :3] * [1, 1, -1], rtol=0, atol=1e-8)
    assert_allclose(there[:, 3], -here[:, 3], rtol=0, atol=1e-3)


@pytest.mark.parametrize(("gauge", "end"), [(5.9e5, -0.1), (6.0e5, 0.0), (6.1e5, 0.1)])
def test_bags_of_one_area_carry_their_load_at_one_pressure_only(make_bag, make_rig, gauge, end):
    # 15 kN on 250 cm²: a tenth of a bar more or less runs to a stop, which gives less than a millimetre
    rig = make_rig(make_bag(250e-4, 10e-3), corner_load=15e3)
    settled = settle(rig, rig.kerb, HeldPressure(np.full((2, 2), gauge)), np.zeros(4))
    assert_allclose(settled.state[:2], end, rtol=0, atol=1e-3)
    assert settled.fixed.all() == (end != 0.0)
