"""One trailer being written down: as its file has it, as it stands now, and every text that is no value yet.

No streamlit in here. Fields of a deck depend on each other: two items may have to move before the tongue presses down
again. So a text that reads but does not fit with the others waits among the typed ones, and goes in with the one that
makes it fit.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final, Self

from planner.forms.profile_draft import NEW, texts_in
from planner.records import DeckItem, Trailer, read_record
from planner.store import Store
from planner.units.quantity import in_unit_of

NEW_NAME: Final = "New trailer"
AS_WEIGHED: Final = "Trailer as weighed"  # the one item that a weighed trailer's deck begins with
EXACT: Final = 6  # decimals of a ratio that is worked out
# A tandem as many stand in farmyards; every number of it is marked as not the owner's own.
TYPICAL: Final[Mapping[str, Any]] = {
    "schema": 1,
    "name": NEW_NAME,
    "coupling": "ball",
    "gross_weight": "5000 lb",
    "tongue_ratio": 0.12,
    "coupling_height": "18 in",
    "parked_height": "19 in",
    "axle_distance": "150 in",
    "axle_count": 2,
    "gvwr": "7000 lb",
    "axle_rating": "3500 lb",
    "tyre_load_rating": "1820 lb",
    "track": "76 in",
}
GUESSED: Final = tuple(name for name in TYPICAL if name not in ("schema", "name", "coupling"))


@dataclass(frozen=True)
class TrailerWork:
    """A trailer being worked on.

    Attributes
    ----------
    slug : of its file, NEW before it has one
    base : as it was read; None before it has a file
    good : as it is now, every value good
    typed : by field, texts that are not in it: bad ones, those that do not fit yet, those of a row not added yet
    aside : deck and left share, laid aside while the trailer is given by weight and ratio
    """

    slug: str
    base: Trailer | None
    good: Trailer
    typed: Mapping[str, str] = field(default_factory=dict)
    aside: Mapping[str, Any] = field(default_factory=dict)

    @property
    def changed(self) -> bool:
        """Whether saving would change a file."""
        return self.good != (typical() if self.base is None else self.base)

    @property
    def worth_keeping(self) -> bool:
        """Whether something would be lost with the tab."""
        return self.changed or bool(self.typed)

    def with_typed(self, key: str, text: str) -> Self:
        """Return the work with a text kept for a field."""
        return replace(self, typed={**self.typed, key: text})

    def without_typed(self, *keys: str) -> Self:
        """Return the work with no text kept for some fields."""
        return replace(self, typed={key: text for key, text in self.typed.items() if key not in keys})


def typical() -> Trailer:
    """Return the trailer that a new one starts from."""
    return read_record(Trailer, {**TYPICAL, "typical": list(GUESSED)}, NEW_NAME)


def open_trailer(store: Store, slug: str) -> TrailerWork:
    """Return the work on a trailer as its file has it; BadInput if it cannot be read."""
    if slug == NEW:
        return TrailerWork(NEW, None, typical())
    trailer = store.read_trailer(slug)
    return TrailerWork(slug, trailer, trailer)


def to_deck(work: TrailerWork) -> TrailerWork:
    """Return the work with the trailer given by deck items: those laid aside, or one that weighs what it weighed."""
    trailer = work.good
    ahead = in_unit_of(trailer.tongue_share * trailer.axle_distance, trailer.axle_distance)
    one = {"name": AS_WEIGHED, "weight": trailer.gross_weight, "ahead": ahead}
    for deck in (work.aside, {}):
        fields = {"deck": (DeckItem.model_validate(one),), "gross_weight": None, "tongue_ratio": None, **deck}
        try:
            good = trailer.replaced(**fields)
        except ValueError:  # what lay aside no longer fits the trailer, which was changed meanwhile
            continue
        return replace(_swapped(work), good=good, aside={})
    return work


def to_weighed(work: TrailerWork) -> TrailerWork:
    """Return the work with the trailer given by weight and ratio: those its deck adds up to."""
    trailer = work.good
    good = trailer.replaced(
        deck=(),
        gross_weight=in_unit_of(trailer.weight, trailer.deck[0].weight),
        tongue_ratio=round(trailer.tongue_share, EXACT),
        left_share=round(trailer.side_share, EXACT),
    )
    return replace(_swapped(work), good=good, aside={"deck": trailer.deck, "left_share": trailer.left_share})


def _swapped(work: TrailerWork) -> TrailerWork:
    """Return the work without the texts of fields that only one way to say the weight has."""
    weighed = ("gross_weight", "tongue_ratio", "left_share")
    return work.without_typed(*(key for key in work.typed if key in weighed or key.startswith(("deck.", "added."))))


def draft_of(work: TrailerWork) -> dict[str, Any]:
    """Return what a draft file holds of the work, as JSON knows it."""
    aside = dict(work.aside)
    if aside:
        aside["deck"] = [item.as_file() for item in aside["deck"]]
    return {
        "base": None if work.base is None else work.base.as_file(),
        "good": work.good.as_file(),
        "typed": dict(work.typed),
        "aside": aside,
    }


def from_draft(slug: str, draft: Mapping[str, Any]) -> TrailerWork:
    """Return the work a draft holds; ValueError, TypeError or KeyError if it is not what `draft_of` wrote."""
    base = None if draft["base"] is None else Trailer.model_validate(draft["base"])
    typed, aside = texts_in(draft["typed"]), dict(draft["aside"])
    if aside:
        aside["deck"] = tuple(DeckItem.model_validate(item) for item in aside["deck"])
    return TrailerWork(slug, base, Trailer.model_validate(draft["good"]), typed, aside)
