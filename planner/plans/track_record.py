"""The record of trust: how far the truck stood from what the plan said, trip by trip."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

import numpy as np

from planner.physics.validation import Array
from planner.plans.air_history import pressures_read
from planner.plans.answer import CORNERS
from planner.plans.level import settle_setup
from planner.plans.saved_state import Standing
from planner.records import Reading

CLOSE: Final = 0.00635  # [m] a quarter of an inch: twice what a tape is typically off by


@dataclass(frozen=True, eq=False)
class Trip:
    """One trip's last reading beside what the plan says of it.

    Attributes
    ----------
    at : when it was made
    planned, measured : ride height, measured NaN where none was read, shape (2, 2) [m]
    """

    at: datetime
    planned: Array
    measured: Array

    @property
    def error(self) -> Array:
        """By how much each corner stood higher than planned, NaN where none was read, shape (2, 2). [m]"""
        error: Array = self.measured - self.planned
        return error

    @property
    def worst(self) -> float:
        """The largest error of its corners, up or down. [m]"""
        return float(np.nanmax(np.abs(self.error)))


@dataclass(frozen=True)
class TrackRecord:
    """Trips with a height measured, oldest first.

    Attributes
    ----------
    trips : in order of time, one a day: the last reading of it
    """

    trips: tuple[Trip, ...]

    def running_within(self, bound: float = CLOSE) -> int:
        """Return how many trips running, up to the last, stood within a bound [m] of the plan at every corner."""
        count = 0
        for trip in reversed(self.trips):
            if not trip.worst <= bound:
                break
            count += 1
        return count

    def typical_error(self, trips: Sequence[Trip] | None = None) -> float:
        """Return the root mean square of the corners' errors, of all trips or of some; NaN of none. [m]"""
        some = self.trips if trips is None else tuple(trips)
        errors = np.concatenate([trip.error.ravel() for trip in some]) if some else np.array([])
        errors = errors[np.isfinite(errors)]
        return float(np.sqrt(np.mean(errors**2))) if len(errors) else float("nan")

    @property
    def corner_bias(self) -> Array:
        """How much higher than planned each corner stands on average, NaN where none was read, shape (2, 2). [m]"""
        errors = np.array([trip.error for trip in self.trips]).reshape(-1, 2, 2)
        there = np.isfinite(errors).sum(axis=0)
        mean: Array = np.where(there > 0, np.nansum(errors, axis=0) / np.maximum(there, 1), np.nan)
        return mean


def track_record(standing: Standing) -> TrackRecord:
    """Return a profile's trips: the heights its readings measured, beside those the plan says for what was in the bags.

    Parameters
    ----------
    standing : Standing
        Of the profile as it is now; its readings are of the load it names.

    Returns
    -------
    TrackRecord
        Empty where no height was measured: no reading, no claim.

    Notes
    -----
    A reading with pressures is held against where the truck settles on them, so that a bag aired wrongly is no fault of
    the plan's; a corner whose gauge was not read counts as set to the plan.

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.saved_state import standing
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> track_record(standing(mill.profile, mill.truck, mill.trailer)).running_within()
    0
    """
    last = {reading.at.date(): reading for reading in standing.profile.readings if np.isfinite(_heights(reading)).any()}
    return TrackRecord(tuple(_trip(standing, reading) for reading in last.values()))


def _trip(standing: Standing, reading: Reading) -> Trip:
    """Return one reading beside the plan."""
    measured, read, plan = _heights(reading), pressures_read(reading), standing.answer
    planned = plan.ride_height
    if np.isfinite(read).any():
        gauge = np.where(np.isfinite(read), read, plan.set.pressure)
        joined = [axle.plumbing == "joined" for axle in (standing.setup.truck.front, standing.setup.truck.rear)]
        for k in np.flatnonzero(joined):
            known = read[k][np.isfinite(read[k])]
            gauge[k] = known.mean() if len(known) else gauge[k]
        named = zip(CORNERS, gauge.ravel(), strict=True)
        planned = settle_setup(standing.setup, {name: float(p) for name, p in named if np.isfinite(p)}).ride_height
    return Trip(reading.at, planned, measured)


def _heights(reading: Reading) -> Array:
    """Return measured ride heights, NaN where none was read, shape (2, 2). [m]"""
    corners = [getattr(reading, corner) for corner in CORNERS]
    heights = [np.nan if one is None or one.ride_height is None else float(one.ride_height) for one in corners]
    return np.array(heights).reshape(2, 2)
