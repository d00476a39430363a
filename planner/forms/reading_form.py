"""A reading as it is typed beside a profile: four pressures and four heights, kept in its draft until it is accepted.

Keys are "trim.front_left.pressure", "trim.front_left.height", …, and "trim.way" for where heights are measured from.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final

import numpy as np
from pydantic import ValidationError

from planner.forms.draft import Draft
from planner.forms.fields import Field
from planner.forms.parse import read_quantity
from planner.forms.profile_draft import ProfileDraft
from planner.forms.ride_height import WAYS, Bases, TypedHeight, Way, bases_of, read_height, ride_height
from planner.forms.saving import level_work, reopen, setup_of, with_pressures
from planner.plans.answer import CORNERS, Answer
from planner.plans.setup import Setup
from planner.plans.trim import Trim
from planner.records import BadInput, Problem, Reading
from planner.records.profile import Trimmed
from planner.records.reading import CornerReading
from planner.store import Store, history
from planner.units.quantity import Quantity, Refusal, System

TRIM: Final = "trim"
WAY: Final = f"{TRIM}.way"
UNSAVED: Final = Problem(
    "not accepted", "", "", "the load was changed and is not saved", "save it on Level first; the reading stays here"
)
WALK: Final = ("front_left", "rear_left", "rear_right", "front_right")  # round the truck, from the driver's door
PRESSURE, HEIGHT = "pressure", "height"


@dataclass(frozen=True, eq=False)
class TypedReading:
    """What is typed so far.

    Attributes
    ----------
    setup, planned : what is loaded, and its plan
    bases : what heights are counted from
    heights : hub to arch as each was taken, by corner
    faults : by corner, why a height that reads is none here
    reading : all that reads; None where nothing does
    """

    setup: Setup
    planned: Answer
    bases: Bases
    heights: Mapping[str, Quantity]
    faults: Mapping[str, Refusal]
    reading: Reading | None


def reading_key(corner: str, what: str) -> str:
    """Return the key of one number of a reading."""
    return f"{TRIM}.{corner}.{what}"


def reading_keys() -> tuple[str, ...]:
    """Return the keys of all numbers of a reading, in the order in which a person walks round the truck."""
    return tuple(reading_key(corner, what) for corner in WALK for what in (PRESSURE, HEIGHT))


def texts_of_reading(draft: Draft[Any]) -> dict[str, str]:
    """Return what is typed of a reading, by key, and from where its heights are measured."""
    return {key: draft.typed[key] for key in (*reading_keys(), WAY) if key in draft.typed}


def way_of(draft: Draft[Any]) -> Way:
    """Return from where heights are measured."""
    return "ground" if draft.typed.get(WAY) == "ground" else "hub"


def reading_field(key: str) -> Field:
    """Return how a number of a reading is asked for."""
    return Field("quantity", "pressure" if key.endswith(PRESSURE) else "length", optional=True)


def read_reading(key: str, text: str, system: System) -> Quantity | TypedHeight | str:
    """Return what one field of a reading says; Refusal if it cannot be."""
    if key == WAY:
        if text not in WAYS:
            raise Refusal(f"must be one of {', '.join(WAYS)}", text, "choose one")
        return text
    return read_height(text, system) if key.endswith(f".{HEIGHT}") else read_gauge(text, system)


def read_gauge(text: str, system: System) -> Quantity:
    """Return what a gauge shows as typed; Refusal if it cannot be read, or is under nought."""
    pressure = read_quantity(text, "pressure", system)
    if pressure < 0:
        raise Refusal("must be a gauge pressure >= 0", pressure.text, "check the number and its unit")
    return pressure


def typed_reading(work: ProfileDraft, system: System, now: datetime) -> TypedReading:
    """Return what is typed of a reading; BadInput or ArithmeticError if the load it is of has no plan."""
    setup, planned = setup_of(work), level_work(work)
    bases, way = bases_of(setup, planned), way_of(work)
    given, faults = read_corners(work, reading_key, way, bases, system)
    corners = dict[str, CornerReading]()
    for corner, numbers in given.items():
        with suppress(ValidationError):
            corners[corner] = CornerReading.model_validate(numbers)
    heights = {corner: numbers["ride_height"] for corner, numbers in given.items() if "ride_height" in numbers}
    reading = Reading.model_validate({"at": now, **corners}) if corners else None
    return TypedReading(setup, planned, bases, heights, faults, reading)


def read_corners(
    work: ProfileDraft, key: Callable[[str, str], str], way: Way, bases: Bases, system: System
) -> tuple[dict[str, dict[str, Quantity]], dict[str, Refusal]]:
    """Return "pressure" and "ride_height" of each corner, as far as they are typed; and why a height is none here.

    key : returns the key of a corner's number, PRESSURE or HEIGHT
    """
    given, faults = dict[str, dict[str, Quantity]](), dict[str, Refusal]()
    for place, corner in enumerate(CORNERS):
        numbers: dict[str, Quantity] = {}
        if asks_pressure(work, corner):
            with suppress(Refusal):
                numbers["pressure"] = read_gauge(work.typed.get(key(corner, PRESSURE), ""), system)
        with suppress(Refusal):
            typed = read_height(work.typed.get(key(corner, HEIGHT), ""), system)
            try:
                numbers["ride_height"] = ride_height(typed, way, bases, place)
            except Refusal as refusal:
                faults[corner] = refusal
        if numbers:
            given[corner] = numbers
    return given, faults


def asks_pressure(work: ProfileDraft, corner: str) -> bool:
    """Tell whether a gauge is read at a corner: its axle has bags, and it is the first on its line as one walks."""
    axle, side = corner.split("_")
    fitted = work.truck.front if axle == "front" else work.truck.rear
    return fitted.bag is not None and (fitted.plumbing == "separate" or side == "left")


def without_reading(work: ProfileDraft) -> ProfileDraft:
    """Return the draft with nothing typed of a reading."""
    return work.without_typed(*reading_keys())


def accept_trim(store: Store, work: ProfileDraft, typed: TypedReading, found: Trim) -> ProfileDraft:
    """Write a reading and the pressures it asks into its profile, and return the draft of what was written.

    What is to be left as it is has the pressures that were read. The pressures until now stay in the history.

    Raises
    ------
    ConflictError
        If the profile was changed elsewhere meanwhile; nothing is written.
    BadInput
        If it cannot be written, or what it names was changed here and is not saved.
    """
    if work.base is None or work.changed:
        raise BadInput([UNSAVED])
    assert typed.reading is not None  # a trim is of one
    asked = (
        found.set if found.leave is None else np.where(np.isnan(found.read_pressure), found.set, found.read_pressure)
    )
    setting = replace(found.after.set, pressure=asked)
    trimmed = with_pressures(work, replace(found.after, set=setting))
    planned = with_pressures(work, typed.planned).profile.pressures
    pressures, reading = trimmed.profile.pressures, typed.reading
    changes: dict[str, Any] = {"readings": (*work.profile.readings, reading)}
    if pressures is not None and planned is not None:
        changes["trimmed"] = Trimmed(at=reading.at, pressures=pressures, planned=planned)
    profile = trimmed.profile.replaced(**changes)
    history.write_profile(store, profile, work.slug, "trimmed", expected=work.base)
    return reopen(store, without_reading(work))


def take_back_trim(store: Store, before: ProfileDraft, now: ProfileDraft) -> ProfileDraft:
    """Write a profile as it was before a trim was accepted, and return its draft, the reading typed again.

    Raises
    ------
    ConflictError
        If the profile was changed since.
    """
    assert before.base is not None  # else nothing was accepted
    history.write_profile(store, before.base, before.slug, "restored", expected=now.base, note="trim taken back")
    return reopen(store, before)


def time_of_reading(work: ProfileDraft, now: datetime) -> datetime:
    """Return a time [with its zone] as the profile's readings have theirs, none before the last of them."""
    readings = work.profile.readings
    aware = bool(readings) and readings[-1].at.tzinfo is not None
    at = (now if aware else now.replace(tzinfo=None)).replace(microsecond=0)
    return max(at, readings[-1].at) if readings else at
