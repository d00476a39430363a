"""Readings of a truck on a scale as they are typed beside it, and what they teach written into its file.

Keys are "learn.0.front_axle", "learn.0.front_left.pressure", "learn.0.front_left.height", "learn.0.on": the day. They
are kept in the truck's draft until what they teach is used.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from typing import Any, Final

from planner.forms.draft import Draft
from planner.forms.fields import Field
from planner.forms.parse import read_quantity
from planner.forms.reading_form import WALK, read_gauge
from planner.forms.saving import reopen
from planner.plans.calibration import Calibration
from planner.plans.learnt_truck import learnt_truck
from planner.records import BadInput, Problem, Profile, Reading, Slip, Truck, read_record
from planner.records.weighed_reading import WeighedReading
from planner.store import PROFILE, SLIP, Store
from planner.units.quantity import Dimension, Quantity, Refusal, System, shown

LEARN: Final = "learn"
FRONT, REAR, ON = "front_axle", "rear_axle", "on"
AXLES: Final = (FRONT, REAR)
PRESSURE, HEIGHT = "pressure", "height"
MOST: Final = 12  # readings: past it a truck learns no more from the next
PASSES: Final = {"alone": "alone", "hitched": "hitched", "hitched_with_bars": "hitched, with bars"}
NOT_SAVED: Final = Problem("not used", "", "", "the truck was changed and is not saved", "save it, then use this")
DOUBTED: Final = Problem("not used", "", "", "a reading is doubted", "fix or empty what is asked about, then use this")


@dataclass(frozen=True, eq=False)
class TypedReadings:
    """What is typed so far.

    Attributes
    ----------
    places : place of each whole reading among those asked for
    readings : those that are whole
    lacking : by place, what the others lack, in words
    """

    places: tuple[int, ...]
    readings: tuple[WeighedReading, ...]
    lacking: Mapping[int, str]


@dataclass(frozen=True)
class Source:
    """Where numbers of a reading may be taken from: what it is called, and the texts by field."""

    name: str
    texts: Mapping[str, str]


def learn_key(place: int, what: str) -> str:
    """Return the key of one number of a reading: what is "front_axle", "on", or a corner's "front_left.height"."""
    return f"{LEARN}.{place}.{what}"


def learn_field(key: str) -> Field:
    """Return how a number of a reading is asked for."""
    dimension = _dimension(key)
    return Field("text", optional=True) if dimension is None else Field("quantity", dimension, optional=True)


def count_asked(draft: Draft[Truck]) -> int:
    """Return how many readings are asked for: those that something is typed of, and one more."""
    typed = [int(key.split(".")[1]) for key in draft.typed if key.startswith(f"{LEARN}.")]
    return min(max(typed, default=-1) + 2, MOST)


def typed_readings(draft: Draft[Truck], system: System, today: date) -> TypedReadings:
    """Return the readings that are typed; one without a day is of today."""
    whole: dict[int, WeighedReading] = {}
    lacking: dict[int, str] = {}
    for place in range(count_asked(draft)):
        found, bad = _typed(draft, place, system)
        if not found and not bad:
            continue
        missing = [words for words, key in (("front axle", FRONT), ("rear axle", REAR)) if key not in found]
        corners = _corners(found)
        if bad or missing or not corners:
            lacking[place] = (
                "fix the marked field" if bad else " and ".join([*missing, *([] if corners else ["a corner"])])
            )
            continue
        day = date.fromisoformat(found[ON]) if ON in found else today
        table = {"at": datetime.combine(day, time(12)), FRONT: found[FRONT], REAR: found[REAR], **corners}
        try:
            whole[place] = read_record(WeighedReading, table, f"reading {place + 1}")
        except BadInput as exc:
            lacking[place] = exc.problems[0].rule
    return TypedReadings(tuple(whole), tuple(whole.values()), lacking)


def _typed(draft: Draft[Truck], place: int, system: System) -> tuple[dict[str, Any], bool]:
    """Return what reads of one reading, by field, and whether something does not."""
    start, found, bad = learn_key(place, ""), dict[str, Any](), False
    for key, text in draft.typed.items():
        if key.startswith(start):
            try:
                found[key.removeprefix(start)] = read_learn(key, text, system)
            except Refusal:
                bad = True
    return found, bad


def _corners(found: Mapping[str, Any]) -> dict[str, dict[str, Any]]:
    """Return the corners of a reading as its record has them."""
    named = {PRESSURE: "pressure", HEIGHT: "ride_height"}
    corners = {
        corner: {field: found[f"{corner}.{what}"] for what, field in named.items() if f"{corner}.{what}" in found}
        for corner in WALK
    }
    return {corner: numbers for corner, numbers in corners.items() if numbers}


