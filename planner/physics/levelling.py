"""The inverse problem: which pressures give a wanted stance, inside the limits of the bags.

A state of the truck is (rise front, rise rear, roll, side moment on the front axle). Four equations fix it. With four
separate bags all four are ours to choose, the last one by least frame twist. Every line that joins two bags, every axle
with no bag and every limit that must be held puts an equation of its own in the place of one of these targets.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.physics.checks import Array, Codes, Flags
from planner.physics.rig import AXLE, Rig
from planner.physics.settling import LONGEST_STEP, SOFTEST_STEP, TOLERANCE, HeldPressure, settle
from planner.physics.statics import Load

MOST_STEPS = 40
MOST_ROUNDS = 12  # limits taken up one after the other; four corners, each with a height and then a force
HEIGHTS_FIRST = 1e6  # a pressure at a height that cannot be reached means nothing
HEIGHT_SCALE = 1e5  # [N/m] turns a height or an angle left over into a force, to be weighed beside the others
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

    @classmethod
    def of(cls, rig: Rig) -> _Bounds:
        """Collect the limits of both axles' bags."""

        def column(name: str, missing: float) -> Array:
            return np.array([[getattr(bag, name) if bag else missing] for bag in rig.bags])

        return cls(
            column("least_pressure", -np.inf),
            column("greatest_pressure", np.inf),
            column("load_rating", np.inf),
            column("lowest", -np.inf),
            column("highest", np.inf),
        )


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
    shape = np.broadcast_shapes(wanted.shape[:-1], load.side_moment.shape)
    load = load.spread(shape)
    target = np.column_stack([np.broadcast_to(wanted, (*shape, 3)).reshape(-1, 3), load.least_twist])
    bounds = _Bounds.of(rig)
    state, held = target.copy(), np.zeros((len(target), 2, 2), np.int8)
    aimed = _free_targets(rig, len(target))
    todo = np.ones(len(target), bool)
    for _ in range(MOST_ROUNDS):
        part, hold, aim = load.take(todo), held[todo], aimed[todo]
        now = _solve(rig, part, target[todo], state[todo], aim, hold, bounds)
        worst, limit = _worst_violation(rig, part, now, hold, bounds)
        _take_up(rig, worst, limit, hold, aim)
        state[todo], held[todo], aimed[todo] = now, hold, aim
        todo[todo] = worst.any(axis=(-1, -2))
        if not todo.any():
            break
    state[todo], held[todo] = target[todo], Limit.NONE  # no order of limits found: from the wanted stance, clipped
    pressure = _pressure(rig, load, state)
    bound = todo | ~np.all(aimed, axis=-1)
    if bound.any():
        _come_to_rest(rig, load, state, pressure, held, bound, bounds)
    return Levelled(state.reshape(*shape, 4), pressure.reshape(*shape, 2, 2), held.reshape(*shape, 2, 2))


def _free_targets(rig: Rig, cases: int) -> Flags:
    """Return which targets are ours to aim at before any limit is held, shape (cases, 4)."""
    aimed = np.ones((cases, 4), bool)
    aimed[:, :2] = rig.has_bag
    separate = [bag is not None and not joined for bag, joined in zip(rig.bags, rig.joined, strict=True)]
    aimed[:, SPLIT] = all(separate)
    aimed[:, ROLL] = any(separate)
    return aimed


def _pressure(rig: Rig, load: Load, state: Array) -> Array:
    """Return the gauge pressure each bag needs in a state, (S/m - F_steel) / A, shape (..., 2, 2). [Pa]"""
    height, force = rig.corners(load, state)
    area = rig.area(height)
    pressure = (force - rig.steel_force(height)) / np.where(area > 0, area, np.inf)
    for k, joined in enumerate(rig.joined):
        if joined:
            pressure[..., k, :] = pressure[..., k, :].mean(axis=-1, keepdims=True)
    return pressure


def _worst_violation(rig: Rig, load: Load, state: Array, held: Codes, bounds: _Bounds) -> tuple[Flags, Codes]:
    """Return the corner of each case that passes a limit by most (one at the most), and which limit at each corner."""
    height, force = rig.corners(load, state)
    area = rig.area(height)
    bag_force = force - rig.steel_force(height)
    pressure = bag_force / np.where(area > 0, area, np.inf)
    aired = (held > 0) & (held < Limit.LOWEST_HEIGHT)
    resting = (held > 0) | (np.array(rig.joined)[:, None] & aired.any(axis=-1, keepdims=True))
    span = np.where(np.isfinite(bounds.greatest), bounds.greatest, 1.0)
    travel = np.where(np.isfinite(bounds.highest), bounds.highest - bounds.lowest, 1.0)
    passed = np.stack(
        [
            (bounds.least - pressure) / span,
            (pressure - bounds.greatest) / span,
            (bag_force - bounds.rating) / bounds.rating.clip(max=1e9),
            np.where(resting, 0.0, HEIGHTS_FIRST * (bounds.lowest - height) / travel),
            np.where(resting, 0.0, HEIGHTS_FIRST * (height - bounds.highest) / travel),
        ],
        axis=-1,
    )
    limit = (passed.argmax(axis=-1) + 1).astype(np.int8)
    most = passed.max(axis=-1)
    flat = most.reshape(*most.shape[:-2], 4)
    first = np.arange(4) == flat.argmax(axis=-1)[..., None]
    worst = (first & (flat > SLACK)).reshape(most.shape)
    return worst, limit


