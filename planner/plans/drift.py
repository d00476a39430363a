"""Leak or cold: what temperature and altitude explain of the pressure that was lost, and which corner leaks."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final, NamedTuple

import numpy as np

from planner.errors import BadInput, Problem
from planner.physics import levelling
from planner.physics.air_flow import SHARP_EDGE, free_air, orifice_flow, temperature_after_fill
from planner.physics.atmosphere import standard_pressure
from planner.physics.equilibrium import HeldPressure, SealedAir, Settled, enclosed_volume, settle
from planner.physics.error_band import SURE
from planner.physics.statics import Load
from planner.physics.truck_model import Rig
from planner.physics.validation import Array
from planner.plans.answer import AXLES, CORNERS, Finding
from planner.plans.drift_findings import Loss, drift_findings
from planner.plans.leaks import LeakFit, find_leaks, least_seen, slopes_of_fall
from planner.plans.setup import Setup, rig_of
from planner.records.leak_test import GaugeReading, LeakTest
from planner.units.quantity import shown

A_DAY: Final = 86_400.0  # [s]
AHEAD: Final = 200  # points in time that are looked at, until all air is gone
GAUGE_STEP_UP: Final = 1000.0  # [Pa] for slopes by the pressure before


@dataclass(frozen=True, eq=False)
class Drift:
    """What became of the air between two readings; corner arrays are [front, rear][left, right], NaN with no bag.

    Attributes
    ----------
    before, after : gauge pressure as read [Pa]
    expected : by how much cold and altitude let it fall, > 0 down, with every valve tight [Pa]
    lost : by how much it fell, > 0 down [Pa]
    sd : one standard deviation of lost less expected, of the gauge's error at both readings [Pa]
    leak : how fast the rest goes at the corners that leak, NaN at the others [Pa per day]
    leak_sd : one standard deviation of it [Pa per day]
    days_to_least : from the second reading until the least pressure, NaN where nothing leaks [days]
    soonest, latest : 95 % band of that, latest infinite where the leak may be next to nothing [days]
    smallest_seen : leak that would be found on every second night, at each corner [Pa per day]
    flow : free air that the leak lets out, NaN where nothing leaks [m³/s]
    orifice : diameter of a sharp-edged hole that lets as much out, NaN alike [m]
    days : between the readings [days]
    converged : whether the truck came to rest in all that was worked out
    findings : worst first
    """

    before: Array
    after: Array
    expected: Array
    lost: Array
    sd: Array
    leak: Array
    leak_sd: Array
    days_to_least: Array
    soonest: Array
    latest: Array
    smallest_seen: Array
    flow: Array
    orifice: Array
    days: float
    converged: bool
    findings: tuple[Finding, ...] = ()


class Line(NamedTuple):
    """An air line: its axle, 0 front or 1 rear, its corners' sides, and at how many of them a gauge was read."""

    axle: int
    sides: tuple[int, ...]
    gauges: int


