"""Levelling: the wanted stance, the least twist, limits one by one, symmetry, more load, and hopeless cases."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.physics import statics
from planner.physics.bag_limits import Limit
from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.equilibrium import HeldPressure, settle
from planner.physics.levelling import level

from .rigs import (
    PLUMBING,
    bag,
    loads,
    lopsided,
    mirrored,
    random_loads,
    random_rig,
    random_stances,
    rigs,
    stances,
    truck,
)

SEPARATE = ("separate", "separate")


@pytest.mark.parametrize("pair", PLUMBING[:-1])
def test_a_bag_held_at_an_end_of_its_chart_is_off_the_stop(pair):
    """Held at its end to 1e-11 m; a stop of 1e7 N/m that carried it or not by the last bit would change its rates."""
    rng = np.random.default_rng(5)
    held = 0
    for _ in range(2):
        rig = random_rig(rng, pair, "falling")
        load, wanted = random_loads(rng, rig, 30, 0.3), random_stances(rng, 30, wild=True)
        answer = level(rig, load, wanted)
        height = rig.corners(load, answer.state).spring_height
        at_end = np.isin(answer.held, (Limit.LOWEST_HEIGHT, Limit.HIGHEST_HEIGHT))
        at_end &= np.abs(height[..., None] - rig.travel[:, None]).min(axis=-1) < 1e-11
        held += at_end.sum()
        assert not rig.on_stop(height)[at_end].any()
    assert held > 5


@given(st.data())
def test_within_limits_four_free_bags_give_stance_and_least_twist_exactly(data):
    rig = data.draw(rigs(SEPARATE))
    load, wanted = data.draw(loads(rig, 0.1)), data.draw(stances(0.01, 0.004))
    answer = level(rig, load, wanted)
    state = np.append(wanted, load.least_twist)
    height, force = rig.corners(load, state)
    pressure = (force - rig.steel_force(height)) / rig.area(height)
    inside = (pressure >= 0.5e5) & (pressure <= 7e5) & (height >= 0.08) & (height <= 0.22)
    assume(inside.all())
    assert (answer.held == Limit.NONE).all()
    assert_allclose(answer.state, state, rtol=0, atol=1e-12)
    assert_allclose(answer.pressure, pressure, rtol=1e-12)


@given(st.data())
def test_springs_carry_the_load_at_the_claimed_stance_whatever_holds(data):
    rig = data.draw(rigs())
    load, wanted = data.draw(loads(rig)), data.draw(stances(0.03, 0.02))
    answer = level(rig, load, wanted)
    height, force = rig.corners(load, answer.state)
    given_ = answer.pressure * rig.area(height) + rig.steel_force(height)
    assert_allclose(given_, force, rtol=0, atol=1e-8 * load.axle.sum())
    for k in (0, 1):
        if rig.joined[k]:
            assert answer.pressure[k, 0] == answer.pressure[k, 1]
        if rig.bags[k] is None:
            assert (answer.pressure[k] == 0).all()
            assert (answer.held[k] == Limit.NONE).all()


@given(st.data())
def test_level_then_settle_returns_the_stance(data):
    rig = data.draw(rigs(shapes=("falling",)))
    load, wanted = data.draw(loads(rig)), data.draw(stances())
    answer = level(rig, load, wanted)
    settled = settle(rig, load, HeldPressure(answer.pressure), answer.state + np.array([5e-3, -5e-3, 2e-3, 100.0]))
    assume(settled.fixed.all() and settled.roll_fixed)
    assert_allclose(settled.state[:3], answer.state[:3], rtol=0, atol=1e-6)


@settings(max_examples=60)
@given(st.integers(0, 100_000), st.sampled_from(PLUMBING), st.floats(0.47, 0.53))
def test_mirrored_load_gives_mirrored_pressures_and_stance(seed, plumbing, share):
    rng = np.random.default_rng(seed)
    rig = lopsided(random_rig(rng, plumbing, "falling"), share)
    rig = replace(rig, anti_roll_rate=np.array([8e4, 4e4]))
    other = lopsided(rig, 1.0 - share)
    load, wanted = random_loads(rng, rig, 3, 0.15), random_stances(rng, 3, wild=False)
    here, there = level(rig, load, wanted), level(other, mirrored(load), wanted * [1, 1, -1])
    assert_allclose(there.pressure, here.pressure[..., ::-1], rtol=1e-6, atol=1.0)
    assert_allclose(there.state[:, :3], here.state[:, :3] * [1, 1, -1], rtol=0, atol=1e-7)


@given(st.data())
def test_cargo_over_a_corners_spring_never_needs_less_pressure_there(data):
    rig = data.draw(rigs(SEPARATE))
    load, wanted = data.draw(loads(rig, 0.1)), data.draw(stances(0.01, 0.004))
    axle, side = data.draw(st.sampled_from([(k, s) for k in (0, 1) for s in (0, 1)]))
    x = float(rig.wheelbase) * (axle == 0)
    item = statics.point_load(
        data.draw(st.floats(0, 200)) * G, x, (1 - 2 * side) * rig.half_spacing[axle], rig.wheelbase
    )
    before, after = level(rig, load, wanted), level(rig, load + item, wanted)
    assume((before.held == 0).all() and (after.held == 0).all())
    assume(rig.springs(rig.corners(load, before.state).spring_height).area_slope[axle, side] <= 0)
    assert after.pressure[axle, side] >= before.pressure[axle, side] - 1e-6


@pytest.mark.parametrize(("plumbing", "free"), [(p, p.count("separate")) for p in PLUMBING])
def test_what_each_plumbing_reaches(plumbing, free):
    """Bags set their axle's height; one separate pair holds the roll; none leaves a lean; steel sinks as it must."""
    rig = truck(plumbing, anti_roll_rate=np.array([6e4, 3e4]))
    load = rig.kerb + statics.point_load(1500.0, 0.6, 0.3, rig.wheelbase)
    wanted = np.array([0.01, -0.005, 0.002])
    answer = level(rig, load, wanted)
    assert (answer.held == 0).all()
    for k in (0, 1):
        if plumbing[k] != "no bag":
            assert_allclose(answer.state[k], wanted[k], atol=1e-9)
        else:
            rate, at_spring = rig.steel_rate[k], (load.axle[k] - rig.unsprung_load[k]) / (2 * rig.motion_ratio[k])
            travel = -(at_spring - rig.steel_load[k]) / rate
            assert_allclose(answer.state[k] + rig.squash(load)[k], travel / rig.motion_ratio[k], atol=1e-9)
    if free:
        assert_allclose(answer.state[2], wanted[2], atol=1e-9)
    else:
        assert answer.state[2] < -1e-3
    if free == 2:
        assert_allclose(answer.state[3], load.least_twist, atol=1e-6)


