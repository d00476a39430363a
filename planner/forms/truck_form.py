"""The form of a truck: its questions in their order, and what is typical of all that is not answered yet.

A new truck is a typical one. Each answer takes the place of a typical value, and those that follow from it move along:
who gives the axle ratings gets a kerb weight, tyres and bags to match, until the scale slip says otherwise.

Besides the fields of the record there are "front.tyres.size", which gives radius and rating too, "front.built",
"hitches.0.behind", how far a hitch is behind the rear axle, and "aboard.driver", who was in it on the scale.
"""

# ruff: noqa: ARG002  # of what a form may be asked, it looks at what it needs

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from planner.forms.draft import Draft, Form, open_draft
from planner.forms.fields import Field, Value, change_inside, find_field, find_place, path_of
from planner.forms.parse import read_quantity, read_share
from planner.plans.typical_truck import typical_bar, typical_hitch, typical_truck
from planner.plans.tyre_size import TyreSize, read_tyre_size
from planner.records import Aboard, Axle, Bag, Hitch, Truck, read_record
from planner.records.truck import Tyres
from planner.store import TRUCK, Store
from planner.units.quantity import STANDARD_GRAVITY as G
from planner.units.quantity import Dimension, Quantity, Refusal, System, display, entry_unit, quantity, read

TruckDraft = Draft[Truck]  # aside: by axle, the bag that an axle had before it was said to be of steel only

NEW_NAME: Final = "New truck"
AXLES: Final = ("front", "rear")
ABOARD: Final = "aboard"
BEHIND: Final = "behind"
SIZE: Final = "tyres.size"
TWINS: Final = "tyres.per_side"
BAR: Final = "bar"


@dataclass(frozen=True)
class Question:
    """One question of the guided start.

    Attributes
    ----------
    name : how an address calls it
    heading : the question
    where : where the answer is read or measured
    keys : the fields it asks for, in their order
    """

    name: str
    heading: str
    where: str
    keys: tuple[str, ...]


class TruckForm(Form[TruckDraft]):
    """The form of a truck."""

    also = (Hitch,)

    def check_aside(self, store: Store, aside: Mapping[str, Any]) -> None:
        """Raise a ValueError for what is no bag of an axle."""
        for axle, bag in aside.items():
            if axle not in AXLES:
                raise ValueError(f"only bags are laid aside by axle, got {axle}")
            Bag.model_validate(bag)

    def owns(self, key: str) -> bool:
        """Tell whether a field changes more than itself, or says it otherwise than the record."""
        head, _, rest = key.partition(".")
        return (head in AXLES and rest in (SIZE, TWINS, BAR, "built")) or head == ABOARD or key.endswith(f".{BEHIND}")

    def own_field(self, key: str) -> Field | None:
        """Return how such a field is asked for."""
        head, _, rest = key.partition(".")
        if head == ABOARD:
            found = find_field(Aboard, "share" if rest == FUEL else "weight")
            return replace(found, label=ABOARD_LABELS.get(rest, rest))
        if key.endswith(f".{BEHIND}"):
            return replace(find_field(Hitch, "x"), label="Behind the rear axle")
        if rest == BAR:
            return Field("choice", label="Anti-roll bar")
        if rest in (SIZE, TWINS):
            return find_field(Tyres, rest.removeprefix("tyres."))
        return find_field(Axle, rest) if self.owns(key) else None

    def value(self, draft: TruckDraft, key: str) -> Value:
        """Return the good value of such a field."""
        head, _, rest = key.partition(".")
        if head == ABOARD:
            there = next((one for one in draft.record.kerb_aboard if one.place == rest), None)
            return None if there is None else there.share if there.weight is None else there.weight
        if key.endswith(f".{BEHIND}"):
            x = _hitch(draft.record, key).x
            return quantity(-float(x), x.text.split(" ", 1)[1], "length") if x else x
        if rest == BAR:
            return "yes" if getattr(draft.record, head).anti_roll_rate else "no"
        return find_place(draft.record, key).value

    def put(self, draft: TruckDraft, key: str, text: str, system: System) -> TruckDraft:
        """Return the draft with a text read into such a field."""
        head, _, rest = key.partition(".")
        if head == ABOARD:
            return _with_aboard(draft, rest, text, system)
        if key.endswith(f".{BEHIND}"):
            at = read_quantity(text, "length", system)
            place = key.removesuffix(BEHIND) + "x"
            unit = at.text.split(" ", 1)[1]
            return replace(draft, record=self.change(draft.record, {place: quantity(-float(at), unit, "length")}))
        if rest == "built":
            return _with_built(draft, head, text)
        if rest == BAR:
            return _with_bar(draft, head, text)
        if rest == TWINS:
            return _with_twins(draft, head, text, system)
        return _with_size(draft, head, text, system)

    def path_of(self, key: str) -> str:
        """Return the path of the field of the record that a key is about."""
        key = f"{key.removesuffix(BEHIND)}x" if key.endswith(f".{BEHIND}") else key
        return path_of(f"{key.removesuffix(BAR)}anti_roll_rate" if key.endswith(f".{BAR}") else key)

    def change(self, record: Any, values: Mapping[str, Value]) -> Truck:
        """Return a truck with some fields changed together, and with what is typical of it then."""
        return refit(record, values)


