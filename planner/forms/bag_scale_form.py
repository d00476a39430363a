"""The bags as a scale, as it is typed beside a profile: gauge and tape at the corners before and after.

Keys are "bags.before.front_left.pressure", "bags.after.rear_left.height", …, and "bags.hooked" for what came on. They
are kept in the profile's draft.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from functools import partial
from typing import Final, NamedTuple

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
from planner.forms.slip_form import Offer, Used, share_offer, use_offers
from planner.plans.bag_scale import BagScale
from planner.plans.setup import Setup
from planner.plans.uncertainty.spreads import spreads_of
from planner.plans.uncertainty.trim_pressures import NINETY_FIVE
from planner.records import Reading
from planner.records.fields import LONGEST_NAME
from planner.store import TRAILER as TRAILERS
from planner.store import Store
from planner.units.quantity import STANDARD_GRAVITY as G
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


class _Ratio(NamedTuple):
    """A tongue ratio and its standard uncertainty."""

    value: float
    sd: float


def ratio_offer(work: ProfileDraft, found: BagScale) -> Offer | None:
    """Return the tongue ratio that the bags' hitch load makes of the trailer's weight, to be written into its file.

    Load and weight are each as unsure as they are. None where nothing was hooked on, where the
    file has it already, or where a deck plan says it.
    """
    load, trailer = found.hitch_load, work.trailer
    if load is None or trailer is None or trailer.deck or work.profile.trailer is None or not load.value > 0:
        return None
    weight = spreads_of(Setup.of(work.profile.replaced(pressures=None), work.truck, trailer))["weight"].value
    ratio = load.value / (trailer.weight * G)
    off = ratio * ((load.half_width / NINETY_FIVE / load.value) ** 2 + (weight / trailer.weight) ** 2) ** 0.5
    offer = share_offer("ratio", "Tongue ratio", TRAILERS, trailer, "tongue_ratio", _Ratio(ratio, off))
    return None if offer.values["tongue_ratio"] == trailer.tongue_share else offer


def use_ratio(store: Store, work: ProfileDraft, offer: Offer, today: date) -> Used:
    """Write what the bags weighed into the trailer's file, with date and source, and return what was there.

    Raises
    ------
    ConflictError
        If the file was changed since.
    BadInput
        If no trailer can have such a ratio, or the disk refuses.
    """
    files = {TRAILERS: (work.profile.trailer, work.trailer)}
    return use_offers(store, [offer], files, today, f"bags as a scale, {work.profile.name}"[:LONGEST_NAME])


def without_bags(work: ProfileDraft) -> ProfileDraft:
    """Return the draft with nothing typed of it."""
    return work.without_typed(*bags_keys(), HOOKED)
