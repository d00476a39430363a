"""The linear programme about a state of the truck: rows of the limits of its bags, its lines and its steel."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, NamedTuple

import numpy as np

from planner.physics.air_spring import Bag
from planner.physics.array_layout import by_place
from planner.physics.bag_limits import FORCE_SCALE, bounds_of
from planner.physics.constants import STOP_RATE
from planner.physics.level_goal import ROLL, SPLIT, Goal
from planner.physics.statics import Load
from planner.physics.truck_model import AXLE, Rig
from planner.physics.validation import Array

Limits = Literal["all", "on stops", "none"]


def linear_programme_at(
    rig: Rig, load: Load, target: Array, goal: Goal, now: Array, bound: Array | None, limits: Limits
) -> tuple[Array, Array, Sequence[int]]:
    """Return rows, room and equations of the linear programme about the coordinates of the present state.

    First the limits, then those of the coordinates themselves: larger is no less than a rise, the lean is bound.
    """
    names = goal.names
    room, axles = rooms_left(rig, load, target, goal, now, bound, limits)
    rows = np.zeros((len(room), len(names), len(target)))
    m, equal = _slopes(rig, load, goal, limits, axles, rows)
    if "larger" in names:
        rows[m : m + 4, names.index("larger")] = -1.0
        for place, name in enumerate(("front", "rear")):
            rows[m + 2 * place, names.index(name)], rows[m + 2 * place + 1, names.index(name)] = 1.0, -1.0
    if bound is not None:
        rows[-2, names.index("lean")], rows[-1, names.index("lean")] = 1.0, -1.0
    room += np.einsum("mcn,cn->mn", rows, now)
    return rows, room, equal


def count_rows(rig: Rig, limits: Limits) -> int:
    """Return how many limits of its bags a rig has.

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import rig_of
    >>> rig = rig_of(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> count_rows(rig, "none"), count_rows(rig, "all")
    (0, 20)
    """
    count = 0
    for bag, joined in zip(rig.bags, rig.joined, strict=True):
        if bag is None:
            count += 2
            continue
        count += joined
        if limits != "none":
            count += 4 + 2 * bool(np.isfinite(bag.load_rating)) + 4 * (limits == "all")
    return count


class _Shared(NamedTuple):
    """What bags on one line are at, each of shape (2, n): area, dA/db at the pressure there, and area over dF/dP."""

    area: Array
    area_slope: Array
    firmness: Array


class _Axle(NamedTuple):
    """What the corners of an axle are at, each of shape (2, n), forces over FORCE_SCALE.

    least_slope, most_slope : by height, of the bag's load at its least and its greatest pressure; none without a bag
    shared : where both bags are on one line
    """

    air: Array
    rate: Array
    least_slope: Array | None = None
    most_slope: Array | None = None
    shared: _Shared | None = None


def rooms_left(
    rig: Rig, load: Load, target: Array, goal: Goal, now: Array, bound: Array | None, limits: Limits
) -> tuple[Array, list[_Axle]]:
    """Return the room that every limit leaves at the coordinates of a state, (m, n), and what its axles are at.

    Forces over FORCE_SCALE, heights as they are. Where all limits count, the stops are left out of the steel: the
    heights' own limits keep off them.
    """
    names, m = goal.names, count_rows(rig, limits)
    room = np.empty((m + 4 * ("larger" in names) + 2 * (bound is not None), len(target)))
    corners = rig.corners(load, goal.state(target, load, now))
    height, force = (by_place(part) for part in corners)
    past_end = by_place(rig.past_end(corners.spring_height)) if limits == "on stops" else height
    bounds, at, scale, axles = bounds_of(rig), 0, 1.0 / FORCE_SCALE, []
    for k, bag in enumerate(rig.bags):
        rate = rig.steel_rate[k]
        steel = rig.steel_load[k] - rate * (height[k] - rig.design_height[k, :, None])
        if limits == "on stops" and bag is not None:
            steel, rate = steel - STOP_RATE * past_end[k], rate + STOP_RATE * (past_end[k] != 0.0)
        air = (force[k] - steel) * scale
        if bag is None:
            axles.append(_Axle(air, rate * scale))
            room[at : at + 2], at = -air, at + 2
            continue
        least, least_slope, most, most_slope = (scale * one for one in bag.limit_loads(height[k]))
        shared = _shared(bag, height[k], air / scale) if rig.joined[k] else None
        axles.append(_Axle(air, rate * scale, least_slope, most_slope, shared))
        if shared is not None:
            area = shared.area
            room[at], at = -(air[0] * area[1] - air[1] * area[0]) / area.mean(axis=0), at + 1
        if limits == "none":
            continue
        room[at : at + 2] = air - least
        room[at + 2 : at + 4], at = most - air, at + 4
        if np.isfinite(bounds.rating[k]):
            room[at : at + 2], at = bounds.rating[k] * scale - air, at + 2
        if limits == "all":
            room[at : at + 2], room[at + 2 : at + 4], at = (
                height[k] - bounds.lowest[k],
                bounds.highest[k] - height[k],
                at + 4,
            )
    if "larger" in names:
        larger = now[names.index("larger")]
        for name in ("front", "rear"):
            rise = now[names.index(name)]
            room[at], room[at + 1], at = larger - rise, larger + rise, at + 2
    if bound is not None:
        lean = now[names.index("lean")]
        room[at], room[at + 1] = bound - lean, bound + lean
    return room, axles


def _slopes(
    rig: Rig, load: Load, goal: Goal, limits: Limits, axles: Sequence[_Axle], rows: Array
) -> tuple[int, Sequence[int]]:
    """Fill in how the limits answer the coordinates, (m, c, n); return how many there are, and which are equations."""
    by_height, by_statics = (
        goal.rows(part.reshape(4, 4, -1), load).reshape(2, 2, len(goal.names), -1) for part in state_slopes(rig, load)
    )
    equal: list[int] = []
    bounds, at, scale = bounds_of(rig), 0, 1.0 / FORCE_SCALE
    for k, axle in enumerate(axles):
        own = by_height[k]
        firm = by_statics[k] * scale + (axle.rate[:, None] if axle.rate.ndim else axle.rate) * own
        if axle.least_slope is None or axle.most_slope is None:
            equal += [at, at + 1]
            rows[at : at + 2], at = firm, at + 2
            continue
        if axle.shared is not None:
            equal.append(at)
            rows[at], at = _one_pressure(axle.air, axle.shared, firm, own), at + 1
        if limits == "none":
            continue
        np.multiply(axle.least_slope[:, None], own, out=rows[at : at + 2])
        rows[at : at + 2] -= firm
        np.subtract(firm, axle.most_slope[:, None] * own, out=rows[at + 2 : at + 4])
        at += 4
        if np.isfinite(bounds.rating[k]):
            rows[at : at + 2], at = firm, at + 2
        if limits == "all":
            np.negative(own, out=rows[at : at + 2])
            rows[at + 2 : at + 4], at = own, at + 4
    return at, equal


def _shared(bag: Bag, height: Array, load: Array) -> _Shared:
    """Return what the two bags of a line are at with loads that may not be of one pressure yet, (2, n). [N]"""
    if bag.pressures is None:
        area, area_slope = bag.area_and_slope(height)
        return _Shared(area, area_slope, np.ones_like(area))
    pressure = bag.pressure(height, load)
    area, area_slope = bag.area_and_slope(height, pressure)
    return _Shared(area, area_slope, area / bag.load_gain(height, pressure))


def _one_pressure(air: Array, bags: _Shared, firm: Array, own: Array) -> Array:
    """Return the slope by the coordinates, (c, n), of (F_left A_right - F_right A_left) / mean area: one pressure.

    Of one axle: force of the bags, (2, n); slopes of force and height by the coordinates, (2, c, n). dP = (dF - P
    dA/db db) / (dF/dP) of each bag, P that of the other, which is the same in the end.
    """
    area, area_slope, firmness = bags
    left = firm[0] * area[1] - own[0] * (air[1] * area_slope[0])
    right = firm[1] * area[0] - own[1] * (air[0] * area_slope[1])
    shared: Array = (firmness[0] * left - firmness[1] * right) / area.mean(axis=0)
    return shared


def state_slopes(rig: Rig, load: Load) -> tuple[Array, Array]:
    """Return how spring heights and spring forces answer the state, each of shape (2, 2, 4, n).

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import rig_of
    >>> rig = rig_of(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> heights, forces = state_slopes(rig, rig.kerb)
    >>> heights[:, 0, :2, 0].tolist()  # of the left springs, by the rise of either axle line
    [[1.0, 0.0], [0.0, 1.0]]
    """
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
