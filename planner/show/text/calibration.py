"""What readings teach of a truck, in words and as an object."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import Any, Final

from planner.plans.answer import Kind
from planner.plans.calibration import Calibration, Doubt, Moved, NextReading, Parameter, Residual
from planner.plans.weighed_truck import What
from planner.show.drawings.svg import clean
from planner.show.text.as_json import number
from planner.show.text.numbers import say
from planner.show.text.report import LINE
from planner.units.quantity import System, display

LABELS: Final[dict[What, str]] = {
    "area_scale": "bag area, over its chart's",
    "area_slope": "bag area's slope, a 4 in rise",
    "area_sides": "bag area, left over right",
    "steel_load": "steel's load",
    "steel_rate": "steel's rate",
    "tyre_rate": "tyre rate, each",
}
SLOPE_OVER: Final = 0.1016  # [m] 4 in
RATE_UNITS: Final[dict[System, str]] = {"us": "lbf/in", "metric": "N/mm"}
TOGETHER: Final = 0.5  # [-] correlation from which on it is told of
AT: Final = {
    "ride_height": "ride height",
    "pressure": "pressure",
    "steel": "force on steel",
    "line": "line's two gauges",
    "axle_load": "axle on the scale",
}
KINDS: Final[dict[str, Kind]] = {
    "ride_height": "length",
    "pressure": "pressure",
    "steel": "load",
    "line": "pressure",
    "axle_load": "load",
}


def calibration_lines(found: Calibration, system: System) -> list[str]:
    """Return what readings teach as lines: each number before and after, what is asked about, what to read next."""
    count = len(found.readings)
    return [
        clean(found.truck.name),
        f"From {count} reading{'s' if count > 1 else ''} on a scale, with what was known before:",
        "",
        f"  {'':<38}{'before':<28}learnt",
        *(_parameter_line(*row) for row in parameter_rows(found, system)),
        "",
        *_wrapped(_paragraphs(found, system)),
    ]


def calibration_object(found: Calibration, system: System) -> dict[str, Any]:
    """Return the same as an object: SI numbers; heights m, pressures Pa, forces N; next_reading in words."""
    return {
        "parameters": {
            one.path: {
                "value": number(one.value),
                "sd": number(one.sd),
                "prior": number(one.prior.value),
                "prior_sd": number(one.prior.sd),
                "learnt": one.learnt,
            }
            for one in found.parameters
        },
        "correlation": [[number(value) for value in row] for row in found.correlation],
        "residuals": [_residual_object(one) for one in found.residuals],
        "doubts": [
            _residual_object(one.residual) | {"swapped": one.swapped, "text": doubt_words(one, system)}
            for one in found.doubts
        ],
        "moved": [
            {
                "reading": one.reading,
                "parameter": one.path,
                "by": number(one.by),
                "text": moved_words(one, found, system),
            }
            for one in found.moved
        ],
        "next_reading": next_words(found.next_reading, system),
        "converged": found.converged,
    }


def _residual_object(one: Residual) -> dict[str, Any]:
    return {
        "reading": one.reading,
        "what": one.what,
        "corner": one.corner,
        "measured": number(one.measured),
        "expected": number(one.expected),
        "residual": number(one.measured - one.expected),
        "off": number(one.off),
        "wild": one.wild,
    }


def doubt_words(doubt: Doubt, system: System) -> str:
    """Return the question about a number that does not go with the others."""
    one, kind = doubt.residual, KINDS[doubt.residual.what]
    where = f"Reading {one.reading + 1}, {one.corner.replace('_', ' ')}"
    if doubt.swapped:
        first, other = (corner.replace("_", " ") for corner in doubt.swapped)
        return f"{where}: {first} and {other} look swapped. Which is which? Both are left out."
    measured, expected = (say(value, kind, system, exact=kind == "pressure") for value in (one.measured, one.expected))
    return (
        f"{where}: the {AT[one.what]} says {measured} where the other readings have {expected}. A typo, or the wrong"
        " corner? It is left out until you fix it."
    )


def moved_words(one: Moved, found: Calibration, system: System) -> str:
    """Return which number a reading moved most: "reading 2 moved rear bag area most, by 1.2 %"."""
    if one.path is None:
        return f"reading {one.reading + 1} moved nothing"
    parameter = found[one.path]
    by = value_words(parameter, one.by, system)
    return f"reading {one.reading + 1} moved {_name(parameter)} most, by {by}"


def next_words(one: NextReading | None, system: System) -> str:
    """Return the reading that would help most: "one with 800 lb more on the rear"; empty where none would."""
    if one is None:
        return ""
    loads = [(one.front, "front"), (one.rear, "rear")]
    parts = [f"{say(load, 'load', system)} more on the {axle}" for load, axle in loads if load]
    if one.rise:
        parts.append(f"the body {say(abs(one.rise), 'length', system)} {'higher' if one.rise > 0 else 'lower'} by air")
    return f"one with {' and '.join(parts)}" if parts else "another one as the last was"


def value_words(one: Parameter, value: float, system: System) -> str:
    """Return a value, or a change of it, of a parameter's kind in words."""
    what = one.prior.what
    if what == "steel_load":
        return say(value, "load", system)
    if what in ("steel_rate", "tyre_rate"):
        shown, _ = display(value, "spring rate", system)
        return f"{shown:,.0f} {RATE_UNITS[system]}".replace("-", "\u2212")
    return say(value * (SLOPE_OVER if what == "area_slope" else 1.0), "share", system)


