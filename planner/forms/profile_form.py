"""The form of a profile: what it has besides the fields of the record.

"weight", "tongue" and "side" are numbers of its trailer to try, "left" moves the quick row's load with it,
"bed.weight" and "bed.x" are that row, "aboard.driver" is who or what is at a place of the truck. Kept as typed are what
is asked when saving, the front axle on a scale, a reading to trim by, a leak test, the bags as a scale,
how far an input may be off, the cargo asked about and the inputs of the map.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import replace
from typing import Any, Final

from planner.forms import choices
from planner.forms.bag_scale_form import BAGS, bags_field, read_bags
from planner.forms.draft import NAME, NEW, SAVING, Draft, Form, fault_of, open_draft, without_row
from planner.forms.fields import Field, FreeText, Value, find_field
from planner.forms.leak_form import LEAK, leak_field, read_leak
from planner.forms.parse import read_quantity, read_share, read_spread, share_text
from planner.forms.profile_draft import BED, ProfileDraft, WhatIf
from planner.forms.reading_form import TRIM, read_reading, reading_field
from planner.forms.saving import FATE, FATES, NO_CHOICE, TRAILER_NAME, save_profile
from planner.plans.cargo_position import AT_IT
from planner.plans.uncertainty.spreads import TYPICAL
from planner.records import Aboard, BadInput, Cargo, Kerb, Problem, Profile, Trailer, Truck, placed
from planner.records.file_header import Filed
from planner.records.places import misplaced, no_place
from planner.store import PROFILE, TRAILER, TRUCK, Kind, Store
from planner.units.quantity import Quantity, Refusal, System, entry_unit, in_unit_of, quantity

NEW_NAME: Final = "New profile"
NO_TRUCK: Final = Problem(
    "trucks",
    "",
    "",
    "there is no truck here yet",
    "enter your truck on the page Truck & trailers, or put its file into this folder",
)
NUMBERS: Final = {
    "weight": "gross_weight",
    "tongue": "tongue_ratio",
    "side": "left_share",
}  # what of a trailer is tried, by key
ABOARD: Final = "aboard"  # who or what is at a place of the truck: aboard.driver, aboard.fuel tank, …
ADDED: Final = "added"  # the cargo row that is not added yet: added.name, added.weight, …
WEIGHED: Final = "weighed"  # the front axle on a scale: weighed.alone, weighed.hitched, weighed.bars
SPREAD: Final = "spread"  # how far an input may be off: spread.weight, spread.gauge, … by the keys of TYPICAL
WHATIF_ITEM: Final = "whatif.item"  # the place of the cargo asked about under What if
MAP: Final = "map"  # the inputs a map is over: map.x, map.y
_OWN: Final = {  # fields that are put otherwise than into the profile's field of that name
    "weight": replace(find_field(Trailer, "gross_weight"), label="Trailer weight"),
    "tongue": find_field(Trailer, "tongue_ratio"),
    "side": replace(find_field(Trailer, "left_share"), label="Side bias"),
    "left": replace(find_field(Profile, "left_share"), label="Left share of the bed"),
    "bed.weight": replace(find_field(Cargo, "weight"), label="Bed load"),
    "bed.x": replace(find_field(Cargo, "x"), label="Bed load, ahead of rear axle"),
    "truck": find_field(Profile, "truck"),
    "trailer": find_field(Profile, "trailer"),
    "hitch": find_field(Profile, "hitch"),
}


class ProfileForm(Form[ProfileDraft]):
    """The form of a profile."""

    free = (f"{SAVING}.", f"{WEIGHED}.", f"{SPREAD}.", WHATIF_ITEM, f"{MAP}.", f"{TRIM}.", f"{LEAK}.", f"{BAGS}.")
    texts: Mapping[str, FreeText] = {
        TRIM: FreeText(reading_field, read_reading),
        LEAK: FreeText(leak_field, read_leak),
        BAGS: FreeText(bags_field, read_bags),
    }
    chosen: Mapping[str, str] = {WHATIF_ITEM: "cargo"}
    also = (Trailer,)
    stored = ("profile", "what_if")
    ask_again = (FATE,)
    done = "is saved, with the pressures to set."

    def bind(self, store: Store, plain: Any) -> ProfileDraft:
        """Return the draft of a profile; whether its truck and trailer fit each other is not asked here.

        So a misfit can be mended on the screen.
        """
        truck, trailer = _files(store, plain.record)
        draft = ProfileDraft(**vars(plain), truck=truck, trailer=trailer)
        if trailer is None:
            return draft
        return draft.without_numbers() if trailer.deck else draft.with_numbers()

    def new(self, store: Store) -> ProfileDraft:
        """Return a new profile of the first sound truck, with nothing behind or on it."""
        problems: list[Problem] = []
        for slug in store.trucks():
            try:
                return self.bind(store, Draft(self, NEW, None, Profile(name=NEW_NAME, truck=slug)))
            except BadInput as exc:
                problems += exc.problems
        raise BadInput(problems or [NO_TRUCK])

    def fresh(self, record: Any) -> Profile:
        """Return a new profile of a truck."""
        return Profile(name=NEW_NAME, truck=record.truck)

    def refresh(self, store: Store, draft: ProfileDraft) -> ProfileDraft:
        """Return the draft with its truck and trailer read anew; one kept as chosen goes in once a hitch takes it."""
        truck, trailer = _files(store, draft.profile)
        new = replace(draft, truck=truck, trailer=trailer)
        for key in ("trailer", "truck"):
            if key in new.typed and choices.fault(store, new, key) is None:
                return choices.chosen(store, new, key, new.typed[key])
        if not (trailer.deck if trailer is not None else draft.profile.trailer is None):
            return new  # numbers of a trailer that cannot be read wait for it
        return new.without_numbers().without_typed(*NUMBERS)  # there are no fields for them then

    def check_aside(self, store: Store, aside: Mapping[str, Any]) -> None:
        """Raise a ValueError if a trailer cannot have its numbers; one that is not there is not asked."""
        for slug, numbers in aside.items():
            _check_numbers(store, slug, numbers)

    def path_of(self, key: str) -> str:
        """Return the path of the field of the record that a key is about."""
        return "left_share" if key == "left" else super().path_of(key)

    def owns(self, key: str) -> bool:
        """Tell whether a field is no plain one of the profile."""
        return key in _OWN or key.startswith(f"{ABOARD}.") or _is_named_place(key)

    def own_field(self, key: str) -> Field | None:
        """Return how such a field is asked for."""
        if _is_named_place(key):
            return find_field(Cargo, "at")
        if key.startswith(f"{WEIGHED}."):
            return find_field(Kerb, "front_axle")
        return super().own_field(key) or _OWN.get(key)

    def value(self, draft: ProfileDraft, key: str) -> Value:
        """Return the good value of such a field."""
        head, _, rest = key.partition(".")
        if key in NUMBERS:
            value: Value = None if draft.towed is None else getattr(draft.towed, NUMBERS[key])
            return value
        if head == "bed":
            found: Value = None if draft.bed_load is None else getattr(draft.bed_load, rest)
            return found
        if head == "cargo":
            return draft.profile.cargo[int(rest.partition(".")[0])].at
        if head == ABOARD:
            there = next((one for one in draft.profile.aboard if one.place == rest), None)
            return None if there is None else there.share if there.weight is None else there.weight
        return draft.profile.left_share if key == "left" else None

    def put(self, draft: ProfileDraft, key: str, text: str, system: System) -> ProfileDraft:
        """Return the draft with a text read into such a field."""
        head, _, rest = key.partition(".")
        if key in NUMBERS and draft.trailer is None:
            raise ValueError(f"{key} is a number of a trailer, and there is none")
        if key == "weight":
            return draft.with_numbers(gross_weight=read_quantity(text, "weight", system).text)
        if key == "tongue":
            return draft.with_numbers(tongue_ratio=read_share(text))
        if key == "side":
            return _put_side(draft, read_share(text), system)
        if key == "left":
            return _put_left(draft, read_share(text), system)
        if head == "bed":
            return _put_bed(draft, rest, text, system)
        if head == "cargo":
            return _put_at(draft, int(rest.partition(".")[0]), text.strip() and text, system)
        if head == ABOARD:
            return _put_aboard(draft, rest, text, system)
        raise Refusal("fits nothing here", text, "choose another")  # a truck or trailer that was kept as chosen

    def check_free(self, draft: ProfileDraft, key: str, text: str, system: System) -> None:
        """Raise Refusal for a weighing or a spread that cannot be."""
        super().check_free(draft, key, text, system)
        head, _, rest = key.partition(".")
        if head == WEIGHED:
            weight, alone = read_quantity(text, "weight", system), _weighed(draft, "alone", system)
            if rest == "hitched" and alone is not None and weight >= alone:
                rule = "a hitch behind the axle takes load off the front: must weigh less than the truck alone"
                raise Refusal(rule, weight.text, "see which slip is which, and that the bars are slack")
        if head == SPREAD and rest in TYPICAL:
            read_spread(rest, text, system)

    def keep_free(self, key: str, text: str, system: System) -> str:
        """Return a weighing or a spread with the unit it was typed in, so that a switch of units leaves it."""
        head, _, rest = key.partition(".")
        with suppress(Refusal):
            if head == SPREAD and rest in TYPICAL:
                spread = read_spread(rest, text, system)
                return spread.text if isinstance(spread, Quantity) else share_text(spread)
            if head == WEIGHED:
                return read_quantity(text, "weight", system).text
        return super().keep_free(key, text, system)

    def check_savable(self, draft: ProfileDraft) -> None:
        """Raise BadInput where nobody has said where the trailer's changed numbers shall go."""
        if draft.other_numbers and draft.typed.get(FATE) not in FATES:
            raise BadInput([NO_CHOICE])

    def save(self, store: Store, draft: ProfileDraft, name: str | None) -> ProfileDraft:
        """Write the profile, with the pressures that level it; what else is typed stays."""
        fate = next((one for one in FATES if one == draft.typed.get(FATE)), None)
        new = save_profile(store, draft, name, fate, draft.typed.get(TRAILER_NAME, ""))
        return new.without_typed(FATE, NAME, TRAILER_NAME)

    def files(self, draft: ProfileDraft) -> Iterator[tuple[Kind[Any], str, Filed]]:
        """Yield profile, truck and trailer, with the numbers that are tried."""
        yield PROFILE, draft.slug, draft.profile
        yield TRUCK, draft.profile.truck, draft.truck
        if draft.towed is not None and draft.profile.trailer is not None:
            yield TRAILER, draft.profile.trailer, draft.towed