FUEL: Final = "fuel tank"
ABOARD_LABELS: Final = {"driver": "Driver, on the scale", FUEL: "Fuel tank, on the scale"}


def typical() -> Truck:
    """Return the truck that a new one starts from."""
    table = _nested(typical_truck({}))
    hitch = typical_hitch("ball", 4.0)
    paths = [*typical_truck({}), *(f"hitches[0].{name}" for name in hitch if name not in ("name", "coupling"))]
    return read_record(Truck, {"schema": 1, "name": NEW_NAME, **table, "hitches": [hitch], "typical": paths}, NEW_NAME)


TRUCK_FORM: Final = TruckForm(TRUCK, typical)


def open_truck(store: Store, slug: str) -> TruckDraft:
    """Return the draft of a truck as its file has it; BadInput if it cannot be read."""
    return open_draft(TRUCK_FORM, store, slug)


# Questions


def questions(truck: Truck) -> tuple[Question, ...]:
    """Return the questions to ask of a truck, in their order."""
    bags = [axle for axle in AXLES if getattr(truck, axle).bag is not None]
    hitches = range(len(truck.hitches))
    return (
        Question(
            "label",
            "What does the door label say?",
            "It is on the driver's door or its frame. GCWR stands in the owner's manual: leave it if you have none.",
            ("gvwr", *_each("gawr"), *_each("tyres.cold_pressure"), "gcwr"),
        ),
        Question(
            "tyres",
            "Which tyres are on it?",
            "Copy the size from the sidewall, with the load index behind it if there is one.",
            (*_each(SIZE), *_each("tyres.per_side"), *_each("tyres.load_rating")),
        ),
        Question(
            "slip",
            "What does it weigh alone?",
            "From a scale, no trailer and no cargo, axle by axle. Say who and what was aboard.",
            ("kerb.front_axle", "kerb.rear_axle", f"{ABOARD}.driver", f"{ABOARD}.{FUEL}", "kerb.left_share"),
        ),
        Question(
            "build",
            "What is it built of?",
            "Look at each axle from behind: what carries it, and is each bag on a line of its own?",
            tuple(sorted((key for axle in AXLES for key in _build_keys(truck, axle)), key=_by_name)),
        ),
        Question(
            "bags",
            "Which bags are on it?",
            "From the maker's chart. Fitted height is from plate to plate when the truck stands at ride height.",
            tuple(f"{axle}.bag.{name}" for axle in bags for name in BAG_KEYS),
        ),
        Question(
            "tape",
            "What does the tape say?",
            "On level ground, the truck as you want it to stand.",
            ("wheelbase", *_each("track"), *_each("ride_height")),
        ),
        Question(
            "hitch",
            "Where does a trailer couple?",
            "On level ground, at kerb weight. Ratings are on the plate of the hitch, and the lowest one counts.",
            tuple(f"hitches.{n}.{name}" for n in hitches for name in hitch_keys(truck.hitches[n])),
        ),
    )


