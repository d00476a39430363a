"""Pressures that a gauge can show: the four corners rounded together, so that the truck stands as it was levelled."""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import product
from typing import Final, NamedTuple

import numpy as np

from planner.physics.bag_limits import bounds_of
from planner.physics.equilibrium import HeldPressure, Settled, settle, springs_fix
from planner.physics.levelling import Levelled
from planner.physics.statics import Load
from planner.physics.truck_model import Rig
from planner.physics.validation import Array, Flags
from planner.plans.ratings import off_wanted
from planner.plans.setup import Setup

AROUND: Final = (-1, 0, 1)  # steps tried about the nearest one
NEAR_END: Final = 0.001  # [m] of an end of its chart a bag may come to rest at it
ALIKE: Final = 8  # places after the point of a metre or of a step squared to which two ways are alike
OVER: Final = 1e-9  # [-] a pressure or a load past its limit by less, as a part of it, is at it
FINER: Final = np.array([2.0, 5.0, 10.0, 20.0, 50.0, 100.0])  # parts of a step that are asked whether they would do


def round_to_gauge(setup: Setup, rig: Rig, load: Load, levelled: Levelled) -> Settled:
    """Return the pressures of one levelled case as the truck's gauge can show them, as `round_many` has them.

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.physics.levelling import level
    >>> from planner.plans.setup import Setup, rig_of
    >>> setup = Setup(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> rig = rig_of(setup.truck)
    >>> rounded = round_to_gauge(setup, rig, rig.kerb, level(rig, rig.kerb, np.zeros(3)))
    >>> (rounded.pressure / 6894.757).round(3).tolist()  # psi
    [[39.0, 37.0], [24.0, 24.0]]
    """
    return round_many(setup, rig, load.spread((1,)), levelled.of(None), setup.wanted[None]).of(0)


def round_many(setup: Setup, rig: Rig, load: Load, levelled: Levelled, wanted: Array) -> Settled:
    """Return the pressures of levelled cases of one truck as its gauge can show them, and where it sits on them.

    Parameters
    ----------
    setup, rig
        Of the truck.
    load : Load, shape (n,)
    levelled : Levelled, of n cases
    wanted : array, shape (n, 3)
        Rise front and rear [m] and roll [rad].

    Returns
    -------
    Settled, of n cases
        Each line at a whole step inside the limits of its bags; a limit that leaves no step between them is passed
        over. They are the nearest steps, where a tape cannot tell how the truck then stands from how it was levelled.
        Else all lines are tried one step up and down: the nearest of those that a tape cannot tell from the wanted
        stance; where there is none, the one with the least lean and, of leans that a tape cannot tell, the least rise.
        Where pressure does not fix the height of an axle the truck is set by tape, and stands as it was levelled.
    """
    tape, lines = float(setup.truck.instruments.tape_error), _lines_of(setup, rig)
    found = _settled(rig, load, levelled.state, lines, lines.nearest(levelled.pressure))
    was = rig.corners(load, levelled.state).spring_height
    away = _passes(rig, found, was) | (_off(setup, rig, found.state, levelled.state).max(axis=-1) > tape)
    if not lines.corner or not away.any():
        return found
    by_tape = _as_levelled(rig, load, levelled, lines)
    free = away & ~by_tape.fixed.all(axis=-1)
    _put(found, free, by_tape.of(free))
    bound = away & ~free
    if bound.any():
        best = _best_around(setup, rig, load.take(bound), levelled.of(bound), wanted[bound])
        _put(found, bound, best)
    return found


def _put(found: Settled, cases: Flags, better: Settled) -> None:
    """Put others in the place of some cases."""
    for part, other in zip(found, better, strict=True):
        part[cases] = other


def _best_around(setup: Setup, rig: Rig, load: Load, levelled: Levelled, wanted: Array) -> Settled:
    """Return the best of all lines a step up and down, of each of n cases: see `round_many`."""
    tape, lines = float(setup.truck.instruments.tape_error), _lines_of(setup, rig)
    steps = lines.step * np.array(list(product(AROUND, repeat=len(lines.corner))))
    exact, nearest = lines.exact(levelled.pressure), lines.nearest(levelled.pressure)
    tried = (nearest[:, None] + steps).clip(*lines.room)  # past an end it is one that is tried anyway
    found = _settled(rig, load.column(), levelled.state[:, None], lines, tried)
    off = _off(setup, rig, found.state, wanted[:, None])
    rise, lean = np.maximum(off[..., 0], off[..., 1]), off[..., 2]
    far = (((tried - exact[:, None]) / lines.step) ** 2).sum(axis=-1)
    told = np.maximum(lean, rise) > tape
    over = np.where(told, [rise, np.maximum(lean, tape)], 0.0)
    keys = (*(np.round(key, ALIKE) for key in (far, *over)), told)  # one axle's steps leave the other's rise as it is
    was = rig.corners(load, levelled.state).spring_height
    best = np.lexsort((*keys, _passes(rig, found, was[:, None])))[:, 0]
    return found.of((np.arange(len(best)), best))