@pytest.mark.parametrize("plumbing", [("joined", "separate"), ("no bag", "separate")])
def test_beside_one_separate_pair_the_other_axle_is_passive(plumbing):
    rig = truck(plumbing, anti_roll_rate=np.zeros(2))
    load = rig.kerb + statics.point_load(1500.0, 0.6, 0.3, rig.wheelbase)
    answer = level(rig, load, np.zeros(3))
    force = rig.corners(load, answer.state).spring_force
    # no roll between body and ground, one pressure or one rate on both sides: nothing there can carry a side moment,
    # save by the roll of the axle on its own tyres, which needs the moment first
    assert_allclose(answer.state[3], 0.0, atol=1e-5)
    assert_allclose(force[0, 0], force[0, 1], rtol=1e-8)
    assert_allclose(
        (force[1, 0] - force[1, 1]) * rig.motion_ratio[1] * rig.half_spacing[1], load.side_moment, rtol=1e-8
    )


@pytest.mark.parametrize("axle", [0, 1])
def test_one_pressure_too_high_for_one_corner_moves_the_split_not_the_stance(axle):
    free = truck()
    load = free.kerb + statics.point_load(2500.0, 3.0 if axle == 0 else 0.3, 0.4, 4.0)
    needed = level(free, load, np.zeros(3))
    limited = [bag(), bag()]
    limited[axle] = bag(greatest=float(needed.pressure[axle].max()) - 8e3)
    rig = truck(bags=tuple(limited))
    answer = level(rig, load, np.zeros(3))
    assert answer.held[axle].tolist() == [Limit.GREATEST_PRESSURE, Limit.NONE]
    assert answer.held[1 - axle].tolist() == [Limit.NONE, Limit.NONE]
    assert_allclose(answer.pressure[axle, 0], limited[axle].greatest_pressure, rtol=1e-9)
    assert_allclose(answer.state[:3], 0.0, atol=1e-9)
    assert abs(answer.state[3] - needed.state[3]) > 10.0