def find_drift(setup: Setup, test: LeakTest) -> Drift:
    """Return what cold and altitude explain of a truck's lost pressure, and where the rest leaks.

    Parameters
    ----------
    setup : Setup
        What the truck carried at both readings, its valves shut.
    test : LeakTest

    Returns
    -------
    Drift

    Raises
    ------
    BadInput
        If a line of the truck has no gauge reading, or a corner with no bag has one.

    Notes
    -----
    What the bags held at the first reading follows from the gauges and from the heights at which the truck then rests;
    shut in, it is settled again at the second temperature and ambient pressure: P V / T constant (Çengel and Boles,
    Thermodynamics, 8th ed., sec. 3-6), V with the height at which the same load rests. A corner alone would lose
    (P + p) (1 - T2 / T1); under a load it sinks instead and loses less. Which lines leak is a test on all gauges
    together, see `leaks.find_leaks`. Gauge errors are taken as independent between readings and lines: careful, as what
    one gauge is always off by cancels. How fast a leak goes on is a straight line in the air's amount, which is careful
    too: it slows down as the pressure falls.

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.records import read_record
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> gauges = {"front_left": 36, "front_right": 34, "rear_left": 37, "rear_right": 36}
    >>> def reading(at, temperature, **low):
    ...     corners = {name: {"pressure": f"{psi} psi"} for name, psi in (gauges | low).items()}
    ...     return {"at": at, "temperature": temperature} | corners
    >>> evening, morning = reading("2026-01-10T18:00", "50 degF"), reading("2026-01-11T06:00", "20 degF", rear_left=25)
    >>> test = read_record(LeakTest, {"schema": 1, "before": evening, "after": morning}, "night.toml")
    >>> drift = find_drift(Setup.of(mill.profile, mill.truck, mill.trailer), test)
    >>> np.isfinite(drift.leak).tolist()
    [[False, False], [True, False]]
    """
    rig, lines = rig_of(setup.truck), lines_of(setup, test)
    load = setup.load(rig)
    before, after = (_line_pressures(lines, reading) for reading in (test.before, test.after))
    here = test.before.altitude if test.before.altitude is not None else 0.0
    there = test.after.altitude if test.after.altitude is not None else here
    night = _Night(
        rig, load, lines, float(test.before.temperature), float(test.after.temperature), float(here), float(there)
    )
    rest = night.rest_at(before, levelling.level(rig, load, setup.wanted).state)
    tight = night.shut(rest)
    expected = before - _by_line(lines, tight.pressure)
    error = float(test.gauge_error if test.gauge_error is not None else setup.truck.instruments.gauge_error)
    covariance = _covariance(night, before, rest, error)
    parts = night.falls(before, rest)
    fit = find_leaks(before - after, parts, covariance)
    days = (test.after.at - test.before.at).total_seconds() / A_DAY
    slopes = slopes_of_fall(parts, np.zeros(len(lines)))
    sd = np.sqrt(np.diag(covariance))
    of_line: dict[str, Array] = {
        "before": before,
        "after": after,
        "expected": expected,
        "lost": before - after,
        "sd": sd,
        "leak": np.where(fit.leaking, (before - after - expected) / days, np.nan),
        "leak_sd": np.where(fit.leaking, sd / days, np.nan),
        "smallest_seen": least_seen(slopes, covariance) * np.diag(slopes) / days,
        **_hole(night, rest, fit, (before + after) / 2.0, days),
        **_days_ahead(setup, night, rest, fit, days),
    }
    converged = bool(np.all(rest.converged) and np.all(tight.converged))
    on_stop = bool(np.any(rig.on_stop(rig.corners(load, rest.state).spring_height)))
    ambient = float(standard_pressure(night.altitude))
    warm = temperature_after_fill(ambient, ambient + before, night.temperature, night.temperature)
    losses = _losses(lines, of_line | {"cooling": (ambient + before) * (1.0 - night.temperature / warm)})
    rested = None if test.rested is None else float(test.rested)
    findings = drift_findings(setup, losses, days, rests=converged and not on_stop, rested=rested)
    of_corner: dict[str, Any] = {name: _by_corner(lines, each) for name, each in of_line.items()}
    return Drift(**of_corner, days=days, converged=converged, findings=findings)


def _losses(lines: list[Line], of_line: dict[str, Array]) -> list[Loss]:
    """Return the lines with their numbers, for the findings."""
    return [
        Loss(line.axle, line.sides, *(float(of_line[name][n]) for name in Loss._fields[2:]))
        for n, line in enumerate(lines)
    ]


