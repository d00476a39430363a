"""Levelling at a limit: the best state of the truck whose pressures, bag loads and heights are inside every limit.

Best is what comes first in a goal. Of a stance: the least lean against the wanted one; then, within what a tape can
tell of that lean, the least of the larger departure of the two rises; then the other rise; then the least frame twist.
Of a coupling: its height, the lean, the front's rise, the twist. Where no axle has a line for each of its bags, the
lean is no choice but an outcome, and comes after the rises.

The statics are linear in the state and only the charts are not, so each step solves a linear programme
(`physics.simplex`) at the charts' present slopes; the steps close in as Newton's do.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum
from functools import lru_cache
from typing import Final, Literal, NamedTuple

import numpy as np

from planner.physics.array_layout import by_place, empty_arrays
from planner.physics.constants import STOP_RATE
from planner.physics.level_goal import ROLL, SPLIT, Goal
from planner.physics.linear_programme import Programme, least_deviation, same_basis
from planner.physics.statics import Load
from planner.physics.truck_model import AXLE, Rig
from planner.physics.validation import Array, Codes, Flags


class Limit(IntEnum):
    """Which limit of a bag a corner is held at."""

    NONE = 0
    LEAST_PRESSURE = 1
    GREATEST_PRESSURE = 2
    LOAD_RATING = 3
    LOWEST_HEIGHT = 4
    HIGHEST_HEIGHT = 5


CASES: Final = 2048  # worked on at a time: their tables stay in the processor's cache
BOLD_STEPS: Final = 15
WARY_STEPS: Final = 24
FURTHER_STARTS: Final = (0.2, 0.8)  # [-] of the bags' travel
DEAREST: Final = 1e3  # [-] weight of a limit that is passed
LONGEST_STEP: Final = 0.04  # [m] in one step, so that no step leaves the neighbourhood its slopes were taken in
CLOSE: Final = 1e-6  # [m] a step no longer than this leaves an error of its square
HOPELESS: Final = 5  # steps in a row from which no limits can all be met, after which none is looked for
TURNED_BACK: Final = 0.25  # [-] a step that goes back by more of the one before is a see-saw, and halved
FORCE_SCALE: Final = 1e5  # [N/m] weighs a force left over beside a height
REACHED: Final = 1e-5  # [m] a rise nearer to the wanted one has nothing to gain
AT_LIMIT: Final = 1e-8  # [m] as scaled above: a corner nearer to a limit is held at it
FINE_HEIGHTS: Final = 400  # of a chart looked at for the most that a bag gives
WIDENED: Final = 1e-3  # [-] and what lies between two of them
FAR: Final = 10.0  # [m] of lean: no bound

Limits = Literal["all", "on stops", "none"]


@dataclass(frozen=True, eq=False)
class Bounds:
    """Limits of the bags, each of shape (2,), front and rear; infinite where there is none."""

    least: Array
    greatest: Array
    rating: Array
    lowest: Array
    highest: Array


@lru_cache(maxsize=32)
def bounds_of(rig: Rig) -> Bounds:
    """Return the limits of both axles' bags. [Pa, Pa, N, m, m]"""

    def column(name: str, missing: float) -> Array:
        return np.array([getattr(bag, name) if bag else missing for bag in rig.bags])

    return Bounds(
        column("least_pressure", -np.inf),
        column("greatest_pressure", np.inf),
        column("load_rating", np.inf),
        column("lowest", -np.inf),
        column("highest", np.inf),
    )


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
    Sequential linear programming (R. Fletcher, Practical Methods of Optimization, 2nd ed., Wiley, 1987, ch. 12, from
    memory): as many limits hold as there are targets given up, so the steps are Newton's on those limits. A step is
    bounded by LONGEST_STEP and halved where it turns back.
    """
    state, met = empty_arrays((4,), len(target)), np.zeros(len(target), bool)
    state[:] = target
    tried = np.flatnonzero(_may_be_carried(rig, load, target)) if limits == "all" else np.arange(len(target))
    for first in range(0, len(tried), CASES):
        cases = tried[first : first + CASES]
        near = None if start is None else start[cases]
        some = np.zeros(len(target), bool)
        some[cases] = True
        state[cases], met[cases] = _hold_some(rig, load.take(some), target[cases], goal, limits, near)
    return Held(state, met)


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
        area, spare = bag.area(heights), WIDENED * (rig.steel_rate[k] * (bag.highest - bag.lowest) + 1.0)
        most = steel + np.minimum(bag.greatest_pressure * area, bag.load_rating)
        least = steel + bag.least_pressure * area
        found.append((float(least.min() * (1 - WIDENED) - spare), float(most.max() * (1 + WIDENED) + spare)))
    return tuple(found)


def _hold_some(
    rig: Rig, load: Load, target: Array, goal: Goal, limits: Limits, near: Array | None
) -> tuple[Array, Flags]:
    """Return the best states of some cases, and which were found."""
    start, no_bound = goal.coordinates(target if near is None else near, target, load), np.full(len(target), FAR)
    at, met, worth = _best_approach(rig, load, target, goal, goal.weights, start, no_bound, limits)
    if not (limits == "all" and goal.relaxed.size and rig.tape_error):
        return goal.state(target, load, at), met
    lean, front, rear = (at[goal.names.index(name)] for name in ("lean", "front", "rear"))
    off = np.maximum(np.abs(front), np.abs(rear)) > REACHED
    more = met & off & (worth * rig.tape_error > REACHED)
    if more.any():
        bound = (np.abs(lean) + rig.tape_error * (1.0 - 1e-6))[more]
        found, good, _ = _best_approach(
            rig, load.take(more), target[more], goal, goal.relaxed, at[:, more], bound, limits
        )
        at[:, np.flatnonzero(more)[good]] = found[:, good]
    return goal.state(target, load, at), met


def _best_approach(
    rig: Rig, load: Load, target: Array, goal: Goal, weights: Array, start: Array, bound: Array, limits: Limits
) -> tuple[Array, Flags, Array]:
    """Return what `_approach` finds; where a bag's area grows with its height, the best from three starts.

    Two heights may then be best near themselves, so both ends of the bags' travel are started from too.
    """
    found, met, worth = _approach(rig, load, target, goal, weights, start, bound, limits)
    if not (limits == "all" and _may_be_best_twice(rig)):
        return found, met, worth
    for part in FURTHER_STARTS:
        start = goal.coordinates(_mid_travel(rig, load, target, part), target, load)
        other, good, _ = _approach(rig, load, target, goal, weights, start, bound, limits)
        better = good & (~met | (weights @ np.abs(other) < weights @ np.abs(found) - 1e-12))
        found, met, worth = np.where(better, other, found), met | good, np.where(better, np.inf, worth)
    return found, met, worth


def _may_be_best_twice(rig: Rig) -> bool:
    """Tell whether the area of a bag grows with its height somewhere on its chart."""
    return any(bag is not None and bool(np.any(np.diff(bag.areas) > 0)) for bag in rig.bags)


def _mid_travel(rig: Rig, load: Load, target: Array, part: float) -> Array:
    """Return the targets with the rises that put the bags at a part of their travel, shape (n, 4)."""
    state, squash = target.copy(), rig.squash(load)
    for k, bag in enumerate(rig.bags):
        if bag is not None:
            height = bag.lowest + part * (bag.highest - bag.lowest)
            state[:, k] = (height - bag.fitted_height) / rig.motion_ratio[k] - squash[:, k]
    return state


def _approach(
    rig: Rig, load: Load, target: Array, goal: Goal, weights: Array, start: Array, bound: Array, limits: Limits
) -> tuple[Array, Flags, Array]:
    """Return the coordinates (c, n) that the steps come to, whether all limits are met there, and a lean's worth."""
    found, met = start.copy(), np.zeros(len(target), bool)
    worth = np.full(len(target), np.inf)
    going, now = np.arange(len(target)), start.copy()
    last, part, hopeless = np.zeros_like(now), np.ones(len(target)), np.zeros(len(target), int)
    lasting, programme = goal.lasting, None
    for _ in range(BOLD_STEPS):
        programme = _solve(_programme(rig, load, target, goal, now, bound, limits), weights, programme)
        step = programme.coordinates - now
        length = np.abs(step[lasting]).max(axis=0)
        back = (step * last)[lasting].sum(axis=0) < -TURNED_BACK * (last * last)[lasting].sum(axis=0)
        part = np.where(back, 0.5 * part, np.minimum(1.0, 1.5 * part))
        last = step * (part * np.minimum(1.0, LONGEST_STEP / np.maximum(length, LONGEST_STEP)))
        now = now + last
        hopeless = np.where(programme.met, 0, hopeless + 1)
        done = (length <= CLOSE) | (hopeless == HOPELESS)
        if done.any():
            found[:, going[done]], met[going[done]] = programme.coordinates[:, done], programme.met[done]
            worth[going[done]] = _worth_of_lean(goal, programme)[done]
            go = ~done
            if not go.any():
                return found, met, worth
            load, target, bound, going = load.take(go), target[go], bound[go], going[go]
            now, last, part, hopeless = now[:, go], last[:, go], part[go], hopeless[go]
            programme = programme.take(go)
    found[:, going], met[going] = _approach_warily(rig, load, target, goal, weights, now, bound, limits)
    return found, met, worth