def test_both_corners_of_an_axle_too_weak_let_that_axle_down_and_nothing_else():
    rig = truck(bags=(bag(), bag(greatest=1.5e5)))
    answer = level(rig, rig.kerb, np.zeros(3))
    assert answer.held.tolist() == [[0, 0], [2, 2]]
    assert_allclose(answer.pressure[1], 1.5e5)
    assert_allclose(answer.state[0], 0.0, atol=1e-9)
    assert answer.state[1] < -5e-3


def test_a_load_rating_holds_the_bags_load():
    rig = truck(bags=(bag(), bag(rating=4.8e3)), steel_rate=np.full(2, 4e4))
    load = rig.kerb + statics.point_load(1e3, 0.0, 0.0, 4.0)
    answer = level(rig, load, np.zeros(3))
    assert (answer.held[1] == Limit.LOAD_RATING).any()
    height = rig.corners(load, answer.state).spring_height
    assert (answer.pressure * rig.area(height)).max(axis=-1)[1] <= 4.8e3 * (1 + 1e-6)
    assert answer.state[1] < -1e-3


@pytest.mark.parametrize(
    ("rise", "code", "end"), [(-0.2, Limit.LOWEST_HEIGHT, 0.08), (0.2, Limit.HIGHEST_HEIGHT, 0.22)]
)
@pytest.mark.parametrize("axle", [0, 1])
def test_a_wanted_rise_past_the_chart_is_held_at_its_end(rise, code, end, axle):
    rig = truck(anti_roll_rate=np.zeros(2), left_share=0.5)
    wanted = np.zeros(3)
    wanted[axle] = rise
    answer = level(rig, rig.kerb, wanted)
    assert (answer.held[axle] == code).any()
    assert_allclose(rig.corners(rig.kerb, answer.state).spring_height[axle], end, atol=1e-6)
    assert_allclose(answer.state[1 - axle], 0.0, atol=1e-9)
    assert_allclose(answer.state[2], 0.0, atol=1e-9)


def test_joined_bags_too_weak_for_their_axle_rest_on_their_stops_and_the_other_axle_still_holds_the_roll():
    rig = truck(("separate", "joined"), bags=(bag(), bag(rating=4.8e3)))
    load = rig.kerb + statics.point_load(2e3, 0.3, 0.2, 4.0)
    answer = level(rig, load, np.zeros(3))
    height = rig.corners(load, answer.state).spring_height
    assert (answer.held[1] == Limit.LOAD_RATING).any()
    assert_allclose((answer.pressure * rig.area(height))[1], 4.8e3, rtol=1e-6)
    assert (height[1] < 0.08).all()
    assert_allclose(answer.state[[0, 2]], 0.0, atol=1e-9)