BAG_KEYS: Final = ("fitted_height", "least_pressure", "greatest_pressure", "load_rating")


def hitch_keys(hitch: Hitch) -> tuple[str, ...]:
    """Return what is asked of a hitch."""
    ball = ("ball_diameter",) if hitch.coupling in ("ball", "gooseneck") else ()
    return "name", "coupling", BEHIND, "height", *ball, "tongue_rating", "trailer_rating"


def _each(name: str) -> tuple[str, ...]:
    """Return the key of a field at the front and the rear axle."""
    return tuple(f"{axle}.{name}" for axle in AXLES)


def _by_name(key: str) -> int:
    """Return where a field of how an axle is built stands, the front one before the rear one."""
    return ("suspension", "built", "plumbing", BAR, "spring_spacing", "motion_ratio", "anti_roll_rate").index(
        key.rpartition(".")[2]
    )


def _build_keys(truck: Truck, name: str) -> tuple[str, ...]:
    """Return what is asked of how an axle is built."""
    axle = getattr(truck, name)
    keys = ["suspension", "built", *([] if axle.bag is None else ["plumbing"]), BAR]
    keys += ["spring_spacing"] if axle.suspension == "solid" else []
    keys += ["anti_roll_rate"] if axle.anti_roll_rate else []
    return tuple(f"{name}.{key}" for key in (*keys, "motion_ratio"))


# What is typical


def refit(truck: Truck, values: Mapping[str, Value]) -> Truck:
    """Return a truck with some fields changed, and those that still are as is typical made typical of it again.

    Raises
    ------
    ValidationError
        If such a truck cannot be.
    """
    if not values:
        return truck
    mine = {path_of(key) for key in values}
    left = tuple(path for path in truck.typical if path not in mine)
    known, now = _own_values(truck), _texts(truck)
    before, after = typical_truck(known), typical_truck({**known, **{path_of(key): one for key, one in values.items()}})
    tree: dict[str, Any] = {"typical": left}
    for path in left:
        if path in after and now.get(path) == before.get(path) != after[path]:
            _put(tree, path, after[path])
    for key, value in values.items():
        _put(tree, key, value)
    new: Truck = change_inside(Truck, truck, tree)
    return new


def confirm(draft: TruckDraft, path: str) -> TruckDraft:
    """Return the draft with a typical value made the owner's own, the number staying as it is."""
    left = tuple(one for one in draft.record.typical if one != path)
    return replace(draft, record=draft.record.replaced(typical=left))


def typical_words(draft: TruckDraft, path: str, system: System) -> str:
    """Return a typical value in words: "Motion ratio, front: 1"."""
    key = re.sub(r"\[(\d+)\]", r".\1", path)
    head, _, _ = key.partition(".")
    try:
        place = find_place(draft.record, key)
    except ValueError:  # a list, such as a bag's chart
        return f"{path.rpartition('.')[2].capitalize()}, {head}"
    where = f", {head}" if head in AXLES else ""
    return f"{place.field.label or path}{where}: {place.field.write(place.value, system)}"


def add_hitch(draft: TruckDraft, coupling: str) -> TruckDraft:
    """Return the draft with a typical hitch more; Refusal if such a truck cannot be."""
    truck = draft.record
    new, names, place = typical_hitch(coupling, float(truck.wheelbase)), {one.name for one in truck.hitches}, 0
    while new["name"] in names:
        place += 1
        new["name"] = f"{new['name'].split(' no ')[0]} no {place + 1}"
    at = len(truck.hitches)
    guessed = tuple(f"hitches[{at}].{name}" for name in new if name not in ("name", "coupling"))
    hitches = (*truck.hitches, Hitch.model_validate(new))
    return replace(draft, record=truck.replaced(hitches=hitches, typical=(*truck.typical, *guessed)))


