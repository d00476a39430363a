"""Levelling at a limit: the best state of the truck whose pressures, bag loads and heights are inside every limit.

Best is what comes first in a goal. Of a stance: the least lean against the wanted one; then, within what a tape can
tell of that lean, the least of the larger departure of the two rises; then the other rise; then the least frame twist.
Of a coupling: its height, the lean, the front's rise, the twist. Where no axle has a line for each of its bags the
rises come before the lean, for the reason in `physics.level_goal`.

The statics are linear in the state and only the charts are not, so each step solves a linear programme
(`physics.linear_programme`) at the charts' present slopes; the steps close in as Newton's do.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import product
from typing import Final, NamedTuple

import numpy as np

from planner.physics.array_layout import by_place, empty_arrays, some_of
from planner.physics.bag_limits import AT_LIMIT, bounds_of
from planner.physics.level_goal import SPLIT, Goal
from planner.physics.limit_rows import Limits, count_rows, linear_programme_at, rooms_left
from planner.physics.linear_programme import MET, Programme, blank, least_deviation
from planner.physics.statics import Load
from planner.physics.truck_model import AXLE, Rig
from planner.physics.validation import Array, Flags

SPLIT_STEPS: Final = 5
SAME_SPLIT: Final = 1e-6  # [N·m] a step no longer than this is the last
STRAIGHT: Final = 0.02  # [-] by which part of its length the line of a limit may be off
BOLD_STEPS: Final = 15
WARY_STEPS: Final = 24
FURTHER_STARTS: Final = (0.2, 0.8)  # [-] of the bags' travel
DEAREST: Final = 1e3  # [-] weight of a limit that is passed
LONGEST_STEP: Final = 0.04  # [m] in one step, so that no step leaves the neighbourhood its slopes were taken in
CLOSE: Final = 1e-4  # [m] a step no longer than this has found which limits hold
SHORT_STEPS: Final = 5
STILL: Final = 1e-6  # [m] a reach that is none
HOPELESS: Final = 5  # steps in a row from which no limits can all be met, after which none is looked for
TURNED_BACK: Final = 0.25  # [-] a step that goes back by more of the one before is a see-saw, and halved
REACHED: Final = 1e-5  # [m] a rise nearer to the wanted one has nothing to gain
MAY_GAIN: Final = 0.2  # [-] of that, by the slopes where the truck is upright: farther on a lean may be worth more
FINE_HEIGHTS: Final = 400  # of a chart looked at for the most that a bag gives
WIDENED: Final = 1e-3  # [-] and what lies between two of them


class Held(NamedTuple):
    """The best states inside all limits; met: whether there is one, and it was found."""

    state: Array
    met: Flags


def hold_limits(
    rig: Rig, load: Load, target: Array, goal: Goal, *, limits: Limits = "all", start: Array | None = None
) -> Held:
    """Return the best states of a goal inside every limit, shape (n, 4).

    Parameters
    ----------
    rig : Rig
        One truck.
    load : Load
        n cases in a row.
    target : array, shape (n, 4)
        The state aimed at: rises [m], roll [rad] and the front axle's side moment that twists least there [N·m].
    goal : Goal
    limits : "all", "on stops" or "none"
        On stops the ends of the bags' travel give way as their stops do, while pressures and loads are held. With none
        only shared lines and steel bind.
    start : array, shape (n, 4), optional
        A state to start from; the target where left out.

    Returns
    -------
    Held
        Where nothing meets all limits, as where the air cannot carry an overload, ``met`` is False and the state is
        no rest.

    Notes
    -----
    The twist gives way first: where another split of the side moment meets all limits, nothing else is given up.
    Otherwise sequential linear programming (R. Fletcher, Practical Methods of Optimization, 2nd ed., Wiley, 1987,
    ch. 12, from memory): as many limits hold as there are targets given up, so the steps are Newton's on those limits.
    A step is bounded by LONGEST_STEP and halved where it turns back.

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import rig_of
    >>> rig = rig_of(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> from planner.physics.level_goal import goal_of
    >>> high = np.array([[0.2, 0.0, 0.0, 0.0]])  # [m] past the top of the front bags' travel
    >>> hold_limits(rig, rig.kerb.spread((1,)), high, goal_of(rig)).state[0, :2].round(3).tolist()
    [0.051, 0.0]
    """
    state, met = empty_arrays((4,), len(target)), np.zeros(len(target), bool)
    state[:] = target
    tried = _may_be_carried(rig, load, target) if limits == "all" else ~met
    if limits == "all" and all_steered(rig):
        split, met[tried] = split_inside(rig, load.take(tried), target[tried])
        state[met, SPLIT] = split[met[tried]]
        tried &= ~met
    if tried.any():
        near = None if start is None else start[tried]
        state[tried], met[tried] = _hold_some(rig, load.take(tried), target[tried], goal, limits, near)
    return Held(state, met)


def all_steered(rig: Rig) -> bool:
    """Tell whether both rises, the roll and the split are ours to choose: a line for each of four bags.

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import rig_of
    >>> rig = rig_of(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> all_steered(rig)
    True
    """
    return all(bag is not None and not joined for bag, joined in zip(rig.bags, rig.joined, strict=True))


def split_inside(rig: Rig, load: Load, target: Array, *, all_of_them: bool = False) -> tuple[Array, Flags]:
    """Return the front axle's side moment nearest to the targets' with no bag past a limit, and whether there is one.

    Parameters
    ----------
    rig : Rig
        One truck with a line for each of four bags.
    load : Load
        n cases in a row.
    target : array, shape (n, 4)
    all_of_them : bool
        Whether to look for the least bad split too where the limits leave none: it is between them.

    Returns
    -------
    split : array, shape (n,)
        [N·m]
    inside : array, shape (n,)
        Whether no bag passes a limit there.

    Notes
    -----
    Each limit of each corner is a straight line in the split but for the area of the bag, which changes by what the
    axle rolls on its tyres: Newton's steps.

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import rig_of
    >>> rig = rig_of(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> split_inside(rig, rig.kerb.spread((1,)), np.zeros((1, 4)))[1].tolist()  # as much on the left as on the right
    [True]
    """
    split, inside = target[:, SPLIT].copy(), np.zeros(len(target), bool)
    at, going = target.copy(), np.arange(len(target))
    for _ in range(SPLIT_STEPS):
        least, most = _splits_inside(rig, load, at)
        wanted = target[going, SPLIT]
        new = np.where(least <= most, np.minimum(np.maximum(wanted, least), most), 0.5 * (least + most))
        near = np.abs(new - at[:, SPLIT]) <= SAME_SPLIT
        split[going], inside[going] = new, near & (least <= most)
        at[:, SPLIT] = new
        go = ~near
        if not all_of_them:
            go &= least - most <= STRAIGHT * (np.abs(least - wanted) + np.abs(most - wanted))
        if not go.any():
            break
        if not go.all():
            at, load, going = some_of(at, go), load.take(go), going[go]
    return split, inside


def _splits_inside(rig: Rig, load: Load, state: Array) -> tuple[Array, Array]:
    """Return the least and the most side moment on the front axle inside every limit, by a state's slopes, (n,)."""
    height, force = (by_place(part) for part in rig.corners(load, state))
    least, most, bounds = np.full(len(state), -np.inf), np.full(len(state), np.inf), bounds_of(rig)
    with np.errstate(divide="ignore", invalid="ignore"):
        for k, bag in enumerate(rig.bags):
            assert bag is not None
            at_least, at_least_slope, at_most, at_most_slope = bag.limit_loads(height[k])
            for side in (0, 1):
                own = AXLE[k] * rig.height_by_moment[k, side]
                firm = AXLE[k] * rig.force_by_moment[k, side] + rig.steel_rate[k] * own
                steel = rig.steel_load[k] - rig.steel_rate[k] * (height[k, side] - rig.design_height[k, side])
                air = force[k, side] - steel
                for room, gain in (
                    (air - at_least[side], own * at_least_slope[side] - firm),
                    (at_most[side] - air, firm - own * at_most_slope[side]),
                    (bounds.rating[k] - air, firm),
                    (height[k, side] - bounds.lowest[k], -own),
                    (bounds.highest[k] - height[k, side], own),
                ):
                    far = room / gain
                    if np.ndim(gain):
                        np.fmin(most, far, out=most, where=gain > 0.0)
                        np.fmax(least, far, out=least, where=gain < 0.0)
                    elif gain > 0.0:
                        np.minimum(most, far, out=most)
                    else:
                        np.maximum(least, far, out=least)
    return least + state[:, SPLIT], most + state[:, SPLIT]


def _may_be_carried(rig: Rig, load: Load, target: Array) -> Flags:
    """Tell which loads the two bags of each axle may carry at some height, whatever the stance, shape (n,).

    The springs of an axle carry its sprung load together; no height gives them more than at the greatest pressure and
    the rating, nor less than at the least.
    """
    force = by_place(rig.corners(load, target).spring_force)
    may = np.ones(len(target), bool)
    for k, (least, most) in enumerate(_carried_at_most(rig)):
        both = force[k, 0] + force[k, 1]
        may &= (both <= 2.0 * most) & (both >= 2.0 * least)
    return may


@lru_cache(maxsize=32)
def _carried_at_most(rig: Rig) -> tuple[tuple[float, float], ...]:
    """Return the least and the most that a corner of each axle gives inside its limits. [N]"""
    found = []
    for k, bag in enumerate(rig.bags):
        if bag is None:
            found.append((-np.inf, np.inf))
            continue
        heights = np.linspace(bag.lowest, bag.highest, FINE_HEIGHTS)
        steel = rig.steel_load[k] - rig.steel_rate[k] * (heights - rig.design_height[k].mean())
        spare = WIDENED * (rig.steel_rate[k] * (bag.highest - bag.lowest) + 1.0)
        at_least, _, at_most, _ = bag.limit_loads(heights)
        most, least = steel + np.minimum(at_most, bag.load_rating), steel + at_least
        found.append((float(least.min() * (1 - WIDENED) - spare), float(most.max() * (1 + WIDENED) + spare)))
    return tuple(found)


def _hold_some(
    rig: Rig, load: Load, target: Array, goal: Goal, limits: Limits, near: Array | None
) -> tuple[Array, Flags]:
    """Return the best states of some cases, and which were found."""
    start = goal.coordinates(target if near is None else near, target, load)
    best = _best_approach(rig, load, target, goal, goal.weights, start, None, limits, None)
    at, met = best.coordinates, best.met
    if not (limits == "all" and goal.relaxed.size and rig.tape_error):
        return goal.state(target, load, at), met
    lean, front, rear = (at[goal.names.index(name)] for name in ("lean", "front", "rear"))
    off = np.maximum(np.abs(front), np.abs(rear)) > REACHED
    more = met & off & (_worth_of_lean(goal, best) * rig.tape_error > MAY_GAIN * REACHED)
    if more.any():
        bound = (np.abs(lean) + rig.tape_error * (1.0 - 1e-6))[more]
        begun = _let_lean(goal, best.take(more), count_rows(rig, limits))
        found = _best_approach(
            rig, load.take(more), target[more], goal, goal.relaxed, at[:, more], bound, limits, begun
        )
        larger = goal.names.index("larger")
        gains = found.met & (found.coordinates[larger] < at[larger, more] - REACHED)
        at[:, np.flatnonzero(more)[gains]] = found.coordinates[:, gains]
    return goal.state(target, load, at), met


def _best_approach(
    rig: Rig,
    load: Load,
    target: Array,
    goal: Goal,
    weights: Array,
    start: Array,
    bound: Array | None,
    limits: Limits,
    begun: Programme | None,
) -> Programme:
    """Return what `_approach` finds; where other states may be best near themselves, the best from several starts.

    Two heights may be where a bag's area grows with its height, and two sets of limits where the lean or the split is
    not ours to choose: then each end of either axle's travel is started from too, unless nothing is left to gain.
    """
    found = _approach(rig, load, target, goal, weights, start, bound, limits, begun)
    if limits != "all" or not (_may_be_best_twice(rig) or not all_steered(rig)):
        return found
    again = ~found.met | (np.abs(found.coordinates[_may_gain(rig, goal, weights)]).max(axis=0, initial=0.0) > REACHED)
    if not again.any():
        return found
    load, target, bound, cases = load.take(again), some_of(target, again), _of(bound, again), np.flatnonzero(again)
    starts = _further_starts(rig, load, target)
    count = len(starts)
    load, target = load.spread((count, len(cases))), np.tile(target, (count, 1))
    bound = None if bound is None else np.tile(bound, count)
    start = goal.coordinates(np.concatenate(starts), target, load)
    others = _approach(rig, load, target, goal, weights, start, bound, limits, None)
    others.slope[:] = np.inf  # what a lean is worth elsewhere says nothing of the others
    for first in range(0, count * len(cases), len(cases)):
        other, best = others.take(slice(first, first + len(cases))), found.take(again)
        dearer = weights @ np.abs(other.coordinates) >= weights @ np.abs(best.coordinates) - 1e-12
        better = other.met & ~(best.met & dearer)
        found.put(cases[better], other.take(better))
    return found


def _may_gain(rig: Rig, goal: Goal, weights: Array) -> list[int]:
    """Return which coordinates may be nearer to nought elsewhere: the dear ones, and for the larger rise those of bags.

    The rise of an axle with no bag is the same in every state: its steel alone carries the axle's load.
    """
    names = goal.names
    dear = weights >= weights[names.index("larger" if "larger" in names else "lean")]
    found = [place for place in np.flatnonzero(dear).tolist() if names[place] != "larger"]
    if "larger" in names:
        axles = zip(("front", "rear"), rig.bags, strict=True)
        found += [names.index(name) for name, bag in axles if bag is not None]
    return found


def _may_be_best_twice(rig: Rig) -> bool:
    """Tell whether the area of a bag grows with its height somewhere on its chart."""
    return any(bag is not None and bag.grows_with_height for bag in rig.bags)


def _further_starts(rig: Rig, load: Load, target: Array) -> list[Array]:
    """Return the targets with the rises that put the bags of either axle at parts of their travel, each (n, 4)."""
    squash, rises = rig.squash(load), []
    for k, bag in enumerate(rig.bags):
        if bag is None:
            rises.append([target[:, k]])
            continue
        heights = (bag.lowest + part * (bag.highest - bag.lowest) for part in FURTHER_STARTS)
        rises.append([(height - bag.fitted_height) / rig.motion_ratio[k] - squash[:, k] for height in heights])
    return [np.stack([front, rear, *target.T[2:]], axis=-1) for front, rear in product(*rises)]


def _approach(
    rig: Rig,
    load: Load,
    target: Array,
    goal: Goal,
    weights: Array,
    start: Array,
    bound: Array | None,
    limits: Limits,
    begun: Programme | None,
) -> Programme:
    """Return the programmes that the steps come to; begun: much like the first ones."""
    cases = len(target)
    found, now, going = blank(len(weights), cases), start, np.arange(cases)
    last, part, hopeless = np.zeros_like(now), np.ones(cases), np.zeros(cases, int)
    lasting, programme = goal.lasting, begun
    for _ in range(BOLD_STEPS):
        rows, room, equal = linear_programme_at(rig, load, target, goal, now, bound, limits)
        programme = least_deviation(rows, room, weights, equal, programme)
        step = programme.coordinates - now
        length = np.abs(step[lasting]).max(axis=0)
        back = (step * last)[lasting].sum(axis=0) < -TURNED_BACK * (last * last)[lasting].sum(axis=0)
        part = np.where(back, 0.5 * part, np.minimum(1.0, 1.5 * part))
        last = step * (part * np.minimum(1.0, LONGEST_STEP / np.maximum(length, LONGEST_STEP)))
        now = now + last
        hopeless = np.where(programme.met, 0, hopeless + 1)
        done = (length <= CLOSE) | (hopeless == HOPELESS)
        if done.any():
            close = done & programme.met
            some = programme.take(close)
            met = _closed_in(rig, load.take(close), some_of(target, close), goal, some, _of(bound, close), limits)
            found.put(going[done & ~close], programme.take(done & ~close))
            found.put(going[close][met], some.take(met))
            done[close] = met
            go = ~done
            if not go.any():
                return found
            load, target, going = load.take(go), some_of(target, go), going[go]
            now, last, part, hopeless = (np.compress(go, one, axis=-1) for one in (now, last, part, hopeless))
            programme, bound = programme.take(go), _of(bound, go)
    found.coordinates[:, going], found.met[going] = _approach_warily(
        rig, load, target, goal, weights, now, bound, limits
    )
    return found


def _of(bound: Array | None, cases: Flags) -> Array | None:
    """Return the bounds of some cases, if there are any."""
    return None if bound is None else bound[cases]


def _closed_in(
    rig: Rig, load: Load, target: Array, goal: Goal, found: Programme, bound: Array | None, limits: Limits
) -> Flags:
    """Close in on the limits that are held, with the slopes as they were; tell where all limits are met, shape (n,)."""
    c, n = found.coordinates.shape
    is_row = found.basis >= c
    at = (np.where(is_row, found.basis - c, 0) * n) + np.arange(n)
    for _ in range(SHORT_STEPS):
        room, _ = rooms_left(rig, load, target, goal, found.coordinates, bound, limits)
        left = np.where(is_row, room.reshape(-1).take(at), 0.0)
        met: Flags = (np.abs(left).max(axis=0) <= MET) & (room.min(axis=0) >= -MET)
        if met.all():
            break
        found.coordinates[:] += np.where(met, 0.0, np.einsum("akn,kn->an", found.inverse, left))
    return met


def _worth_of_lean(goal: Goal, found: Programme) -> Array:
    """Return by how much a metre of lean would lessen the larger departure; infinite where there is a lean already."""
    at_nought = found.basis == goal.names.index("lean")
    gain: Array = np.abs(np.where(at_nought, found.inverse[goal.names.index("larger")], 0.0)).sum(axis=0)
    return np.where(at_nought.any(axis=0) & np.isfinite(found.slope).all(axis=0), gain, np.inf)


def _let_lean(goal: Goal, found: Programme, limits: int) -> Programme:
    """Return the bases of upright trucks with the lean at its bound, on the side where it lessens what is dearer."""
    lean, c = goal.names.index("lean"), len(goal.names)
    slope = np.einsum("bn,bcn->cn", goal.relaxed[:, None] * found.sense, found.inverse)
    place, case = np.nonzero((found.basis == lean) & (np.abs(slope) > goal.relaxed[lean]))
    rises = slope[place, case] < 0.0
    own = c + limits + 4  # after the limits of the bags and those of the larger departure
    found.basis[place, case] = np.where(rises, own, own + 1)
    found.inverse[:, place, case] *= np.where(rises, 1.0, -1.0)
    found.sense[lean, case] = np.where(rises, 1.0, -1.0)
    return found


def _approach_warily(
    rig: Rig, load: Load, target: Array, goal: Goal, weights: Array, now: Array, bound: Array | None, limits: Limits
) -> tuple[Array, Flags]:
    """Return the same where the steps went to and fro: a bag's force at a pressure is greatest between two heights.

    A step goes no farther than a reach, which shrinks where it made nothing better, and is followed by the shortest way
    back inside the limits, as curved limits would turn down any long one (trust region and second-order correction:
    R. Fletcher, Practical Methods of Optimization, 2nd ed., Wiley, 1987, ch. 5, 12 and 14, from memory).
    """
    reach = np.full(now.shape[-1], LONGEST_STEP)
    rows, room, equal = linear_programme_at(rig, load, target, goal, now, bound, limits)
    worth, outside = _worth(rows, room, now, weights, equal)
    programme: Programme | None = None
    for _ in range(WARY_STEPS):
        programme = least_deviation(*_within_reach(rows, room, now, reach, goal.lasting), weights, equal, programme)
        tried = programme.coordinates
        new_rows, new_room, _ = linear_programme_at(rig, load, target, goal, tried, bound, limits)
        tried = tried + _way_in(new_rows, new_room, tried, equal)
        new_rows, new_room, _ = linear_programme_at(rig, load, target, goal, tried, bound, limits)
        new_worth, new_outside = _worth(new_rows, new_room, tried, weights, equal)
        better = (new_worth < worth) & (reach >= STILL)  # one that is done stays, whatever lies beside it
        now, rows, room = (
            np.where(better, new, old) for new, old in ((tried, now), (new_rows, rows), (new_room, room))
        )
        worth, outside = np.where(better, new_worth, worth), np.where(better, new_outside, outside)
        reach = np.where(better, np.minimum(2.0 * reach, LONGEST_STEP), 0.25 * reach)
        if np.all(reach < STILL):
            break
    for _ in range(SHORT_STEPS):  # what is left outside goes the shortest way in
        out = outside > AT_LIMIT
        if not out.any():
            break
        now = now + np.where(out, _way_in(rows, room, now, equal), 0.0)
        rows, room, _ = linear_programme_at(rig, load, target, goal, now, bound, limits)
        _, outside = _worth(rows, room, now, weights, equal)
    return now, outside <= AT_LIMIT


def _worth(rows: Array, room: Array, now: Array, weights: Array, equal: Sequence[int]) -> tuple[Array, Array]:
    """Return what a state costs, limits passed dearest of all, and by how much the worst limit is passed, (n,)."""
    left = room - np.einsum("mcn,cn->mn", rows, now)
    left[list(equal)] = -np.abs(left[list(equal)])
    outside = np.maximum(-left.min(axis=0, initial=0.0), 0.0)
    return DEAREST * outside + np.abs(weights @ np.abs(now)), outside


def _way_in(rows: Array, room: Array, now: Array, equal: Sequence[int]) -> Array:
    """Return the shortest step inside all limits by their slopes, (c, n)."""
    left = room - np.einsum("mcn,cn->mn", rows, now)
    return least_deviation(rows, left, np.ones(len(now)), equal).coordinates


def _within_reach(rows: Array, room: Array, now: Array, reach: Array, lasting: Flags) -> tuple[Array, Array]:
    """Return the limits with those of a step's length."""
    own = np.flatnonzero(lasting)
    wide, wide_room = np.zeros((len(rows) + 2 * len(own), *rows.shape[1:])), [room]
    wide[: len(rows)] = rows
    for place, coordinate in enumerate(own):
        wide[len(rows) + 2 * place, coordinate], wide[len(rows) + 2 * place + 1, coordinate] = 1.0, -1.0
        wide_room.append(np.stack([now[coordinate] + reach, reach - now[coordinate]]))
    return wide, np.concatenate(wide_room)
