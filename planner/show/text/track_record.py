"""The record of trust in a few words, for a card and for a profile alone on the screen."""

from __future__ import annotations

from typing import Final

from planner.plans.track_record import CLOSE, TrackRecord
from planner.show.text.numbers import say
from planner.units.quantity import System

WITHIN: Final[dict[System, tuple[float, str]]] = {"us": (CLOSE, "¼ in"), "metric": (0.006, "6 mm")}  # [m], as said
FEW: Final = 3  # trips, from which on an error is a rule
COUNTS: Final = (
    "no",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)


def trust_words(record: TrackRecord, system: System) -> str:
    """Return how far plan and tape were apart: "within ¼ in, six trips running"; empty where nothing was measured.

    Where the last trip was not that near, the words say by how much it was off instead.

    Examples
    --------
    >>> trust_words(TrackRecord(()), "us")
    ''
    """
    if not record.trips:
        return ""
    bound, said = WITHIN[system]
    running = record.running_within(bound)
    if not running:
        return f"{say(record.trips[-1].worst, 'length', system)} off at one corner on the last trip"
    if running == 1:
        return f"within {said} on the last trip"
    return f"within {said}, {COUNTS[running] if running < len(COUNTS) else running} trips running"


def error_words(record: TrackRecord, system: System) -> str:
    """Return by how much the corners are off the plan as a rule, lately and before; empty of few trips.

    Examples
    --------
    >>> error_words(TrackRecord(()), "us")
    ''
    """
    half = len(record.trips) // 2
    if half < FEW:
        return ""
    before, lately = (
        say(record.typical_error(some), "length", system, exact=True)
        for some in (record.trips[:-half], record.trips[-half:])
    )
    return f"A corner was {lately} off as a rule over the last {half} trips, {before} over those before."
