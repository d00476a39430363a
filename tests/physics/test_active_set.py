"""What is best at a limit: held to a scan of all states, and to what must always hold."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.physics import statics
from planner.physics.bag_limits import Limit
from planner.physics.equilibrium import HeldPressure, settle
from planner.physics.level_goal import Coupling
from planner.physics.levelling import level

from .brute_scan import Search, least_departure, least_lean, one_case
from .rigs import PLUMBING, bag, random_loads, random_rig, random_stances, truck

TAPE = 0.003175  # [m] 1/8 in
BETTER = 1e-4  # [m] of lean or rise that would make another state better
CASES = 6  # of each plumbing pair


def tight_cases(pair, count, seed):
    """Random trucks of a plumbing pair under a load that a limit binds, with what levelling makes of them."""
    rng = np.random.default_rng([seed, PLUMBING.index(pair)])
    found = 0
    while found < count:
        rig = replace(random_rig(rng, pair), tape_error=TAPE)
        load, wanted = random_loads(rng, rig, 30, 0.5), random_stances(rng, 30, wild=False)
        answer = level(rig, load, wanted)
        for j in np.flatnonzero((answer.held > 0).any(axis=(1, 2)))[:2]:
            found += is_inside(rig, one_case(load, j), answer.state[j])
            yield rig, one_case(load, j), wanted[j], answer.state[j]


def is_inside(rig, load, state):
    """Whether no bag is past an end of its chart, so on a stop."""
    height = rig.corners(load, state).spring_height
    return all(
        bag is None or (bag.lowest - 1e-6 <= height[k].min() and height[k].max() <= bag.highest + 1e-6)
        for k, bag in enumerate(rig.bags)
    )


@pytest.mark.no_cover  # most of it is the scan
@pytest.mark.parametrize("pair", [p for p in PLUMBING if p != ("no bag", "no bag")], ids="-".join)
def test_no_state_inside_all_limits_is_better(pair):
    """Least lean, then within what a tape can tell of it the least larger departure; see `brute_scan`.

    Where no axle has a line for each bag the roll is an outcome: only the departure is compared.
    """
    worse, compared = [], 0
    for rig, load, wanted, state in tight_cases(pair, CASES, 5):
        search = Search(rig, load, wanted)
        lean = abs(state[2] - wanted[2]) * rig.track[1]
        departure = np.abs(state[:2] - wanted[:2]).max()
        upright = least_lean(search) if search.steered else None
        if not is_inside(rig, load, state):
            if upright is not None and search.steered:
                worse.append(("a state inside all limits is there", upright, lean))
            continue
        compared += 1
        if search.steered and upright is not None and lean > upright + TAPE + BETTER:
            worse.append(("lean", upright, lean))
        nearest = least_departure(search, lean + 1e-6 if search.steered else np.inf)
        if nearest is not None and departure > nearest + BETTER:
            worse.append(("departure", nearest, departure))
    assert not worse
    assert compared >= CASES


def test_a_truck_stands_upright_where_one_more_corner_of_air_lets_it():
    """Limits once held are let go again: held one after the other, this truck leaned though it could stand upright."""
    leaned = 0
    for rig, load, wanted, state in tight_cases(("separate", "separate"), 25, 77):
        if abs(state[2] - wanted[2]) * rig.track[1] > TAPE + BETTER and is_inside(rig, load, state):
            upright = least_lean(Search(rig, load, wanted))
            leaned += upright is not None and upright < BETTER
    assert leaned == 0


@pytest.mark.no_cover  # hundreds of steps, each the same lines
@pytest.mark.parametrize(("pair", "nth", "case"), [("joined-joined", 133, 25), ("joined-separate", 122, 3)])
def test_a_truck_is_inside_its_limits_alone_and_beside_others_where_the_steps_see_saw(pair, nth, case):
    """The steps ended a hair outside and rounding decided: such a truck was put on its stops in one batch of two."""
    pair = tuple(pair.split("-"))
    rng = np.random.default_rng([1, PLUMBING.index(pair), 99])
    for _ in range(nth + 1):
        rig = replace(random_rig(rng, pair), tape_error=TAPE)
        load, wanted = random_loads(rng, rig, 30, 0.5), random_stances(rng, 30, wild=False)
    offs, its = np.append(0.0, 1e-9 * np.arange(-5, 6)), one_case(load, case)
    besides = [level(rig, load, wanted).state[case], *level(rig, load, wanted + offs[1:, None, None]).state[:, case]]
    for off, beside in zip(offs, besides, strict=True):
        alone = level(rig, its, wanted[case] + off)
        assert is_inside(rig, its, alone.state)
        assert is_inside(rig, its, beside)
        assert_allclose(beside[:3], alone.state[:3], atol=1e-4)


def test_a_bag_on_a_shared_line_is_at_its_rating_and_not_over_it():
    rng, seen = np.random.default_rng(8), 0
    for _ in range(60):
        rig = random_rig(rng, ("separate", "joined"), "falling")
        if not np.isfinite(rig.bags[1].load_rating):
            continue
        load = random_loads(rng, rig, 20, 0.6)
        answer = level(rig, load, np.zeros((20, 3)))
        carried = answer.pressure * rig.area(rig.corners(load, answer.state).spring_height)
        assert (carried[:, 1] <= rig.bags[1].load_rating * (1 + 1e-7)).all()
        seen += int((answer.held[:, 1] == Limit.LOAD_RATING).any(axis=-1).sum())
    assert seen > 20


@pytest.mark.no_cover  # the lines are those of the other tests, fifty thousand times
def test_fifty_thousand_random_trucks_are_levelled_and_settled_to_a_rest():
    """All plumbing pairs, overloads without hope, stances far outside the charts, pressures up to 1.3 × the limit."""
    rng, lost, count = np.random.default_rng(2), 0, 0
    for i in range(18):
        rig = replace(random_rig(rng, PLUMBING[i % 9]), tape_error=TAPE)
        load, wanted = random_loads(rng, rig, 2800, 1.0), random_stances(rng, 2800, wild=i % 2 == 0)
        answer = level(rig, load, wanted)
        most = np.array([one.greatest_pressure if one else 0.0 for one in rig.bags])
        gauge = rng.uniform(0, 1.3, (2800, 2, 2)) * most[:, None]
        gauge[:, np.array(rig.joined)] = gauge[:, np.array(rig.joined), :1]
        settled = settle(rig, load, HeldPressure(gauge), answer.state)
        lost += int((~answer.converged).sum() + (~settled.converged).sum())
        count += 2800
    assert count > 50_000
    assert lost == 0


def test_the_coupling_comes_first_then_the_lean_then_the_front():
    """A dip beyond the rear's travel tips the front up, and leans a little where only that goes lower."""
    rig = truck(tape_error=TAPE)
    wanted = np.array([0.0, -0.12, 0.0])
    stance, dip = level(rig, rig.kerb, wanted), level(rig, rig.kerb, wanted, Coupling(-0.33, 0.0))

    def height(state):
        return state[1] + (state[0] - state[1]) * -0.33

    assert abs(stance.state[0]) < 1e-3
    assert dip.state[0] > 0.01
    assert height(dip.state) < height(stance.state) - 0.003
    assert abs(dip.state[2]) * rig.track[1] < TAPE
    assert height(dip.state) < lowest_upright(rig, height) - 1e-5
    reached = level(rig, rig.kerb, np.array([0.0, -0.03, 0.0]), Coupling(-0.33, 0.0))
    assert_allclose(reached.state[:3], [0.0, -0.03, 0.0], atol=1e-12)


