"""Fields of the work: what a typed text changes, and what is wrong with it. No streamlit in here.

A field is named by a key: "weight", "left", "stance.front", "cargo.2.x". A text that reads goes into the records; one
that does not is kept as it was typed, and the records stay at the last good value.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from typing import Final

from pydantic import ValidationError

from planner.forms.parse import read_quantity, read_share, read_spread, refusal_of, share_text, value_text
from planner.forms.profile_draft import BED, Work
from planner.plans.cargo_position import AT_IT
from planner.plans.uncertainty.spreads import TYPICAL
from planner.records import Aboard, Cargo, Hitching, Profile, Record, Stance, Trailer, placed
from planner.records.places import misplaced, no_place
from planner.units.quantity import Dimension, Quantity, Refusal, System, display, entry_unit, in_unit_of, quantity

KINDS: Final[dict[str, Dimension]] = {
    "weight": "weight",
    "bed.weight": "weight",
    "bed.x": "length",
    "stance.front": "length",
    "stance.rear": "length",
    "stance.lean": "length",
    "hitching.gap": "length",
    "hitching.stow_lift": "length",
    "weighed.alone": "weight",
    "weighed.hitched": "weight",
    "weighed.bars": "weight",
}
CARGO_KINDS: Final[dict[str, Dimension | None]] = {
    "name": None,
    "weight": "weight",
    "at": None,
    "x": "length",
    "y": "length",
    "z": "length",
}
MAY_BE_LEFT_OUT: Final = ("at", "y", "z")  # of a cargo row
SHARES: Final = ("tongue", "left")
STEPS: Final[dict[str, tuple[float, float]]] = {  # by field: in US units, in metric ones; shares in percent
    "weight": (100.0, 50.0),
    "tongue": (0.5, 0.5),
    "left": (1.0, 1.0),
    "bed.weight": (50.0, 25.0),
    "bed.x": (2.0, 50.0),
    "stance.front": (0.25, 5.0),
    "stance.rear": (0.25, 5.0),
    "stance.lean": (0.25, 5.0),
    "hitching.gap": (0.25, 5.0),
    "hitching.stow_lift": (0.25, 5.0),
}
ABOARD: Final = "aboard"  # who or what is at a place of the truck: aboard.driver, aboard.fuel tank, …
LONGEST_PLACE: Final = 6  # digits
ADDED: Final = "added"  # the cargo row that is not added yet: added.name, added.weight, …
SAVING: Final = "saving"  # what is asked when saving: saving.name, saving.trailer, saving.fate
WEIGHED: Final = "weighed"  # the front axle on a scale: weighed.alone, weighed.hitched, weighed.bars
SPREAD: Final = "spread"  # how far an input may be off: spread.weight, spread.gauge, … by the keys of TYPICAL
WHATIF_ITEM: Final = "whatif.item"  # the place of the cargo asked about under What if
MAP: Final = "map"  # the inputs a map is over: map.x, map.y
# What is kept as typed, not in the records.
FREE: Final = (f"{ADDED}.", f"{SAVING}.", f"{WEIGHED}.", f"{SPREAD}.", WHATIF_ITEM, f"{MAP}.")


def enter_text(work: Work, key: str, text: str, system: System) -> Work:
    """Return the work after a text was typed into a field."""
    if key.startswith(FREE):
        return work.with_typed(key, _with_unit(key, text, system)) if text.strip() else work.without_typed(key)
    try:
        return _put(work.without_typed(key), key, text, system)
    except (Refusal, ValidationError):
        return work.with_typed(key, text)


def fault_of(work: Work, key: str, system: System) -> Refusal | None:
    """Return what is wrong with the text kept for a field, if anything."""
    if key not in work.typed:
        return None
    try:
        _put(work, key, work.typed[key], system)
    except Refusal as refusal:
        return refusal
    except ValidationError as exc:
        return refusal_of(exc, _record_of(key))
    return None


def check_typed(work: Work) -> None:
    """Raise a ValueError if a text is kept for what is no field of this work, as in a draft changed by hand."""
    for key, text in work.typed.items():
        head, _, rest = key.partition(".")
        place, _, name = rest.partition(".")
        if head == "cargo" and (name not in CARGO_KINDS or not is_place(place, work.profile.cargo)):
            raise ValueError(f"{key} is no field of its cargo")
        if key == WHATIF_ITEM and not is_place(text, work.profile.cargo):
            raise ValueError(f"{text} is no place in its cargo")
        try:
            value_of(work, key)
            fault_of(work, key, "us")
        except (AttributeError, AssertionError, TypeError) as exc:
            raise ValueError(f"{key} is no field of a profile") from exc


def is_place(text: str, things: Sequence[object]) -> bool:
    """Tell whether a text is the place of one of some things, written as a number is."""
    return len(text) < LONGEST_PLACE and text.isascii() and text.isdigit() and int(text) < len(things)


def bad_fields(work: Work, system: System) -> list[str]:
    """Return the fields with a text that cannot be used; the answer does not know of them."""
    mattering = (key for key in work.typed if not key.startswith(FREE))
    return [key for key in mattering if key in ("truck", "trailer") or fault_of(work, key, system) is not None]


def text_of(work: Work, key: str, system: System) -> str:
    """Return what a field shows: the text kept for it, else its value."""
    return work.typed[key] if key in work.typed else value_text(value_of(work, key), system)


def value_of(work: Work, key: str) -> Quantity | float | str | None:
    """Return the good value of a field; None where it has none."""
    head, _, rest = key.partition(".")
    if key == "weight":
        return None if work.towed is None else work.towed.gross_weight
    if key == "tongue":
        return None if work.towed is None else work.towed.tongue_ratio
    if key == "left":
        return work.profile.left_share
    if head == "bed":
        return None if work.bed_load is None else _attribute(work.bed_load, rest)
    if head == "stance":
        return _attribute(work.profile.stance, rest)
    if head == "hitching":
        return _attribute(work.profile.hitching, rest)
    if head == "cargo":
        place, _, name = rest.partition(".")
        return _attribute(work.profile.cargo[int(place)], name)
    if head == ABOARD:
        there = next((one for one in work.profile.aboard if one.place == rest), None)
        return None if there is None else there.share if there.weight is None else there.weight
    return None


def step_field(work: Work, key: str, up: bool, system: System) -> Work:
    """Return the work with a field one step up or down from its last good value, on a whole step."""
    step = STEPS[key][system == "metric"]
    value = value_of(work, key)
    if key in SHARES:
        number = 100 * (value if isinstance(value, float) else 0.5)
    else:
        number = 0.0 if value is None else display(float(value), KINDS[key], system)[0]
    steps = round(number / step, 6)
    new = step * (steps // 1 + 1 if up else -(-steps // 1) - 1)
    return enter_text(work, key, f"{new:.10g} {'%' if key in SHARES else entry_unit(KINDS[key], system)}", system)


def _put(work: Work, key: str, text: str, system: System) -> Work:
    """Return the work with a text read into its field; an error if it cannot be."""
    head, _, rest = key.partition(".")
    if key == "weight":
        return work.with_numbers(gross_weight=read_quantity(text, "weight", system).text)
    if key == "tongue":
        return work.with_numbers(tongue_ratio=read_share(text))
    if key == "left":
        return _put_left(work, read_share(text), system)
    if head == "bed":
        return _put_bed(work, rest, text, system)
    if head == "stance":
        return work.with_profile(stance=work.profile.stance.replaced(**{rest: read_quantity(text, "length", system)}))
    if head == "hitching":
        new = work.profile.hitching.replaced(**{rest: read_quantity(text, "length", system)})
        return work.with_profile(hitching=new)
    if head == "cargo":
        place, _, name = rest.partition(".")
        return _put_cargo(work, int(place), name, text, system)
    if head == ABOARD:
        return _put_aboard(work, rest, text, system)
    if head == ADDED:
        _check_cargo(**{rest: _cargo_value(rest, text, system)})
    if head == WEIGHED:
        weight, alone = read_quantity(text, "weight", system), _weighed(work, "alone", system)
        if rest == "hitched" and alone is not None and weight >= alone:
            rule = "a hitch behind the axle takes load off the front: must weigh less than the truck alone"
            raise Refusal(rule, weight.text, "see which slip is which, and that the bars are slack")
    if head == SPREAD and rest in TYPICAL:
        read_spread(rest, text, system)
    return work


def front_weighed(work: Work, system: System) -> tuple[float, float, float] | None:
    """Return the front axle's three weighings, alone, hitched and with bars; None before all three are sound. [kg]"""
    alone, hitched, bars = (_weighed(work, name, system) for name in ("alone", "hitched", "bars"))
    if alone is None or hitched is None or bars is None or fault_of(work, f"{WEIGHED}.hitched", system):
        return None
    return alone, hitched, bars