def test_a_hopeless_overload_rests_on_its_stops_and_says_so():
    rig = truck(tape_error=0.003)
    load = rig.kerb + statics.point_load(150e3, 1.5, 0.0, 4.0)
    answer = level(rig, load, np.zeros(3))
    height = rig.corners(load, answer.state).spring_height
    assert (height < 0.08).all()
    assert (height > 0.08 - 0.01).all()
    assert (answer.held == Limit.GREATEST_PRESSURE).all()
    assert_allclose(answer.pressure, 7e5)


@pytest.mark.parametrize("plumbing", PLUMBING)
def test_a_batch_is_its_cases_one_by_one_and_any_rank(plumbing):
    rng = np.random.default_rng(5)
    rig = truck(plumbing, anti_roll_rate=np.array([6e4, 3e4]))
    load, wanted = random_loads(rng, rig, 12, 0.6), random_stances(rng, 12, wild=False)
    batch = level(rig, load, wanted)
    for j in range(12):
        alone = level(rig, load.take(np.arange(12) == j), wanted[j])
        assert_allclose(alone.pressure[0], batch.pressure[j], rtol=1e-7)
        assert_allclose(alone.state[0, :3], batch.state[j, :3], atol=1e-8)
        assert (alone.held[0] == batch.held[j]).all()
    deep = statics.Load(
        load.axle.reshape(3, 1, 4, 2), load.side_moment.reshape(3, 1, 4), load.least_twist.reshape(3, 1, 4)
    )
    again = level(rig, deep, wanted.reshape(3, 1, 4, 3))
    assert again.pressure.shape == again.held.shape == (3, 1, 4, 2, 2)
    assert_allclose(again.pressure.reshape(12, 2, 2), batch.pressure, rtol=1e-7)
    outer = level(rig, load, wanted[:2, None])
    assert outer.state.shape == (2, 12, 4)
    assert level(rig, rig.kerb, np.zeros(3)).state.shape == (4,)


def tried(seed, rigs_, cases, *, wild, pairs=PLUMBING, shape=None, heaviest=1.0):
    """Rigs over plumbing pairs in turn, each with a batch of loads and wanted stances, levelled."""
    rng = np.random.default_rng(seed)
    for i in range(rigs_):
        rig = random_rig(rng, pairs[i % len(pairs)], shape)
        load = random_loads(rng, rig, cases, heaviest)
        yield rig, load, level(rig, load, random_stances(rng, cases, wild=wild))


def ends(rig, name, missing):
    return np.array([[getattr(b, name) if b else missing] for b in rig.bags])


@pytest.mark.no_cover  # the lines are those of the tests above, ten thousand times
@pytest.mark.parametrize("wild", [False, True])
def test_ten_thousand_random_trucks_are_finite_and_within_pressure_limits(wild):
    """Overloads without hope, stances far outside the charts, areas constant or rising, steel from none to hard."""
    n = unfixed = 0
    for rig, load, answer in tried(21 + wild, 84, 60, wild=wild):
        n += 60
        assert np.isfinite(answer.state).all()
        assert np.isfinite(answer.pressure).all()
        has_bag = rig.has_bag[:, None]
        over = np.maximum(
            ends(rig, "least_pressure", 0) - answer.pressure, answer.pressure - ends(rig, "greatest_pressure", 0)
        )
        assert (np.where(has_bag, over, 0) <= 1.0).all()
        height, force = rig.corners(load, answer.state)
        past = np.maximum(ends(rig, "lowest", -np.inf) - height, height - ends(rig, "highest", np.inf))
        # a stop of 1e7 N/m yields by the force left to it, and no more
        left = (
            np.abs(force)
            + answer.pressure * rig.area(height)
            + np.abs(rig.steel_load[:, None])
            + rig.steel_rate[:, None] * 0.2
        )
        assert (np.where(has_bag, past, -1) <= left / 1e7 + 1e-9).all()
        balance = force - rig.steel_force(height) - answer.pressure * rig.area(height)
        assert (np.abs(balance).max(axis=(-1, -2)) <= 1e-9 * load.axle.sum(axis=-1)).all()
        settled = settle(rig, load, HeldPressure(answer.pressure), answer.state)
        assert_allclose(settled.state[:, :3], answer.state[:, :3], rtol=0, atol=1e-6)
        assert np.isfinite(settled.pressure).all()
        unfixed += (~(settled.fixed.all(axis=-1) & settled.roll_fixed)).sum()
    assert n == 5040
    assert unfixed > 50


