"""Levelling and settling against scipy.optimize, on balances written out anew (balances.py)."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import brentq, minimize, minimize_scalar, root

from planner.physics.bag_limits import Limit
from planner.physics.equilibrium import HeldPressure, SealedAir, settle
from planner.physics.levelling import level
from planner.physics.statics import Load

from .balances import Truck
from .rigs import PLUMBING, bag, random_loads, random_rig, random_stances, truck

FAR = np.array([1.0, 1.0, 1.0, 1e4])  # [m, m, rad, N·m] scales of the state for the solver


def single(load, j):
    return Load(load.axle[j], load.side_moment[j], load.least_twist[j])


def by_general_solver(truck_, start, pressure):
    weight = truck_.load.axle.sum()
    found = root(lambda s: truck_.left_over(s * FAR, pressure) / weight, start / FAR, tol=1e-13)
    assert np.abs(found.fun).max() < 1e-10, found.message
    return found.x * FAR


@pytest.mark.parametrize("plumbing", PLUMBING)
def test_held_pressures_settle_where_the_general_solver_says(plumbing):
    rng = np.random.default_rng(11)
    for _ in range(6):
        rig = random_rig(rng, plumbing, "falling")
        rig = replace(rig, anti_roll_rate=np.array([8e4, 4e4]), steel_rate=np.maximum(rig.steel_rate, 2e4))
        load = random_loads(rng, rig, 4, 0.3)
        levelled = level(rig, load, random_stances(rng, 4, wild=False))
        pressure = levelled.pressure * rng.uniform(0.95, 1.05, (4, 2, 1))
        settled = settle(rig, load, HeldPressure(pressure), levelled.state)
        for j in range(4):
            other = Truck(rig, single(load, j))
            start = settled.state[j] + np.array([2e-3, -2e-3, 1e-3, 50.0])
            found = by_general_solver(other, start, lambda travel, gauge=pressure[j]: gauge)
            assert_allclose(settled.state[j, :3], found[:3], rtol=0, atol=1e-8)
            assert_allclose(settled.state[j, 3], found[3], rtol=0, atol=1e-8 * other.load.axle.sum())


@pytest.mark.parametrize("plumbing", PLUMBING)
def test_sealed_air_settles_where_the_general_solver_says(plumbing):
    rng = np.random.default_rng(12)
    for _ in range(6):
        rig = random_rig(rng, plumbing, "falling")
        rig = replace(rig, anti_roll_rate=np.array([8e4, 4e4]))
        before, after = random_loads(rng, rig, 4, 0.2), random_loads(rng, rig, 4, 0.3)
        levelled = level(rig, before, random_stances(rng, 4, wild=False))
        height = rig.corners(before, levelled.state).spring_height
        # aired at 300 m and 20 °C, driven up to 1500 m and -5 °C
        air = SealedAir.shut(
            rig, height, levelled.pressure, ambient=97_770.0, temperature=293.15, ambient_now=84_556.0,
            temperature_now=268.15,
        )  # fmt: skip
        settled = settle(rig, after, air, levelled.state)
        for j in range(4):
            other = Truck(rig, single(after, j))
            travel = height[j] - rig.design_height
            law = other.sealed(levelled.pressure[j], travel, 97_770.0, 268.15 / 293.15, 84_556.0)
            start = settled.state[j] + np.array([2e-3, -2e-3, 1e-3, 50.0])
            found = by_general_solver(other, start, law)
            assert_allclose(settled.state[j, :3], found[:3], rtol=0, atol=1e-8)
            now = rig.corners(single(after, j), settled.state[j]).spring_height - rig.design_height
            has_bag = rig.has_bag
            assert_allclose(settled.pressure[j][has_bag], law(now)[has_bag], rtol=1e-8)


def split_by_bracket(other, wanted, bags):
    """Return the split nearest to the least twist with all pressures and bag loads in limits, None where none is."""
    target = float(other.load.least_twist)

    def worst(front):
        pressure = other.pressures(wanted[:2], wanted[2], front)
        travel = other.heights(wanted[:2], wanted[2], (front, other.load.side_moment - front))
        over = []
        for k, b in enumerate(bags):
            force = pressure[k] * [other.area(k, t) for t in travel[k]]
            over += [*(b.least_pressure - pressure[k]) / 1e5, *(pressure[k] - b.greatest_pressure) / 1e5]
            over += [*(force - b.load_rating) / 1e4] if np.isfinite(b.load_rating) else []
        return max(over)

    if worst(target) <= 0:
        return target
    # every pressure runs one way with the split, so their worst has one valley: its foot is feasible if anything is
    foot = minimize_scalar(worst, bounds=(target - 3e4, target + 3e4), method="bounded", options={"xatol": 1e-6}).x
    return brentq(worst, target, foot, xtol=1e-9) if worst(foot) <= 0 else None


def limited_cases(*, rated=True):
    rng = np.random.default_rng(13)
    for _ in range(60):
        greatest, least = rng.uniform(2.5e5, 5e5, 2), rng.uniform(0.5e5, 2.5e5, 2)
        rating = rng.choice([np.inf, 1.0], 2) * rng.uniform(9e3, 14e3, 2) if rated else (np.inf, np.inf)
        bags = tuple(bag(0.03, least=a, greatest=b, rating=c) for a, b, c in zip(least, greatest, rating, strict=True))
        rig = truck(left_share=rng.uniform(0.47, 0.53), bags=bags)
        load = random_loads(rng, rig, 1, 0.35)
        yield rig, single(load, 0), np.append(rng.uniform(-0.01, 0.01, 2), rng.uniform(-0.004, 0.004))


def test_least_twist_split_within_limits_is_the_nearest_that_is_possible():
    moved = impossible = 0
    for rig, load, wanted in limited_cases():
        answer, expected = level(rig, load, wanted), split_by_bracket(Truck(rig, load), wanted, rig.bags)
        if expected is None:
            impossible += 1
            assert (answer.held > 0).any()
            assert np.abs(answer.state[:3] - wanted).max() > 1e-7
            continue
        moved += abs(expected - load.least_twist) > 1
        assert_allclose(answer.state[:3], wanted, rtol=0, atol=1e-9)
        assert_allclose(answer.state[3], expected, rtol=0, atol=1e-4)
        assert (answer.held > 0).any() == (abs(expected - load.least_twist) > 1e-6)
    assert moved >= 5
    assert impossible >= 5


def test_least_twist_split_within_limits_is_that_of_sequential_quadratic_programming():
    checked = 0
    for rig, load, wanted in limited_cases(rated=False):
        answer, other = level(rig, load, wanted), Truck(rig, load)
        if np.abs(answer.state[:3] - wanted).max() > 1e-9:  # out of reach: the split is not all that gave way
            continue
        least = np.array([b.least_pressure for b in rig.bags])[:, None]
        greatest = np.array([b.greatest_pressure for b in rig.bags])[:, None]

        def room(x, other=other, wanted=wanted, least=least, greatest=greatest):
            p = other.pressures(wanted[:2], wanted[2], 1e3 * x[0])
            return np.concatenate([(p - least).ravel(), (greatest - p).ravel()]) / 1e5

        found = minimize(
            lambda x, t=float(load.least_twist) / 1e3: (x[0] - t) ** 2,
            [float(load.least_twist) / 1e3],
            method="SLSQP",
            constraints={"type": "ineq", "fun": room},
            options={"ftol": 1e-14, "maxiter": 200},
        )
        assert room(found.x).min() > -1e-6
        checked += 1
        assert_allclose(answer.state[3], 1e3 * found.x[0], rtol=0, atol=0.05)  # SLSQP's own tolerance
    assert checked >= 10


def test_limit_codes_name_what_the_corner_is_at():
    seen = set()
    for rig, load, wanted in limited_cases():
        answer = level(rig, load, wanted)
        for k, side in zip(*np.nonzero(answer.held), strict=True):
            limit, b = Limit(answer.held[k, side]), rig.bags[k]
            seen.add(limit)
            height = rig.corners(load, answer.state).spring_height[k, side]
            at = {
                Limit.LEAST_PRESSURE: (answer.pressure[k, side], b.least_pressure),
                Limit.GREATEST_PRESSURE: (answer.pressure[k, side], b.greatest_pressure),
                Limit.LOAD_RATING: (answer.pressure[k, side] * b.area(height), b.load_rating),
                Limit.LOWEST_HEIGHT: (height, b.lowest),
                Limit.HIGHEST_HEIGHT: (height, b.highest),
            }[limit]
            on_stop = 2e-3 if limit >= Limit.LOWEST_HEIGHT else 0.0  # [m] a stop of 1e7 N/m gives way by its load
            assert_allclose(*at, rtol=1e-6, atol=on_stop)
    assert {Limit.LEAST_PRESSURE, Limit.GREATEST_PRESSURE, Limit.LOAD_RATING} <= seen
