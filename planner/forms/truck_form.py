"""The form of a truck: its questions in their order, and what is typical of all that is not answered yet.

A new truck is a typical one. Each answer takes the place of a typical value, and those that follow from it move along:
who gives the axle ratings gets a kerb weight, tyres and bags to match, until the scale slip says otherwise.

Besides the fields of the record there are "front.tyres.size", which gives radius and rating too, "front.built",
"hitches.0.behind", how far a hitch is behind the rear axle, and "aboard.driver", who was in it on the scale.
"""

# ruff: noqa: ARG002  # of what a form may be asked, it looks at what it needs

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final

from planner.forms.air_fields import air_field, air_path, air_value, guessed_air, with_air
from planner.forms.calibration_form import LEARN, learn_field, read_learn
from planner.forms.chart_text import read_chart, write_chart
from planner.forms.draft import SAVING, Draft, Form, open_draft
from planner.forms.fields import Field, FreeText, Value, find_field, find_place, path_of
from planner.forms.parse import read_quantity, read_share
from planner.forms.truck_links import (
    AT,
    END_LABELS,
    LINKS,
    WANTED,
    WANTED_LABELS,
    end_text,
    kind_of,
    read_wanted,
    with_end,
    with_links,
)
from planner.forms.truck_links import check_aside as check_links
from planner.forms.truck_questions import ABOARD, AIR_KEYS, AXLES, BAR, BEHIND, CHART, FUEL, SIZE, TABLE, TWINS
from planner.forms.truck_readings import ARM, EXAMPLES, HUB, WHEEL, motion_ratio_of, tyre_rate_of, wheel_weights_of
from planner.forms.truck_readings import LABELS as READINGS
from planner.forms.truck_typical import TYPICAL_OF_NOTHING, nested_tables, own_values, refit
from planner.plans.typical_truck import typical_bar, typical_hitch, typical_truck
from planner.plans.tyre_size import TyreSize, read_tyre_size
from planner.records import Aboard, Axle, Bag, BagChart, Hitch, Truck, read_record
from planner.records.truck import BEHIND as COUPLINGS_BEHIND
from planner.records.truck import Kerb, Tyres
from planner.store import TRUCK, Store
from planner.units.quantity import STANDARD_GRAVITY as G
from planner.units.quantity import Dimension, Quantity, Refusal, System, display, entry_unit, quantity, read

TruckDraft = Draft[Truck]  # aside: by axle, the bag that it had before it was of steel only, or had another's chart

NEW_NAME: Final = "New truck"
PUT: Final = (SIZE, TWINS, BAR, CHART, TABLE, LINKS, "built")  # fields of an axle that change more than themselves


