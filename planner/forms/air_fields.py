"""The air supply as a truck's form asks for it; of a truck that has none yet each number is a typical one.

The fields are those of the truck's [air], but for the compressor's chart, which is one text: pressure and free air,
a line for each point. A first answer puts the table into the truck, the other numbers typical.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any, Final, TypeVar

from planner.forms.draft import Draft
from planner.forms.fields import Field, Value, change_record, find_field, find_place, path_of
from planner.forms.parse import read_quantity
from planner.forms.truck_questions import AIR_CHART as CHART
from planner.forms.truck_questions import AIR_DEMANDS
from planner.plans.typical import typical_air
from planner.plans.typical_air import PATHS, with_typical_air
from planner.records import Truck
from planner.records.air_supply import Air, LineLengths
from planner.units.quantity import Quantity, Refusal, System, shown

AIR: Final = "air"
Read = TypeVar("Read")
_TEXTS: Final = {CHART: "delivery", AIR_DEMANDS: "demands"}  # key: field of [air] that is one text in the form
_CHARTED: Final = ("air.delivery_pressure", "air.delivery")
_FOLLOW: Final = ("air.cut_in", "air.cut_out")  # each is typical of the other


def air_path(key: str) -> str:
    """Return the path of the field of the truck that a key is about."""
    return "air.delivery" if key == CHART else path_of(key)


def guessed_air(truck: Truck) -> tuple[str, ...]:
    """Return the fields of [air] that are typical though no file says so: all, of a truck that has none."""
    return PATHS if truck.air is None else ()


def air_field(key: str) -> Field:
    """Return how a field of [air] is asked for."""
    if key in _TEXTS:
        info = Air.model_fields[_TEXTS[key]]
        return Field("text", optional=key == AIR_DEMANDS, label=info.title or "", help=info.description or "")
    name = key.removeprefix(f"{AIR}.")
    table, _, corner = name.partition(".")
    if not corner:
        return find_field(Air, name)
    return replace(find_field(LineLengths, corner), help=Air.model_fields[table].description or "")


def air_value(truck: Truck, key: str) -> Value:
    """Return the good value of a field of [air], a typical one where the truck has none."""
    whole = with_typical_air(truck)
    if key not in _TEXTS:
        return find_place(whole, key).value
    assert whole.air is not None  # as it was just put there
    if key == AIR_DEMANDS:
        return "\n".join(f"{one.name}: {one.flow.text}, {one.time.text}" for one in whole.air.demands)
    points = zip(whole.air.delivery_pressure, whole.air.delivery, strict=True)
    return "\n".join(f"{at.text}: {made.text}" for at, made in points)


def with_air(draft: Draft[Truck], key: str, text: str, system: System) -> Draft[Truck]:
    """Return the draft with a text read into a field of [air]; what is typical follows."""
    truck = with_typical_air(draft.record)
    if key == CHART:
        return replace(draft, record=_with_chart(truck, read_delivery(text, system)))
    if key == AIR_DEMANDS:
        assert truck.air is not None  # a typical one at least
        supply = truck.air.replaced(demands=read_demands(text, system))
        return replace(draft, record=truck.replaced(air=supply))
    value = air_field(key).read(text, system)
    follows = _follower(truck, key, value)
    record = change_record(truck, {key: value, **follows})
    return replace(draft, record=record.replaced(typical=(*record.typical, *follows)) if follows else record)


def confirm_air(draft: Draft[Truck], keys: Iterable[str]) -> Draft[Truck]:
    """Return the draft with typical numbers of the air supply made the owner's own, as they are."""
    truck = with_typical_air(draft.record)
    own = {path for key in keys for path in (_CHARTED if key == CHART else (path_of(key),))}
    return replace(draft, record=truck.replaced(typical=tuple(path for path in truck.typical if path not in own)))


