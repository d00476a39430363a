"""The form of a trailer: what a new one begins as, its two ways to say what it weighs, which item slides where."""

# ruff: noqa: ARG002  # of what a form may be asked, it looks at what it needs

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final

from planner.forms.draft import SAVING, Draft, Form, enter_text, open_draft
from planner.forms.fields import is_place
from planner.forms.parse import read_share
from planner.plans.trailer_deck import slide_for
from planner.records import DeckItem, Trailer, read_record
from planner.records.trailer import GREATEST_TONGUE_RATIO
from planner.store import TRAILER, Store
from planner.units.quantity import Refusal, System, in_unit_of, shown

TrailerDraft = Draft[Trailer]  # aside: deck and left share, while the trailer is given by weight and ratio

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
ADDED: Final = "added"  # the item that is not added yet: added.name, added.weight, …
SLIDE_ITEM: Final = "slide.item"
SLIDE_RATIO: Final = "slide.ratio"


class TrailerForm(Form[TrailerDraft]):
    """The form of a trailer."""

    free = (f"{SAVING}.", "slide.")
    chosen: Mapping[str, str] = {SLIDE_ITEM: "deck"}
    stored = ("good", "aside")

    def check_aside(self, store: Store, aside: Mapping[str, Any]) -> None:
        """Raise a ValueError for what is no deck with a left share."""
        if aside and aside.keys() != {"deck", "left_share"}:
            raise ValueError(f"only a deck and its left share are laid aside, got {', '.join(aside)}")
        for item in aside.get("deck", ()):
            DeckItem.model_validate(item)

    def check_free(self, draft: TrailerDraft, key: str, text: str, system: System) -> None:
        """Raise Refusal for a wanted ratio that cannot be."""
        if key == SLIDE_RATIO:
            _check_ratio(text)

    def refuse_removal(self, draft: TrailerDraft, rows: str) -> None:
        """Raise Refusal for the last item."""
        if len(draft.record.deck) == 1:
            raise Refusal("a deck needs an item", "none left", "add another first, or go back to weight and ratio")


def typical() -> Trailer:
    """Return the trailer that a new one starts from."""
    return read_record(Trailer, {**TYPICAL, "typical": list(GUESSED)}, NEW_NAME)


TRAILER_FORM: Final = TrailerForm(TRAILER, typical, {"deck": ADDED})


def open_trailer(store: Store, slug: str) -> TrailerDraft:
    """Return the draft of a trailer as its file has it; BadInput if it cannot be read."""
    return open_draft(TRAILER_FORM, store, slug)


# Two ways to say what it weighs


def to_deck(draft: TrailerDraft) -> TrailerDraft:
    """Return the trailer given by deck items: those laid aside, or one that weighs what it weighed."""
    trailer = draft.record
    ahead = in_unit_of(trailer.tongue_share * trailer.axle_distance, trailer.axle_distance)
    one = {"name": AS_WEIGHED, "weight": trailer.gross_weight, "ahead": ahead}
    for deck in (draft.aside, {}):
        fields = {"deck": (DeckItem.model_validate(one),), "gross_weight": None, "tongue_ratio": None, **deck}
        try:
            record = trailer.replaced(**fields)
        except ValueError:  # what lay aside no longer fits the trailer, which was changed meanwhile
            continue
        return replace(_swapped(draft), record=record, aside={})
    return draft


def to_weighed(draft: TrailerDraft) -> TrailerDraft:
    """Return the trailer given by weight and ratio: those its deck adds up to."""
    trailer = draft.record
    aside = {"deck": [item.as_file() for item in trailer.deck], "left_share": trailer.left_share}
    return replace(_swapped(draft), record=weighed_trailer(trailer), aside=aside)


def weighed_trailer(trailer: Trailer) -> Trailer:
    """Return a trailer by weight and ratio instead of its deck items: those they add up to."""
    return trailer.replaced(
        deck=(),
        gross_weight=in_unit_of(trailer.weight, trailer.deck[0].weight),
        tongue_ratio=round(trailer.tongue_share, EXACT),
        left_share=round(trailer.side_share, EXACT),
    )


def _swapped(draft: TrailerDraft) -> TrailerDraft:
    """Return the draft without the texts of fields that only one way to say the weight has."""
    weighed = ("gross_weight", "tongue_ratio", "left_share")
    gone = (key for key in draft.typed if key in weighed or key.startswith(("deck.", f"{ADDED}.")))
    return draft.without_typed(*gone)


# Slide


def slide_item(draft: TrailerDraft, place: int, ratio: float, system: System) -> TrailerDraft:
    """Return the draft with one item where it gives a wanted tongue ratio, its place written as its owner writes it."""
    ahead = in_unit_of(slide_for(draft.record, place, ratio).ahead, draft.record.deck[place].ahead)
    return enter_text(draft, f"deck.{place}.ahead", ahead, system)


def wanted_ratio(draft: TrailerDraft, usual: float) -> float:
    """Return the tongue ratio to slide for; Refusal if what was typed is none that a trailer can have."""
    text = draft.typed.get(SLIDE_RATIO, "")
    return _check_ratio(text) if text.strip() else usual


def slide_place(draft: TrailerDraft) -> int:
    """Return the item chosen to slide; else the heaviest but for the first, which is often the trailer itself."""
    deck, chosen = draft.record.deck, draft.typed.get(SLIDE_ITEM, "")
    if is_place(chosen, deck):
        return int(chosen)
    return max(range(len(deck)), key=lambda n: (n > 0, deck[n].weight))


def _check_ratio(text: str) -> float:
    """Return a tongue ratio; Refusal if it is none that a trailer can have."""
    ratio = read_share(text)
    if not 0 <= ratio <= GREATEST_TONGUE_RATIO:
        raise Refusal(f"must be in 0 to {100 * GREATEST_TONGUE_RATIO:.0f} %", shown(text), "write one such as 12 %")
    return ratio
