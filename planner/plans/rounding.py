"""Pressures that a gauge can show: the four corners rounded together, so that the truck stands as it was levelled."""

from __future__ import annotations

import math
from itertools import product
from typing import Final, NamedTuple

import numpy as np

from planner.physics.checks import Array, Flags
from planner.physics.levelling import Levelled
from planner.physics.rig import Rig
from planner.physics.settling import HeldPressure, Settled, settle, springs_fix
from planner.physics.statics import Load
from planner.plans.setup import Setup

AROUND: Final = (-1, 0, 1)  # steps tried about the nearest one
NEAR_END: Final = 0.001  # [m] of an end of its chart a bag may come to rest at it
OVER: Final = 1e-9  # [-] a pressure or a load past its limit by less, as a part of it, is at it
FINER: Final = np.array([2.0, 5.0, 10.0, 20.0, 50.0, 100.0])  # parts of a step that are asked whether they would do


class Rounded(NamedTuple):
    """Pressures a gauge can show and where the truck sits on them; NaN where there is no bag.

    pressure : shape (2, 2) [Pa]
    settled : of one case
    """

    pressure: Array
    settled: Settled


def round_to_gauge(setup: Setup, rig: Rig, load: Load, levelled: Levelled) -> Rounded:
    """Return the pressures of one levelled case as the truck's gauge can show them.

    Parameters
    ----------
    setup, rig, load
        What stands there.
    levelled : Levelled
        One case.

    Returns
    -------
    Rounded
        Each line at a whole step inside the limits of its bags; a limit that leaves no step between them is passed
        over. They are the nearest steps, where a tape cannot tell how the truck then stands from how it was levelled.
        Else all lines are tried one step up and down: the nearest of those that a tape cannot tell from the wanted
        stance; where there is none, the one with the least lean and, of leans that a tape cannot tell, the least rise.
        Where pressure does not fix the height of an axle the truck is set by tape, and stands as it was levelled.
    """
    tape = float(setup.truck.instruments.tape_error)
    lines = _lines(rig, levelled.pressure, float(setup.truck.instruments.gauge_step))
    plain = _settled(rig, load, levelled, lines, lines.nearest[None])
    known = not _passes(rig, load, plain, levelled)[0]
    if not len(lines.nearest) or (known and _off(setup, rig, plain.state, levelled.state).max() <= tape):
        return _one(rig, plain, 0)
    by_tape = _as_levelled(rig, load, levelled, lines)
    if not by_tape.fixed.all():
        return _one(rig, by_tape, 0)
    tried = lines.nearest + lines.step * np.array(list(product(AROUND, repeat=len(lines.nearest))))
    tried = tried[np.all((tried >= lines.room[0]) & (tried <= lines.room[1]), axis=1)]
    found = _settled(rig, load, levelled, lines, tried)
    front, rear, lean = _off(setup, rig, found.state, setup.wanted).T
    rise = np.maximum(front, rear)
    far = ((tried - lines.exact) ** 2).sum(axis=1)
    told = np.maximum(lean, rise) > tape
    keys = (far, np.where(told, rise, 0.0), np.where(told, np.maximum(lean, tape), 0.0), told)
    best = np.lexsort((*keys, _passes(rig, load, found, levelled)))[0]
    return _one(rig, found, int(best))


def step_that_does(setup: Setup, rig: Rig, load: Load, levelled: Levelled) -> float | None:
    """Return the coarsest part of the gauge's step that leaves nothing a tape can tell; None where none does. [Pa]"""
    steps = float(setup.truck.instruments.gauge_step) / FINER
    lines = [_lines(rig, levelled.pressure, step) for step in steps]
    found = _settled(rig, load, levelled, lines[0], np.array([one.nearest for one in lines]))
    exact = _off(setup, rig, levelled.state, setup.wanted)
    tape = float(setup.truck.instruments.tape_error)
    off = np.where(exact <= tape, _off(setup, rig, found.state, setup.wanted), 0.0).max(axis=-1)
    does = steps[off <= tape]
    return float(does[0]) if len(does) else None


