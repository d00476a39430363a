"""Readings of a truck that stood on a scale, its axle loads known: what its numbers are learnt from."""

from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import Field

from planner.errors import BadInput, Problem
from planner.records.base import Record
from planner.records.fields import Share, Weight, default
from planner.records.file_header import SchemaVersion
from planner.records.problems import read_record
from planner.records.reading import Reading


class WeighedReading(Reading):
    """Gauge and tape at the corners of a truck, and what its axles weighed as it stood there."""

    front_axle: Weight  # on the scale, hitched or not
    rear_axle: Weight
    left_share: Share | None = None  # of both axles on the left wheels, from a scale that weighs wheels
    resolution: Annotated[Weight, Field(title="Division of the scale")] = default("20 lb", "weight")


class WeighedReadings(Record):
    """Several of them, in any order."""

    schema_version: Annotated[SchemaVersion, Field(alias="schema")] = 1
    readings: tuple[WeighedReading, ...]


def weighed_readings(table: Mapping[str, Any], file: str) -> tuple[WeighedReading, ...]:
    """Return the readings of a file: one by itself, or several under ``[[readings]]``.

    Raises
    ------
    BadInput
        With all that is wrong with them, or if there is none.

    Examples
    --------
    >>> corner = {"pressure": "40 psi", "ride_height": "20 in"}
    >>> one = {"at": "2026-05-04T07:30:00", "front_axle": "4300 lb", "rear_axle": "3900 lb", "rear_left": corner}
    >>> weighed_readings(one, "scale.toml")[0].rear_axle
    <3900 lb>
    """
    given = dict(table)
    schema = {"schema": given.pop("schema", 1)}
    several = given if "readings" in given else {"readings": [given]}
    found = read_record(WeighedReadings, schema | several, file).readings
    if not found:
        remedy = "add a table [[readings]] with at, front_axle, rear_axle and the corners"
        raise BadInput([Problem(file, "readings", "", "must hold at least one reading", remedy)])
    return found
