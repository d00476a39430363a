"""An answer as plain lines for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from planner.plans.answer import AXLES, CORNERS, SIDES, Answer, Finding
from planner.plans.setup import Setup
from planner.show.drawings.svg import clean
from planner.show.text.numbers import hertz, say, sentence, write
from planner.show.text.rating_rows import Rated, rating_rows
from planner.show.text.words import (
    COUPLING_PARTS,
    aboard_change_words,
    coupling_words,
    heavier_side,
    hitch_words,
    marked,
    set_ride_heights,
    standing,
    warm_words,
)
from planner.units.quantity import System

LINE: Final = 80  # characters of a terminal
NO_BAG: Final = "steel"


def answer_lines(name: str, setup: Setup, answer: Answer, system: System) -> list[str]:
    """Return an answer as lines: pressures first, as the truck stands seen from above; findings last, worst first."""
    return [
        clean(name),
        outfit_line(setup),
        *_aboard_lines(setup, system),
        "",
        *pressure_lines(setup, answer, system),
        "",
        *_loads(setup, answer, system),
        "",
        *_stands(setup, answer, system),
        "",
        *finding_lines(answer.findings, system),
    ]


def outfit_line(setup: Setup) -> str:
    """Truck, trailer and hitch by name."""
    truck = clean(setup.truck.name)
    if setup.trailer is None or setup.hitch is None:
        return f"{truck}, no trailer"
    return f"{truck} with {clean(setup.trailer.name)} on its {clean(setup.hitch.name)}"


def _aboard_lines(setup: Setup, system: System) -> Iterator[str]:
    """Yield who is aboard, if not as weighed."""
    if words := aboard_change_words(setup, system):
        yield from textwrap.wrap(f"{words}.", LINE)


def _row(label: str, cells: list[str]) -> str:
    """Return a label and columns that line up."""
    return f"  {label:<7}" + "".join(f"{cell:>13}" for cell in cells)


def pressure_lines(setup: Setup, answer: Answer, system: System) -> Iterator[str]:
    """The pressures to set; with the valves shut, what the gauges now read."""
    what = "Now reads, the valves shut" if answer.set.sealed else "Set"
    yield f"{what}, as the truck stands seen from above, front at the top:"
    yield _row("", [*SIDES])
    step = float(setup.truck.instruments.gauge_step)
    for name, pressures in zip(AXLES, answer.set.pressure, strict=True):
        yield _row(
            name, [say(float(p), "pressure", system, step=step) if np.isfinite(p) else NO_BAG for p in pressures]
        )


def exact_rows(setup: Setup, answer: Answer, system: System) -> Iterator[tuple[str, str, str, str, str]]:
    """Yield of each corner, and of the coupling, its name, pressures to set and exact, heights at those and exact."""
    step = float(setup.truck.instruments.gauge_step)
    heights = set_ride_heights(setup, answer)
    for corner, at in zip(CORNERS, np.ndindex(2, 2), strict=True):
        has_bag = bool(np.isfinite(answer.pressure[at]))
        set_to = say(float(answer.set.pressure[at]), "pressure", system, step=step) if has_bag else NO_BAG
        exact = say(float(answer.pressure[at]), "pressure", system, step=step, exact=True) if has_bag else ""
        height = say(float(heights[at]), "length", system)
        fine = say(float(answer.ride_height[at]), "length", system, exact=True)
        yield corner.replace("_", " ").capitalize(), set_to, exact, height, fine
    at_set = answer.set.coupling_height
    if setup.hitch is not None and at_set is not None and answer.coupling_height is not None:
        fine = say(answer.coupling_height, "length", system, exact=True)
        yield COUPLING_PARTS[setup.hitch.coupling].capitalize(), "", "", say(at_set, "length", system), fine


def _loads(setup: Setup, answer: Answer, system: System) -> Iterator[str]:
    """Tyres as the truck stands, then everything that has a rating."""
    yield "On the tyres:"
    for name, loads in zip(AXLES, answer.tyre_load, strict=True):
        side = heavier_side(loads)
        words = f"   {side} side heavier" if side else ""
        yield _row(name, [say(float(load), "load", system) for load in loads]) + words
    for group in rating_rows(setup, answer):
        yield ""
        yield f"{group.title}:"
        yield from (_rated_line(row, system) for row in group.rows)


def _rated_line(row: Rated, system: System) -> str:
    """One load beside its rating."""
    value, limit = say(row.value, row.kind, system, step=row.step), say(row.limit, row.kind, system)
    least = f"{write(row.least, row.kind, system).number} to " if row.least else ""
    said = f"  {row.label:<26}{value:>11} of {least}{limit}"
    if row.over:
        return f"{said}, over by {say(row.over, row.kind, system, step=row.step)}"
    return f"{said}, under by {say(row.under, row.kind, system, step=row.step)}" if row.under else said


def _stands(setup: Setup, answer: Answer, system: System) -> Iterator[str]:
    """Stance, ride heights, hitch, bounce."""
    yield f"Stands {standing(answer.set.stance, setup, system)}."
    hitch = [hitch_words(setup, answer, system), coupling_words(setup, answer.set.coupling_height, system)]
    if said := ", ".join(words for words in hitch if words):
        yield said[0].upper() + said[1:] + "."
    yield "Ride heights, wheel centre to arch lip:"
    for name, heights in zip(AXLES, set_ride_heights(setup, answer), strict=True):
        yield _row(name, [say(float(height), "length", system) for height in heights])
    front, rear = (hertz(float(f)) for f in answer.bounce_frequency)
    yield f"Bounces at {front} in front, {rear} behind."
    yield from textwrap.wrap(warm_words(setup, answer, system), LINE)


def finding_lines(findings: Sequence[Finding], system: System) -> Iterator[str]:
    """The findings, worst first."""
    if not findings:
        yield "No findings."
    for finding in findings:
        yield from textwrap.wrap(
            sentence(finding, system), LINE, initial_indent=f"{marked(finding.level):<10} ", subsequent_indent=" " * 11
        )
