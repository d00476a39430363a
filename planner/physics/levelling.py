"""The inverse problem: which pressures give a wanted stance, inside the limits of the bags.

A state of the truck is (rise front, rise rear, roll, side moment on the front axle). Four equations fix it. With four
separate bags all four are ours to choose, the last one by least frame twist. Every line that joins two bags, every axle
with no bag and every limit that must be held puts an equation of its own in the place of one of these targets.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import IntEnum
from functools import cached_property, lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.physics.checks import Array, Codes, Flags
from planner.physics.layout import BLOCK, many
from planner.physics.rig import AXLE, Rig
from planner.physics.settling import LONGEST_STEP, SEE_SAW, SOFTEST_STEP, TOLERANCE, HeldPressure, along, settle
from planner.physics.statics import Load

MOST_STEPS = 40
MOST_ROUNDS = 12  # limits taken up one after the other; four corners, each with a height and then a force
HEIGHTS_FIRST = 1e6  # a pressure at a height that cannot be reached means nothing
HEIGHT_SCALE = 1e5  # [N/m] turns a height or an angle left over into a force, to be weighed beside the others
TARGET_SCALE = np.array([HEIGHT_SCALE, HEIGHT_SCALE, HEIGHT_SCALE, 1.0])  # of both rises, the roll and the split
SLACK = 1e-9  # [-] a limit passed by less, as a part of its range, is met


class Limit(IntEnum):
    """Which limit of a bag a corner is held at."""

    NONE = 0
    LEAST_PRESSURE = 1
    GREATEST_PRESSURE = 2
    LOAD_RATING = 3
    LOWEST_HEIGHT = 4
    HIGHEST_HEIGHT = 5


FRONT, REAR, ROLL, SPLIT = range(4)


class Levelled(NamedTuple):
    """The answer of levelling.

    state : rise front, rise rear [m], roll [rad], front axle's side moment [N·m], shape (..., 4)
    pressure : gauge, shape (..., 2, 2); 0 where there is no bag [Pa]
    held : the Limit each corner is held at, shape (..., 2, 2)
    """

    state: Array
    pressure: Array
    held: Codes


@dataclass(frozen=True, eq=False)
class _Bounds:
    """Limits of the bags, each of shape (2, 1), front and rear; infinite where there is no bag."""

    least: Array
    greatest: Array
    rating: Array
    lowest: Array
    highest: Array

    @cached_property
    def span(self) -> Array:
        """What a pressure past a limit is told as a part of. [Pa]"""
        return np.where(np.isfinite(self.greatest), self.greatest, 1.0)

    @cached_property
    def most_load(self) -> Array:
        """What a load past the rating is told as a part of. [N]"""
        return np.minimum(self.rating, 1e9)

    @cached_property
    def travel(self) -> Array:
        """What a height past an end is told as a part of: so little that it outweighs any pressure. [m]"""
        return np.where(np.isfinite(self.highest), self.highest - self.lowest, 1.0) / HEIGHTS_FIRST


@lru_cache(maxsize=32)
def _bounds(rig: Rig) -> _Bounds:
    """Collect the limits of both axles' bags."""

    def column(name: str, missing: float) -> Array:
        return np.array([[getattr(bag, name) if bag else missing] for bag in rig.bags])

    return _Bounds(
        column("least_pressure", -np.inf),
        column("greatest_pressure", np.inf),
        column("load_rating", np.inf),
        column("lowest", -np.inf),
        column("highest", np.inf),
    )


class Asked(NamedTuple):
    """What a wanted stance asks, before any limit is held.

    state : rise front, rise rear [m], roll [rad], front axle's side moment [N·m], shape (..., 4)
    pressure : gauge, shape (..., 2, 2); 0 where there is no bag [Pa]
    passed : the Limit each corner passes, NONE where it is inside all, shape (..., 2, 2)
    """

    state: Array
    pressure: Array
    passed: Codes


