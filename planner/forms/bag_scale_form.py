"""The bags as a scale, as it is typed beside a profile: gauge and tape at the corners before and after.

Keys are "bags.before.front_left.pressure", "bags.after.rear_left.height", …, and "bags.hooked" for what came on. They
are kept in the profile's draft.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from functools import partial
from typing import Final

from planner.forms.fields import Field
from planner.forms.profile_draft import ProfileDraft
from planner.forms.reading_form import (
    HEIGHT,
    PRESSURE,
    WALK,
    read_corners,
    read_reading,
    reading_field,
)
from planner.forms.ride_height import TypedHeight, bases_of
from planner.forms.saving import level_work, setup_of
from planner.plans.setup import Setup
from planner.records import Reading
from planner.units.quantity import Quantity, Refusal, System, shown

BAGS: Final = "bags"
BEFORE, AFTER = "before", "after"
HOOKED: Final = f"{BAGS}.hooked"
TRAILER, CARGO = "trailer", "cargo"
CAME_ON: Final = {TRAILER: "the trailer, hooked on", CARGO: "something loaded"}


@dataclass(frozen=True, eq=False)
class TypedBags:
    """What is typed so far: the truck as it stands, both readings, and whether a trailer came on."""

    setup: Setup
    before: Reading | None
    after: Reading | None
    hooked: bool


def bags_key(when: str, corner: str, what: str) -> str:
    """Return the key of one number: when is "before" or "after", what "pressure" or "height"."""
    return f"{BAGS}.{when}.{corner}.{what}"


def bags_keys() -> tuple[str, ...]:
    """Return the keys of all numbers."""
    return tuple(
        bags_key(when, corner, what) for when in (BEFORE, AFTER) for corner in WALK for what in (PRESSURE, HEIGHT)
    )


def bags_field(key: str) -> Field:
    """Return how a number is asked for."""
    return Field("text", optional=True) if key == HOOKED else reading_field(key)


def read_bags(key: str, text: str, system: System) -> Quantity | TypedHeight | str:
    """Return what one field says; Refusal if it cannot be."""
    if key != HOOKED:
        return read_reading(key, text, system)
    if text not in CAME_ON:
        raise Refusal(f"must be one of {', '.join(CAME_ON)}", shown(text), "choose one")
    return text


def came_on(work: ProfileDraft) -> str:
    """Return what came on: "trailer", where there is one and nothing else is said, or "cargo"."""
    typed = work.typed.get(HOOKED, TRAILER)
    return typed if typed in CAME_ON and work.trailer is not None else CARGO


def typed_bags(work: ProfileDraft, system: System, now: datetime) -> TypedBags:
    """Return what is typed; BadInput or ArithmeticError if the load it is of cannot be."""
    setup = setup_of(work)
    bases = bases_of(setup, level_work(work))
    readings = []
    for when in (BEFORE, AFTER):
        corners, _ = read_corners(work, partial(bags_key, when), "hub", bases, system)
        taped = any("ride_height" in one for one in corners.values())
        readings.append(Reading.model_validate({"at": now, **corners}) if taped else None)
    return TypedBags(setup, readings[0], readings[1], came_on(work) == TRAILER)


def without_bags(work: ProfileDraft) -> ProfileDraft:
    """Return the draft with nothing typed of it."""
    return work.without_typed(*bags_keys(), HOOKED)