PROFILE_FORM: Final = ProfileForm(PROFILE, lambda: Profile(name=NEW_NAME, truck=""), {"cargo": ADDED})


def open_profile(store: Store, slug: str) -> ProfileDraft:
    """Return the draft of a profile as its file has it; BadInput if it, its truck or its trailer cannot be read."""
    return open_draft(PROFILE_FORM, store, slug)


# The trailer's numbers, the weighings, the spreads


def front_weighed(draft: ProfileDraft, system: System) -> tuple[float, float, float] | None:
    """Return the front axle's three weighings, alone, hitched and with bars; None before all three are sound. [kg]"""
    alone, hitched, bars = (_weighed(draft, name, system) for name in ("alone", "hitched", "bars"))
    if alone is None or hitched is None or bars is None or fault_of(draft, f"{WEIGHED}.hitched", system):
        return None
    return alone, hitched, bars


def own_spreads(draft: ProfileDraft, system: System) -> dict[str, float]:
    """Return the spreads that are typed and sound, by their keys. [SI]"""
    found = {}
    for key, text in draft.typed.items():
        name = key.removeprefix(f"{SPREAD}.")
        if name != key and name in TYPICAL:
            with suppress(Refusal):
                found[name] = float(read_spread(name, text, system))
    return found


def _weighed(draft: ProfileDraft, name: str, system: System) -> float | None:
    """Return one weighing of the front axle, None where it does not read. [kg]"""
    try:
        return float(read_quantity(draft.typed.get(f"{WEIGHED}.{name}", ""), "weight", system))
    except Refusal:
        return None


