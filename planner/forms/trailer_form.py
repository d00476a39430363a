"""Fields of a trailer: what a typed text changes, and what is wrong with it. No streamlit in here.

A field is named by a key: "gvwr", "left_share", "deck.2.ahead". Keys that begin with one of FREE are no fields of the
trailer: a row not added yet, what is asked when sliding or saving.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final

from pydantic import ValidationError

from planner.forms.parse import read_quantity, read_share, refusal_of, value_text
from planner.forms.profile_form import is_place
from planner.forms.trailer_draft import TrailerWork
from planner.plans.trailer_deck import slide_for
from planner.records import DeckItem, Trailer
from planner.records.trailer import GREATEST_TONGUE_RATIO
from planner.units.quantity import Dimension, Quantity, Refusal, System, in_unit_of, shown

KINDS: Final[Mapping[str, Dimension]] = {
    "gross_weight": "weight",
    "gvwr": "weight",
    "axle_rating": "weight",
    "tyre_load_rating": "weight",
    "coupling_height": "length",
    "parked_height": "length",
    "axle_distance": "length",
    "track": "length",
    "underside": "length",
    "axle_spacing": "length",
    "centre_height": "length",
    "axle_rate": "spring rate",
    "weight": "weight",
    "ahead": "length",
    "left": "length",
}
SHARES: Final = ("tongue_ratio", "left_share", "bars")
COUNTS: Final = ("axle_count", "tyres_per_side")
OPTIONAL: Final = ("tyre_load_rating", "underside", "axle_spacing", "axle_rate", "centre_height")
ITEM: Final = ("name", "weight", "ahead", "left")  # fields of a deck item
ADDED: Final = "added"
SLIDE_ITEM: Final = "slide.item"
SLIDE_RATIO: Final = "slide.ratio"
SAVING_NAME: Final = "saving.name"
FREE: Final = (f"{ADDED}.", "slide.", "saving.")

Value = Quantity | float | str | None


def enter_text(work: TrailerWork, key: str, text: str, system: System) -> TrailerWork:
    """Return the work after a text was typed into a field; it goes in as soon as all that wait for it fit."""
    if key.startswith(FREE):
        return work.with_typed(key, text) if text.strip() else work.without_typed(key)
    return _settled(work.with_typed(key, text), system, key)


def fault_of(work: TrailerWork, key: str, system: System) -> Refusal | None:
    """Return what is wrong with the text kept for a field, if anything."""
    if key not in work.typed:
        return None
    try:
        if key.startswith(FREE):
            _check_free(key, work.typed[key], system)
        else:
            waiting = {key: _value(key, work.typed[key], system)}
            _check_alone(work.good, key, waiting[key])
            change_trailer(work.good, _readable(work, system))
    except Refusal as refusal:
        return refusal
    except ValidationError as exc:
        return _first(exc)
    return None


def check_typed(work: TrailerWork) -> None:
    """Raise a ValueError if a text is kept for what is no field of this trailer, as in a draft changed by hand."""
    for key, text in work.typed.items():
        head, _, rest = key.partition(".")
        place, _, name = rest.partition(".")
        if head == "deck" and (name not in ITEM or not is_place(place, work.good.deck)):
            raise ValueError(f"{key} is no field of its deck")
        if key == SLIDE_ITEM and not is_place(text, work.good.deck):
            raise ValueError(f"{text} is no place on its deck")
        if head == ADDED and rest not in ITEM:
            raise ValueError(f"{key} is no field of an item")
        try:
            value_of(work, key)
            fault_of(work, key, "us")
        except (AttributeError, TypeError) as exc:
            raise ValueError(f"{key} is no field of a trailer") from exc


def bad_fields(work: TrailerWork, system: System) -> list[str]:
    """Return the fields with a text that is not in the trailer."""
    return [key for key in work.typed if not key.startswith(FREE) and fault_of(work, key, system) is not None]


def text_of(work: TrailerWork, key: str, system: System) -> str:
    """Return what a field shows: the text kept for it, else its value."""
    return work.typed[key] if key in work.typed else value_text(value_of(work, key), system)


def value_of(work: TrailerWork, key: str) -> Value:
    """Return the good value of a field; None where it has none."""
    if key.startswith(FREE):
        return None
    head, _, rest = key.partition(".")
    if head != "deck":
        value: Value = getattr(work.good, key)
        return value
    place, _, name = rest.partition(".")
    value = getattr(work.good.deck[int(place)], name)
    return value  # noqa: RET504  # named, so that its type is


def is_typical(work: TrailerWork, key: str) -> bool:
    """Tell whether a field still holds a typical value."""
    return _path(key) in work.good.typical


def change_trailer(trailer: Trailer, values: Mapping[str, Value]) -> Trailer:
    """Return a trailer with some fields changed together; ValidationError if they cannot stand."""
    deck, plain = list(trailer.deck), dict[str, Any]()
    for key, value in values.items():
        head, _, rest = key.partition(".")
        if head == "deck":
            place, _, name = rest.partition(".")
            deck[int(place)] = deck[int(place)].replaced(**{name: value})
        else:
            plain[key] = value
    if any(key.startswith("deck.") for key in values):
        plain["deck"] = tuple(deck)
    own = {_path(key) for key in values}
    if own & set(trailer.typical):
        plain["typical"] = tuple(path for path in trailer.typical if path not in own)
    return trailer.replaced(**plain) if plain else trailer


def with_added(work: TrailerWork, system: System) -> TrailerWork:
    """Return the work with the waiting row on the deck; ValidationError or Refusal if it is no item or does not fit."""
    texts = {name: work.typed.get(f"{ADDED}.{name}", "") for name in ITEM}
    given = {name: _value(name, text, system) for name, text in texts.items() if text.strip() or name != "left"}
    item = DeckItem.model_validate(given)
    trailer = change_trailer(work.good, _readable(work, system))
    good = trailer.replaced(deck=(*trailer.deck, item))
    kept = {key: text for key, text in work.typed.items() if not key.startswith(f"{ADDED}.")}
    return _settled(replace(work, good=good, typed=kept), system)


def without_item(work: TrailerWork, place: int, system: System) -> TrailerWork:
    """Return the work without one deck item; texts kept for the later rows move up with them."""
    if len(work.good.deck) == 1:
        raise Refusal("a deck needs an item", "none left", "add another first, or go back to weight and ratio")
    typed = {}
    for key, text in work.typed.items():
        head, _, rest = key.partition(".")
        row, _, name = rest.partition(".")
        if head == "deck" and int(row) >= place:
            if int(row) > place:
                typed[f"deck.{int(row) - 1}.{name}"] = text
        elif key != SLIDE_ITEM:
            typed[key] = text
    rest_of_deck = tuple(item for n, item in enumerate(work.good.deck) if n != place)
    try:
        good = work.good.replaced(deck=rest_of_deck)
    except ValidationError as exc:
        raise _first(exc) from exc
    return _settled(replace(work, good=good, typed=typed), system)


def slide_item(work: TrailerWork, place: int, ratio: float, system: System) -> TrailerWork:
    """Return the work with one item where it gives a wanted tongue ratio, its place written as its owner writes it."""
    ahead = in_unit_of(slide_for(work.good, place, ratio).ahead, work.good.deck[place].ahead)
    return enter_text(work, f"deck.{place}.ahead", ahead, system)


def wanted_ratio(work: TrailerWork, usual: float) -> float:
    """Return the tongue ratio to slide for; Refusal if what was typed is none that a trailer can have."""
    text = work.typed.get(SLIDE_RATIO, "")
    return _check_ratio(text) if text.strip() else usual


def slide_place(work: TrailerWork) -> int:
    """Return the item chosen to slide; else the heaviest but for the first, which is often the trailer itself."""
    deck, chosen = work.good.deck, work.typed.get(SLIDE_ITEM, "")
    if is_place(chosen, deck):
        return int(chosen)
    return max(range(len(deck)), key=lambda n: (n > 0, deck[n].weight))


def _settled(work: TrailerWork, system: System, newest: str = "") -> TrailerWork:
    """Return the work with all texts in it that read, if they fit together; else with the newest, if that one fits."""
    values = _readable(work, system)
    for some in (values, {key: value for key, value in values.items() if key == newest}):
        try:
            good = change_trailer(work.good, some)
        except ValidationError:
            continue
        return replace(work, good=good).without_typed(*some)
    return work


def _readable(work: TrailerWork, system: System) -> dict[str, Value]:
    """Return the values of the texts that can stand by themselves."""
    found: dict[str, Value] = {}
    for key, text in work.typed.items():
        if not key.startswith(FREE):
            try:
                value = _value(key, text, system)
                _check_alone(work.good, key, value)
            except (Refusal, ValidationError):
                continue
            found[key] = value
    return found


def _check_alone(trailer: Trailer, key: str, value: Value) -> None:
    """Raise for a value that its own field cannot have; what it does to others is not asked."""
    head, _, rest = key.partition(".")
    if head == "deck":
        place, _, name = rest.partition(".")
        trailer.deck[int(place)].replaced(**{name: value})
        return
    try:
        change_trailer(trailer, {key: value})
    except ValidationError as exc:
        if any(error["loc"] and error["loc"][0] == key for error in exc.errors(include_url=False)):
            raise


def _value(key: str, text: str, system: System) -> Value:
    """Return what a text says in its field; Refusal if it cannot be read."""
    name = key.rpartition(".")[2]
    if name in OPTIONAL and not text.strip():
        return None
    if name in SHARES:
        return read_share(text)
    if name in COUNTS:
        if not re.fullmatch(r"\d{1,3}", text.strip(), re.ASCII):
            raise Refusal("must be a whole number", shown(text), "write one such as 2")
        return int(text)
    return read_quantity(text, KINDS[name], system) if name in KINDS else text


def _check_free(key: str, text: str, system: System) -> None:
    """Raise for a text of the waiting row, or a wanted ratio, that cannot stand."""
    head, _, name = key.partition(".")
    if head == ADDED:
        DeckItem.model_validate({"name": "item", "weight": "1 kg", "ahead": "0 m", name: _value(name, text, system)})
    elif key == SLIDE_RATIO:
        _check_ratio(text)


def _check_ratio(text: str) -> float:
    """Return a tongue ratio; Refusal if it is none that a trailer can have."""
    ratio = read_share(text)
    if not 0 <= ratio <= GREATEST_TONGUE_RATIO:
        raise Refusal(f"must be in 0 to {100 * GREATEST_TONGUE_RATIO:.0f} %", shown(text), "write one such as 12 %")
    return ratio


def _first(exc: ValidationError) -> Refusal:
    """Return the first of the faults of a trailer or of an item on it as a refusal."""
    return refusal_of(exc, DeckItem if exc.title == DeckItem.__name__ else Trailer)


def _path(key: str) -> str:
    """Return a field's path as a file's list of typical fields has it."""
    head, _, rest = key.partition(".")
    if head != "deck":
        return key
    place, _, name = rest.partition(".")
    return f"deck[{place}].{name}"