def ask(rig: Rig, load: Load, wanted: Array) -> Asked:
    """Return the pressures that a wanted stance asks of the bags, and which limits they pass.

    Parameters
    ----------
    rig, load, wanted
        As in :func:`level`.

    Returns
    -------
    Asked
        Where no corner passes a limit, state and pressure are those of :func:`level`.

    Raises
    ------
    ArithmeticError
        If an axle without bags leaves a case with no state to be found.
    """
    bounds, found = _bounds(rig), _Results.of(load, wanted)
    for cases, some, target in found.blocks(load, wanted):
        free = _free(rig, some, target, bounds)
        found.put(cases, free.state, free.pressure, np.where(free.most > SLACK, free.limit, Limit.NONE))
    return Asked(*found.shaped())


def level(rig: Rig, load: Load, wanted: Array) -> Levelled:
    """Return the pressures that give a wanted stance, or the nearest that the limits allow.

    Parameters
    ----------
    rig : Rig
        One truck.
    load : Load
        One case or many.
    wanted : array, shape (..., 3)
        Rise at the front and the rear axle line [m] and roll [rad], against level.

    Returns
    -------
    Levelled

    Raises
    ------
    ArithmeticError
        If a case finds no rest within the steps allowed.

    Notes
    -----
    Where all is free the answer is explicit. Otherwise limits are taken up one at a time, the worst first. Each costs
    a target: the split of the side moment first (it costs frame twist, not level); then the rise of the axle whose two
    corners are both held; then the roll. A height limit costs the axle's rise at once. A bag at the end of its chart
    whose pressure is held too rests on its stop.
    """
    bounds, found = _bounds(rig), _Results.of(load, wanted)
    implicit = not _free_targets(rig).all()
    for cases, some, target in found.blocks(load, wanted):
        free = _free(rig, some, target, bounds)
        held = np.zeros_like(free.limit)
        bound: Flags = np.logical_or(implicit, np.any(free.most > SLACK, axis=(-1, -2)))
        if bound.any():
            within = _within_limits(rig, some.take(bound), target[bound], free.take(bound), bounds)
            free.state[bound], free.pressure[bound], held[bound] = within
        found.put(cases, free.state, free.pressure, held)
    return Levelled(*found.shaped())


@dataclass(frozen=True, eq=False)
class _Results:
    """Room for the results of all cases, filled block by block."""

    shape: tuple[int, ...]
    state: Array
    pressure: Array
    codes: Codes

    @classmethod
    def of(cls, load: Load, wanted: Array) -> _Results:
        """Make room for what a load and a wanted stance broadcast to."""
        shape = np.broadcast(wanted[..., 0], load.side_moment).shape
        cases = math.prod(shape)
        return cls(shape, many((4,), cases), many((2, 2), cases), many((2, 2), cases, np.int8))

    def blocks(self, load: Load, wanted: Array) -> Iterator[tuple[slice, Load, Array]]:
        """Yield the cases block by block: which they are, their load and their target state, (cases, 4)."""
        spread = load.spread(self.shape)
        stance = np.broadcast_to(wanted, (*self.shape, 3)).reshape(-1, 3)
        for start in range(0, len(stance), BLOCK):
            cases = slice(start, start + BLOCK)
            some = spread.take(cases)
            target = many((4,), len(some.side_moment))
            target[:, :3], target[:, SPLIT] = stance[cases], some.least_twist_at(stance[cases, 2])
            yield cases, some, target

    def put(self, cases: slice, state: Array, pressure: Array, codes: Codes) -> None:
        """Keep the results of a block."""
        self.state[cases], self.pressure[cases], self.codes[cases] = state, pressure, codes

    def shaped(self) -> tuple[Array, Array, Codes]:
        """Return state, pressure and codes in the shape that was asked."""
        corners = (*self.shape, 2, 2)
        return self.state.reshape(*self.shape, 4), self.pressure.reshape(corners), self.codes.reshape(corners)