def _own_values(truck: Truck) -> dict[str, Any]:
    """Return the fields of a truck that are its owner's own, by path: quantities in SI."""
    found: dict[str, Any] = {}
    for path in typical_truck({}):
        if path not in truck.typical:
            place = find_place_or_none(truck, path)
            if place is not None:
                found[path] = place
    return found


def find_place_or_none(truck: Truck, path: str) -> Any:
    """Return what stands at a path of a truck; None where there is nothing."""
    here: Any = truck
    for name in path.split("."):
        here = None if here is None else getattr(here, name)
    return here


def _texts(truck: Truck) -> dict[str, Any]:
    """Return a truck by path, as a file has it."""
    found: dict[str, Any] = {}

    def walk(table: Mapping[str, Any], before: str) -> None:
        for name, value in table.items():
            if isinstance(value, dict):
                walk(value, f"{before}{name}.")
            else:
                found[f"{before}{name}"] = value

    walk(truck.as_file(), "")
    return found


def _nested(flat: Mapping[str, Any]) -> dict[str, Any]:
    """Return tables within tables from values by path."""
    tree: dict[str, Any] = {}
    for path, value in flat.items():
        _put(tree, path, value)
    return tree


def _put(tree: dict[str, Any], key: str, value: Any) -> None:
    """Put a value at its key into tables within tables."""
    *above, name = key.split(".")
    for part in above:
        tree = tree.setdefault(part, {})
    tree[name] = value


# Fields that change more than themselves


def _with_aboard(draft: TruckDraft, place: str, text: str, system: System) -> TruckDraft:
    """Return the draft with who or what was at a place on the scale: a share for a tank, else a weight."""
    given = (
        {"share": read_share(text)} if text.strip().endswith("%") else {"weight": read_quantity(text, "weight", system)}
    )
    new = Aboard.model_validate({"place": place, **given})
    others = tuple(one for one in draft.record.kerb_aboard if one.place != place)
    return replace(draft, record=draft.record.replaced(kerb=draft.record.kerb.replaced(aboard=(*others, new))))


def _with_built(draft: TruckDraft, axle: str, text: str) -> TruckDraft:
    """Return the draft with an axle built otherwise: its bag goes aside, or comes back."""
    truck = draft.record
    built = find_field(type(truck.front), "built").read(text, "us")
    now = getattr(truck, axle)
    aside = dict(draft.aside)
    steel = built == "steel only"
    own = _own_values(truck) | {f"{axle}.built": built}
    if steel:
        own = {path: value for path, value in own.items() if not path.startswith(f"{axle}.bag.")}
    guess = {path: value for path, value in typical_truck(own).items() if path.startswith(f"{axle}.")}
    typical = [path for path in truck.typical if path != f"{axle}.built"]
    tree: dict[str, Any] = {"built": built}
    for name in ("steel_load", "steel_rate"):
        if steel or f"{axle}.{name}" in typical or built == "bag alone":
            tree[name] = guess[f"{axle}.{name}"]
            typical.append(f"{axle}.{name}")
    if steel and now.bag is not None:
        aside[axle] = now.bag.as_file()
        tree["bag"] = None
        typical = [path for path in typical if not path.startswith(f"{axle}.bag.")]
    elif not steel and now.bag is None:
        bag = aside.pop(axle, None)
        if bag is None:
            table = _nested({path.removeprefix(f"{axle}."): value for path, value in guess.items()})
            bag = table["bag"]
            typical += [path for path in guess if path.startswith(f"{axle}.bag.")]
        tree["bag"] = Bag.model_validate(bag)
    record = truck.replaced(**{axle: now.replaced(**tree), "typical": tuple(dict.fromkeys(typical))})
    return replace(draft, record=record, aside=aside)


