"""A leak test in words and as an object: what cold explains, what leaks, and what to try next."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import Any, Final

import numpy as np

from planner.physics.error_band import SURE
from planner.physics.validation import Array
from planner.plans.answer import AXLES, CORNERS, SIDES, Finding, Kind
from planner.plans.drift import Drift
from planner.plans.drift_findings import RULE, lost_in_five_minutes
from planner.plans.reading_history import LowCorner, low_corner_finding
from planner.plans.setup import Setup
from planner.records.fields import PRESSURE_SLACK
from planner.show.drawings.svg import clean
from planner.show.text.as_json import corners, finding_object, number
from planner.show.text.numbers import say, sentence
from planner.show.text.report import LINE, NO_BAG, outfit_line
from planner.show.text.words import marked
from planner.units.quantity import System, display

HOURS_UP_TO: Final = 2.0  # [days] under which the time between two readings is told in hours


def drift_lines(
    name: str, setup: Setup, drift: Drift, system: System, low_corner: LowCorner | None = None
) -> list[str]:
    """Return a leak test as lines: the gauges as the truck stands seen from above, then what they say, worst first."""
    return [
        clean(name),
        outfit_line(setup),
        "",
        f"Over {time_words(drift.days)}, left and right, front at the top:",
        *_table(drift, system),
        "",
        *textwrap.wrap(" ".join((rule_words(drift, system), *hole_words(drift))), LINE),
        "",
        *(line for finding in drift.findings for line in _finding_lines(finding, system)),
        *([] if low_corner is None else textwrap.wrap(low_corner_words(low_corner, system), LINE)),
    ]


def drift_verdict(setup: Setup, drift: Drift) -> str:
    """Return what a leak test has found, in a line: "A leak: rear left."."""
    where = []
    for k, axle in enumerate((setup.truck.front, setup.truck.rear)):
        joined = axle.plumbing == "joined"
        names = [f"{AXLES[k]} line"] if joined else [f"{AXLES[k]} {side}" for side in SIDES]
        where += [name for name, leak in zip(names, drift.leak[k], strict=False) if np.isfinite(leak)]
    return f"A leak: {' and '.join(where)}." if where else "No leak that these gauges can show."


def drift_rows(drift: Drift, system: System) -> Iterator[tuple[str, ...]]:
    """Yield a row a corner with a bag: its name, before, after, explained by cold and altitude, left over."""
    parts = (drift.before, drift.after, drift.expected, drift.lost - drift.expected)
    for place, corner in enumerate(CORNERS):
        values = [float(part.ravel()[place]) for part in parts]
        if np.isfinite(values).all():
            yield corner.replace("_", " "), *(say(value, "pressure", system, exact=True) for value in values)


def rule_words(drift: Drift, system: System) -> str:
    """Return what most of a line's loss is against the rule of five minutes, with the gauge's 95 % error."""
    excess = drift.lost - drift.expected
    k, i = np.unravel_index(np.nanargmax(excess), excess.shape)
    lost, error = (lost_in_five_minutes(float(one[k, i]), drift.days) for one in (excess, SURE * drift.sd))
    fails = lost > RULE + PRESSURE_SLACK
    return (
        f"In five minutes, cold and altitude taken off: {_fine(max(lost, 0.0), system)} {AXLES[k]} {SIDES[i]}, give or"
        f" take {_fine(error, system)}. 49 CFR 393.207(f) lets a commercial vehicle lose {_fine(RULE, system)}: "
        f"{'this fails' if fails else 'this passes'}."
    )


def hole_words(drift: Drift) -> list[str]:
    """Return how large a hole each leak is, in sentences."""
    return [
        f"The leak {AXLES[k]} {SIDES[i]} is like a sharp-edged hole of {1e3 * drift.orifice[k, i]:.2g} mm, and lets"
        f" {6e4 * drift.flow[k, i]:.2g} L of free air out a minute."
        for k, i in np.argwhere(np.isfinite(drift.orifice))
        if drift.orifice[k, i] > 0
    ]


def _fine(pressure: float, system: System) -> str:
    """Return a pressure with two digits, as the rule needs them."""
    number, unit = display(pressure, "pressure", system)
    places = 2 if system == "us" else 3
    text = f"{number:.{places}f}".rstrip("0").rstrip(".")
    return f"{text} {unit}" if float(text) or pressure == 0.0 else f"less than {10.0**-places:g} {unit}"


def drift_object(profile: str, drift: Drift, system: System) -> dict[str, Any]:
    """Return a leak test as an object: pressures Pa, leaks Pa per day, falls > 0; null with no bag or no leak."""
    found = {
        "profile": profile,
        "expected": corners(drift.expected),
        "lost": corners(drift.lost),
        "uncertainty": corners(drift.sd),
        "leak": corners(drift.leak),
        "leak_uncertainty": corners(drift.leak_sd),
        "days_to_least": corners(drift.days_to_least),
        "smallest_leak_seen": corners(drift.smallest_seen),
        "flow": corners(drift.flow),
        "orifice": corners(drift.orifice),
        "days": number(drift.days),
        "converged": drift.converged,
    }
    findings = [
        finding_object(finding, system) | {"text": drift_sentence(finding, system)} for finding in drift.findings
    ]
    return found | {"findings": findings}


def drift_sentence(finding: Finding, system: System) -> str:
    """Return a finding of a leak test as a sentence, pressures with one decimal more than a gauge shows.

    Examples
    --------
    >>> drift_sentence(Finding("note", "x", "lost {value}", "", {"value": (10e3, "pressure")}), "us")
    'lost 1.5 psi'
    """

    def amount(value: float, kind: Kind) -> str:
        return say(value, kind, system, exact=True)

    return finding.say(amount)


def low_corner_words(corner: LowCorner, system: System) -> str:
    """Return in words which corner keeps asking for more air, and by what odds that is no chance."""
    return sentence(low_corner_finding(corner), system)


def time_words(days: float) -> str:
    """Return a time between two readings in words.

    Examples
    --------
    >>> time_words(0.5), time_words(3.0)
    ('12 hours', '3 days')
    """
    if days < 1.0 / 24.0:
        return f"{days * 1440.0:.0f} minutes"
    return f"{days * 24.0:.3g} hours" if days < HOURS_UP_TO else f"{days:.3g} days"


def _table(drift: Drift, system: System) -> Iterator[str]:
    """Yield the gauges at both readings, what is explained, and what is left."""
    yield f"  {'':<8}{'before':<20}{'after':<20}{'explained':<20}{'left over'}"
    parts = (drift.before, drift.after, drift.expected, drift.lost - drift.expected)
    for k, name in enumerate(AXLES):
        yield (f"  {name:<8}" + "".join(f"{_pair(part[k], system):<20}" for part in parts)).rstrip()


def _pair(values: Array, system: System) -> str:
    """Return what is left and right, in words."""
    if not np.isfinite(values).all():
        return NO_BAG
    return "  ".join(say(float(value), "pressure", system, exact=True) for value in values)


def _finding_lines(finding: Finding, system: System) -> list[str]:
    return textwrap.wrap(
        drift_sentence(finding, system),
        LINE,
        initial_indent=f"{marked(finding.level):<10} ",
        subsequent_indent=" " * 11,
    )