def _take_up(rig: Rig, worst: Flags, limit: Codes, held: Codes, aimed: Flags) -> None:
    """Hold each case's worst corner at its limit, and give up the target that this costs. Changes held and aimed."""
    case, axle, side = np.nonzero(worst)
    code, across = limit[worst], held[case, axle, 1 - side]
    shares_line = np.array(rig.joined)[axle]
    replaces = (held[case, axle, side] > 0) | (shares_line & (across > 0))
    held[case, axle, 1 - side] = np.where(shares_line, Limit.NONE, across)
    held[case, axle, side] = code
    split_aimed = aimed[case, SPLIT]
    rise_first = (code >= Limit.LOWEST_HEIGHT) | (((across > 0) | shares_line) & ~split_aimed)
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
    last, part = np.zeros_like(now), np.ones(len(now))
    for _ in range(MOST_STEPS):
        over, slope = _equations(rig, some, now, goal, held, bounds)
        over = np.take_along_axis(over, rows, -1)
        done = np.abs(over).max(axis=-1) <= enough
        if done.all():
            break
        step = np.linalg.solve(np.take_along_axis(slope, rows[..., None], -2), -over[..., None])[..., 0]
        longest = np.abs(step[:, :3]).max(axis=-1)
        step *= np.minimum(1.0, LONGEST_STEP / np.maximum(longest, LONGEST_STEP))[:, None]
        turned_back = (step * last)[:, :3].sum(axis=-1) < 0
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
    return np.argsort(~chosen, axis=-1, kind="stable")[:, :4]


def _equations(rig: Rig, load: Load, state: Array, target: Array, held: Codes, bounds: _Bounds) -> tuple[Array, Array]:
    """Return all ten equations, shape (cases, 10) [N], and their slopes by the state, shape (cases, 10, 4)."""
    height, force = rig.corners(load, state)
    area, area_slope = rig.area(height), rig.area_slope(height)
    bag_force = force - rig.steel_force(height)
    by_height, by_statics = _state_slopes(rig)
    pressure, constant = _held_force(held, bounds)
    stiffness = np.maximum(rig.steel_slope(height) - pressure * area_slope, SOFTEST_STEP)
    corner = bag_force - pressure * area - constant
    corner_slope = by_statics + stiffness[..., None] * by_height
    end = np.where(held == Limit.LOWEST_HEIGHT, bounds.lowest, bounds.highest)
    at_end = held >= Limit.LOWEST_HEIGHT
    corner = np.where(at_end, HEIGHT_SCALE * (height - np.where(at_end, end, 0.0)), corner)
    corner_slope = np.where(at_end[..., None], HEIGHT_SCALE * by_height, corner_slope)
    firm = np.maximum(rig.steel_slope(height), SOFTEST_STEP)[..., None]
    line, line_slope = _line_equation(bag_force, by_statics + firm * by_height, area, area_slope[..., None] * by_height)
    scale = np.array([HEIGHT_SCALE, HEIGHT_SCALE, HEIGHT_SCALE, 1.0])
    n = len(state)
    over = np.concatenate([corner.reshape(n, 4), line, scale * (state - target)], axis=-1)
    aim_slope = np.broadcast_to(np.diag(scale), (n, 4, 4))
    return over, np.concatenate([corner_slope.reshape(n, 4, 4), line_slope, aim_slope], axis=-2)


def _line_equation(force: Array, force_slope: Array, area: Array, area_slope: Array) -> tuple[Array, Array]:
    """Return F_left A_right - F_right A_left over the mean area, 0 where both have one pressure, and its slope."""
    mean = area.mean(axis=-1)
    mean = np.where(mean > 0, mean, 1.0)
    (f_l, f_r), (a_l, a_r) = ((q[..., 0], q[..., 1]) for q in (force, area))
    (df_l, df_r), (da_l, da_r) = ((q[..., 0, :], q[..., 1, :]) for q in (force_slope, area_slope))
    slope = (df_l * a_r[..., None] + f_l[..., None] * da_r - df_r * a_l[..., None] - f_r[..., None] * da_l) / mean[
        ..., None
    ]
    return (f_l * a_r - f_r * a_l) / mean, slope


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
