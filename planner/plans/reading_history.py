"""The readings of a profile over time beside what is expected of them, and a corner that keeps asking for air."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from math import comb
from typing import Final, Literal

import numpy as np

from planner.physics.equilibrium import HeldPressure, settle
from planner.physics.levelling import level
from planner.physics.validation import Array
from planner.plans.answer import CORNERS, Answer, Finding
from planner.plans.setup import Setup, rig_of
from planner.records import Reading

RARE: Final = 0.05  # [-] chance below which a corner is pointed out
MOST_ODDS: Final = 1_000_000  # that are told
HAIR: Final = 0.5  # [Pa] of rounding: two corners that are this near are equally low


@dataclass(frozen=True, eq=False)
class ReadingHistory:
    """Readings of a profile, oldest first; what was not read is NaN.

    Attributes
    ----------
    at : when each was made
    pressure : gauge pressure, shape (n, 2, 2) [Pa]
    planned : what is to be set, NaN with no bag, shape (2, 2) [Pa]
    ride_height : measured, shape (n, 2, 2) [m]
    expected : ride height at which the truck settles on what the gauges said, shape (n, 2, 2) [m]
    """

    at: tuple[datetime, ...]
    pressure: Array
    planned: Array
    ride_height: Array
    expected: Array

    @property
    def short(self) -> Array:
        """By how much each corner was short of its plan, shape (n, 2, 2). [Pa]"""
        short: Array = self.planned - self.pressure
        return short


@dataclass(frozen=True)
class LowCorner:
    """A corner that is low too often, and so asks for more air than the others.

    Attributes
    ----------
    corner : its name
    times, readings : how often it was the lowest against its plan, of how many readings that have one lowest
    shortfall : by how much more it was short of its plan than the mean of the others, over those readings [Pa]
    chance : of some corner being the lowest so often if all were alike [-]
    """

    corner: str
    times: int
    readings: int
    shortfall: float
    chance: float


def reading_history(readings: tuple[Reading, ...], setup: Setup, answer: Answer) -> ReadingHistory:
    """Return what was read of a profile over time, beside what is expected of it.

    Parameters
    ----------
    readings : of gauges and tapes, oldest first
        Of the load that the profile names.
    setup, answer : Setup, Answer
        Of the profile as it is now; `Standing.history` is that of both.

    Raises
    ------
    ArithmeticError
        If the truck's numbers find no rest.

    Notes
    -----
    A reading is held against where the truck settles on the pressures read, so that a bag aired otherwise is no fault
    of the plan's; a corner whose gauge was not read counts as set to the plan, one of two on a line as its neighbour.

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.saved_state import standing
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> stands = standing(mill.profile, mill.truck, mill.trailer)
    >>> reading_history((), stands.setup, stands.answer).expected.shape
    (0, 2, 2)
    """
    planned = answer.set.pressure
    pressure, height = (_read(readings, what) for what in ("pressure", "ride_height"))
    gauge = np.where(np.isfinite(pressure), pressure, planned)
    for k, axle in enumerate((setup.truck.front, setup.truck.rear)):
        if axle.plumbing == "joined":
            read = np.isfinite(pressure[:, k])
            mean = np.nansum(pressure[:, k], axis=-1) / np.maximum(read.sum(axis=-1), 1)
            gauge[:, k] = np.where(read.any(axis=-1), mean, planned[k, 0])[:, None]
    expected = height * np.nan
    if len(readings):
        rig = rig_of(setup.truck)
        load = setup.load(rig)
        start = np.broadcast_to(level(rig, load, setup.wanted).state, (len(readings), 4))
        rest = settle(rig, load, HeldPressure(np.nan_to_num(gauge)), start)
        design = np.array([[float(setup.truck.front.ride_height)], [float(setup.truck.rear.ride_height)]])
        expected = design + rig.ride_heights(load, rest.state)
    return ReadingHistory(tuple(reading.at for reading in readings), pressure, planned, height, expected)


def _read(readings: tuple[Reading, ...], what: Literal["pressure", "ride_height"]) -> Array:
    """Return one number of each corner of each reading, NaN where it was not read, shape (n, 2, 2). [Pa or m]"""
    corners = [getattr(reading, corner) for reading in readings for corner in CORNERS]
    values = [None if one is None else getattr(one, what) for one in corners]
    return np.array([np.nan if one is None else float(one) for one in values]).reshape(-1, 2, 2)


def find_low_corner(history: ReadingHistory) -> LowCorner | None:
    """Return the corner that was the lowest against its plan more often than chance would have it; None if none was.

    Parameters
    ----------
    history : ReadingHistory

    Returns
    -------
    LowCorner or None
        None too where there are too few readings to tell.

    Notes
    -----
    Were all corners alike, each would be the lowest in one reading of as many as there are corners: a binomial test of
    the corner that was the lowest most often, times the number of corners (Bonferroni). Cold and
    altitude move all corners of a reading together and so make none of them the lowest. Readings in which two are
    equally low, or not all bags were read, do not count. Two bags that share a line are never told apart.

    Examples
    --------
    >>> plan = np.full((2, 2), 250e3)
    >>> days = tuple(datetime(2026, 5, day) for day in range(1, 7))
    >>> read = plan - np.array([[0, 1e3], [9e3, 2e3]]) * np.ones((6, 1, 1))
    >>> find_low_corner(ReadingHistory(days, read, plan, read * np.nan, read * np.nan)).corner
    'rear_left'
    """
    bags = np.isfinite(history.planned).ravel()
    short = history.short.reshape(-1, 4)[:, bags]
    short = short[np.isfinite(short).all(axis=1)]
    if bags.sum() < 2 or not len(short):
        return None
    ordered = np.sort(short, axis=1)
    short = short[ordered[:, -1] - ordered[:, -2] > HAIR]
    if not len(short):
        return None
    count = np.bincount(short.argmax(axis=1), minlength=int(bags.sum()))
    worst = int(count.argmax())
    chance = min(1.0, _as_often(int(count[worst]), len(short), int(bags.sum())) * int(bags.sum()))
    if chance > RARE:
        return None
    others = np.delete(short, worst, axis=1).mean(axis=1)
    corner = np.array(CORNERS)[bags][worst]
    return LowCorner(str(corner), int(count[worst]), len(short), float(np.mean(short[:, worst] - others)), chance)


def reading_findings(history: ReadingHistory) -> Iterator[Finding]:
    """Yield what the readings of a profile warn of."""
    asks = find_low_corner(history)
    if asks is not None:
        yield low_corner_finding(asks)


def low_corner_finding(corner: LowCorner) -> Finding:
    """Return which corner keeps asking for more air, and by what odds that is no chance."""
    odds = 1.0 / max(corner.chance, 1.0 / MOST_ODDS)
    often = "once" if odds < MOST_ODDS else "less than once"
    return Finding(
        "caution",
        f"asks-for-air-{corner.corner.replace('_', '-')}",
        f"The {corner.corner.replace('_', ' ')} corner keeps asking for more air than the others: the lowest against "
        f"its plan in {corner.times} of {corner.readings} readings, by {{shortfall}} on average. If all corners were "
        f"alike, that would happen {often} in {odds:,.0f} times.",
        "binomial test, Bonferroni",
        {"shortfall": (corner.shortfall, "pressure")},
    )


def _as_often(times: int, readings: int, corners: int) -> float:
    """Return the chance that one of so many equal corners is the lowest that often or more: a binomial tail, exact."""
    ways = sum(comb(readings, n) * (corners - 1) ** (readings - n) for n in range(times, readings + 1))
    return float(ways / corners**readings)
