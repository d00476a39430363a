"""New pressures for the trucks that readings tell of: levelled again, rounded to the gauge, and how sure that is."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product
from typing import Final, NamedTuple

import numpy as np

from planner.physics.active_set import all_steered
from planner.physics.air_spring import Bag
from planner.physics.bag_limits import bounds_of
from planner.physics.equilibrium import Settled
from planner.physics.least_squares import slopes_of
from planner.physics.levelling import level
from planner.physics.truck_model import SIDE, Rig
from planner.physics.validation import Array, Codes, Flags
from planner.plans.setup import Setup
from planner.plans.uncertainty.reading_fit import (
    STATE_SPREAD,
    ReadingFit,
    Trucks,
    alone,
    over_wheels,
    setup_tracks,
    steered,
    trucks_at,
)

NINETY_FIVE: Final = 1.959964  # [standard deviations] within which 95 % of a normal number lies
HALVINGS: Final = 30  # of the way between both sides of a band
AROUND: Final = (-1, 0, 1)  # steps of the gauge tried about the nearest one
INFERRED: Final = ("front", "rear", "side_moment", "hitch_load", "side_share")


class Inferred(NamedTuple):
    """What n readings say is carried, or how far that may be off (one standard deviation).

    axle_load : shape (n, 2) [N]
    side_moment : of all, left positive, shape (n,) [N·m]
    hitch_load : shape (n,) [N]
    side_share : of the ground load, on the left wheels, shape (n,) [-]
    """

    axle_load: Array
    side_moment: Array
    hitch_load: Array
    side_share: Array

    @classmethod
    def of_rows(cls, rows: Array) -> Inferred:
        """Return the same from rows in the order of `INFERRED`, shape (n, 5)."""
        return cls(rows[:, :2], rows[:, 2], rows[:, 3], rows[:, 4])


@dataclass(frozen=True, eq=False)
class Trimmed:
    """What n readings of one truck ask.

    Attributes
    ----------
    found : the most likely trucks
    inferred, inferred_deviation : what they carry, and how far that may be off
    off_now, off_now_deviation : how high each corner of the body stands above where it is wanted, shape (n, 2, 2) [m]
    pressure : what levels them, as the gauge would show it, shape (n, 2, 2), 0 where there is no bag [Pa]
    held : the limit each corner is held at, shape (n, 2, 2)
    shown : the same rounded to the gauge's step, inside the limits of the bags
    after : where they rest on that
    off_after : how high each corner then stands above where it is wanted, shape (n, 2, 2) [m]
    half_width : within which of it the corner lies in 95 of 100, shape (n, 2, 2) [m]
    """

    found: ReadingFit
    inferred: Inferred
    inferred_deviation: Inferred
    off_now: Array
    off_now_deviation: Array
    pressure: Array
    held: Codes
    shown: Array
    after: Settled
    off_after: Array
    half_width: Array


def trim_trucks(found: ReadingFit) -> Trimmed:
    """Return the new pressures of n trucks whose readings were fitted, each by itself."""
    setup, trucks = found.unknowns.setup, found.trucks()
    values, deviations = _told(found)
    wanted, held = _levelled(setup, found, trucks)
    pressure = np.where(found.unknowns.plain.has_bag[:, None], wanted.asked()[0], 0.0)
    pressure = _inside_limits(found.unknowns.plain, pressure)
    shown, after = _rounded(setup, found, wanted, pressure)
    return Trimmed(
        found=found,
        inferred=Inferred.of_rows(values[:, :5]),
        inferred_deviation=Inferred.of_rows(deviations[:, :5]),
        off_now=over_wheels(setup, trucks.state),
        off_now_deviation=deviations[:, 5:].reshape(-1, 2, 2),
        pressure=pressure,
        held=held,
        shown=shown,
        after=after,
        off_after=over_wheels(setup, after.state),
        half_width=_half_width_after(found, shown, after),
    )


def told_rows(setup: Setup, trucks: Trucks) -> Array:
    """Return what is told of trucks: those of `INFERRED`, then each corner above where it is wanted, (N, 9)."""
    axles, moment = trucks.load.axle, trucks.load.side_moment
    share = 0.5 + moment / (axles * setup_tracks(setup)).sum(axis=-1)
    corners = over_wheels(setup, trucks.state).reshape(-1, 4)
    return np.column_stack([axles, moment, trucks.hitch_load, share, corners])


def _told(found: ReadingFit) -> tuple[Array, Array]:
    """Return those rows of the most likely trucks, and their standard deviations, both of shape (n, 9)."""
    unknowns = found.unknowns

    def rows(value: Array) -> Array:
        return told_rows(unknowns.setup, trucks_at(unknowns, found.first, value)).reshape(*value.shape[:2], -1)

    values, slope = slopes_of(rows, found.fit.value)
    variance = np.diagonal(found.fit.covariance_of(slope), axis1=-2, axis2=-1)
    return values, np.sqrt(np.maximum(variance, 0.0))


def _levelled(setup: Setup, found: ReadingFit, trucks: Trucks) -> tuple[Trucks, Codes]:
    """Return the trucks in the best state inside the limits of their bags, and the limits that are held."""
    load, wanted = trucks.load, np.broadcast_to(setup.wanted, (len(trucks.state), 3))
    plain = found.unknowns.plain
    state = np.column_stack([wanted, load.least_twist_at(wanted[:, 2])])
    free, held = trucks._replace(state=state), np.zeros((len(state), 2, 2), np.int8)
    bound = ~_within(plain, free) if all_steered(plain) else np.ones(len(state), bool)
    for case in np.flatnonzero(bound):
        one = alone(trucks, int(case))
        answer = level(_scaled(one), one.load, wanted[case : case + 1])
        state[case], held[case] = answer.state[0], answer.held[0]
    return free, held


def _within(rig: Rig, trucks: Trucks) -> Flags:
    """Tell which trucks are inside every limit of their bags, shape (n,)."""
    asked, force = trucks.asked()
    height, bounds = trucks.rig.corners(trucks.load, trucks.state).spring_height, bounds_of(rig)
    rated = force <= bounds.rating[:, None]
    pressed = (asked >= bounds.least[:, None]) & (asked <= bounds.greatest[:, None])
    charted = (height >= rig.travel[:, :1]) & (height <= rig.travel[:, 1:])
    return np.asarray((rated & pressed & charted).all(axis=(-1, -2)), bool)


def _scaled(one: Trucks) -> Rig:
    """Return one truck with its bags as the reading tells of them: area, its tilt, and limits as its gauge shows them.

    The two bags of an axle are one to a rig; what they differ by is asked of each afterwards.
    """

    def scaled(bag: Bag | None, k: int) -> Bag | None:
        if bag is None:
            return None
        scale, bias = float(one.scale[0, k].mean()), float(one.bias[0, k].mean())
        tilt = 1.0 + float(one.tilt[0, k]) * (bag.heights - bag.fitted_height)
        least, greatest = max(bag.least_pressure + bias, 0.0), bag.greatest_pressure + bias
        return replace(bag, areas=bag.areas * scale * tilt, least_pressure=least, greatest_pressure=greatest)

    front, rear = one.rig.bags
    return replace(one.rig, bags=(scaled(front, 0), scaled(rear, 1)))


def _inside_limits(rig: Rig, pressure: Array) -> Array:
    """Return pressures inside the limits of their bags, those of one line made one; 0 where there is no bag. [Pa]"""
    bounds = bounds_of(rig)
    mean = np.where(np.array(rig.joined)[:, None], pressure.mean(axis=-1, keepdims=True), pressure)
    return np.where(rig.has_bag[:, None], mean.clip(bounds.least[:, None], bounds.greatest[:, None]), 0.0)


def _rounded(setup: Setup, found: ReadingFit, wanted: Trucks, pressure: Array) -> tuple[Array, Settled]:
    """Return the steps of the gauge on which each truck stands best, (n, 2, 2) [Pa], and where it rests on them.

    All lines are tried a step up and down about the nearest: of those with which no corner is off by more than a tape
    can tell the nearest, else the one whose worst corner is least off.
    """
    rig, value = found.unknowns.plain, found.fit.value
    step, tape = float(setup.truck.instruments.gauge_step), found.gauges.tape
    tried = _steps_around(rig, pressure, step)
    count = tried.shape[1]
    many = trucks_at(found.unknowns, np.repeat(found.first, count, axis=0), np.repeat(value, count, axis=0))
    many = many._replace(state=np.repeat(wanted.state, count, axis=0))
    rests = many.settle(tried.reshape(-1, 2, 2))
    off = np.abs(over_wheels(setup, rests.state)) * steered(rig)
    worst = off.max(axis=(-1, -2)).reshape(-1, count)
    far = ((tried - pressure[:, None]) ** 2).sum(axis=(-1, -2))
    lost = ~rests.converged.reshape(-1, count)
    best = np.lexsort((far, np.maximum(worst, tape), lost))[:, 0]
    rows = np.arange(len(best))
    return tried[rows, best], rests.of(rows * count + best)


def _steps_around(rig: Rig, pressure: Array, step: float) -> Array:
    """Return whole steps of the gauge about pressures, inside the limits of the bags, shape (n, tries, 2, 2). [Pa]"""
    lines = list(_lines(rig))
    tries = np.array(list(product(AROUND, repeat=len(lines))), float).reshape(3 ** len(lines), len(lines))
    tried = np.zeros((len(pressure), len(tries), 2, 2))
    for line, (k, sides, low, high) in enumerate(lines):
        nearest = step * np.round(pressure[:, k, sides.start] / step)
        room = (step * math.ceil(low / step - 1e-9), step * math.floor(high / step + 1e-9))
        ends = room if room[0] <= room[1] else (low, high)
        tried[:, :, k, sides] = (nearest[:, None] + step * tries[:, line]).clip(*ends)[..., None]
    return tried


def _lines(rig: Rig) -> Iterator[tuple[int, slice, float, float]]:
    """Yield each air line: its axle, the sides that hang on it, the least and the greatest pressure of its bags."""
    for k, bag in enumerate(rig.bags):
        if bag is not None:
            for sides in (slice(0, 2),) if rig.joined[k] else (slice(0, 1), slice(1, 2)):
                yield k, sides, bag.least_pressure, bag.greatest_pressure


def _half_width_after(found: ReadingFit, shown: Array, after: Settled) -> Array:
    """Return within which of its height after each corner lies in 95 of 100, shape (n, 2, 2). [m]

    At rest the rows of `Gauges.rests` vanish, whatever the truck: d(state) = -(∂g/∂state)⁻¹ (∂g/∂u du + look), with u
    as sure as the reading makes it, and the look that the new setting takes. That is the deviation of each corner by
    slopes alone. A bag whose area falls as it rises sinks further than it rises, and one that comes down on a stop ends
    there; so the truck that is most likely to stand 1.96 deviations off at a corner, high and low, is settled
    (first-order reliability: A. M. Hasofer and N. C. Lind, J. Eng. Mech. Div. ASCE 100, 1974; from memory), and each
    side of the band is half a normal number of its own. A straight answer leaves 1.96 deviations as they were. Where a
    bag was on a stop when it was read, the widest of all these is taken.
    """
    unknowns, gauges, count = found.unknowns, found.gauges, found.unknowns.count
    value = found.fit.value.copy()
    value[:, :4] = (after.state - found.first) / STATE_SPREAD
    error = np.full_like(shown, gauges.look)

    def rows(tried: Array) -> Array:
        cases, times = tried.shape[:2]
        trucks = trucks_at(unknowns, found.first, tried)
        rests = gauges.rests(trucks, np.repeat(shown, times, axis=0), np.repeat(error, times, axis=0))
        return rests.reshape(cases, times, 4)

    _, slope = slopes_of(rows, value)
    answers = -_inverse(slope[..., :4])
    gradient = np.concatenate([np.zeros((len(value), 4, 4)), answers @ slope[..., 4 : 4 + count]], axis=-1)
    corners = _corner_slopes(unknowns.setup)
    looks = corners @ answers * gauges.looked_at
    moved = found.fit.covariance_with(corners @ gradient)
    variance = (moved * (corners @ gradient)).sum(axis=-1) + (looks**2).sum(axis=-1)
    deviation: Array = np.sqrt(np.maximum(variance, 0.0))
    parts = NINETY_FIVE / np.maximum(deviation, 1e-9)[..., None]
    there = over_wheels(unknowns.setup, after.state).reshape(-1, 4)
    high, low = (  # the truck moved either way
        np.abs(_settled_off(found, value, way * parts * moved, way * parts * looks, shown) - there)
        for way in (1.0, -1.0)
    )
    straight = NINETY_FIVE * deviation
    high, low = (np.where(np.isfinite(side), side, straight) for side in (high, low))
    blind = np.any(found.on_stop, axis=(-1, -2), keepdims=True)[..., 0]  # about a stop, slopes say little
    half = np.where(blind, np.maximum(straight, np.maximum(high, low)), _both_sides(high, low))
    return np.where(np.isfinite(deviation), half, deviation).reshape(-1, 2, 2)


def _both_sides(high: Array, low: Array) -> Array:
    """Return the half width that holds 95 of 100 where those above and below, 1.96 deviations off, are not alike."""
    from scipy.special import ndtr

    least, most = np.minimum(high, low), np.maximum(high, low)
    for _ in range(HALVINGS):
        middle = (least + most) / 2.0
        held = sum(ndtr(NINETY_FIVE * middle / np.maximum(side, 1e-9)) - 0.5 for side in (high, low))
        least, most = np.where(held < 0.95, middle, least), np.where(held < 0.95, most, middle)
    half: Array = most
    return half


def _settled_off(found: ReadingFit, value: Array, moved: Array, looks: Array, shown: Array) -> Array:
    """Return how high each corner stands on trucks moved towards it, shape (n, 4). [m]

    value : of the fit, its state the one to start from, (n, p); moved, looks : of the numbers and the gauges' looks,
    for each corner (n, 4, p) and (n, 4, 4) [deviations]; shown : on the gauges, (n, 2, 2) [Pa]
    """
    unknowns, gauges = found.unknowns, found.gauges
    numbers = np.repeat(value[:, None], 4, axis=1)
    numbers[..., 4:] += np.nan_to_num(moved[..., 4:])
    error = (np.nan_to_num(looks) * gauges.look).reshape(-1, 4, 2, 2)
    error[..., 1] = np.where(gauges.joined, error[..., 0], error[..., 1])
    rest = trucks_at(unknowns, found.first, numbers).settle((shown[:, None] - error).reshape(-1, 2, 2))
    off = over_wheels(unknowns.setup, rest.state).reshape(-1, 4, 4)
    own: Array = np.where(rest.converged.reshape(-1, 4), np.diagonal(off, axis1=-2, axis2=-1), np.nan)
    return own


def _inverse(slope: Array) -> Array:
    """Return the inverse of how four rows answer the state, NaN where springs fix nothing, shape (n, 4, 4)."""
    fixed = np.asarray(np.abs(np.linalg.det(slope)) > 0, bool)
    safe = np.where(fixed[:, None, None], slope, np.eye(4))
    inverse: Array = np.where(fixed[:, None, None], np.linalg.inv(safe), np.nan)
    return inverse


def _corner_slopes(setup: Setup) -> Array:
    """Return how corners' heights answer the state in its deviations, shape (4, 4). [m]"""
    arms = SIDE * (setup_tracks(setup) / 2.0)[:, None]
    slopes = np.zeros((2, 2, 4))
    slopes[0, :, 0] = slopes[1, :, 1] = 1.0
    slopes[..., 2] = arms
    found: Array = slopes.reshape(4, 4) * STATE_SPREAD
    return found