def _weighed(work: Work, name: str, system: System) -> float | None:
    """Return one weighing of the front axle, None where it does not read. [kg]"""
    try:
        return float(read_quantity(work.typed.get(f"{WEIGHED}.{name}", ""), "weight", system))
    except Refusal:
        return None


def own_spreads(work: Work, system: System) -> dict[str, float]:
    """Return the spreads that are typed and sound, by their keys. [SI]"""
    found = {}
    for key, text in work.typed.items():
        name = key.removeprefix(f"{SPREAD}.")
        if name != key and name in TYPICAL:
            with suppress(Refusal):
                found[name] = float(read_spread(name, text, system))
    return found


def _with_unit(key: str, text: str, system: System) -> str:
    """Return a weighing or a spread with the unit it was typed in, so that a switch of units leaves it what it is."""
    head, _, rest = key.partition(".")
    try:
        if head == SPREAD and rest in TYPICAL:
            spread = read_spread(rest, text, system)
            return spread.text if isinstance(spread, Quantity) else share_text(spread)
        return read_quantity(text, "weight", system).text if head == WEIGHED else text
    except Refusal:
        return text


def _put_left(work: Work, share: float, system: System) -> Work:
    """Set the side bias; the quick row's load moves with it."""
    place, new = work.bed_place, work.with_profile(left_share=share)
    if place is None:
        return new
    return _with_item(new, place, new.profile.cargo[place].replaced(y=_side_arm(new, system)))