def _check_numbers(store: Store, slug: str, numbers: WhatIf) -> None:
    """Raise a ValueError if a trailer cannot have the numbers a draft gives it."""
    if not numbers.keys() <= set(NUMBERS.values()):
        raise ValueError(f"only {' and '.join(NUMBERS.values())} of a trailer are tried, got {', '.join(numbers)}")
    with suppress(BadInput):
        trailer = store.read_trailer(slug)
        if not trailer.deck:
            trailer.replaced(**numbers)


def _files(store: Store, profile: Profile) -> tuple[Truck, Trailer | None]:
    """Return the truck and the trailer a profile names; BadInput with what is wrong with the truck.

    A trailer that cannot be read is None: there is no answer then, and another can be chosen.
    """
    truck = store.read_truck(profile.truck)
    with suppress(BadInput):
        return truck, None if profile.trailer is None else store.read_trailer(profile.trailer)
    return truck, None


# Who is aboard


def places_of(draft: ProfileDraft) -> list[str]:
    """Return the places to ask about: the truck's, and any that the profile names and the truck does not have."""
    typed = [key.removeprefix(f"{ABOARD}.") for key in draft.typed if key.startswith(f"{ABOARD}.")]
    named = (one.name for one in draft.truck.every_place)
    return list(dict.fromkeys([*named, *(one.place for one in draft.profile.aboard), *typed]))