def _name(one: Parameter) -> str:
    """Return what a parameter is called in a sentence."""
    return f"{one.path.partition('.')[0]} {LABELS[one.prior.what].partition(',')[0]}"


def parameter_rows(found: Calibration, system: System) -> Iterator[tuple[str, str, str]]:
    """Yield each number of the truck: what it is called, before, and learnt; each with one standard deviation."""
    for one in found.parameters:
        label = f"{one.path.partition('.')[0]} {LABELS[one.prior.what]}"
        before, after = (
            f"{value_words(one, value, system)} ± {value_words(one, sd, system)}"
            for value, sd in ((one.prior.value, one.prior.sd), (one.value, one.sd))
        )
        yield label, before, after if one.learnt else "nothing new"


def residual_rows(found: Calibration, system: System) -> Iterator[tuple[str, str, str, str]]:
    """Yield each number of the readings: where, as measured, as the learnt truck has it, and by how many deviations."""
    for one in found.residuals:
        kind = KINDS[one.what]
        measured, expected = (
            say(value, kind, system, exact=kind in ("pressure", "length")) for value in (one.measured, one.expected)
        )
        where = f"{one.reading + 1}, {one.corner.replace('_', ' ')} {AT[one.what]}"
        yield where, measured, expected, f"{one.off:+.1f}".replace("-", "\u2212")


def together_words(found: Calibration) -> Iterator[str]:
    """Yield which learnt numbers hang together: what one is off by, the other is off by too."""
    learnt = [n for n, one in enumerate(found.parameters) if one.learnt]
    for place, n in enumerate(learnt):
        for m in learnt[place + 1 :]:
            how = float(found.correlation[n, m])
            if abs(how) >= TOGETHER:
                one, other = (_name(found.parameters[k]) for k in (n, m))
                way = "if one is more than learnt, so is the other" if how > 0 else "if one is more, the other is less"
                yield f"{one} and {other} go together ({how:.2f}): {way}.".replace("-", "\u2212")


def _parameter_line(label: str, before: str, after: str) -> str:
    return f"  {label:<38}{before:<28}{after}".rstrip()


def _paragraphs(found: Calibration, system: System) -> Iterator[str]:
    yield from (doubt_words(one, system) for one in found.doubts)
    yield from told_lines(found, system)


def told_lines(found: Calibration, system: System) -> Iterator[str]:
    """Yield which reading moved what, which numbers hang together, and the reading that would help most."""
    moved = "; ".join(moved_words(one, found, system) for one in found.moved)
    yield moved[0].upper() + moved[1:] + "."
    yield from (words[0].upper() + words[1:] for words in together_words(found))
    if words := next_words(found.next_reading, system):
        yield f"The reading that would help most: {words}."
    if not found.converged:
        yield "No steady answer: check the readings before you use this."


def _wrapped(paragraphs: Iterator[str]) -> Iterator[str]:
    for one in paragraphs:
        yield from textwrap.wrap(one, LINE)
