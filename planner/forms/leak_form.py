"""A leak test as it is typed beside a profile: gauges and temperatures of last night and this morning.

Keys are "leak.before.front_left", "leak.after.temperature", …, "leak.hours" between the two, "leak.rested" since air
last went in, and "leak.stood" for what of its load the truck stood with. They are kept in the profile's draft.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final

from planner.forms.fields import Field
from planner.forms.parse import is_bare, read_altitude, read_temperature
from planner.forms.profile_draft import ProfileDraft
from planner.forms.reading_form import WALK, asks_pressure, read_gauge
from planner.forms.saving import setup_of
from planner.plans.setup import Setup
from planner.records import CORNERS, Reading, read_record
from planner.records.leak_test import LeakTest
from planner.units.quantity import Dimension, Quantity, Refusal, System, read, shown

LEAK: Final = "leak"
BEFORE, AFTER = "before", "after"
TEMPERATURE, ALTITUDE = "temperature", "altitude"
HOURS, RESTED, STOOD = f"{LEAK}.hours", f"{LEAK}.rested", f"{LEAK}.stood"
BARE: Final = {HOURS: "h", RESTED: "min"}  # what a number without a unit is in
WHOLE, UNHITCHED, EMPTY = "whole", "unhitched", "empty"
LOADS: Final = {WHOLE: "all its load", UNHITCHED: "no trailer", EMPTY: "no trailer, no cargo"}
LONGEST: Final = 24.0 * 366  # [h]
NIGHT: Final = datetime(2000, 1, 1)  # only the hours between the two readings count
DIMENSIONS: Final[dict[str, Dimension]] = {TEMPERATURE: "temperature", ALTITUDE: "length"}


@dataclass(frozen=True, eq=False)
class TypedLeakTest:
    """What is typed so far.

    Attributes
    ----------
    setup : what the truck stood with
    test : the whole of it; None while something is not there or does not read
    lacking : what is not there yet, in words
    """

    setup: Setup
    test: LeakTest | None
    lacking: tuple[str, ...]


def leak_key(when: str, what: str) -> str:
    """Return the key of one number: when is "before" or "after", what a corner, "temperature" or "altitude"."""
    return f"{LEAK}.{when}.{what}"


def leak_keys() -> tuple[str, ...]:
    """Return the keys of all that is typed of a leak test."""
    each = (*WALK, TEMPERATURE, ALTITUDE)
    return (*(leak_key(when, what) for when in (BEFORE, AFTER) for what in each), HOURS, RESTED, STOOD)


def leak_field(key: str) -> Field:
    """Return how a number of a leak test is asked for."""
    if key in (HOURS, RESTED, STOOD):
        return Field("text", optional=True)
    return Field("quantity", DIMENSIONS.get(key.rpartition(".")[2], "pressure"), optional=True)


def stood_with(work: ProfileDraft) -> str:
    """Return what of its load the truck stood with: "whole", "unhitched" or "empty"."""
    typed = work.typed.get(STOOD, WHOLE)
    return typed if typed in LOADS else WHOLE


def typed_leak_test(work: ProfileDraft, system: System) -> TypedLeakTest:
    """Return what is typed of a leak test; BadInput if the load it is of cannot be."""
    setup = setup_of(work)
    stood = stood_with(work)
    setup = setup if stood == WHOLE else setup.without_trailer()
    setup = setup.without_cargo() if stood == EMPTY else setup
    gauges = [corner for corner in WALK if asks_pressure(work, corner)]
    found: dict[str, dict[str, Any]] = {BEFORE: {}, AFTER: {}}
    lacking: list[str] = []
    for when, words in ((BEFORE, "last night"), (AFTER, "this morning")):
        for what in (*gauges, TEMPERATURE, ALTITUDE):
            key = leak_key(when, what)
            try:
                value = read_leak(key, work.typed.get(key, ""), system)
            except Refusal:
                if what != ALTITUDE or key in work.typed:  # which may be left out
                    lacking.append(f"{what.replace('_', ' ')} {words}")
                continue
            found[when][what] = {"pressure": value} if what in CORNERS else value
    try:
        between = read_duration(HOURS, work.typed.get(HOURS, ""))
    except Refusal:
        lacking.append("the time between")
    rested: dict[str, Quantity] = {}
    try:
        if RESTED in work.typed:  # which may be left out
            rested["rested"] = read_duration(RESTED, work.typed[RESTED])
    except Refusal:
        lacking.append("how long it had stood")
    if lacking or not gauges:
        return TypedLeakTest(setup, None, tuple(lacking))
    found[BEFORE]["at"], found[AFTER]["at"] = NIGHT, NIGHT + timedelta(seconds=float(between))
    return TypedLeakTest(setup, read_record(LeakTest, {"schema": 1, **rested, **found}, "leak test"), ())


def with_last_reading(work: ProfileDraft, now: datetime) -> ProfileDraft:
    """Return the draft with the profile's last gauges as those of last night, and the hours since.

    Raises
    ------
    Refusal
        If no reading of the profile has a pressure.
    """
    reading = last_gauges(work)
    if reading is None:
        raise Refusal("needs a reading with pressures", "none", "type last night's gauges")
    new = work.without_typed(*(leak_key(BEFORE, corner) for corner in WALK))
    for corner in WALK:
        one = getattr(reading, corner)
        if asks_pressure(work, corner) and one is not None and one.pressure is not None:
            new = new.with_typed(leak_key(BEFORE, corner), one.pressure.text)
    since = now if reading.at.tzinfo is not None else now.replace(tzinfo=None)
    hours = (since - reading.at).total_seconds() / 3600.0
    return new.with_typed(HOURS, f"{hours:.3g}") if 0 < hours <= LONGEST else new.without_typed(HOURS)


def last_gauges(work: ProfileDraft) -> Reading | None:
    """Return the newest reading of a profile that has a pressure; None if none has."""

    def has_gauge(reading: Reading) -> bool:
        corners = (getattr(reading, corner) for corner in CORNERS)
        return any(one is not None and one.pressure is not None for one in corners)

    return next((one for one in reversed(work.profile.readings) if has_gauge(one)), None)


def without_leak_test(work: ProfileDraft) -> ProfileDraft:
    """Return the draft with nothing typed of a leak test."""
    return work.without_typed(*leak_keys())


def read_duration(key: str, text: str) -> Quantity:
    """Return how long something lasted, as typed with its unit or without; Refusal if it cannot be."""
    bare = text.strip().replace(",", ".")
    value = read(f"{bare} {BARE[key]}" if is_bare(bare) else text, "time")
    if not (0 if key == RESTED else 1) <= value <= LONGEST * 3600.0:
        least = ">= 0" if key == RESTED else "at least 1 s"
        raise Refusal(f"must be {least} and <= {LONGEST:g} h", shown(text), "give it such as 12 h or 5 min")
    return value


def read_leak(key: str, text: str, system: System) -> Quantity | str:
    """Return what one field of a leak test says; Refusal if it cannot be."""
    what = key.rpartition(".")[2]
    if key == STOOD:
        if text not in LOADS:
            raise Refusal(f"must be one of {', '.join(LOADS)}", shown(text), "choose one")
        return text
    if key in BARE:
        return read_duration(key, text)
    if what == TEMPERATURE:
        return read_temperature(text, system)
    return read_altitude(text, system) if what == ALTITUDE else read_gauge(text, system)
