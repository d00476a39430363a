"""The record of trust: how far the truck stood from what the plan said, trip by trip."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

import numpy as np

from planner.physics.validation import Array
from planner.plans.reading_history import ReadingHistory

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


def track_record(history: ReadingHistory) -> TrackRecord:
    """Return the trips of a profile's readings: the heights measured, beside those the plan says for what was set.

    Parameters
    ----------
    history : ReadingHistory

    Returns
    -------
    TrackRecord
        Empty where no height was measured: no reading, no claim.

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.saved_state import standing
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> track_record(standing(mill.profile, mill.truck, mill.trailer).history).running_within()
    0
    """
    taped = np.flatnonzero(np.isfinite(history.ride_height).any(axis=(1, 2)))
    last = {history.at[n].date(): n for n in taped}
    return TrackRecord(tuple(Trip(history.at[n], history.expected[n], history.ride_height[n]) for n in last.values()))
