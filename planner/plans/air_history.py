"""The pressures of a profile's readings over time beside its plan, and a corner that keeps asking for air."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final

import numpy as np

from planner.physics.validation import Array
from planner.plans.answer import CORNERS
from planner.plans.saved_state import Standing
from planner.records import Reading

RARE: Final = 0.05  # [-] chance below which a corner is pointed out
HAIR: Final = 0.5  # [Pa] of rounding: two corners that are this near are equally low


@dataclass(frozen=True, eq=False)
class AirHistory:
    """Readings of a profile, oldest first.

    Attributes
    ----------
    at : when each was made
    measured : gauge pressure, NaN where none was read, shape (n, 2, 2) [Pa]
    planned : what is to be set, NaN with no bag, shape (2, 2) [Pa]
    """

    at: tuple[datetime, ...]
    measured: Array
    planned: Array

    @property
    def short(self) -> Array:
        """By how much each corner was short of its plan, shape (n, 2, 2). [Pa]"""
        short: Array = self.planned - self.measured
        return short


@dataclass(frozen=True)
class ThirstyCorner:
    """A corner that asks for more air than the others.

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


def air_history(standing: Standing) -> AirHistory:
    """Return the pressures read of a profile over time, beside those it is to be set to.

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.saved_state import standing
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> air_history(standing(mill.profile, mill.truck, mill.trailer)).measured.shape
    (0, 2, 2)
    """
    readings = standing.profile.readings
    measured = np.array([pressures_read(reading) for reading in readings]).reshape(-1, 2, 2)
    return AirHistory(tuple(reading.at for reading in readings), measured, standing.answer.set.pressure)


def pressures_read(reading: Reading) -> Array:
    """Return the gauge pressures of a reading, NaN where none was read, shape (2, 2). [Pa]

    Examples
    --------
    >>> pressures_read(Reading(at="2026-05-04T07:30:00", rear_left={"pressure": "2 bar"})).tolist()
    [[nan, nan], [200000.0, nan]]
    """
    read = [getattr(reading, corner) for corner in CORNERS]
    pressures = [np.nan if one is None or one.pressure is None else float(one.pressure) for one in read]
    return np.array(pressures).reshape(2, 2)


def find_thirsty_corner(history: AirHistory) -> ThirstyCorner | None:
    """Return the corner that was the lowest against its plan more often than chance would have it; None if none was.

    Parameters
    ----------
    history : AirHistory

    Returns
    -------
    ThirstyCorner or None
        None too where there are too few readings to tell.

    Notes
    -----
    Were all corners alike, each would be the lowest in one reading of as many as there are corners: a binomial test of
    the corner that was the lowest most often, times the number of corners (scipy.stats.binomtest, Bonferroni). Cold and
    altitude move all corners of a reading together and so make none of them the lowest. Readings in which two are
    equally low, or not all bags were read, do not count. Two bags that share a line are never told apart.

    Examples
    --------
    >>> plan = np.full((2, 2), 250e3)
    >>> days = tuple(datetime(2026, 5, day) for day in range(1, 7))
    >>> find_thirsty_corner(AirHistory(days, plan - np.array([[0, 1e3], [9e3, 2e3]]) * np.ones((6, 1, 1)), plan)).corner
    'rear_left'
    """
    from scipy.stats import binomtest  # importing it takes longer than all else here

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
    alike = binomtest(int(count[worst]), len(short), 1.0 / bags.sum(), alternative="greater")
    chance = min(1.0, float(alike.pvalue) * int(bags.sum()))
    if chance > RARE:
        return None
    others = np.delete(short, worst, axis=1).mean(axis=1)
    corner = np.array(CORNERS)[bags][worst]
    return ThirstyCorner(str(corner), int(count[worst]), len(short), float(np.mean(short[:, worst] - others)), chance)
