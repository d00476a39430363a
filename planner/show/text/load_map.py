"""The map in words: what stops a load, where this load stands, and what more of it would meet first."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple

import numpy as np

from planner.plans.load_map import LoadMap
from planner.plans.map_inputs import Input
from planner.plans.stops import NOT_REACHED, Stop
from planner.show.text.numbers import say
from planner.show.text.uncertainty import finding_words
from planner.units.quantity import System

OF_BAG: Final = {  # the limit of a bag that keeps a truck from levelling
    "pressure-low": "it does not level within the least pressure of a {} bag",
    "pressure-high": "it does not level within the greatest pressure of a {} bag",
    "bag-load": "it does not level within the load rating of a {} bag",
    "bag-height-low": "it does not level within the lowest height on the chart of a {} bag",
    "bag-height-high": "it does not level within the greatest height on the chart of a {} bag",
}
OF_STANCE: Final = {
    "stance-not-reached-front": "nothing is over, but the front stays off its height",
    "stance-not-reached-rear": "nothing is over, but the rear stays off its height",
    "lean-left-over": "nothing is over, but a lean is left",
}
NOTHING: Final = "it levels, and no limit or label is passed"
WAYS: Final = {  # more and less of an input, by the end of its key
    "weight": ("Heavier", "Lighter"),
    "tongue": ("With more on the tongue", "With less on the tongue"),
    "left": ("With more on the left", "With less on the left"),
    "bars": ("With more put back by the bars", "With less put back by the bars"),
    "x": ("Further ahead", "Further back"),
    "y": ("Further left", "Further right"),
    "front": ("Higher in front", "Lower in front"),
    "rear": ("Higher behind", "Lower behind"),
    "lean": ("With the left side higher", "With the left side lower"),
}


class Area(NamedTuple):
    """One area of the map: its code, its letter ("" for the one where nothing stops a load), its words, its share."""

    code: int
    letter: str
    words: str
    share: float


def areas(found: LoadMap, system: System) -> list[Area]:
    """Return the areas there are: where nothing stops a load first, then by what does, in the order of the limits."""
    letters = iter("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
    codes, counts = np.unique(found.code, return_counts=True)
    return [
        Area(int(code), next(letters) if code else "", with_limit(found.stop(int(code)), system), count / counts.sum())
        for code, count in zip(codes, counts.tolist(), strict=True)
    ]


def stop_words(stop: Stop | None) -> str:
    """Return what stops a load in a few words: "the rear axle is over its GAWR"."""
    if stop is None:
        return NOTHING
    if stop.code == NOT_REACHED:
        return "it does not come to the wanted stance"
    if stop.kind == "bag":
        rule, _, axle = stop.code.rpartition("-")
        return OF_BAG[rule].format(axle)
    return OF_STANCE[stop.code] if stop.kind == "stance" else finding_words(stop.code)


def with_limit(stop: Stop | None, system: System) -> str:
    """Return the same with the limit: "the rear axle is over its GAWR, 6,000 lb"."""
    limit = "" if stop is None or stop.limit is None else f", {say(stop.limit, stop.what, system)}"
    return f"{stop_words(stop)}{limit}"


def sentences(found: LoadMap, system: System) -> list[str]:
    """Return where this load stands, and what more of it meets first or how much less frees it."""
    stop = found.stop(found.here)
    more, less = WAYS[found.x.key.rpartition(".")[2]]
    if stop is None:
        first = f"This load is inside: {NOTHING}."
    elif stop.kind == "stance":
        first = f"With this load {OF_STANCE[stop.code]}."
    else:
        first = f"This load is stopped: {with_limit(stop, system)}."
    if found.more is not None:
        met = stop_words(found.stop(found.more.code))
        return [first, f"{more}, the first thing it meets is at {_value(found.x, found.more.value, system)}: {met}."]
    if found.less is not None:
        return [first, f"{less}, it is free again from {_value(found.x, found.less.value, system)}."]
    if stop is None or stop.kind == "stance":
        return [first, f"{more}, nothing stops it up to {_value(found.x, float(found.x_values[-1]), system)}."]
    return [first, f"{less}, it is still stopped down to {_value(found.x, float(found.x_values[0]), system)}."]


def alt_text(found: LoadMap, lines: list[str], system: System) -> str:
    """Return the map in words; ``lines`` are the pressures that lines are drawn for."""
    ends = [
        f"{_name(one)} from {_value(one, float(values[0]), system)} to {_value(one, float(values[-1]), system)}"
        for one, values in ((found.x, found.x_values), (found.y, found.y_values))
    ]
    own = " and ".join(_value(one, one.value, system) for one in (found.x, found.y))
    parts = "; ".join(f"{_part(area.share)} {area.words}" for area in areas(found, system))
    said = [
        *sentences(found, system),
        f"Across: {ends[0]}; up: {ends[1]}; this load is at {own}.",
        f"Of this: {parts}.",
    ]
    if lines:
        said.append(f"Lines of equal pressure of the {found.pressure_axle} bags: {', '.join(lines)}.")
    return " ".join(said)


def axis_title(one: Input, unit: str) -> str:
    """Return what stands at an axis: "Trailer weight, lb"."""
    return f"{one.label}, {unit}"


def _name(one: Input) -> str:
    return f"{one.label[0].lower()}{one.label[1:]}" if not one.key.startswith("cargo") else one.label


def _value(one: Input, value: float, system: System) -> str:
    return say(value, one.kind, system)


def _part(share: float) -> str:
    """Return a share of the map: "62 %", "under 1 %"."""
    return "under 1 %" if share < 0.01 else f"{100 * share:.0f} %"


def key_lines(found: LoadMap, lines: bool) -> Iterator[str]:
    """Yield how to read the drawing beyond its areas."""
    if lines:
        yield f"Lines: pressure of the {found.pressure_axle} bags, the mean of left and right."
    elif not found.pressure_axle:
        yield "No bags: no lines of pressure."