class TruckForm(Form[TruckDraft]):
    """The form of a truck."""

    free = (f"{SAVING}.", f"{ARM}.", f"{HUB}.", f"{WHEEL}.", f"{WANTED}.", f"{LEARN}.")
    texts: Mapping[str, FreeText] = {LEARN: FreeText(learn_field, read_learn)}
    follows = True
    also = (Hitch,)

    def check_aside(self, store: Store, aside: Mapping[str, Any]) -> None:
        """Raise a ValueError for what is no bag of an axle."""
        for axle, kept in aside.items():
            if axle == LINKS:
                check_links(kept)
                continue
            if axle not in AXLES:
                raise ValueError(f"only bags are laid aside by axle, got {axle}")
            Bag.model_validate(kept)

    def owns(self, key: str) -> bool:
        """Tell whether a field changes more than itself, or says it otherwise than the record."""
        head, _, rest = key.partition(".")
        ours = rest in PUT or (rest.startswith(AT) and rest.removeprefix(AT) in END_LABELS)
        return (head in AXLES and ours) or head == ABOARD or key in AIR_KEYS or key.endswith(f".{BEHIND}")

    def own_field(self, key: str) -> Field | None:
        """Return how such a field is asked for."""
        head, _, rest = key.partition(".")
        if head in (ARM, HUB):
            name = HUB if head == HUB else rest.partition(".")[2]
            return replace(find_field(Hitch, "height"), label=READINGS[name], examples=EXAMPLES[name])
        if key in AIR_KEYS:
            return air_field(key)
        if head == WHEEL:
            axle, side = rest.split(".")
            label, examples = f"{axle.capitalize()} {side} wheel", EXAMPLES[axle]
            return replace(find_field(Kerb, "front_axle"), label=label, examples=examples)
        if head == WANTED and rest in WANTED_LABELS:
            return Field("quantity", "angle" if rest == "pinion_up" else "length", label=WANTED_LABELS[rest])
        if head == ABOARD:
            found = find_field(Aboard, "share" if rest == FUEL else "weight")
            return replace(found, label=ABOARD_LABELS.get(rest, rest))
        if key.endswith(f".{BEHIND}"):
            return replace(find_field(Hitch, "x"), label="Behind the rear axle", examples=("52 in", "1320 mm"))
        if rest in LABELS:
            return Field("choice", label=LABELS[rest])
        if rest.startswith(AT) and self.owns(key):
            return Field("text", optional=True, required=False, label=END_LABELS[rest.removeprefix(AT)])
        if rest in (SIZE, TWINS):
            return find_field(Tyres, rest.removeprefix("tyres."))
        return find_field(Axle, rest) if self.owns(key) else super().own_field(key)

    def value(self, draft: TruckDraft, key: str) -> Value:
        """Return the good value of such a field."""
        head, _, rest = key.partition(".")
        if key in AIR_KEYS:
            return air_value(draft.record, key)
        if head == ABOARD:
            there = next((one for one in draft.record.kerb_aboard if one.place == rest), None)
            return None if there is None else there.share if there.weight is None else there.weight
        if key.endswith(f".{BEHIND}"):
            x = _hitch(draft.record, key).x
            return quantity(-float(x), x.text.split(" ", 1)[1], "length") if x else x
        if rest == BAR:
            return "yes" if getattr(draft.record, head).anti_roll_rate else "no"
        if rest == LINKS:
            return kind_of(draft.record.rear.linkage)
        if rest.startswith(AT):
            return end_text(draft.record, rest.removeprefix(AT))
        if rest in (CHART, TABLE):
            bag = getattr(draft.record, head).bag
            return None if bag is None else bag.chart if rest == CHART else write_chart(bag)
        return find_place(draft.record, key).value

    def put(self, draft: TruckDraft, key: str, text: str, system: System) -> TruckDraft:
        """Return the draft with a text read into such a field."""
        head, _, rest = key.partition(".")
        if key in AIR_KEYS:
            return with_air(draft, key, text, system)
        if head == ABOARD:
            return _with_aboard(draft, rest, text, system)
        if key.endswith(f".{BEHIND}"):
            at = read_quantity(text, "length", system)
            _require_behind(_hitch(draft.record, key), at)
            place = key.removesuffix(BEHIND) + "x"
            unit = at.text.split(" ", 1)[1]
            return replace(draft, record=self.change(draft.record, {place: quantity(-float(at), unit, "length")}))
        if rest == "built":
            return _with_built(draft, head, text)
        if rest == BAR:
            return _with_bar(draft, head, text)
        if rest == CHART:
            return _with_chart(draft, head, text.strip())
        if rest == TABLE:
            return _with_table(draft, head, text, system)
        if rest == TWINS:
            return _with_twins(draft, head, text, system)
        if rest == LINKS:
            return with_links(draft, text)
        if rest.startswith(AT):
            return with_end(draft, rest.removeprefix(AT), text, system)
        return _with_size(draft, head, text, system)

    def check_free(self, draft: TruckDraft, key: str, text: str, system: System) -> None:
        """Raise Refusal for a reading that cannot be."""
        super().check_free(draft, key, text, system)
        head, _, rest = key.partition(".")
        if head == HUB:
            tyre_rate_of(draft, rest, system)
        elif head == WHEEL:
            read_quantity(text, "weight", system)
            wheel_weights_of(draft, system)
        elif head == WANTED:
            read_wanted(draft.without_typed(*(f"{WANTED}.{name}" for name in WANTED_LABELS if name != rest)), system)
        elif head == ARM:
            read_quantity(text, "length", system)
            motion_ratio_of(draft, rest.partition(".")[0], system)

    def path_of(self, key: str) -> str:
        """Return the path of the field of the record that a key is about."""
        if key in AIR_KEYS:
            return air_path(key)
        key = f"{key.removesuffix(TABLE)}bag.height" if key.endswith(f".{TABLE}") else key
        key = f"{key.removesuffix(BEHIND)}x" if key.endswith(f".{BEHIND}") else key
        key = key.replace(f"rear.{AT}", "rear.linkage.", 1) if key.startswith(f"rear.{AT}") else key
        return path_of(f"{key.removesuffix(BAR)}anti_roll_rate" if key.endswith(f".{BAR}") else key)

    def guessed(self, record: Any) -> tuple[str, ...]:
        """Return the paths of fields that hold typical values: those listed, and all of an air supply not there yet."""
        return *record.typical, *guessed_air(record)

    def change(self, record: Any, values: Mapping[str, Value]) -> Truck:
        """Return a truck with some fields changed together, and with what is typical of it then."""
        return refit(record, values)


LABELS: Final = {LINKS: "Bars", BAR: "Anti-roll bar", CHART: "Chart in a file", TABLE: "Chart, as printed or pasted"}
ABOARD_LABELS: Final = {"driver": "Driver, on the scale", FUEL: "Fuel tank, on the scale"}


def typical() -> Truck:
    """Return the truck that a new one starts from."""
    table = nested_tables(TYPICAL_OF_NOTHING)
    hitch = typical_hitch("ball", 4.0)
    paths = [*TYPICAL_OF_NOTHING, *(f"hitches[0].{name}" for name in hitch if name not in ("name", "coupling"))]
    return read_record(Truck, {"schema": 1, "name": NEW_NAME, **table, "hitches": [hitch], "typical": paths}, NEW_NAME)


TRUCK_FORM: Final = TruckForm(TRUCK, typical)