def step_that_does(setup: Setup, rig: Rig, load: Load, levelled: Levelled) -> float | None:
    """Return the coarsest part of the gauge's step that leaves nothing a tape can tell; None where none does. [Pa]"""
    steps = float(setup.truck.instruments.gauge_step) / FINER
    lines = [_lines(rig, step) for step in steps]
    nearest = np.array([one.nearest(levelled.pressure) for one in lines])
    found = _settled(rig, load, levelled.state, lines[0], nearest)
    exact = _off(setup, rig, levelled.state, setup.wanted)
    tape = float(setup.truck.instruments.tape_error)
    off = np.where(exact <= tape, _off(setup, rig, found.state, setup.wanted), 0.0).max(axis=-1)
    does = steps[off <= tape]
    return float(does[0]) if len(does) else None


class _Lines(NamedTuple):
    """The air lines of a truck.

    corner : axle and side of a corner of each
    corners : 1 where a corner hangs on a line, shape (lines, 4)
    room : the least and the greatest whole step inside the limits of its bags, shape (2, lines) [Pa]
    step : of the gauge [Pa]
    """

    corner: tuple[tuple[int, int], ...]
    corners: Array
    room: Array
    step: float

    def exact(self, pressure: Array) -> Array:
        """Return the pressure of each line, shape (..., lines), from that of the corners, (..., 2, 2). [Pa]"""
        axle, side = np.array(self.corner, int).reshape(-1, 2).T
        return pressure[..., axle, side]

    def nearest(self, pressure: Array) -> Array:
        """Return the whole steps nearest to it that there is room for. [Pa]"""
        return (self.step * np.round(self.exact(pressure) / self.step)).clip(*self.room)

    def gauge(self, pressure: Array) -> Array:
        """Return the pressure at each corner from that of each line; 0 where there is no bag. [Pa]"""
        gauge: Array = (pressure @ self.corners).reshape(*pressure.shape[:-1], 2, 2)
        return gauge


def _lines_of(setup: Setup, rig: Rig) -> _Lines:
    return _lines(rig, float(setup.truck.instruments.gauge_step))


@lru_cache(maxsize=256)
def _lines(rig: Rig, step: float) -> _Lines:
    """Return the air lines of a truck, to be set to whole steps [Pa]; kept, as a truck is asked for again and again."""
    corner, corners, room = [], [], []
    for k, bag in enumerate(rig.bags):
        if bag is not None:
            low = math.ceil(bag.least_pressure / step * (1.0 - OVER))
            high = math.floor(bag.greatest_pressure / step * (1.0 + OVER))
            for i in (0,) if rig.joined[k] else (0, 1):
                corner.append((k, i))
                at = np.zeros((2, 2))
                at[k, slice(None) if rig.joined[k] else i] = 1.0
                corners.append(at)
                room.append((step * low, step * high) if low <= high else (0.0, np.inf))
    return _Lines(tuple(corner), np.array(corners).reshape(-1, 4), np.array(room).reshape(-1, 2).T, step)


def _settled(rig: Rig, load: Load, levelled: Array, lines: _Lines, pressure: Array) -> Settled:
    """Return where the truck sits with pressures in its lines, (..., lines), starting from levelled states."""
    start = np.broadcast_to(levelled, (*pressure.shape[:-1], 4))
    return settle(rig, load, HeldPressure(lines.gauge(pressure)), start)


def _as_levelled(rig: Rig, load: Load, levelled: Levelled, lines: _Lines) -> Settled:
    """Return levelled cases as if they had settled there with their lines at the nearest steps that pass no rating."""
    height, nearest = rig.corners(load, levelled.state).spring_height, lines.nearest(levelled.pressure)
    over = _overloaded(rig, rig.bag_load(height, lines.gauge(nearest))).reshape(*nearest.shape[:-1], 4)
    nearest = np.where(over @ lines.corners.T > 0, nearest - lines.step, nearest).clip(*lines.room)
    gauge = lines.gauge(nearest)
    springs = rig.springs(height, levelled.pressure)
    fixed = springs_fix(rig, load, springs.steel_slope - levelled.pressure * springs.area_slope)
    return Settled(levelled.state, gauge, height, rig.bag_load(height, gauge), *fixed, levelled.converged)


def _off(setup: Setup, rig: Rig, state: Array, wanted: Array) -> Array:
    """Return how far states are from a stance: the rise of axles with bags, and the lean, (..., 3). [m]"""
    off: Array = np.abs(off_wanted(setup, state, wanted)) * np.array([*rig.has_bag, True])
    return off


def _overloaded(rig: Rig, bag_load: Array) -> Flags:
    """Return which bags carry more than their rating, (..., 2, 2)."""
    over: Flags = bag_load > bounds_of(rig).rating[:, None] * (1.0 + OVER)
    return over


def _passes(rig: Rig, found: Settled, was: Array) -> Flags:
    """Return which cases pass a load rating, or an end of a chart that levelled heights are well inside, (...)."""
    over = _overloaded(rig, found.bag_load)
    inside = (was > rig.travel[:, :1] + NEAR_END) & (was < rig.travel[:, 1:] - NEAR_END)
    passed: Flags = np.any(over | (rig.on_stop(found.height) & inside), axis=(-1, -2))
    return passed