def _follower(truck: Truck, key: str, value: Value) -> dict[str, Value]:
    """Return cut-out where it is typical and cut-in is given, or the other way about; else nothing."""
    if key not in _FOLLOW or not isinstance(value, Quantity):
        return {}
    other = _FOLLOW[1 - _FOLLOW.index(key)]
    if other not in truck.typical:
        return {}
    name, moved = (one.removeprefix(f"{AIR}.") for one in (key, other))
    return {other: str(typical_air(float(truck.wheelbase), **{name: float(value)})[moved].in_file("us"))}


def _with_chart(truck: Truck, points: list[tuple[Quantity, Quantity]]) -> Truck:
    """Return a truck with another chart of its compressor."""
    assert truck.air is not None  # a typical one at least
    pressures, made = zip(*points, strict=True)
    typical = tuple(path for path in truck.typical if path not in _CHARTED)
    new: Truck = truck.replaced(air=truck.air.replaced(delivery_pressure=pressures, delivery=made), typical=typical)
    return new


def read_demands(text: str, system: System) -> list[dict[str, Any]]:
    r"""Return the other users of the tank, as a file has them: name, free air while it runs, time in one go.

    A line each, or one after the other with " / " between them, as a terminal takes one line.

    Raises
    ------
    Refusal
        Naming the line that does not read.

    Examples
    --------
    >>> read_demands("horn: 4 ft**3/min, 5 s", "us")
    [{'name': 'horn', 'flow': <4 ft**3/min>, 'time': <5 s>}]
    """

    def demand(line: str) -> dict[str, Any]:
        name, _, rest = line.partition(":")
        flow, _, time = rest.replace(";", ", ").rpartition(", ")
        if not (name.strip() and flow.strip() and time.strip()):
            rule = "expected a name, a free-air flow and a time"
            raise Refusal(rule, shown(line), "write one such as horn: 4 cfm, 5 s")
        made, lasts = read_quantity(flow.strip(), "free-air flow", system), read_quantity(time, "time", system)
        return {"name": name.strip(), "flow": made, "time": lasts}

    return _read_lines(text, demand)


def _read_lines(text: str, read: Callable[[str], Read]) -> list[Read]:
    """Return what each line of a text says that says something; a Refusal names the line."""
    found = []
    for row, line in enumerate((one.strip() for one in text.replace(" / ", "\n").splitlines() if one.strip()), start=1):
        try:
            found.append(read(line))
        except Refusal as refusal:
            raise Refusal(f"line {row}: {refusal.rule}", refusal.got, refusal.remedy) from refusal
    return found


def read_delivery(text: str, system: System) -> list[tuple[Quantity, Quantity]]:
    r"""Return the points of a compressor's chart: pressure and free air, the lowest pressure first.

    A line each, or one after the other with " / " between them, as a terminal takes one line.

    Raises
    ------
    Refusal
        Naming the line that does not read.

    Examples
    --------
    >>> read_delivery("0: 1.8\n100 psi  31 L/min", "us")
    [(<0 psi>, <1.8 ft**3/min>), (<100 psi>, <31 L/min>)]
    >>> read_delivery("0 1.8 / 100 1.1", "us")[1]
    (<100 psi>, <1.1 ft**3/min>)
    """

    def point(line: str) -> tuple[Quantity, Quantity]:
        pressure, flow = _halves(line)
        return read_quantity(pressure, "pressure", system), read_quantity(flow, "free-air flow", system)

    points = _read_lines(text, point)
    if not points:
        raise Refusal("must have a line for each point", "nothing", "write one such as 100 psi: 1.1 cfm")
    return sorted(points, key=lambda point: point[0])


def _halves(line: str) -> tuple[str, str]:
    """Return the two halves of a line: apart by a colon, a semicolon, a tab or an @, else before its last number."""
    for mark in (":", ";", "\t", "@", ", "):
        first, found, second = line.partition(mark)
        if found and second.strip():
            return first.strip(), second.strip()
    words = line.split()
    starts = [n for n, word in enumerate(words) if word[0].isdigit() or word[0] in ".,"]
    if len(starts) != 2 or starts[0] != 0:
        rule = "expected a pressure and a free-air flow"
        raise Refusal(rule, shown(line), "write one such as 100 psi: 1.1 cfm")
    return " ".join(words[: starts[1]]), " ".join(words[starts[1] :])