def _with_bar(draft: TruckDraft, axle: str, text: str) -> TruckDraft:
    """Return the draft with an anti-roll bar of a typical rate on an axle, or without one."""
    truck, path = draft.record, f"{axle}.anti_roll_rate"
    if text not in ("yes", "no"):
        raise Refusal("must be yes or no", text, "choose one of them")
    typical = tuple(one for one in truck.typical if one != path)
    rate = typical_bar(axle) if text == "yes" else "0 N*m/deg"
    changed = getattr(truck, axle).replaced(anti_roll_rate=rate)
    typical = (*typical, path) if text == "yes" else typical
    return replace(draft, record=truck.replaced(**{axle: changed, "typical": typical}))


def _with_size(draft: TruckDraft, axle: str, text: str, system: System) -> TruckDraft:
    """Return the draft with a size of tyre on an axle, and what follows from it.

    The other axle has the same as long as its owner has not said which it has.
    """
    truck = draft.record
    if not text.strip():
        return replace(draft, record=truck.replaced(**{axle: _with_tyres(getattr(truck, axle), size=None)}))
    size, guessed = read_tyre_size(text), truck.typical
    values = _size_values(truck, axle, size, system)
    other = AXLES[1 - AXLES.index(axle)]
    path = f"{other}.{SIZE}"
    if getattr(truck, other).tyres.size is None or path in guessed:
        values |= _size_values(truck, other, size, system)
        guessed = tuple(dict.fromkeys((*guessed, path)))
    new = refit(truck, values)
    left = tuple(one for one in guessed if one == path or one in new.typical) if path in guessed else new.typical
    return replace(draft, record=new.replaced(typical=left))


def _with_twins(draft: TruckDraft, axle: str, text: str, system: System) -> TruckDraft:
    """Return the draft with one or two tyres on each end of an axle, and the rating that they have then."""
    truck = draft.record
    count = find_field(Tyres, "per_side").read(text, system)
    tyres = _with_tyres(getattr(truck, axle), per_side=count).tyres
    values: dict[str, Value] = {f"{axle}.tyres.per_side": count}
    if tyres.size is not None:
        said = _size_values(truck, axle, read_tyre_size(tyres.size), system, int(tyres.per_side))
        values |= {key: value for key, value in said.items() if not key.endswith(f".{SIZE}")}
    return replace(draft, record=refit(truck, values))


def _size_values(
    truck: Truck, axle: str, size: TyreSize, system: System, per_side: int | None = None
) -> dict[str, Value]:
    """Return what a size says of an axle's tyres, by key: radius, rating, and the pressure where that is typical."""
    tyres = getattr(truck, axle).tyres
    radius = _rounded(size.unloaded_radius, "length", system, 0.01 if system == "us" else 1.0)
    found: dict[str, Value] = {f"{axle}.{SIZE}": size.text, f"{axle}.tyres.unloaded_radius": radius}
    rating = size.load_rating(tyres.per_side if per_side is None else per_side)
    if rating is not None:
        found[f"{axle}.tyres.load_rating"] = _rounded(rating / G, "weight", system, 1.0)
    if size.cold_pressure is not None and f"{axle}.tyres.cold_pressure" in truck.typical:
        found[f"{axle}.tyres.cold_pressure"] = _rounded(size.cold_pressure, "pressure", system, 0.1)
    return found


def _rounded(value: float, dimension: Dimension, system: System, step: float) -> Quantity:
    """Return a value [SI] in the unit of a system, rounded to a step of it."""
    unit = entry_unit(dimension, system)
    number = round(display(value, dimension, system)[0] / step) * step
    return read(f"{number:.10g} {unit}", dimension)


def _with_tyres(axle: Axle, **changes: Any) -> Axle:
    """Return an axle with its tyres changed."""
    return axle.replaced(tyres=axle.tyres.replaced(**changes))


def _hitch(truck: Truck, key: str) -> Hitch:
    """Return the hitch that a key is about; ValueError if there is none."""
    head, _, rest = key.partition(".")
    place = rest.partition(".")[0]
    if head != "hitches" or not place.isdigit() or int(place) >= len(truck.hitches):
        raise ValueError(f"{key} is of no hitch")
    return truck.hitches[int(place)]