def _worth_of_lean(goal: Goal, programme: Programme) -> Array:
    """Return by how much a metre of lean would lessen the larger departure; infinite where there is a lean already."""
    if not goal.relaxed.size:
        return np.full(len(programme.met), np.inf)
    lean = goal.names.index("lean")
    gain: Array = np.abs(programme.slope[lean]) / goal.weights[goal.names.index("larger")]
    return np.where(programme.coordinates[lean] == 0.0, gain, np.inf)


def _solve(linear: tuple[Array, Array, Sequence[int]], weights: Array, before: Programme | None) -> Programme:
    """Return the best coordinates of linear programmes, from the basis of much the same ones before where it holds."""
    rows, room, equal = linear
    if before is None:
        return least_deviation(rows, room, weights, equal)
    coordinates, best = same_basis(rows, room, weights, equal, before.basis)
    best &= before.met
    if best.all():
        return before._replace(coordinates=coordinates)
    new = ~best
    anew = least_deviation(rows[:, :, new], room[:, new], weights, equal)
    programme = Programme(coordinates, before.met.copy(), before.basis.copy(), before.slope.copy())
    for kept, found in zip(programme, anew, strict=True):
        kept[..., new] = found
    return programme


def _approach_warily(
    rig: Rig, load: Load, target: Array, goal: Goal, weights: Array, now: Array, bound: Array, limits: Limits
) -> tuple[Array, Flags]:
    """Return the same where the steps went to and fro: a bag's force at a pressure is greatest between two heights.

    A step goes no farther than a reach, which shrinks where it made nothing better (trust region: R. Fletcher,
    Practical Methods of Optimization, 2nd ed., Wiley, 1987, ch. 5 and 12, from memory).
    """
    reach = np.full(now.shape[-1], LONGEST_STEP)
    rows, room, equal = _programme(rig, load, target, goal, now, bound, limits)
    worth, outside = _worth(rows, room, now, weights, equal)
    for _ in range(WARY_STEPS):
        programme = least_deviation(*_within_reach(rows, room, now, reach, goal.lasting), weights, equal)
        tried = programme.coordinates
        new_rows, new_room, _ = _programme(rig, load, target, goal, tried, bound, limits)
        new_worth, new_outside = _worth(new_rows, new_room, tried, weights, equal)
        better = new_worth < worth
        now, rows, room = (
            np.where(better, new, old) for new, old in ((tried, now), (new_rows, rows), (new_room, room))
        )
        worth, outside = np.where(better, new_worth, worth), np.where(better, new_outside, outside)
        reach = np.where(better, np.minimum(2.0 * reach, LONGEST_STEP), 0.25 * reach)
        if np.all(reach < CLOSE):
            break
    return now, outside <= AT_LIMIT