def lowest_upright(rig, height):
    """The lowest coupling of an upright truck of which no bag passes an end of its travel, whatever the split."""
    splits = np.linspace(-500.0, 500.0, 2001)
    upright = np.stack([splits * 0.0, splits * 0.0, splits * 0.0, splits], axis=-1)
    at_nought = rig.corners(rig.kerb, upright).spring_height
    upright[:, 0] = ((rig.travel[0, 1] - at_nought[:, 0]) / rig.motion_ratio[0]).min(axis=-1)
    upright[:, 1] = ((rig.travel[1, 0] - at_nought[:, 1]) / rig.motion_ratio[1]).max(axis=-1)
    return min(height(state) for state in upright)


@pytest.mark.parametrize("arm", [-0.33, 0.1])
def test_no_front_rise_gives_a_lower_coupling_within_the_limits(arm):
    """By brute force: every front rise, each levelled with the rear as low as its bags go."""
    rng = np.random.default_rng(3)
    for _ in range(6):
        rig = replace(random_rig(rng, ("separate", "separate"), "falling"), tape_error=0.0)
        load = one_case(random_loads(rng, rig, 1, 0.1), 0)
        answer = level(rig, load, np.array([0.0, -0.3, 0.0]), Coupling(arm, 0.0))
        fronts = np.linspace(-0.2, 0.2, 401)
        tried = level(rig, load, np.stack([fronts, np.full(401, -0.3), np.zeros(401)], axis=-1)).state
        tried = tried[[is_inside(rig, load, state) for state in tried]]
        heights = tried[:, 1] * (1 - arm) + tried[:, 0] * arm
        target = -0.3 * (1 - arm)
        reached = answer.state[1] * (1 - arm) + answer.state[0] * arm
        assert len(heights) > 0
        assert abs(reached - target) <= np.abs(heights - target).min() + BETTER


def test_an_overloaded_axle_on_its_stops_holds_all_the_air_it_may_and_the_other_axle_the_roll():
    rig = truck(bags=(bag(), bag(greatest=1.5e5)), tape_error=TAPE)
    load = rig.kerb + statics.point_load(15e3, 0.2, 0.3, 4.0)
    answer = level(rig, load, np.zeros(3))
    assert answer.converged
    assert_allclose(answer.pressure[1].max(), 1.5e5)
    assert abs(answer.state[2]) * rig.track[1] <= TAPE