def lines_of(setup: Setup, test: LeakTest) -> list[Line]:
    """Return a truck's air lines, each read by a gauge; BadInput where one is not, or a corner has no bag."""
    found, problems = list[Line](), list[Problem]()
    for k, (name, axle) in enumerate(zip(AXLES, (setup.truck.front, setup.truck.rear), strict=True)):
        read = [i for i in (0, 1) if _pressure(test.before, k, i) is not None]
        if axle.bag is None:
            problems += [
                Problem(
                    "",
                    f"before.{CORNERS[2 * k + i]}",
                    shown(_pressure(test.before, k, i)),
                    f"the {name} axle has no bag",
                    "take it out of both readings",
                )
                for i in read
            ]
        elif axle.plumbing == "joined":
            found.append(Line(k, (0, 1), len(read)))
            if not read:
                rule = f"the {name} axle's line needs a pressure"
                problems.append(Problem("", f"before.{name}_left", "", rule, "read its gauge at both times"))
        else:
            found += [Line(k, (i,), 1) for i in (0, 1)]
            problems += [
                Problem("", f"before.{CORNERS[2 * k + i]}", "", "this bag needs a pressure", "read it at both times")
                for i in (0, 1)
                if i not in read
            ]
    if problems:
        raise BadInput(problems)
    if not found:
        remedy = "name a profile whose truck has bags"
        raise BadInput([Problem("", "", "", "a truck with no bags has no air to lose", remedy)])
    return found


@dataclass(frozen=True, eq=False)
class _Night:
    """A truck and its load, and the air at both readings: temperatures [K] and altitudes [m]."""

    rig: Rig
    load: Load
    lines: list[Line]
    temperature: float
    temperature_now: float
    altitude: float
    altitude_now: float

    def rest_at(self, pressure: Array, start: Array) -> Settled:
        """Return where the truck rests at the lines' gauge pressures, shape (..., lines). [Pa]"""
        cases = pressure.shape[:-1]
        gauge = np.nan_to_num(_by_corner(self.lines, pressure))
        return settle(self.rig, self.load, HeldPressure(gauge), np.broadcast_to(start, (*cases, 4)))

    def air(self, rest: Settled, left: Array | None = None) -> SealedAir:
        """Return the air shut in at a rest, as it is at the second reading; left : share of each line's [-]."""
        air = SealedAir.shut(
            self.rig,
            self.rig.corners(self.load, rest.state).spring_height,
            rest.pressure,
            ambient=standard_pressure(self.altitude),
            temperature=np.asarray(self.temperature),
            ambient_now=standard_pressure(self.altitude_now),
            temperature_now=np.asarray(self.temperature_now),
        )
        if left is None:
            return SealedAir(air.amount, np.broadcast_to(air.ambient, air.amount.shape[:-2]))
        share = np.nan_to_num(_by_corner(self.lines, left), nan=1.0)
        return SealedAir(air.amount * share, np.broadcast_to(air.ambient, share.shape[:-2]))

    def shut(self, rest: Settled, left: Array | None = None) -> Settled:
        """Return where the truck rests at the second reading."""
        air = self.air(rest, left)
        return settle(self.rig, self.load, air, np.broadcast_to(rest.state, (*air.ambient.shape, 4)))

    def falls(self, before: Array, rest: Settled) -> Callable[[Array], Array]:
        """Return the function from parts of the lines' air that are lost to how far their gauges fall. [Pa]"""
        return lambda part: before - _by_line(self.lines, self.shut(rest, 1.0 - part).pressure)


def _covariance(night: _Night, before: Array, rest: Settled, error: float) -> Array:
    """Return the covariance of the lines' fall less what is expected of it, shape (lines, lines). [Pa²]

    Gauge errors, of one standard deviation error [Pa], at the first reading move what is expected at the second.
    """
    count = len(before)
    tried = before + GAUGE_STEP_UP * np.vstack([np.eye(count), np.zeros(count)])
    now = _by_line(night.lines, night.shut(night.rest_at(tried, rest.state)).pressure)
    slope = (now[:-1] - now[-1]).T / GAUGE_STEP_UP
    variance = np.diag([error**2 / line.gauges for line in night.lines])
    covariance: Array = slope @ variance @ slope.T + variance
    return covariance


