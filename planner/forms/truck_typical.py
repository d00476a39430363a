"""What is typical of a truck that is being entered, and how it follows from what its owner has given."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final

from planner.forms.draft import Draft
from planner.forms.fields import Value, change_inside, find_place, path_of
from planner.forms.truck_links import END_LABELS, end_text
from planner.forms.truck_questions import AXLES
from planner.plans.typical import Estimate
from planner.plans.typical_air import air_estimates
from planner.plans.typical_truck import FITTED_AREA, typical_estimates, typical_truck
from planner.records import Truck
from planner.records.bag import area_at_fitted_height
from planner.units.quantity import System, display

AIR: Final = "air"  # the table of the air supply
TYPICAL_OF_NOTHING: Final = typical_truck({})  # by path, where nothing is the owner's own yet


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
    known, now = own_values(truck), _texts(truck)
    before, after = typical_truck(known), typical_truck({**known, **{path_of(key): one for key, one in values.items()}})
    tree: dict[str, Any] = {"typical": left}
    for path in left:
        if path in after and now.get(path) == before.get(path) != after[path]:
            put_at(tree, path, after[path])
    for key, value in values.items():
        put_at(tree, key, value)
    new: Truck = change_inside(Truck, truck, tree)
    return new


def typical_words(draft: Draft[Truck], path: str, system: System) -> str:
    """Return a typical value in words: "Motion ratio, front: 1"."""
    key = re.sub(r"\[(\d+)\]", r".\1", path)
    head, _, _ = key.partition(".")
    try:
        place = find_place(draft.record, key)
    except ValueError:  # a list, such as a bag's chart, or a place
        end = path.removeprefix("rear.linkage.")
        if end in END_LABELS:
            return f"{END_LABELS[end]}: {end_text(draft.record, end)}"
        return f"{path.rpartition('.')[2].capitalize()}, {head}"
    where = f", {head}" if head in AXLES else ""
    words = f"{place.field.label or path}{where}: {place.field.write(place.value, system)}"
    why = estimate_of(draft.record, path)
    return words if why is None else f"{words}{why_words(why, system)}"


def estimate_of(truck: Truck, path: str) -> Estimate | None:
    """Return the typical value of a field with what is behind it; None where nothing more is known of it."""
    head, _, rest = path.partition(".")
    if head == AIR:
        return air_estimates(truck).get(rest.partition(".")[0])
    return typical_estimates(own_values(truck)).get(path)


def why_words(estimate: Estimate, system: System) -> str:
    """Return how far a typical value may be off, as people write it, why it is that, and how good that is."""
    why = f". {estimate.reason[:1].upper()}{estimate.reason[1:]}; {estimate.standing}"
    if not estimate.spread:
        return why
    if estimate.dimension is None:
        return f" ± {estimate.spread:.2g}{why}"
    spread, unit = display(estimate.spread, estimate.dimension, system)
    return f" ± {float(f'{spread:.2g}'):g} {unit}{why}"


def own_values(truck: Truck) -> dict[str, Any]:
    """Return the fields of a truck that are its owner's own, by path: quantities in SI."""
    found: dict[str, Any] = {}
    for path in TYPICAL_OF_NOTHING:
        if path not in truck.typical:
            place = _at(truck, path)
            if place is not None:
                found[path] = place
    for axle in AXLES:
        bag = getattr(truck, axle).bag
        if bag is not None and not {f"{axle}.bag.area", f"{axle}.bag.height"} & set(truck.typical):
            found[f"{axle}.{FITTED_AREA}"] = area_at_fitted_height(bag)
    return found


def _at(truck: Truck, path: str) -> Any:
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


def nested_tables(flat: Mapping[str, Any]) -> dict[str, Any]:
    """Return tables within tables from values by path."""
    tree: dict[str, Any] = {}
    for path, value in flat.items():
        put_at(tree, path, value)
    return tree


def put_at(tree: dict[str, Any], key: str, value: Any) -> None:
    """Put a value at its key into tables within tables."""
    *above, name = key.split(".")
    for part in above:
        tree = tree.setdefault(part, {})
    tree[name] = value