def open_truck(store: Store, slug: str) -> TruckDraft:
    """Return the draft of a truck as its file has it; BadInput if it cannot be read."""
    return open_draft(TRUCK_FORM, store, slug)


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
    own = own_values(truck) | {f"{axle}.built": built}
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
            bag = nested_tables({path.removeprefix(f"{axle}."): value for path, value in guess.items()})["bag"]
            typical += [path for path in guess if path.startswith(f"{axle}.bag.")]
        tree["bag"] = Bag.model_validate(bag)
    record = truck.replaced(**{axle: now.replaced(**tree), "typical": tuple(dict.fromkeys(typical))})
    return replace(draft, record=record, aside=aside)


def _with_chart(draft: TruckDraft, axle: str, slug: str) -> TruckDraft:
    """Return the draft with an axle's bag as a chart in a file has it; of no file, as it was before or is typical."""
    truck, now = draft.record, getattr(draft.record, axle)
    if now.bag is None or slug == (now.bag.chart or ""):
        return draft
    aside = dict(draft.aside)
    paths = [path for path in truck.typical if not path.startswith(f"{axle}.bag.")]
    fitted = f"{axle}.bag.fitted_height"
    if slug:
        aside.setdefault(axle, now.bag.as_file())
        bag = Bag.model_validate({"chart": slug, "fitted_height": now.bag.fitted_height})
        paths += [fitted] if fitted in truck.typical else []
    else:
        kept = aside.pop(axle, None)
        bag = Bag.model_validate(kept or _typical_bag(truck, axle))
        paths += [] if kept else [path for path in TYPICAL_OF_NOTHING if path.startswith(f"{axle}.bag.")]
    record = truck.replaced(**{axle: now.replaced(bag=bag), "typical": tuple(paths)})
    return replace(draft, record=record, aside=aside)


def _with_table(draft: TruckDraft, axle: str, text: str, system: System) -> TruckDraft:
    """Return the draft with the chart of an axle's bag as it is printed; what is typical of the bag follows."""
    truck, bag = draft.record, getattr(draft.record, axle).bag
    if bag is None:
        return draft
    table = read_chart(text, system)
    given = {name: value for name, value in bag.as_file().items() if name not in (*_CHARTED, "chart")}
    paths = {f"{axle}.bag.{name}" for name in _CHARTED}
    left = tuple(path for path in truck.typical if path not in paths)
    fitted = f"{axle}.bag.fitted_height"
    if fitted in left and not table.heights[0] <= bag.fitted_height <= table.heights[-1]:
        given["fitted_height"] = table.heights[len(table.heights) // 2].text
    new = Bag.model_validate(given | table.fields)
    record = truck.replaced(**{axle: getattr(truck, axle).replaced(bag=new), "typical": left})
    steel = f"{axle}.steel_load"
    if steel in left:  # what it carries is what the bags leave to it
        guess = typical_truck(own_values(record))[steel]
        record = record.replaced(**{axle: getattr(record, axle).replaced(steel_load=guess)})
    return replace(draft, record=record)


_CHARTED: Final = ("height", "area", "load", "load_at", "volumes", "volume")  # what a table says, or makes untrue


def chart_of(draft: TruckDraft, axle: str, name: str) -> BagChart:
    """Return the chart of an axle's bag as a record of its own, by a name; BadInput if it cannot be one."""
    given = getattr(draft.record, axle).bag.as_file()
    own = {key: value for key, value in given.items() if key in BagChart.model_fields}
    return read_record(BagChart, {"schema": 1, "name": name, **own}, name or "chart")


def _typical_bag(truck: Truck, axle: str) -> dict[str, Any]:
    """Return the typical bag of an axle, as a file has it."""
    guess = typical_truck(own_values(truck))
    start = f"{axle}.bag."
    return {path.removeprefix(start): value for path, value in guess.items() if path.startswith(start)}


def _with_bar(draft: TruckDraft, axle: str, text: str) -> TruckDraft:
    """Return the draft with an anti-roll bar of a typical rate on an axle, or without one."""
    truck, path = draft.record, f"{axle}.anti_roll_rate"
    if text not in ("yes", "no"):
        raise Refusal("must be yes or no", text, "choose one of them")
    typical = tuple(one for one in truck.typical if one != path)
    rate = typical_bar(getattr(truck, axle).suspension) if text == "yes" else "0 N*m/deg"
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


def _require_behind(hitch: Hitch, behind: Quantity) -> None:
    """Refuse what the record would refuse as its x, which counts the other way, in the words of what was typed."""
    if hitch.coupling in COUPLINGS_BEHIND and behind < 0:
        remedy = f'write "{behind.text.lstrip("-")}", or coupling = "gooseneck" if it is in the bed'
        rule = f"a {hitch.coupling} coupling must be behind the rear axle, >= 0 from it to the rear"
        raise Refusal(rule, f'"{behind.text}"', remedy)


def _hitch(truck: Truck, key: str) -> Hitch:
    """Return the hitch that a key is about; ValueError if there is none."""
    head, _, rest = key.partition(".")
    place = rest.partition(".")[0]
    if head != "hitches" or not place.isdigit() or int(place) >= len(truck.hitches):
        raise ValueError(f"{key} is of no hitch")
    return truck.hitches[int(place)]