def _programme(
    rig: Rig, load: Load, target: Array, goal: Goal, now: Array, bound: Array, limits: Limits
) -> tuple[Array, Array, Sequence[int]]:
    """Return rows, room and equations of the linear programme about the coordinates of the present state."""
    rows, room, equal = _limits(rig, load, goal.state(target, load, now), limits)
    rows = goal.rows(rows, load)
    room += np.einsum("mcn,cn->mn", rows, now)
    return *_with_own(rows, room, goal, bound), equal


def _worth(rows: Array, room: Array, now: Array, weights: Array, equal: Sequence[int]) -> tuple[Array, Array]:
    """Return what a state costs, limits passed dearest of all, and by how much the worst limit is passed, (n,)."""
    left = room - np.einsum("mcn,cn->mn", rows, now)
    left[list(equal)] = -np.abs(left[list(equal)])
    outside = np.maximum(-left.min(axis=0, initial=0.0), 0.0)
    return DEAREST * outside + np.abs(weights @ np.abs(now)), outside


def _within_reach(rows: Array, room: Array, now: Array, reach: Array, lasting: Flags) -> tuple[Array, Array]:
    """Return the limits with those of a step's length."""
    own = np.flatnonzero(lasting)
    wide, wide_room = np.zeros((len(rows) + 2 * len(own), *rows.shape[1:])), [room]
    wide[: len(rows)] = rows
    for place, coordinate in enumerate(own):
        wide[len(rows) + 2 * place, coordinate], wide[len(rows) + 2 * place + 1, coordinate] = 1.0, -1.0
        wide_room.append(np.stack([now[coordinate] + reach, reach - now[coordinate]]))
    return wide, np.concatenate(wide_room)