def find_corners(store: Store, slug: str) -> list[Source]:
    """Return the readings of a truck's profiles, newest first: gauge and tape at the corners."""
    found = list[tuple[str, Source]]()
    for profile in _those(store, slug):
        for reading in profile.readings:
            words = f"{profile.name}, {reading.at:%Y-%m-%d}"
            found.append((f"{reading.at:%Y-%m-%d %H:%M}", Source(words, dict(_texts(reading)))))
    return [source for _, source in sorted(found, key=lambda one: one[0], reverse=True)]


def find_axles(store: Store, slug: str) -> list[Source]:
    """Return the weighings of a truck's slips that have both axles."""
    found = list[Source]()
    for entry in store.entries(SLIP):
        with suppress(BadInput):
            slip: Slip = store.read(SLIP, entry.slug)
            if slip.truck == slug:
                for name, words in PASSES.items():
                    one = getattr(slip, name)
                    front, rear = (getattr(one, axle, None) for axle in AXLES)
                    if front is not None and rear is not None:
                        found.append(Source(f"{slip.name}, {words}", {FRONT: front.text, REAR: rear.text}))
    return found


def _those(store: Store, slug: str) -> Iterator[Profile]:
    """Yield the profiles of a truck that can be read."""
    for entry in store.entries(PROFILE):
        with suppress(BadInput):
            profile: Profile = store.read(PROFILE, entry.slug)
            if profile.truck == slug:
                yield profile


def _texts(reading: Reading) -> Iterator[tuple[str, str]]:
    """Yield the numbers of a profile's reading by field, as typed."""
    yield ON, reading.at.date().isoformat()
    for corner in WALK:
        one = getattr(reading, corner)
        if one is not None and one.pressure is not None:
            yield f"{corner}.{PRESSURE}", one.pressure.text
        if one is not None and one.ride_height is not None:
            yield f"{corner}.{HEIGHT}", one.ride_height.text


def with_source(draft: Draft[Truck], place: int, source: Source) -> Draft[Truck]:
    """Return the draft with numbers of a profile's reading, or of a slip, in a reading's fields."""
    typed = {learn_key(place, what): text for what, text in source.texts.items()}
    return replace(draft, typed={**draft.typed, **typed})


def without_reading(draft: Draft[Truck], place: int) -> Draft[Truck]:
    """Return the draft without one of the readings; later ones move up."""
    typed = {}
    for key, text in draft.typed.items():
        head, _, rest = key.partition(".")
        number, _, what = rest.partition(".")
        if head != LEARN or int(number) < place:
            typed[key] = text
        elif int(number) > place:
            typed[learn_key(int(number) - 1, what)] = text
    return replace(draft, typed=typed)


def without_readings(draft: Draft[Truck]) -> Draft[Truck]:
    """Return the draft with nothing typed of a reading."""
    return draft.without_typed(*(key for key in draft.typed if key.startswith(f"{LEARN}.")))


def use_learnt(store: Store, draft: Draft[Truck], found: Calibration) -> Draft[Truck]:
    """Write what readings teach into the truck's file, with date and source, and return the draft of what was written.

    Raises
    ------
    ConflictError
        If the file was changed elsewhere meanwhile; nothing is written.
    BadInput
        If the truck was changed here and is not saved, or a number of the readings is doubted.
    """
    if draft.base is None or draft.changed:
        raise BadInput([NOT_SAVED])
    if found.doubts or not found.converged:
        raise BadInput([DOUBTED])
    learnt = learnt_truck(replace(found, truck=draft.record), max(one.at.date() for one in found.readings))
    store.write(learnt, draft.slug, draft.base, keep_old=True)
    return reopen(store, without_readings(draft))


def take_back_learnt(store: Store, before: Draft[Truck], now: Draft[Truck]) -> Draft[Truck]:
    """Write a truck as it was before it learnt, and return its draft, the readings typed again.

    Raises
    ------
    ConflictError
        If the file was changed since.
    """
    assert before.base is not None  # else nothing was used
    store.write(before.base, before.slug, now.base)
    return reopen(store, before)


def _dimension(key: str) -> Dimension | None:
    """Return what a number of a reading is of; None for the day."""
    what = key.rpartition(".")[2]
    dimensions: dict[str, Dimension] = {PRESSURE: "pressure", HEIGHT: "length", FRONT: "weight", REAR: "weight"}
    return dimensions.get(what)


def read_learn(key: str, text: str, system: System) -> Quantity | str:
    """Return what one field of a reading says; Refusal if it cannot be."""
    dimension = _dimension(key)
    if dimension is None:
        try:
            return date.fromisoformat(text.strip()).isoformat()
        except ValueError as exc:
            raise Refusal("must be a day", shown(text), "write it as 2026-05-04") from exc
    if dimension == "pressure":
        return read_gauge(text, system)
    value = read_quantity(text, dimension, system)
    if not value > 0:
        raise Refusal("must be > 0", shown(value.text), "check the number and its unit")
    return value