def place_fault(draft: ProfileDraft, name: str) -> Refusal | None:
    """Return what is wrong with the name of a place, if anything: another truck may not have it."""
    return no_place(name, draft.truck.every_place, draft.truck.name)


def all_as_weighed(draft: ProfileDraft) -> ProfileDraft:
    """Return the draft with nobody aboard who was not there at the weighing, and everybody who was."""
    kept = draft.without_typed(*(key for key in draft.typed if key.startswith(f"{ABOARD}.")))
    return kept.with_profile(aboard=())


def _put_aboard(draft: ProfileDraft, place: str, text: str, system: System) -> ProfileDraft:
    """Set who or what is at a place: a weight, or a share of what it holds; nothing typed is as it was weighed."""
    before = draft.profile.aboard
    if not text.strip():
        return draft.with_profile(aboard=tuple(one for one in before if one.place != place))
    new = Aboard.model_validate({"place": place, **_how_much(text, system)})
    after = tuple(new if one.place == place else one for one in before)
    after = after if new in after else (*after, new)
    for _, refusal in misplaced([new], draft.truck.every_place, draft.truck.name):
        raise refusal
    return draft.with_profile(aboard=after)


def _how_much(text: str, system: System) -> dict[str, Quantity | float]:
    """Return what a text says of who is at a place: a share in percent, else a weight."""
    if text.strip().endswith(("%", "percent")):
        return {"share": read_share(text)}
    return {"weight": read_quantity(text, "weight", system)}


# Cargo


def move_row(draft: ProfileDraft, place: int, x: float, y: float, system: System) -> ProfileDraft:
    """Return the draft with a cargo item at another place [m], written in the units in which its owner wrote it."""
    item, lies = draft.profile.cargo[place], placed(draft.profile.cargo[place], draft.truck)
    changes: dict[str, Quantity | None] = {} if item.at is None else {"at": None}
    for name, typed, old, new in (("x", item.x, lies.x, x), ("y", item.y, lies.y, y)):
        if item.at is not None or abs(new - old) >= AT_IT:
            like = quantity(0.0, entry_unit("length", system), "length") if typed is None else typed
            changes[name] = read_quantity(in_unit_of(round(new, 5), like), "length", system)
    kept = draft.without_typed(*(f"cargo.{place}.{name}" for name in changes))
    return _with_item(kept, place, item.replaced(**changes))