class _Lines(NamedTuple):
    """The air lines of a truck.

    corner : axle and side of a corner of each
    exact, nearest : its pressure, and the nearest whole step inside the limits of its bags, shape (lines,) [Pa]
    room : the least and the greatest whole step, shape (2, lines) [Pa]
    step : of the gauge [Pa]
    """

    corner: tuple[tuple[int, int], ...]
    exact: Array
    nearest: Array
    room: Array
    step: float


def _lines(rig: Rig, pressure: Array, step: float) -> _Lines:
    """Return the air lines of a truck, to be set to whole steps."""
    corner, room = [], []
    for k, bag in enumerate(rig.bags):
        if bag is not None:
            low = math.ceil(bag.least_pressure / step * (1.0 - OVER))
            high = math.floor(bag.greatest_pressure / step * (1.0 + OVER))
            for i in (0,) if rig.joined[k] else (0, 1):
                corner.append((k, i))
                room.append((step * low, step * high) if low <= high else (0.0, np.inf))
    exact, ends = np.array([pressure[at] for at in corner]), np.array(room).reshape(-1, 2).T
    return _Lines(tuple(corner), exact, (step * np.round(exact / step)).clip(*ends), ends, step)


def _gauge(rig: Rig, lines: _Lines, pressure: Array) -> Array:
    """Return the pressure at each corner from that in each line, (cases, lines); shape (cases, 2, 2). [Pa]"""
    gauge = np.zeros((len(pressure), 2, 2))
    for (k, i), values in zip(lines.corner, pressure.T, strict=True):
        gauge[:, k, slice(None) if rig.joined[k] else slice(i, i + 1)] = values[:, None]
    return gauge


def _settled(rig: Rig, load: Load, levelled: Levelled, lines: _Lines, pressure: Array) -> Settled:
    """Return where the truck sits with each row of pressures in its lines, (cases, lines)."""
    start = np.broadcast_to(levelled.state, (len(pressure), 4))
    return settle(rig, load, HeldPressure(_gauge(rig, lines, pressure)), start)


def _as_levelled(rig: Rig, load: Load, levelled: Levelled, lines: _Lines) -> Settled:
    """Return the levelled case as if it had settled there with its lines at the nearest steps."""
    height, _ = rig.corners(load, levelled.state)
    fixed, roll_fixed = springs_fix(rig, load, rig.steel_slope(height) - levelled.pressure * rig.area_slope(height))
    gauge = _gauge(rig, lines, lines.nearest[None])
    return Settled(levelled.state[None], gauge, fixed[None], roll_fixed[None], np.asarray(levelled.converged)[None])


def _off(setup: Setup, rig: Rig, state: Array, wanted: Array) -> Array:
    """Return how far states are from a stance: the rise of axles with bags, and the lean, (cases, 3). [m]"""
    scale = np.array([*rig.has_bag, float(setup.truck.rear.track)])
    off: Array = np.abs(state[..., :3] - wanted[..., :3]) * scale
    return off


def _passes(rig: Rig, load: Load, found: Settled, levelled: Levelled) -> Flags:
    """Return which cases pass a load rating, or an end of a chart that the levelled one is well inside, (cases,)."""
    height, _ = rig.corners(load, found.state)
    rating = np.array([[bag.load_rating if bag else np.inf] for bag in rig.bags])
    over = found.pressure * rig.area(height) > rating * (1.0 + OVER)
    was, ends = rig.corners(load, levelled.state).spring_height, rig.travel
    inside = (was > ends[:, :1] + NEAR_END) & (was < ends[:, 1:] - NEAR_END)
    passed: Flags = np.any(over | (rig.on_stop(height) & inside), axis=(-1, -2))
    return passed


def _one(rig: Rig, found: Settled, case: int) -> Rounded:
    """Return one case, with no pressure where there is no bag."""
    one = Settled(*(part[case] for part in found))
    return Rounded(np.where(rig.has_bag[:, None], one.pressure, np.nan), one)