def _put_bed(work: Work, name: str, text: str, system: System) -> Work:
    """Set the quick row: a weight makes the cargo item, no weight takes it away, its place waits for a weight."""
    place, item = work.bed_place, work.bed_load
    if name == "x":
        x = read_quantity(text, "length", system)
        if item is not None and place is not None:
            return _with_item(work, place, item.replaced(x=x))
        _check_cargo(x=x)
        return work.with_typed("bed.x", text)
    weight = read_quantity(text, "weight", system) if text.strip() else None
    if not weight:
        kept = work if item is None or item.x is None else work.with_typed("bed.x", item.x.text)
        return kept if place is None else without_cargo(kept, place)
    if item is not None and place is not None:
        return _with_item(work, place, item.replaced(weight=weight))
    x = read_quantity(work.typed.get("bed.x") or f"0 {entry_unit('length', system)}", "length", system)
    new = Cargo(name=BED, weight=weight, x=x, y=_side_arm(work, system))
    return work.without_typed("bed.x").with_profile(cargo=(*work.profile.cargo, new))


def _put_cargo(work: Work, place: int, name: str, text: str, system: System) -> Work:
    """Set a field of a cargo item; one that is put at a place by its name leaves its own numbers, and the other way."""
    item, value = work.profile.cargo[place], _cargo_value(name, text, system)
    if name != "at" or value == item.at:
        return _with_item(work, place, item.replaced(**{name: value}))
    rest = work.without_typed(f"cargo.{place}.x", f"cargo.{place}.y")
    if value is not None:
        return _with_item(rest, place, item.replaced(at=value, x=None, y=None))
    try:
        lies = placed(item, work.truck)
    except KeyError:  # a place that this truck does not have
        return _with_item(rest, place, item.replaced(at=None, x=quantity(0.0, entry_unit("length", system), "length")))
    return move_row(rest, place, float(lies.x), float(lies.y), system)


def places_of(work: Work) -> list[str]:
    """Return the places to ask about: the truck's, and any that the profile names and the truck does not have."""
    typed = [key.removeprefix(f"{ABOARD}.") for key in work.typed if key.startswith(f"{ABOARD}.")]
    named = (one.name for one in work.truck.every_place)
    return list(dict.fromkeys([*named, *(one.place for one in work.profile.aboard), *typed]))


def place_fault(work: Work, name: str) -> Refusal | None:
    """Return what is wrong with the name of a place, if anything: another truck may not have it."""
    return no_place(name, work.truck.every_place, work.truck.name)


def all_as_weighed(work: Work) -> Work:
    """Return the work with nobody aboard who was not there at the weighing, and everybody who was."""
    kept = work.without_typed(*(key for key in work.typed if key.startswith(f"{ABOARD}.")))
    return kept.with_profile(aboard=())