def _with_own(rows: Array, room: Array, goal: Goal, bound: Array) -> tuple[Array, Array]:
    """Return the limits with those of the coordinates themselves: larger is no less than a rise, the lean is bound."""
    own: list[tuple[dict[str, float], float | Array]] = []
    names = goal.names
    if "larger" in names:
        for name in ("front", "rear"):
            own += [({name: 1.0, "larger": -1.0}, 0.0), ({name: -1.0, "larger": -1.0}, 0.0)]
    if bound.min(initial=FAR) < FAR:
        own += [({"lean": 1.0}, bound), ({"lean": -1.0}, bound)]
    m = len(rows)
    wide, wide_room = np.zeros((m + len(own), *rows.shape[1:])), np.zeros((m + len(own), rows.shape[-1]))
    wide[:m], wide_room[:m] = rows, room
    for place, (parts, most) in enumerate(own, start=m):
        wide_room[place] = most
        for name, share in parts.items():
            wide[place, names.index(name)] = share
    return wide, wide_room


def _limits(rig: Rig, load: Load, state: Array, limits: Limits) -> tuple[Array, Array, Sequence[int]]:
    """Return every limit about a state: slopes by the state (m, 4, n), room (m, n), and which rows are equations.

    Forces over FORCE_SCALE, heights as they are. Where all limits count, the stops are left out of the steel: the
    heights' own limits keep off them.
    """
    height, force = (by_place(part) for part in rig.corners(load, state))
    by_height, by_statics = state_slopes(rig, load)
    slopes: list[Array] = []
    rooms: list[Array] = []
    equal: list[int] = []
    bounds = bounds_of(rig)
    for k, bag in enumerate(rig.bags):
        rate = rig.steel_rate[k] + np.zeros_like(height[k])
        steel = rig.steel_load[k] - rate * (height[k] - rig.design_height[k, :, None])
        if limits == "on stops" and bag is not None:
            past = height[k] - height[k].clip(bag.lowest, bag.highest)
            steel, rate = steel - STOP_RATE * past, rate + STOP_RATE * (past != 0.0)
        own, statics = by_height[k], by_statics[k]
        if bag is None:
            equal += [len(rooms), len(rooms) + 1]
            rooms += list((steel - force[k]) / FORCE_SCALE)
            slopes += list((statics + rate[:, None] * own) / FORCE_SCALE)
            continue
        area, area_slope = bag.area_and_slope(height[k])
        air = force[k] - steel
        firm = statics + rate[:, None] * own
        if rig.joined[k]:
            equal.append(len(rooms))
            rooms.append(-(air[0] * area[1] - air[1] * area[0]) / (FORCE_SCALE * area.mean(axis=0)))
            slopes.append(_one_pressure(air, area, area_slope, firm, own) / FORCE_SCALE)
        if limits == "none":
            continue
        for pressure, sign in ((bounds.least[k], -1.0), (bounds.greatest[k], 1.0)):
            rooms += list(sign * (pressure * area - air) / FORCE_SCALE)
            slopes += list(sign * (firm - pressure * area_slope[:, None] * own) / FORCE_SCALE)
        if np.isfinite(bounds.rating[k]):
            rooms += list((bounds.rating[k] - air) / FORCE_SCALE)
            slopes += list(firm / FORCE_SCALE)
        if limits == "on stops":
            continue
        for end, sign in ((bounds.lowest[k], -1.0), (bounds.highest[k], 1.0)):
            rooms += list(sign * (end - height[k]))
            slopes += list(sign * own)
    cases = len(state)
    table = np.empty((len(slopes), 4, cases))
    for place, slope in enumerate(slopes):
        table[place] = slope
    return table, np.array(rooms).reshape(len(rooms), cases), equal


