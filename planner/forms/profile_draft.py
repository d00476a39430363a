"""What one tab works on: the last good records, and every text that is no value yet. No streamlit in here.

A profile names its truck and its trailer; it holds neither. A change of the trailer's weight is therefore a what-if,
kept beside the profile until its owner says where it shall go.
"""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from typing import Any, Final, Self

from planner.records import BadInput, Cargo, Problem, Profile, Trailer, Truck
from planner.store import Store

NEW: Final = "_new"  # stands for a profile that has no file yet; no slug looks like it
NEW_NAME: Final = "New profile"
BED: Final = "Bed load"  # the cargo item that the quick row makes
BED_MATCH: Final = 5e-4  # [m] how near its place must be to the one that the side bias gives

NO_TRUCK: Final = Problem(
    "trucks",
    "",
    "",
    "there is no truck here yet",
    "put the file of your truck into this folder; the demo's is an example",
)

NUMBERS: Final = frozenset({"gross_weight", "tongue_ratio"})  # what of a trailer is tried on the Level page
WhatIf = Mapping[str, str | float]  # fields of a trailer, as typed


@dataclass(frozen=True)
class Work:
    """A profile being worked on.

    Attributes
    ----------
    slug : of its file, NEW before it has one
    base : as it was read; None before it has a file
    profile : as it is now, every value good
    truck, trailer : as their files have them; the trailer None for the truck alone
    what_if : by trailer, the numbers that differ from its file
    typed : by field, texts that are no values: bad ones, and those of rows not added yet
    """

    slug: str
    base: Profile | None
    profile: Profile
    truck: Truck
    trailer: Trailer | None
    what_if: Mapping[str, WhatIf] = field(default_factory=dict)
    typed: Mapping[str, str] = field(default_factory=dict)

    @property
    def changed(self) -> bool:
        """Whether saving would change a file."""
        return self.profile != self.base or bool(self.other_numbers) or self.base is None

    @property
    def worth_keeping(self) -> bool:
        """Whether something would be lost with the tab."""
        fresh = self.base is None and self.profile == _fresh(self.profile.truck)
        return bool(self.typed) or bool(self.what_if) or (self.profile != self.base and not fresh)

    @property
    def other_numbers(self) -> WhatIf:
        """Numbers of the trailer in use that differ from its file."""
        return self.what_if.get(self.profile.trailer or "", {})

    @property
    def towed(self) -> Trailer | None:
        """The trailer with the numbers to try."""
        if self.trailer is None or not self.other_numbers:
            return self.trailer
        return self.trailer.replaced(**self.other_numbers)

    @property
    def bed_place(self) -> int | None:
        """Place among the cargo of the quick row's load, while it lies where the side bias puts it."""
        y = self.side_arm(self.profile.left_share)
        for place, item in enumerate(self.profile.cargo):
            if item.name == BED and item.at is None and abs((item.y or 0.0) - y) <= BED_MATCH:
                return place
        return None

    @property
    def bed_load(self) -> Cargo | None:
        """The quick row's load."""
        return None if self.bed_place is None else self.profile.cargo[self.bed_place]

    def side_arm(self, left_share: float) -> float:
        """Return how far left of centre a load with that left share acts, on the rear track. [m]"""
        return (left_share - 0.5) * float(self.truck.rear.track)

    def with_profile(self, **changes: Any) -> Self:
        """Return the work with fields of the profile changed; ValidationError if they cannot stand."""
        return replace(self, profile=self.profile.replaced(**changes))

    def with_numbers(self, **numbers: str | float) -> Self:
        """Return the work with other numbers for its trailer; those of its file are no what-if."""
        assert self.trailer is not None  # there is no field without one
        assert self.profile.trailer is not None
        tried = self.trailer.replaced(**{**self.other_numbers, **numbers})
        other = {
            name: value
            for name, value in {**self.other_numbers, **numbers}.items()
            if getattr(tried, name) != getattr(self.trailer, name)
        }
        rest = {slug: kept for slug, kept in self.what_if.items() if slug != self.profile.trailer}
        return replace(self, what_if={**rest, self.profile.trailer: other} if other else rest)

    def without_numbers(self) -> Self:
        """Return the work with the trailer as its file has it."""
        rest = {slug: kept for slug, kept in self.what_if.items() if slug != self.profile.trailer}
        return replace(self, what_if=rest)

    def with_typed(self, key: str, text: str) -> Self:
        """Return the work with a text kept for a field."""
        return replace(self, typed={**self.typed, key: text})

    def without_typed(self, *keys: str) -> Self:
        """Return the work with no text kept for some fields."""
        if not any(key in self.typed for key in keys):
            return self
        return replace(self, typed={key: text for key, text in self.typed.items() if key not in keys})