class _Free(NamedTuple):
    """Cases before any limit is held; most: by how much the worst limit of a corner is passed, as a part."""

    state: Array
    pressure: Array
    most: Array
    limit: Codes

    def take(self, cases: Flags) -> _Free:
        """Return some of the cases."""
        return _Free(self.state[cases], self.pressure[cases], self.most[cases], self.limit[cases])


def _free(rig: Rig, load: Load, target: Array, bounds: _Bounds) -> _Free:
    """Return the state and the pressures of the targets that are ours to aim at, and what they pass."""
    aimed, held = _free_targets(rig), np.zeros((1, 2, 2), np.int8)
    state = target
    if not aimed.all():
        every = np.broadcast_to(aimed, target.shape)
        state = _solve(rig, load, target, target, every, np.broadcast_to(held, (len(target), 2, 2)), bounds)
    height, bag_force, pressure = _asked_of_bags(rig, load, state)
    most, limit = _passed(rig, height, bag_force, pressure, held, bounds)
    return _Free(state, _on_one_line(rig, pressure), most, limit)


def _within_limits(rig: Rig, load: Load, target: Array, free: _Free, bounds: _Bounds) -> tuple[Array, Array, Codes]:
    """Return state, pressure and held limits of cases that pass a limit, or that a line or steel binds."""
    state, held = free.state.copy(), np.zeros(free.limit.shape, np.int8)
    aimed = np.broadcast_to(_free_targets(rig), state.shape).copy()
    todo = np.ones(len(state), bool)
    worst, limit = _worst(free.most), free.limit
    for _ in range(MOST_ROUNDS):
        more = worst.any(axis=(-1, -2))
        todo[todo] = more
        if not more.any():
            break
        part, hold, aim = load.take(todo), held[todo], aimed[todo]
        _take_up(rig, worst[more], limit[more], hold, aim)
        now = _solve(rig, part, target[todo], state[todo], aim, hold, bounds)
        state[todo], held[todo], aimed[todo] = now, hold, aim
        most, limit = _passed(rig, *_asked_of_bags(rig, part, now), hold, bounds)
        worst = _worst(most)
    else:
        todo[todo] = worst.any(axis=(-1, -2))
    state[todo], held[todo] = target[todo], Limit.NONE  # no order of limits found: from the wanted stance, clipped
    pressure = _on_one_line(rig, _asked_of_bags(rig, load, state)[2])
    bound = todo | ~np.all(aimed, axis=-1)
    if bound.any():
        _come_to_rest(rig, load, state, pressure, held, bound, bounds)
    return state, pressure, held


def _free_targets(rig: Rig) -> Flags:
    """Return which targets are ours to aim at before any limit is held, shape (4,)."""
    separate = [bag is not None and not joined for bag, joined in zip(rig.bags, rig.joined, strict=True)]
    return np.array([*rig.has_bag, any(separate), all(separate)])


def _asked_of_bags(rig: Rig, load: Load, state: Array) -> tuple[Array, Array, Array]:
    """Return what a state asks of each corner: height [m], force of the bag [N] and gauge pressure [Pa].

    P = (S/m - F_steel) / A; 0 where there is no bag.
    """
    height, force = rig.corners(load, state)
    area = rig.area(height)
    force -= rig.steel_force(height)
    return height, force, force / np.where(area > 0, area, np.inf)


def _on_one_line(rig: Rig, pressure: Array) -> Array:
    """Return pressures with those of bags on one line made the same: they differ by rounding only."""
    for k, joined in enumerate(rig.joined):
        if joined:
            pressure[..., k, :] = pressure[..., k, :].mean(axis=-1, keepdims=True)
    return pressure


