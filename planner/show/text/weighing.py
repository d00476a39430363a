"""What slips tell, as plain lines and as one object; the words are those of the page as well."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import Any, Final, NamedTuple

from planner.physics.constants import STANDARD_GRAVITY as G
from planner.plans.answer import Kind
from planner.plans.scale_readings import Told
from planner.plans.weighing import Weighed
from planner.show.drawings.svg import clean
from planner.show.text.as_json import finding_object
from planner.show.text.numbers import say, write
from planner.show.text.report import LINE, finding_lines
from planner.show.text.words import COUPLING_PARTS
from planner.units.quantity import System

LABELS: Final[dict[str, tuple[str, Kind]]] = {  # of what is told; the tongue load by the part that it is on
    "tongue": ("On the {part}, bars slack", "weight"),
    "gross": ("Trailer, gross", "weight"),
    "tongue_ratio": ("Tongue ratio", "share"),
    "lost": ("Off the front axle, hitched", "weight"),
    "restoration": ("Put back by the bars", "share"),
    "front": ("Front axle, truck alone", "weight"),
    "rear": ("Rear axle, truck alone", "weight"),
    "truck_left": ("Truck alone, on its left", "share"),
    "trailer_left": ("Trailer's weight, on its left", "share"),
    "hitch_left": ("Load on the hitch, on its left", "share"),
}
WAYS: Final = {
    "truck gain": "what the truck gained",
    "gross less axles": "all of the trailer less its axles, hitched",
    "jack": "the jack on the scale",
    "lever": "beam and bathroom scale",
    "axles and levers": "what one axle gained, by the truck's lengths",
    "with bars": "what the truck gained with the bars set, by the truck's lengths",
}
WEIGHINGS: Final = {
    "jack": "the jack on the scale, or beam and bathroom scale",
    "trailer": "the trailer unhitched, jack and all",
    "alone": "the truck alone, axle by axle",
    "hitched": "truck and trailer hitched, bars slack, axle by axle",
    "with bars": "the same with the bars set",
}
UNTOLD: Final = {
    "tongue": "the tongue load",
    "gross": "the trailer's weight",
    "tongue_ratio": "the tongue ratio",
    "restoration": "what bars put back",
}


class Row(NamedTuple):
    """One thing told: its name, what it is called, its value, and give or take how much, in words."""

    name: str
    label: str
    value: str
    sure: str


def told_rows(found: Weighed, system: System) -> list[Row]:
    """Return what is told, in the order in which it is read; the 95 % band beside each."""
    known = found.trailer or found.hitch
    part = COUPLING_PARTS["ball" if known is None else known.coupling]
    return [
        Row(name, label.format(part=part), say(one.value, kind, system), plus_minus(one, kind, system))
        for name, (label, kind) in LABELS.items()
        if (one := found.told.get(name)) is not None
    ]


def plus_minus(told: Told, kind: Kind, system: System) -> str:
    """Return the half width of the 95 % band: "± 46 lb"."""
    return f"± {say(told.half, kind, system)}"


def way_lines(found: Weighed, system: System) -> Iterator[str]:
    """Yield the tongue load by each way, and how far apart they are, if there are two or more."""
    for name, told in found.ways:
        yield f"By {WAYS[name]}: {say(told.value, 'weight', system)} {plus_minus(told, 'weight', system)}."
    if found.has_levers and "tongue" in found.told:
        told = found.told["tongue"]
        sure = plus_minus(told, "weight", system)
        yield f"All readings together, joined by the truck's lengths: {say(told.value, 'weight', system)} {sure}."
    if (apart := found.disagreement) is not None:
        within = "no more than" if apart.value <= apart.half else "more than"
        far, explained = (say(one, "weight", system) for one in (apart.value, apart.half))
        yield f"They are {far} apart, {within} the {explained} that the scale explains."


def untold_lines(found: Weighed) -> Iterator[str]:
    """Yield what the slips cannot tell, and which weighing would; the same weighings are said once."""
    by_way: dict[tuple[str, ...], list[str]] = {}
    for name, weighings in found.untold.items():
        by_way.setdefault(weighings, []).append(UNTOLD[name])
    for weighings, names in by_way.items():
        needed = ", and ".join(WEIGHINGS[one] for one in weighings) or "nothing more from a scale"
        yield f"Still unknown: {' and '.join(names)}. Weigh {needed}."


def range_words(found: Weighed, system: System) -> str:
    """Return the usual range of the tongue ratio: "usual 10 to 15 %"."""
    least, greatest = found.tongue_range
    return f"usual {write(least, 'share', system).number} to {say(greatest, 'share', system)}"


def weighing_lines(found: Weighed, system: System) -> list[str]:
    """Return what slips tell as lines for a terminal: values with their 95 % band, ways, what is missing, findings."""
    rows = told_rows(found, system)
    lines = [clean(found.slip.name), _with_what(found), ""]
    lines += [f"  {row.label:<32}{row.value:>10}  {row.sure}{_beside(row, found, system)}" for row in rows]
    lines += [""] if rows else []
    ways = list(way_lines(found, system))
    lines += ["Tongue load:", *_wrapped(ways), ""] if len(ways) > 1 else []
    missing = list(untold_lines(found))
    lines += [*_wrapped(missing), ""] if missing else []
    lines += [
        f"Give or take: 95 %, from the scale's division of {found.slip.resolution.text} and its tolerance.",
        *finding_lines(found.findings, system),
    ]
    return lines


def weighing_object(found: Weighed, system: System) -> dict[str, Any]:
    """Return what slips tell as an object: loads N, weights kg, shares; null where they do not tell it.

    ``_uncertainty`` is one standard deviation, ``_band`` holds the value with 95 %.
    """
    loads = {"tongue_load": "tongue", "gross_load": "gross", "front_axle_loss": "lost"}
    shares = {
        "tongue_ratio": "tongue_ratio",
        "front_axle_restoration": "restoration",
        "truck_left_share": "truck_left",
        "trailer_left_share": "trailer_left",
        "hitch_left_share": "hitch_left",
    }
    values: dict[str, Any] = {"name": found.slip.name}
    for names, factor in ((loads, G), (shares, 1.0)):
        for key, name in names.items():
            told = found.told.get(name)
            values[key] = None if told is None else factor * told.value
            values[f"{key}_uncertainty"] = None if told is None else factor * told.sd
            values[f"{key}_band"] = None if told is None else [factor * end for end in told.band]
    apart = found.disagreement
    return values | {
        "ways": [
            {"way": way.name, "tongue_load": G * way.told.value, "uncertainty": G * way.told.sd} for way in found.ways
        ],
        "disagreement": None if apart is None else G * apart.value,
        "disagreement_explained": None if apart is None else G * apart.half,
        "not_told": {name: list(weighings) for name, weighings in found.untold.items()},
        "findings": [finding_object(finding, system) for finding in found.findings],
    }


def _with_what(found: Weighed) -> str:
    """Return which truck, trailer and hitch are known."""
    names = [clean(one.name) for one in (found.truck, found.trailer, found.hitch) if one is not None]
    return ", ".join(names) if names else "no truck named: by the readings alone"


def _beside(row: Row, found: Weighed, system: System) -> str:
    """Return what stands behind a row."""
    return f"  ({range_words(found, system)})" if row.name == "tongue_ratio" else ""


def _wrapped(lines: list[str]) -> list[str]:
    """Return sentences broken to a terminal's width."""
    return [part for one in lines for part in textwrap.wrap(one, LINE, subsequent_indent="  ")]
