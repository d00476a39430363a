"""A reading: what gauge and tape said at the corners, at one time."""

from collections.abc import Iterator
from typing import Annotated

from pydantic import Field

from planner.records.base import Broken, Record, rule
from planner.records.corners import CORNERS
from planner.records.fields import Length, Moment, Pressure
from planner.units.quantity import Refusal


class CornerReading(Record):
    """Gauge and tape at one corner; either may be missing."""

    pressure: Pressure | None = None
    ride_height: Annotated[Length, Field(le=3)] | None = None

    @rule
    def _has_a_number(self) -> Iterator[Broken]:
        """Require something: an empty table says nothing."""
        if self.pressure is None and self.ride_height is None:
            remedy = 'add pressure = "42 psi" or ride_height = "20.1 in", or take the table out'
            yield (), Refusal("needs a pressure or a ride_height", "neither", remedy)


class Reading(Record):
    """The corners as measured at one time."""

    at: Moment
    front_left: CornerReading | None = None
    front_right: CornerReading | None = None
    rear_left: CornerReading | None = None
    rear_right: CornerReading | None = None

    @rule
    def _has_a_corner(self) -> Iterator[Broken]:
        """Require a corner: a reading without one says nothing."""
        if all(getattr(self, corner) is None for corner in CORNERS):
            remedy = f'add front_left = {{ pressure = "42 psi" }} or another of {", ".join(CORNERS)}'
            yield (), Refusal("needs at least one corner", "none", remedy)