def _one_pressure(air: Array, area: Array, area_slope: Array, firm: Array, own: Array) -> Array:
    """Return the slope by the state, (4, n), of (F_left A_right - F_right A_left) / mean area, one pressure in both.

    Of one axle: force of the bags, area, dA/db, (2, n); slopes of force and height by the state, (2, 4, n).
    """
    mean = area.mean(axis=0)
    gained: Array = firm[0] * area[1] - firm[1] * area[0]
    gained = gained + own[1] * (air[0] * area_slope[1]) - own[0] * (air[1] * area_slope[0])
    shared: Array = gained / mean
    return shared


def state_slopes(rig: Rig, load: Load) -> tuple[Array, Array]:
    """Return how spring heights and spring forces answer the state, each of shape (2, 2, 4, n)."""
    out = np.atleast_1d(load.overturning)
    heights, forces = np.zeros((2, 2, 4, len(out))), np.zeros((2, 2, 4, len(out)))
    for k in (0, 1):
        heights[k, :, k] = rig.motion_ratio[k]
    for found, by_roll, by_moment in (
        (heights, rig.height_by_roll, rig.height_by_moment),
        (forces, rig.force_by_roll, rig.force_by_moment),
    ):
        found[:, :, ROLL] = by_roll[..., None]
        found[1, :, ROLL] -= by_moment[1][:, None] * out  # what swings out is missing at the rear, the front's held
        found[:, :, SPLIT] = (AXLE[:, None] * by_moment)[..., None]
    return heights, forces


def held_at(rig: Rig, height: Array, bag_force: Array, area: Array) -> Codes:
    """Return which limit each corner is at, shape (n, 2, 2): of pressure and load before height; NONE inside all."""
    bounds = bounds_of(rig)
    code = np.zeros(height.shape, np.int8)
    column = {name: getattr(bounds, name)[:, None] for name in ("least", "greatest", "rating", "lowest", "highest")}
    with np.errstate(invalid="ignore"):  # an axle without bags has infinite limits and no area
        rooms = {
            Limit.LOWEST_HEIGHT: height - column["lowest"],
            Limit.HIGHEST_HEIGHT: column["highest"] - height,
            Limit.LEAST_PRESSURE: (bag_force - column["least"] * area) / FORCE_SCALE,
            Limit.LOAD_RATING: (column["rating"] - bag_force) / FORCE_SCALE,
            Limit.GREATEST_PRESSURE: (column["greatest"] * area - bag_force) / FORCE_SCALE,
        }
        for limit, room in rooms.items():
            code[room <= AT_LIMIT] = limit
    code[..., ~rig.has_bag, :] = Limit.NONE
    return code
