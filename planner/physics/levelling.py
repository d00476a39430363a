"""The inverse problem: which pressures give a wanted stance, inside the limits of the bags.

A state of the truck is (rise front, rise rear, roll, side moment on the front axle). Four equations fix it. With four
separate bags all four are ours to choose, the last one by least frame twist: that is explicit. Where a line joins two
bags, an axle has no bag, or a limit is passed, `active_set` finds the best state there is.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.physics.active_set import all_steered, hold_limits, split_inside
from planner.physics.array_layout import BLOCK, GATHERED, empty_arrays, some_of
from planner.physics.bag_limits import Bounds, Limit, bounds_of, held_at
from planner.physics.constants import STOP_GAP
from planner.physics.equilibrium import TOLERANCE, HeldPressure, RatedPressure, settle
from planner.physics.level_goal import ROLL, SPLIT, Coupling, Goal, goal_of
from planner.physics.statics import Load
from planner.physics.truck_model import Rig
from planner.physics.validation import Array, Codes, Flags

SLACK = 1e-9  # [-] a limit of pressure or load passed by less, as a part of its range, is met; a height's: STOP_GAP
HEIGHTS_FIRST = 1e6  # a pressure at a height that cannot be reached means nothing
NEARLY = 1e-5  # [m] what rounding moves a truck at the most

Cases = NDArray[np.intp]


class Levelled(NamedTuple):
    """The answer of levelling.

    state : rise front, rise rear [m], roll [rad], front axle's side moment [N·m], shape (..., 4)
    pressure : gauge, shape (..., 2, 2); 0 where there is no bag [Pa]
    held : the Limit each corner is held at, shape (..., 2, 2)
    converged : whether the truck rests in that state at those pressures, shape (...)
    """

    state: Array
    pressure: Array
    held: Codes
    converged: Flags

    def of(self, cases: slice | Flags | None) -> Levelled:
        """Return the part of some cases; of None the only one as a row of one."""
        return Levelled(self.state[cases], self.pressure[cases], self.held[cases], self.converged[cases])

    def shaped(self, shape: tuple[int, ...]) -> Levelled:
        """Return the cases of a row in another shape."""
        return Levelled(*_in_shape(shape, *self))


class Asked(NamedTuple):
    """What a wanted stance asks, before any limit is held.

    state : rise front, rise rear [m], roll [rad], front axle's side moment [N·m], shape (..., 4)
    pressure : gauge, shape (..., 2, 2); 0 where there is no bag [Pa]
    passed : the Limit each corner passes, NONE where it is inside all, shape (..., 2, 2)
    found : whether shared lines and steel allow such a state, shape (...)
    """

    state: Array
    pressure: Array
    passed: Codes
    found: Flags


def ask(rig: Rig, load: Load, wanted: Array, *, split_gives: bool = False) -> Asked:
    """Return the pressures that a wanted stance asks of the bags, and which limits they pass.

    Parameters
    ----------
    rig, load, wanted
        As in :func:`level`.
    split_gives : bool
        Whether the split of the side moment gives way to the limits where it is ours to choose.

    Returns
    -------
    Asked
        Where no corner passes a limit, state and pressure are those of :func:`level`.

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import rig_of
    >>> rig = rig_of(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> ask(rig, rig.kerb, np.array([0.2, 0.2, 0.0])).passed.tolist()  # 200 mm up: past the highest height
    [[5, 5], [5, 5]]
    """
    found, goal = _Results.of(load, wanted), goal_of(rig)
    for cases, some, target in found.blocks(load, wanted):
        if split_gives and all_steered(rig):
            target[:, SPLIT] = split_inside(rig, some, target, all_of_them=True)[0]
        free = _free(rig, some, target, goal)
        found.put(cases, free.state, free.pressure, np.where(free.most > SLACK, free.limit, Limit.NONE), free.met)
    return Asked(*found.shaped())


def level(rig: Rig, load: Load, wanted: Array, coupling: Coupling | None = None) -> Levelled:
    """Return the pressures that give a wanted stance, or the best that the limits allow.

    Parameters
    ----------
    rig : Rig
        One truck.
    load : Load
        One case or many.
    wanted : array, shape (..., 3)
        Rise at the front and the rear axle line [m] and roll [rad], against level.
    coupling : Coupling, optional
        Where the height that the wanted stance gives a coupling comes before the stance itself, as in hitching.

    Returns
    -------
    Levelled
        Where the air cannot carry the load inside its limits at any stance, the truck rests on its stops at the
        pressures that come nearest, and the corners are held at their limits.

    Notes
    -----
    Where all is free the answer is explicit. Otherwise it is the best state inside all limits, see
    :mod:`~planner.physics.active_set`: first the least lean, then the least departure of the rises, then the least
    twist.

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import rig_of
    >>> rig = rig_of(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> level(rig, rig.kerb, np.zeros(3)).pressure.round(-3).tolist()  # the truck as weighed
    [[271000.0, 258000.0], [169000.0, 162000.0]]
    """
    found, goal = _Results.of(load, wanted), goal_of(rig, coupling)
    bound = np.ones(len(found.good), bool)
    if all_steered(rig):
        for cases, some, target in found.blocks(load, wanted):
            height, bag_force, pressure = _asked_of_bags(rig, some, target)
            bound[cases] = np.any(_past(rig, height, bag_force, pressure), axis=(-1, -2))
            found.put(cases, target, pressure, Limit.NONE, True)
    if bound.any():
        for cases, some, target in found.blocks(load, wanted, bound):
            found.put(cases, *_within_limits(rig, some, target, goal))
    return Levelled(*found.shaped())


@dataclass(frozen=True, eq=False)
class _Results:
    """Room for the results of all cases, filled block by block."""

    shape: tuple[int, ...]
    state: Array
    pressure: Array
    codes: Codes
    good: Flags

    @classmethod
    def of(cls, load: Load, wanted: Array) -> _Results:
        """Make room for what a load and a wanted stance broadcast to."""
        shape = np.broadcast(wanted[..., 0], load.side_moment).shape
        cases = math.prod(shape)
        return cls(
            shape,
            empty_arrays((4,), cases),
            empty_arrays((2, 2), cases),
            empty_arrays((2, 2), cases, np.int8),
            np.ones(cases, bool),
        )

    def blocks(
        self, load: Load, wanted: Array, bound: Flags | None = None
    ) -> Iterator[tuple[slice | Cases, Load, Array]]:
        """Yield the cases block by block: which they are, their load and their target state, (cases, 4).

        All of them, or gathered those that a limit binds.
        """
        spread = load.spread(self.shape)
        stance = np.broadcast_to(wanted, (*self.shape, 3)).reshape(-1, 3)
        if bound is not None:
            which, spread, stance = np.flatnonzero(bound), spread.take(bound), some_of(stance, bound)
        size = BLOCK if bound is None else GATHERED
        for start in range(0, len(stance), size):
            part = slice(start, start + size)
            some = spread.take(part)
            target = empty_arrays((4,), len(some.side_moment))
            target[:, :3], target[:, SPLIT] = stance[part], some.least_twist_at(stance[part, 2])
            yield part if bound is None else which[part], some, target

    def put(self, cases: slice | Cases, state: Array, pressure: Array, codes: Codes | int, good: Flags | bool) -> None:
        """Keep the results of a block."""
        self.state[cases], self.pressure[cases], self.codes[cases], self.good[cases] = state, pressure, codes, good

    def shaped(self) -> tuple[Array, Array, Codes, Flags]:
        """Return state, pressure, codes and whether each case was found, in the shape that was asked."""
        return _in_shape(self.shape, self.state, self.pressure, self.codes, self.good)


def _in_shape(
    shape: tuple[int, ...], state: Array, pressure: Array, codes: Codes, good: Flags
) -> tuple[Array, Array, Codes, Flags]:
    """Return results of cases in a row in another shape."""
    corners = (*shape, 2, 2)
    return state.reshape(*shape, 4), pressure.reshape(corners), codes.reshape(corners), good.reshape(shape)


class _Free(NamedTuple):
    """Cases before any limit is held; most: by how much the worst limit of a corner is passed, as a part."""

    state: Array
    pressure: Array
    most: Array
    limit: Codes
    met: Flags


def _free(rig: Rig, load: Load, target: Array, goal: Goal) -> _Free:
    """Return the state and the pressures of the targets that are ours to aim at, and what they pass."""
    state, met = target, np.ones(len(target), bool)
    if not all_steered(rig):
        state, met = hold_limits(rig, load, target, goal, limits="none")
    height, bag_force, pressure = _asked_of_bags(rig, load, state)
    most, limit = _passed(rig, height, bag_force, pressure)
    return _Free(state, _on_one_line(rig, pressure), most, limit, met)


def _asked_of_bags(rig: Rig, load: Load, state: Array) -> tuple[Array, Array, Array]:
    """Return what a state asks of each corner: height [m], force of the bag [N] and gauge pressure [Pa].

    P A(b, P) = S/m - F_steel; P = 0 where there is no bag.
    """
    height, force = rig.corners(load, state)
    force -= rig.steel_force(height)
    return height, force, rig.bag_pressure(height, force)


def _on_one_line(rig: Rig, pressure: Array) -> Array:
    """Return pressures with those of bags on one line made the same: they differ by rounding only."""
    for k, joined in enumerate(rig.joined):
        if joined:
            pressure[..., k, :] = pressure[..., k, :].mean(axis=-1, keepdims=True)
    return pressure


def _shares(rig: Rig, height: Array, bag_force: Array, pressure: Array) -> Iterator[tuple[Limit, Array]]:
    """Yield every limit, and by how much each corner passes it, as a part of its range; heights outweigh pressures."""
    least, greatest, rating, lowest, highest, span, most, travel = _ranges(rig)
    yield Limit.LEAST_PRESSURE, (least - pressure) / span
    yield Limit.GREATEST_PRESSURE, (pressure - greatest) / span
    yield Limit.LOAD_RATING, (bag_force - rating) / most
    yield Limit.LOWEST_HEIGHT, (lowest - height) / travel
    yield Limit.HIGHEST_HEIGHT, (height - highest) / travel


@lru_cache(maxsize=32)
def _ranges(rig: Rig) -> tuple[Array, ...]:
    """Return the limits of `Bounds` and the ranges of pressure, load and height that they are held against, (2, 1)."""
    bounds = bounds_of(rig)
    span = np.where(np.isfinite(bounds.greatest), bounds.greatest, 1.0)
    travel = np.where(np.isfinite(bounds.highest), bounds.highest - bounds.lowest, 1.0) / HEIGHTS_FIRST
    lowest, highest = bounds.lowest - STOP_GAP, bounds.highest + STOP_GAP
    limits = (bounds.least, bounds.greatest, bounds.rating, lowest, highest)
    return tuple(each[:, None] for each in (*limits, span, np.minimum(bounds.rating, 1e9), travel))


def _past(rig: Rig, height: Array, bag_force: Array, pressure: Array) -> Flags:
    """Tell which corners pass any limit, shape (..., 2, 2)."""
    first, *others = (share > SLACK for _, share in _shares(rig, height, bag_force, pressure))
    for other in others:
        first |= other
    return first


def _passed(rig: Rig, height: Array, bag_force: Array, pressure: Array) -> tuple[Array, Codes]:
    """Return by how much the worst limit of each corner is passed, as a part of its range, and which limit that is."""
    most, limit = np.full_like(pressure, -np.inf), np.zeros_like(pressure, np.int8)
    for code, share in _shares(rig, height, bag_force, pressure):
        limit[share > most] = code
        np.maximum(most, share, out=most)
    return most, limit


def _within_limits(rig: Rig, load: Load, target: Array, goal: Goal) -> tuple[Array, Array, Codes, Flags]:
    """Return state, pressure, held limits and convergence of cases that pass a limit, or that a line or steel binds."""
    state, met = hold_limits(rig, load, target, goal)
    bounds = bounds_of(rig)
    height, bag_force, pressure = _asked_of_bags(rig, load, state)
    held = held_at(rig, height, bag_force)
    pressure = _on_one_line(rig, np.where(rig.has_bag[:, None], _inside(pressure, bounds), 0.0))
    state, pressure, converged = _at_rest(rig, load, state, pressure)
    lost = ~(met & converged)
    if lost.any():
        rest = _on_stops(rig, load.take(lost), target[lost], goal)
        state[lost], pressure[lost], held[lost], converged[lost] = rest
    return state, pressure, held, converged


def _at_rest(rig: Rig, load: Load, state: Array, pressure: Array) -> tuple[Array, Array, Flags]:
    """Return state, pressure and whether the truck rests so: what rounding left is settled, if it moves nothing."""
    height, force = rig.corners(load, state)
    left = np.abs(force - rig.steel_force(height) - rig.bag_load(height, pressure)).max(axis=(-1, -2))
    rests = left <= TOLERANCE * load.axle.sum(axis=-1)
    if not rests.all():
        some = ~rests
        settled = settle(rig, load.take(some), HeldPressure(pressure[some]), state[some])
        good = settled.converged & (np.abs(settled.state - state[some])[:, :3].max(axis=-1) < NEARLY)
        state[np.flatnonzero(some)[good]] = settled.state[good]
        rests[np.flatnonzero(some)[good]] = True
    return state, pressure, rests


def _on_stops(rig: Rig, load: Load, target: Array, goal: Goal) -> tuple[Array, Array, Codes, Flags]:
    """Return state, pressure, held limits and convergence of cases that no stance inside all limits carries.

    At the pressures of the wanted stance, cut to their limits; where that leans more than a tape can tell, with less
    air on the high side if that takes the lean out.
    """
    bounds = bounds_of(rig)
    state, pressure, held, converged = _clipped(rig, load, target, bounds)
    off = np.abs(state[:, ROLL] - target[:, ROLL]) * float(rig.track[1])
    leans = off > max(rig.tape_error, NEARLY)
    if leans.any():
        some = load.take(leans)
        found, met = hold_limits(rig, some, target[leans], goal, limits="on stops", start=state[leans])
        height, bag_force, asked = _asked_of_bags(rig, some, found)
        asked = _on_one_line(rig, np.where(rig.has_bag[:, None], _inside(asked, bounds), 0.0))
        found, asked, rests = _at_rest(rig, some, found, asked)
        less = np.abs(found[:, ROLL] - target[leans, ROLL]) * float(rig.track[1]) < off[leans] - NEARLY
        better = np.flatnonzero(leans)[met & rests & less]
        good = met & rests & less
        state[better], pressure[better], converged[better] = found[good], asked[good], True
        held[better] = held_at(rig, height, bag_force)[good]
    return state, pressure, held, converged


def _inside(pressure: Array, bounds: Bounds) -> Array:
    """Return pressures between the least and the greatest of their bags. [Pa]"""
    return np.clip(pressure, bounds.least[:, None], bounds.greatest[:, None])


def _clipped(rig: Rig, load: Load, target: Array, bounds: Bounds) -> tuple[Array, Array, Codes, Flags]:
    """Return rest, pressure, held limits and convergence at the pressures of the wanted stance, cut to their limits.

    Each bag has the pressure that the wanted stance asks of it, inside its limits, and no more than its load rating
    leaves it where it rests; what it does not carry goes into steel and stops.
    """
    needed = _on_one_line(rig, _asked_of_bags(rig, load, target)[2].copy())
    gauge = np.where(rig.has_bag[:, None], _inside(needed, bounds), 0.0)
    rest = settle(rig, load, RatedPressure(gauge, bounds.rating, bounds.least), target)
    held = held_at(rig, rest.height, rest.bag_load)
    return rest.state, rest.pressure, held, rest.converged
