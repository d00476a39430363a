"""A leak test: the gauges read twice, with the temperature of the air, and the altitude where the truck was moved."""

from collections.abc import Iterator
from typing import Annotated

from pydantic import Field

from planner.records.base import Broken, Record, rule
from planner.records.corners import CORNERS
from planner.records.fields import Altitude, Pressure, Temperature
from planner.records.file_header import SchemaVersion
from planner.records.reading import Reading
from planner.units.quantity import Refusal, Second


class GaugeReading(Reading):
    """The corners as measured at one time, and the air they were measured in."""

    temperature: Temperature  # of the gas at rest, so of the air about it
    altitude: Altitude | None = None  # above sea level; left out: sea level, or where the first reading was made


class LeakTest(Record):
    """Two readings of one truck that carried the same and whose valves were shut all the time between."""

    schema_version: Annotated[SchemaVersion, Field(alias="schema")] = 1
    gauge_error: Annotated[Pressure, Field(gt=0)] | None = None  # one standard deviation; left out: the truck's gauge's
    # how long the truck had stood at the first reading since air last went in; left out: until all was cool
    rested: Annotated[Second, Field(ge=0, le=31_622_400)] | None = None
    before: GaugeReading
    after: GaugeReading

    @rule
    def _is_in_order(self) -> Iterator[Broken]:
        """Require time to have passed."""
        before, after = self.before.at, self.after.at
        if (before.tzinfo is None) != (after.tzinfo is None):
            remedy = "give both readings a UTC offset, or neither"
            yield (
                ("after", "at"),
                Refusal(
                    "must be written like before.at: both with a UTC offset, or both without", after.isoformat(), remedy
                ),
            )
        elif not after > before:
            why, remedy = f"must be later than before.at, {before.isoformat()}", "swap the two, or correct the date"
            yield ("after", "at"), Refusal(why, after.isoformat(), remedy)

    @rule
    def _are_of_the_same_corners(self) -> Iterator[Broken]:
        """Require a pressure after for every pressure before, and one at least."""
        read = {name: [self._has(name, corner) for corner in CORNERS] for name in ("before", "after")}
        if not any(read["before"]):
            remedy = 'add front_left = { pressure = "42 psi" } and the others'
            yield ("before",), Refusal("a leak test needs pressures", "none", remedy)
        for corner, before, after in zip(CORNERS, read["before"], read["after"], strict=True):
            if before != after:
                lacking, there = ("after", "before") if before else ("before", "after")
                remedy = f"add it here, or take it out of {there}"
                yield (lacking, corner), Refusal(f"needs a pressure, as {there} has one", "nothing", remedy)

    def _has(self, reading: str, corner: str) -> bool:
        """Tell whether a reading has the pressure of a corner."""
        at = getattr(getattr(self, reading), corner)
        return at is not None and at.pressure is not None