def _passed(
    rig: Rig, height: Array, bag_force: Array, pressure: Array, held: Codes, bounds: _Bounds
) -> tuple[Array, Codes]:
    """Return by how much the worst limit of each corner is passed, as a part of its range, and which limit that is."""
    travel = bounds.travel
    if held.any():
        aired = (held > 0) & (held < Limit.LOWEST_HEIGHT)
        resting = (held > 0) | (np.array(rig.joined)[:, None] & aired.any(axis=-1, keepdims=True))
        travel = np.where(resting, np.inf, travel)
    most = (bounds.least - pressure) / bounds.span
    limit = np.full_like(pressure, Limit.LEAST_PRESSURE, np.int8)
    for code, passed in (
        (Limit.GREATEST_PRESSURE, (pressure - bounds.greatest) / bounds.span),
        (Limit.LOAD_RATING, (bag_force - bounds.rating) / bounds.most_load),
        (Limit.LOWEST_HEIGHT, (bounds.lowest - height) / travel),
        (Limit.HIGHEST_HEIGHT, (height - bounds.highest) / travel),
    ):
        limit[passed > most] = code
        np.maximum(most, passed, out=most)
    return most, limit


def _worst(most: Array) -> Flags:
    """Return the corner of each case that passes a limit by most, one at the most."""
    flat = most.reshape(-1, 4)
    first: Flags = np.arange(4) == flat.argmax(axis=-1)[:, None]
    return (first & (flat > SLACK)).reshape(most.shape)


def _take_up(rig: Rig, worst: Flags, limit: Codes, held: Codes, aimed: Flags) -> None:
    """Hold each case's worst corner at its limit, and give up the target that this costs. Changes held and aimed."""
    case, axle, side = np.nonzero(worst)
    code, across = limit[worst], held[case, axle, 1 - side]
    shares_line = np.array(rig.joined)[axle]
    replaces = (held[case, axle, side] > 0) | (shares_line & (across > 0))
    held[case, axle, 1 - side] = np.where(shares_line, Limit.NONE, across)
    held[case, axle, side] = code
    rise_first = (code >= Limit.LOWEST_HEIGHT) | (((across > 0) | shares_line) & ~aimed[case, SPLIT])
    roll, split = np.full_like(axle, ROLL), np.full_like(axle, SPLIT)
    order = np.where(
        rise_first[:, None],
        np.stack([axle, roll, split, 1 - axle], axis=-1),
        np.stack([split, roll, axle, 1 - axle], axis=-1),
    )
    first = np.take_along_axis(aimed[case], order, -1).argmax(axis=-1)
    given_up = np.take_along_axis(order, first[:, None], -1)[:, 0]
    aimed[case, given_up] &= replaces


def _solve(rig: Rig, load: Load, target: Array, start: Array, aimed: Flags, held: Codes, bounds: _Bounds) -> Array:
    """Return the state that meets the targets still aimed at and the equations in the place of the others."""
    state = np.where(aimed, target, start)
    implicit = ~np.all(aimed, axis=-1)
    if not implicit.any():
        return state
    some, held, rows = load.take(implicit), held[implicit], _rows(rig, aimed[implicit], held[implicit])
    now, goal, enough = state[implicit], target[implicit], TOLERANCE * some.axle.sum(axis=-1)
    last, part, room = np.zeros_like(now), np.ones(len(now)), _room(len(now))
    for _ in range(MOST_STEPS):
        _equations(rig, some, now, goal, held, bounds, room)
        over, slope = _chosen(*room, rows)
        done = np.abs(over).max(axis=-1) <= enough
        if done.all():
            break
        step = np.linalg.solve(slope, -over[..., None])[..., 0].astype(float)
        step *= (LONGEST_STEP / np.abs(step[:, :3]).max(axis=-1).clip(LONGEST_STEP))[:, None]
        turned_back = along(step, last) < -SEE_SAW * along(last, last)
        part = np.where(turned_back, 0.5 * part, np.minimum(1.0, 2.0 * part))
        last = np.where(done[:, None], 0.0, part[:, None] * step)
        now += last
    state[implicit] = now
    return state