def _hole(night: _Night, rest: Settled, fit: LeakFit, gauge: Array, days: float) -> dict[str, Array]:
    """Return the free air that leaks out [m³/s] and the sharp-edged hole that lets it [m], each of shape (lines,).

    gauge : mean of both readings, at which the hole is looked at [Pa]
    """
    height = night.rig.corners(night.load, rest.state).spring_height
    held = free_air(
        rest.pressure + standard_pressure(night.altitude), enclosed_volume(night.rig, height), night.temperature
    )
    whole = np.array([float(held[line.axle, list(line.sides)].sum()) for line in night.lines])
    flow = np.where(fit.leaking, fit.part * whole / (days * A_DAY), np.nan)
    outside = standard_pressure(night.altitude_now)
    through = SHARP_EDGE * orifice_flow(outside + gauge, outside, 1.0, night.temperature_now)
    return {"flow": flow, "orifice": np.sqrt(4.0 / np.pi * np.maximum(flow, 0.0) / through)}


def _days_ahead(setup: Setup, night: _Night, rest: Settled, fit: LeakFit, days: float) -> dict[str, Array]:
    """Return days from the second reading to the least pressure with their 95 % band, each of shape (lines,)."""
    sd = np.nan_to_num(fit.sd)
    names = {"days_to_least": fit.part, "soonest": fit.part + SURE * sd, "latest": fit.part - SURE * sd}
    return {name: _days_to_least(setup, night, rest, fit, part, days) for name, part in names.items()}


def _days_to_least(setup: Setup, night: _Night, rest: Settled, fit: LeakFit, part: Array, days: float) -> Array:
    """Return days to the least pressure if each leaking line has lost a part of its air in some days, (lines,)."""
    found = np.full(len(part), np.nan)
    found[fit.leaking & (part <= 0)] = np.inf
    going = fit.leaking & (part > 0)
    if not going.any():
        return found
    part = np.where(going, part, 0.0)
    gone = max(0.0, float((1.0 - part.max()) / part.max())) * days * (1.0 - 1e-6)
    ahead = np.linspace(0.0, gone, AHEAD)
    left = 1.0 - part * (1.0 + ahead[:, None] / days)
    pressure = _by_line(night.lines, night.shut(rest, np.maximum(left, 1e-6)).pressure)
    for n in np.flatnonzero(going):
        bag = (setup.truck.front, setup.truck.rear)[night.lines[n].axle].bag
        assert bag is not None  # a line has bags
        over = pressure[:, n] - float(bag.least_pressure)
        below = np.flatnonzero(over <= 0)
        if not len(below):
            found[n] = math.inf
            continue
        at = int(below[0])
        found[n] = 0.0 if at == 0 else np.interp(0.0, [-over[at - 1], -over[at]], ahead[[at - 1, at]])
    return found


def _pressure(reading: GaugeReading, k: int, i: int) -> float | None:
    """Return the pressure that was read at a corner. [Pa]"""
    corner = getattr(reading, CORNERS[2 * k + i])
    return None if corner is None else corner.pressure


def _line_pressures(lines: list[Line], reading: GaugeReading) -> Array:
    """Return the gauge pressure of each line, the mean where both its corners were read, shape (lines,). [Pa]"""
    read = [[_pressure(reading, line.axle, i) for i in line.sides] for line in lines]
    return np.array([np.mean([float(one) for one in each if one is not None]) for each in read])


def _by_corner(lines: list[Line], values: Array) -> Array:
    """Return a value of each line at its corners, NaN where there is no bag, shape (..., 2, 2)."""
    found = np.full((*values.shape[:-1], 2, 2), np.nan)
    for n, line in enumerate(lines):
        found[..., line.axle, line.sides] = values[..., n, None]
    return found


def _by_line(lines: list[Line], values: Array) -> Array:
    """Return a corner array's value at each line, shape (..., lines)."""
    axles, sides = [line.axle for line in lines], [line.sides[0] for line in lines]
    found: Array = values[..., axles, sides]
    return found
