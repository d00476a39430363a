"""A reading as it is typed beside a profile: four pressures and four heights, kept in its draft until it is accepted.

Keys are "trim.front_left.pressure", "trim.front_left.height", …, and "trim.way" for where heights are measured from.
"""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final

from pydantic import ValidationError

from planner.forms.draft import Draft
from planner.forms.fields import Field
from planner.forms.parse import read_quantity
from planner.forms.profile_draft import ProfileDraft
from planner.forms.ride_height import WAYS, Bases, Way, bases_of, read_height, ride_height
from planner.forms.saving import level_work, setup_of
from planner.plans.answer import CORNERS, Answer
from planner.plans.setup import Setup
from planner.records import Reading
from planner.records.reading import CornerReading
from planner.units.quantity import Quantity, Refusal, System

TRIM: Final = "trim"
WAY: Final = f"{TRIM}.way"
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
    reading : all that reads; None where nothing does
    """

    setup: Setup
    planned: Answer
    bases: Bases
    heights: Mapping[str, Quantity]
    reading: Reading | None


def reading_key(corner: str, what: str) -> str:
    """Return the key of one number of a reading."""
    return f"{TRIM}.{corner}.{what}"


def reading_keys() -> tuple[str, ...]:
    """Return the keys of all numbers of a reading, in the order in which a person walks round the truck."""
    return tuple(reading_key(corner, what) for corner in WALK for what in (PRESSURE, HEIGHT))


def way_of(draft: Draft[Any]) -> Way:
    """Return from where heights are measured."""
    return "ground" if draft.typed.get(WAY) == "ground" else "hub"


def reading_field(key: str) -> Field:
    """Return how a number of a reading is asked for."""
    return Field("quantity", "pressure" if key.endswith(PRESSURE) else "length", optional=True)


def check_number(key: str, text: str, system: System) -> None:
    """Raise Refusal for a text that is no number of a reading."""
    if key == WAY:
        if text not in WAYS:
            raise Refusal(f"must be one of {', '.join(WAYS)}", text, "choose one")
    elif key.endswith(f".{HEIGHT}"):
        read_height(text, system)
    elif (pressure := read_quantity(text, "pressure", system)) < 0:
        raise Refusal("must be a gauge pressure >= 0", pressure.text, "check the number and its unit")


def keep_number(key: str, text: str, system: System) -> str:
    """Return a number of a reading with the unit it was typed in; one that does not read as it was typed."""
    with suppress(Refusal):
        if key.endswith(f".{PRESSURE}"):
            return read_quantity(text, "pressure", system).text
        if key.endswith(f".{HEIGHT}"):
            typed = read_height(text, system)
            return typed.amount.text + {-1: " low", 0: "", 1: " high"}[typed.side]
    return text


def typed_reading(work: ProfileDraft, system: System, now: datetime) -> TypedReading:
    """Return what is typed of a reading; BadInput or ArithmeticError if the load it is of has no plan."""
    setup, planned = setup_of(work), level_work(work)
    bases, way = bases_of(setup, planned), way_of(work)
    corners, heights = dict[str, CornerReading](), dict[str, Quantity]()
    for place, corner in enumerate(CORNERS):
        given: dict[str, Quantity] = {}
        with suppress(Refusal):
            given["pressure"] = _pressure(work, corner, system)
        with suppress(Refusal):
            typed = read_height(work.typed.get(reading_key(corner, HEIGHT), ""), system)
            given["ride_height"] = heights[corner] = ride_height(typed, way, bases, place)
        if given:
            with suppress(ValidationError):
                corners[corner] = CornerReading.model_validate(given)
    reading = Reading.model_validate({"at": now, **corners}) if corners else None
    return TypedReading(setup, planned, bases, heights, reading)


def _pressure(work: ProfileDraft, corner: str, system: System) -> Quantity:
    """Return one pressure that is typed; Refusal if it does not read."""
    key = reading_key(corner, PRESSURE)
    text = work.typed.get(key, "")
    check_number(key, text, system)
    return read_quantity(text, "pressure", system)


def without_reading(work: ProfileDraft) -> ProfileDraft:
    """Return the draft with nothing typed of a reading."""
    return work.without_typed(*reading_keys())


def moment_like(work: ProfileDraft, now: datetime) -> datetime:
    """Return a time [with its zone] as the profile's readings have theirs: with one, or on the owner's own clock."""
    readings = work.profile.readings
    if readings and readings[-1].at.tzinfo is not None:
        return max(now, readings[-1].at)
    local = now.replace(tzinfo=None)
    return max(local, readings[-1].at) if readings else local


def with_reading(work: ProfileDraft, reading: Reading) -> ProfileDraft:
    """Return the draft with a reading joined to those of its profile, the newest last."""
    return work.with_profile(readings=(*work.profile.readings, reading))


def with_base(work: ProfileDraft, profile: Any, slug: str) -> ProfileDraft:
    """Return the draft on a profile as it was written, what is typed of the reading gone."""
    return without_reading(replace(work, slug=slug, base=profile, record=profile))