def _line(rig, flags):
    """Let either corner of a shared line speak for both."""
    return np.where(np.array(rig.joined)[:, None], flags.any(axis=-1, keepdims=True), flags)


def _within_rating(rig, height, answer):
    return answer.pressure * rig.area(height) <= ends(rig, "load_rating", np.inf) * (1 + 1e-6)


def _told(rig, height, answer):
    past = np.maximum(ends(rig, "lowest", -np.inf) - height, height - ends(rig, "highest", np.inf))
    return (past < 1e-6) | _line(rig, answer.held > 0)


def _at_a_limit(rig, height, answer):
    near = 1e-6 * ends(rig, "greatest_pressure", 1.0)
    at = [
        np.ones_like(height, bool),
        np.abs(answer.pressure - ends(rig, "least_pressure", 0)) <= near,
        np.abs(answer.pressure - ends(rig, "greatest_pressure", 0)) <= near,
        np.abs(answer.pressure * rig.area(height) / ends(rig, "load_rating", np.inf) - 1) < 1e-5,
        height < ends(rig, "lowest", 0) + 1e-6,
        height > ends(rig, "highest", 0) - 1e-6,
    ]
    at = [_line(rig, flags) for flags in at]
    return np.choose(answer.held, at)


LIMITED = {
    "no bag carries more than its rating": _within_rating,
    "whoever rests on a stop is told of": _told,
    "whoever is told of is at a limit": _at_a_limit,
}


@pytest.mark.no_cover  # as above
@pytest.mark.parametrize("plumbing", PLUMBING, ids="-".join)
def test_limits_are_kept_and_told_of(plumbing):
    rng = np.random.default_rng(31)
    for _ in range(25):
        rig = replace(random_rig(rng, plumbing, "falling"), anti_roll_rate=np.array([8e4, 4e4]))
        rig = replace(rig, steel_rate=np.where(rig.has_bag, rig.steel_rate, np.maximum(rig.steel_rate, 8e4)))
        load = random_loads(rng, rig, 20, 0.5)
        answer = level(rig, load, random_stances(rng, 20, wild=False))
        height = rig.corners(load, answer.state).spring_height
        for claim, keeps in LIMITED.items():
            case = np.argwhere(~keeps(rig, height, answer))
            shown = [(answer.pressure[j], answer.held[j], height[j]) for j, *_ in case[:1]]
            assert not case.size, f"{claim}: {shown} with {rig.bags}"


def test_where_all_limits_are_met_at_the_least_twist_nothing_is_held():
    seen = 0
    for _, load, answer in tried(41, 10, 20, wild=False, pairs=[SEPARATE], shape="falling", heaviest=0.2):
        untouched = (answer.held == 0).all(axis=(-1, -2))
        assert_allclose(answer.state[untouched, 3], load.least_twist[untouched], rtol=0, atol=1e-9)
        seen += untouched.sum()
    assert seen > 20


def test_where_the_limits_leave_no_stance_the_answer_is_still_a_rest_at_them():
    rig = truck(bags=(bag(), bag(greatest=1.5e5)))
    load = rig.kerb + statics.point_load(15e3, 0.2, 0.3, 4.0)
    answer = level(rig, load, np.zeros(3))
    assert answer.converged
    assert_allclose(answer.pressure[1].max(), 1.5e5)
    assert (answer.held[1] > 0).all()
    again = settle(rig, load, HeldPressure(answer.pressure), answer.state)
    assert_allclose(again.state[:3], answer.state[:3], atol=1e-8)