def _put_aboard(work: Work, place: str, text: str, system: System) -> Work:
    """Set who or what is at a place: a weight, or a share of what it holds; nothing typed is as it was weighed."""
    before = work.profile.aboard
    if not text.strip():
        return work.with_profile(aboard=tuple(one for one in before if one.place != place))
    new = Aboard(place=place, **_how_much(text, system))
    after = tuple(new if one.place == place else one for one in before)
    after = after if new in after else (*after, new)
    for _, refusal in misplaced([new], work.truck.every_place, work.truck.name):
        raise refusal
    return work.with_profile(aboard=after)


def _how_much(text: str, system: System) -> dict[str, Quantity | float]:
    """Return what a text says of who is at a place: a share in percent, else a weight."""
    if text.strip().endswith(("%", "percent")):
        return {"share": read_share(text)}
    return {"weight": read_quantity(text, "weight", system)}


def with_added(work: Work, system: System) -> Work:
    """Return the work with the waiting row as cargo; ValidationError or Refusal if it is not complete."""
    texts = {name: work.typed.get(f"{ADDED}.{name}", "") for name in CARGO_KINDS}
    if texts["at"]:
        texts["x"] = texts["y"] = ""  # typed before it was put at a place by its name
    asked = {name for name in texts if name not in MAY_BE_LEFT_OUT} - ({"x"} if texts["at"] else set())
    given = {name: _cargo_value(name, text, system) for name, text in texts.items() if text.strip() or name in asked}
    item = Cargo(**given)
    return work.with_profile(cargo=(*work.profile.cargo, item)).without_typed(*(f"{ADDED}.{name}" for name in texts))


def without_cargo(work: Work, place: int) -> Work:
    """Return the work without one cargo item; texts kept for the later rows move up with them."""
    items = tuple(item for index, item in enumerate(work.profile.cargo) if index != place)
    typed = {}
    for key, text in work.typed.items():
        head, _, rest = key.partition(".")
        row, _, name = rest.partition(".")
        if head == "cargo" and int(row) >= place:
            if int(row) > place:
                typed[f"cargo.{int(row) - 1}.{name}"] = text
        elif key != WHATIF_ITEM:
            typed[key] = text
    return replace(work.with_profile(cargo=items), typed=typed)


def move_row(work: Work, place: int, x: float, y: float, system: System) -> Work:
    """Return the work with a cargo item at another place [m], written in the units in which its owner wrote it."""
    item, lies = work.profile.cargo[place], placed(work.profile.cargo[place], work.truck)
    changes: dict[str, Quantity | None] = {} if item.at is None else {"at": None}
    for name, typed, old, new in (("x", item.x, lies.x, x), ("y", item.y, lies.y, y)):
        if item.at is not None or abs(new - old) >= AT_IT:
            like = quantity(0.0, entry_unit("length", system), "length") if typed is None else typed
            changes[name] = read_quantity(in_unit_of(round(new, 5), like), "length", system)
    kept = work.without_typed(*(f"cargo.{place}.{name}" for name in changes))
    return _with_item(kept, place, item.replaced(**changes))


def _with_item(work: Work, place: int, item: Cargo) -> Work:
    """Return the work with one cargo item in the place of another."""
    cargo = work.profile.cargo
    return work.with_profile(cargo=(*cargo[:place], item, *cargo[place + 1 :]))


def _side_arm(work: Work, system: System) -> Quantity:
    """Return where the side bias puts a load, written in the system's unit."""
    return quantity(work.side_arm(work.profile.left_share), entry_unit("length", system), "length")


def _cargo_value(name: str, text: str, system: System) -> Quantity | str | None:
    """Return what a text of a cargo row says; None for what may be left out and is."""
    kind = CARGO_KINDS[name]
    if name in MAY_BE_LEFT_OUT and not text.strip():
        return None
    return text if kind is None else read_quantity(text, kind, system)


def _check_cargo(**given: Quantity | str | None) -> None:
    """Hold some fields of a cargo item against the record's rules; ValidationError if an item cannot have them."""
    where = {} if given.get("at") else {"x": "0 m"}
    Cargo.model_validate({"name": "item", "weight": "1 kg", **where, **given})


def _attribute(record: Record, name: str) -> Quantity | str | None:
    """Return a field of a record that is typed as text; None where it is left out."""
    value = getattr(record, name)
    assert value is None or isinstance(value, Quantity | str)
    return value


def _record_of(key: str) -> type[Record]:
    """Return the record whose rules a field is held against."""
    if key in ("weight", "tongue"):
        return Trailer
    if key.startswith("stance."):
        return Stance
    if key.startswith("hitching."):
        return Hitching
    if key.startswith(f"{ABOARD}."):
        return Aboard
    return Profile if key == "left" else Cargo