def _rows(rig: Rig, aimed: Flags, held: Codes) -> NDArray[np.intp]:
    """Return which four of the ten equations hold: four corners, two shared lines, four targets; shape (cases, 4)."""
    corner = (held > 0) | ~rig.has_bag[:, None]
    line = np.broadcast_to(np.array(rig.joined) & rig.has_bag, (len(aimed), 2))
    chosen = np.concatenate([corner.reshape(-1, 4), line, aimed], axis=-1)
    some = chosen[:1] if (chosen == chosen[0]).all() else chosen  # all alike, as before any limit is held
    return np.broadcast_to(np.argsort(~some, axis=-1, kind="stable")[:, :4], (len(chosen), 4))


def _chosen(over: Array, slope: Array, rows: NDArray[np.intp]) -> tuple[Array, Array]:
    """Return the four equations of each case that hold, shape (cases, 4), and their slopes, (cases, 4, 4)."""
    if (rows == rows[0]).all():
        return over[:, rows[0]], np.ascontiguousarray(slope[:, rows[0]])
    return np.take_along_axis(over, rows, -1), np.take_along_axis(slope, rows[..., None], -2)


def _room(cases: int) -> tuple[Array, Array]:
    """Return room for ten equations, shape (cases, 10) [N], and slopes, (cases, 10, 4), those of targets put in."""
    slope = many((10, 4), cases)
    slope[:, 6:] = np.diag(TARGET_SCALE)
    return many((10,), cases), slope


def _equations(
    rig: Rig, load: Load, state: Array, target: Array, held: Codes, bounds: _Bounds, room: tuple[Array, Array]
) -> None:
    """Put all ten equations and their slopes by the state into their room."""
    n, (ten, slope) = len(state), room
    height, force = rig.corners(load, state)
    area, area_slope = rig.area_and_slope(height)
    bag_force = force - rig.steel_force(height)
    by_height, by_statics = _state_slopes(rig)
    pressure, constant = _held_force(held, bounds)
    steel = rig.steel_slope(height)
    corner, corner_slope = ten[:, :4].reshape(n, 2, 2), slope[:, :4].reshape(n, 2, 2, 4)
    corner[:] = bag_force - pressure * area - constant
    stiffness = np.maximum(steel - pressure * area_slope, SOFTEST_STEP)
    np.multiply(stiffness[..., None], by_height, out=corner_slope)
    corner_slope += by_statics
    at_end = held >= Limit.LOWEST_HEIGHT
    if at_end.any():
        end = np.where(held == Limit.LOWEST_HEIGHT, bounds.lowest, bounds.highest)
        corner[at_end] = HEIGHT_SCALE * (height - end)[at_end]
        corner_slope[at_end] = (HEIGHT_SCALE * np.broadcast_to(by_height, corner_slope.shape))[at_end]
    for k, joined in enumerate(rig.joined):
        if joined:
            firm = np.maximum(steel[:, k], SOFTEST_STEP)
            ends = (bag_force[:, k], area[:, k], firm, area_slope[:, k])
            ten[:, 4 + k], slope[:, 4 + k] = _line_equation(*ends, by_height[k], by_statics[k])
    ten[:, 6:] = TARGET_SCALE * (state - target)


def _line_equation(
    force: Array, area: Array, firm: Array, area_slope: Array, by_height: Array, by_statics: Array
) -> tuple[Array, Array]:
    """Return F_left A_right - F_right A_left over the mean area, 0 where both have one pressure, and its slope.

    Of one axle: force, area, steel's stiffness and dA/db, (n, 2); slopes of height and statics by the state, (2, 4).
    """
    mean = area.mean(axis=-1)
    f_l, f_r, a_l, a_r = (q[:, i] / (mean if q is force else 1.0) for q in (force, area) for i in (0, 1))
    out = many((4,), len(mean))
    for j in range(4):
        df_l, df_r = (by_statics[i, j] + firm[:, i] * by_height[i, j] for i in (0, 1))
        da_l, da_r = (area_slope[:, i] * by_height[i, j] for i in (0, 1))
        out[:, j] = (df_l * a_r - df_r * a_l) / mean + f_l * da_r - f_r * da_l
    return f_l * a_r - f_r * a_l, out