def _is_named_place(key: str) -> bool:
    """Tell whether a key is the place of a cargo item by its name: it leaves the item's numbers, or takes them up."""
    head, _, rest = key.partition(".")
    return head == "cargo" and rest.partition(".")[2] == "at"


def _put_at(draft: ProfileDraft, place: int, at: str, system: System) -> ProfileDraft:
    """Put a cargo item at a place by its name, or at the numbers of the place that it leaves."""
    item = draft.profile.cargo[place]
    if at == (item.at or ""):
        return draft
    rest = draft.without_typed(f"cargo.{place}.x", f"cargo.{place}.y")
    if at:
        return _with_item(rest, place, item.replaced(at=at, x=None, y=None))
    try:
        lies = placed(item, draft.truck)
    except KeyError:  # a place that this truck does not have
        return _with_item(rest, place, item.replaced(at=None, x=quantity(0.0, entry_unit("length", system), "length")))
    return move_row(rest, place, float(lies.x), float(lies.y), system)


def _put_side(draft: ProfileDraft, share: float, system: System) -> ProfileDraft:
    """Set the trailer's side bias, typed once: what a coupling that does not swivel passes of it goes to the truck."""
    new = draft.with_numbers(left_share=share)
    passes = any(one.name == draft.profile.hitch and one.roll_coupling > 0 for one in draft.truck.hitches)
    return _put_left(new, share, system) if passes else new


def _put_left(draft: ProfileDraft, share: float, system: System) -> ProfileDraft:
    """Set the left share of what the truck carries; the quick row's load moves with it."""
    place, new = draft.bed_place, draft.with_profile(left_share=share)
    if place is None:
        return new
    return _with_item(new, place, new.profile.cargo[place].replaced(y=_side_arm(new, system)))


def _put_bed(draft: ProfileDraft, name: str, text: str, system: System) -> ProfileDraft:
    """Set the quick row: a weight makes the cargo item, no weight takes it away, its place waits for a weight.

    No place is over the rear axle.
    """
    place, item = draft.bed_place, draft.bed_load
    over_axle = f"0 {entry_unit('length', system)}"
    if name == "x":
        x = read_quantity(text if text.strip() else over_axle, "length", system)
        if item is not None and place is not None:
            return _with_item(draft, place, item.replaced(x=x))
        if not text.strip():
            return draft
        Cargo.model_validate({"name": BED, "weight": "1 kg", "x": x})  # whether one could lie there
        return draft.with_typed("bed.x", text)
    weight = read_quantity(text, "weight", system) if text.strip() else None
    if not weight:
        kept = draft if item is None or item.x is None else draft.with_typed("bed.x", item.x.text)
        return kept if place is None else without_row(kept, "cargo", place, system)
    if item is not None and place is not None:
        return _with_item(draft, place, item.replaced(weight=weight))
    x = read_quantity(draft.typed.get("bed.x") or over_axle, "length", system)
    new = Cargo.model_validate({"name": BED, "weight": weight, "x": x, "y": _side_arm(draft, system)})
    return draft.without_typed("bed.x").with_profile(cargo=(*draft.profile.cargo, new))


def _with_item(draft: ProfileDraft, place: int, item: Cargo) -> ProfileDraft:
    """Return the draft with one cargo item in the place of another."""
    cargo = draft.profile.cargo
    return draft.with_profile(cargo=(*cargo[:place], item, *cargo[place + 1 :]))


def _side_arm(draft: ProfileDraft, system: System) -> Quantity:
    """Return where the side bias puts a load, written in the system's unit."""
    return quantity(draft.side_arm(draft.profile.left_share), entry_unit("length", system), "length")
