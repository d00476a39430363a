"""A profile being worked on, with its truck and its trailer.

A profile names its truck and its trailer; it holds neither. A change of the trailer's weight is therefore a what-if,
kept beside the profile until its owner says where it shall go.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final, Self

from planner.forms.draft import Draft
from planner.records import Cargo, Profile, Trailer, Truck

BED: Final = "Bed load"  # the cargo item that the quick row makes
BED_MATCH: Final = 5e-4  # [m] how near its place must be to the one that the side bias gives

WhatIf = Mapping[str, str | float]  # fields of a trailer, as typed


@dataclass(frozen=True, kw_only=True)
class ProfileDraft(Draft[Profile]):
    """A profile being worked on.

    Laid aside are, by trailer, the numbers that differ from its file.

    Attributes
    ----------
    truck, trailer : as their files have them; the trailer None for the truck alone
    """

    truck: Truck
    trailer: Trailer | None

    @property
    def profile(self) -> Profile:
        """The profile as it is now, every value good."""
        return self.record

    @property
    def changed(self) -> bool:
        """Whether saving would change a file."""
        return super().changed or bool(self.other_numbers)

    @property
    def worth_keeping(self) -> bool:
        """Whether something would be lost with the tab."""
        return self.changed or bool(self.typed) or bool(self.what_if)

    @property
    def what_if(self) -> Mapping[str, WhatIf]:
        """By trailer, the numbers that differ from its file."""
        return self.aside

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
        """Return the draft with fields of the profile changed; ValidationError if they cannot stand."""
        return replace(self, record=self.profile.replaced(**changes))

    def with_numbers(self, **numbers: str | float) -> Self:
        """Return the draft with other numbers for its trailer; those of its file are no what-if."""
        assert self.trailer is not None  # there is no field without one
        assert self.profile.trailer is not None
        tried = self.trailer.replaced(**{**self.other_numbers, **numbers})
        other = {
            name: value
            for name, value in {**self.other_numbers, **numbers}.items()
            if getattr(tried, name) != getattr(self.trailer, name)
        }
        new = self.without_numbers()
        return replace(new, aside={**new.aside, self.profile.trailer: other}) if other else new

    def without_numbers(self) -> Self:
        """Return the draft with the trailer as its file has it."""
        return replace(self, aside={slug: kept for slug, kept in self.aside.items() if slug != self.profile.trailer})