def open_work(store: Store, slug: str) -> Work:
    """Return the work on a profile as its file has it.

    Raises
    ------
    BadInput
        If the profile, its truck or its trailer cannot be read; whether they fit each other is not asked here, so that
        a misfit can be mended on the screen.
    """
    if slug == NEW:
        return new_work(store)
    profile = store.read_profile(slug)
    return with_files(store, Work(slug, profile, profile, *_files(store, profile)))


def new_work(store: Store) -> Work:
    """Return the work on a new profile of the first sound truck, with nothing behind or on it."""
    problems: list[Any] = []
    for slug in store.trucks():
        try:
            return Work(NEW, None, _fresh(slug), store.read_truck(slug), None)
        except BadInput as exc:
            problems += exc.problems
    raise BadInput(problems or [NO_TRUCK])


def with_files(store: Store, work: Work) -> Work:
    """Return the work with its truck and trailer read anew."""
    truck, trailer = _files(store, work.profile)
    new = replace(work, truck=truck, trailer=trailer)
    if trailer is None or not trailer.deck:
        return new
    return new.without_numbers().without_typed("weight", "tongue")  # its deck says both, and there is no field for them


def draft_of(work: Work) -> dict[str, Any]:
    """Return what a draft file holds of the work, as JSON knows it."""
    return {
        "base": None if work.base is None else _texts(work.base),
        "profile": _texts(work.profile),
        "what_if": {slug: dict(numbers) for slug, numbers in work.what_if.items()},
        "typed": dict(work.typed),
    }


def from_draft(store: Store, slug: str, draft: Mapping[str, Any]) -> Work:
    """Return the work a draft holds.

    Raises
    ------
    BadInput
        If its truck or trailer cannot be read.
    ValueError, TypeError, KeyError, AttributeError
        If it is not what `draft_of` wrote.
    """
    profile = Profile.model_validate(draft["profile"])
    base = None if draft["base"] is None else Profile.model_validate(draft["base"])
    truck, trailer = _files(store, profile)
    work = Work(slug, base, profile, truck, trailer, typed=texts_in(draft["typed"]))
    what_if = {str(name): dict(numbers) for name, numbers in draft["what_if"].items()}
    for name, numbers in what_if.items():
        _check_numbers(store, name, numbers)
    work = replace(work, what_if=what_if)
    if trailer is None:
        return work
    return work.without_numbers() if trailer.deck else work.with_numbers()


def texts_in(typed: Mapping[str, str]) -> dict[str, str]:
    """Return the texts that a draft keeps, by field; ValueError if one is none that a person can have typed."""
    for text in (*typed.keys(), *typed.values()):
        text.encode("utf-8")  # half a letter has no code, and no page could be sent with it
    return dict(typed)


def _check_numbers(store: Store, slug: str, numbers: WhatIf) -> None:
    """Raise a ValueError if a trailer cannot have the numbers a draft gives it; one that is not there is not asked."""
    if not numbers.keys() <= NUMBERS:
        raise ValueError(f"only {' and '.join(sorted(NUMBERS))} of a trailer are tried, got {', '.join(numbers)}")
    with suppress(BadInput):
        trailer = store.read_trailer(slug)
        if not trailer.deck:
            trailer.replaced(**numbers)


def _files(store: Store, profile: Profile) -> tuple[Truck, Trailer | None]:
    """Return the truck and the trailer a profile names; BadInput with what is wrong with either."""
    problems: list[Any] = []
    found: list[Any] = []
    for read, slug in ((store.read_truck, profile.truck), (store.read_trailer, profile.trailer)):
        try:
            found.append(None if slug is None else read(slug))
        except BadInput as exc:
            problems += exc.problems
    if problems:
        raise BadInput(problems)
    return found[0], found[1]


def _fresh(truck: str) -> Profile:
    """Return a new profile of a truck."""
    return Profile(name=NEW_NAME, truck=truck)


def _texts(profile: Profile) -> dict[str, Any]:
    """Return a profile as texts and numbers, only what was given."""
    return profile.model_dump(mode="json", by_alias=True, exclude_unset=True)