def _state_slopes(rig: Rig) -> tuple[Array, Array]:
    """Return how spring heights and spring forces answer the state, each of shape (2, 2, 4)."""
    nothing = np.zeros((2, 2))
    front, rear = np.diag(rig.motion_ratio)
    heights = [
        front[:, None] + nothing,
        rear[:, None] + nothing,
        rig.height_by_roll,
        AXLE[:, None] * rig.height_by_moment,
    ]
    forces = [nothing, nothing, rig.force_by_roll, AXLE[:, None] * rig.force_by_moment]
    return np.stack(heights, axis=-1), np.stack(forces, axis=-1)


def _held_force(held: Codes, bounds: _Bounds) -> tuple[Array, Array]:
    """Return the pressure and the constant force of the bag at a held corner: F = P A(b) + constant."""
    low, high = held == Limit.LEAST_PRESSURE, held == Limit.GREATEST_PRESSURE
    pressure = np.where(low, bounds.least, np.where(high, bounds.greatest, 0.0))
    return pressure, np.where(held == Limit.LOAD_RATING, bounds.rating, 0.0)


def _come_to_rest(
    rig: Rig, load: Load, state: Array, pressure: Array, held: Codes, bound: Flags, bounds: _Bounds
) -> None:
    """Settle the cases that a line, steel or a limit binds at their pressures within limits. Changes what it is given.

    Where the limits were found and held this moves nothing; where they found no order it makes a true rest of it.
    """
    needed, some, now = pressure[bound], load.take(bound), state[bound]
    gauge = np.where(rig.has_bag[:, None], np.clip(needed, bounds.least, bounds.greatest), 0.0)
    for _ in range(MOST_ROUNDS):
        now = settle(rig, some, HeldPressure(gauge), now).state
        height = rig.corners(some, now).spring_height
        rated = _within_rating(rig, gauge, rig.area(height), bounds)
        if np.all(rated >= gauge * (1.0 - 1e-7)):
            break
        gauge = rated
    else:
        now = settle(rig, some, HeldPressure(gauge), now).state
        height = rig.corners(some, now).spring_height
    state[bound], pressure[bound] = now, gauge
    held[bound] = _codes(rig, held[bound], needed, gauge, height, bounds)


def _within_rating(rig: Rig, gauge: Array, area: Array, bounds: _Bounds) -> Array:
    """Return the pressure at which no bag of a line carries more than its rating, floor kept. [Pa]"""
    most = bounds.rating / np.where(area > 0, area, 1.0)
    most = np.where(np.array(rig.joined)[:, None], most.min(axis=-1, keepdims=True), most)
    return np.where(rig.has_bag[:, None], np.maximum(np.minimum(gauge, most), bounds.least), gauge)


def _codes(rig: Rig, held: Codes, needed: Array, gauge: Array, height: Array, bounds: _Bounds) -> Codes:
    """Return which limit each corner is at: by what it needed and got, else the end it rests on, else as found."""
    step = 1e-6 * np.where(np.isfinite(bounds.greatest), bounds.greatest, 1.0)
    needed = np.where(rig.has_bag[:, None], needed, gauge)
    rest = np.where(height < bounds.lowest - 1e-6, Limit.LOWEST_HEIGHT, Limit.HIGHEST_HEIGHT)
    off = (held == Limit.NONE) & (np.abs(height - np.clip(height, bounds.lowest, bounds.highest)) > 1e-6)
    code = np.where(off, rest, held)
    code = np.where(gauge < needed - step, Limit.LOAD_RATING, code)
    code = np.where((gauge < needed - step) & (gauge >= bounds.greatest - step), Limit.GREATEST_PRESSURE, code)
    code = np.where(gauge > needed + step, Limit.LEAST_PRESSURE, code)
    return code.astype(np.int8)
