"""Pressure against the share of the tongue load that the jack has let down on the truck."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from planner.physics.validation import Array
from planner.plans.answer import AXLES, SIDES
from planner.plans.hitching_stages import HitchPlan
from planner.show.drawings.dimensioning import spread
from planner.show.drawings.palette import LIGHT
from planner.show.drawings.svg import MARGIN, SMALL, WIDTH, Drawing, document, line, shape, tag, text, wrapped
from planner.show.text.numbers import say, write
from planner.units.quantity import System

STOPS: Final = (0.0, 0.25, 0.5, 0.75, 1.0)  # shares at which the pressures are written out
LEFT, RIGHT = 40.0, 294.0  # of the chart
TOP, BOTTOM = 22.0, 198.0
NAMES: Final = RIGHT + 30.0  # names stand at the ends of their lines
ROW: Final = 19.0
DASH: Final = {"left": None, "right": "6 4", "": None}
WEIGHT: Final = {"front": 1.4, "rear": 2.6}  # the rear, which moves most, is the heavier line


@dataclass(frozen=True)
class Line:
    """One line of the chart: its axle and side (empty for both), pressures at the shares [Pa]."""

    axle: str
    side: str
    pressure: Array

    @property
    def name(self) -> str:
        """What the line is called."""
        return f"{self.axle} {self.side}".strip()


def jack_curve(plan: HitchPlan, system: System) -> Drawing:
    """Return how the pressures rise while the jack lets the tongue down on the truck, the coupling kept at one height.

    A line for each bag (one for an axle whose sides are alike), and its pressures at five stops.
    """
    lines = _lines(plan)
    share, step = plan.jack_share.share, float(plan.setup.truck.instruments.gauge_step)
    body: list[str] = []
    y = BOTTOM
    if lines:
        highest = 1.08 * max(float(one.pressure.max()) for one in lines)
        body += _axes(highest, system)
        body += _drawn(lines, share, highest)
        table, y = _table(lines, share, step, system)
        body += table
    else:
        y = 0.0
    words = _words(lines, share, step, system)
    for part in wrapped(words, SMALL, WIDTH - 2 * MARGIN, 5):
        y += ROW
        body.append(text(part, MARGIN, y, LIGHT.ink))
    return document("jack", y + 10.0, "From the jack to the truck", _alt(lines, share, step, words, system), body)


def _lines(plan: HitchPlan) -> list[Line]:
    """Return a line for each side of each axle with bags; one for both where a gauge does not tell them apart."""
    found: list[Line] = []
    step = float(plan.setup.truck.instruments.gauge_step)
    for k, axle in enumerate(AXLES):
        pressure = plan.jack_share.pressure[:, k, :]
        if not np.isfinite(pressure).all():
            continue
        if float(np.abs(pressure[:, 0] - pressure[:, 1]).max()) < 0.5 * step:
            found.append(Line(axle, "", pressure.mean(axis=1)))
        else:
            found += [Line(axle, side, pressure[:, i]) for i, side in enumerate(SIDES)]
    return found


def _x(share: float) -> float:
    """Return how far across the paper a share is."""
    return LEFT + (RIGHT - LEFT) * share


def _y(pressure: float, highest: float) -> float:
    """Return how far down the paper a pressure is."""
    return BOTTOM - (BOTTOM - TOP) * pressure / highest


def _axes(highest: float, system: System) -> Iterator[str]:
    """The stops as upright lines with their shares below, round pressures at the left."""
    for stop in STOPS:
        yield line(_x(stop), TOP, _x(stop), BOTTOM, LIGHT.ground)
        yield text(say(stop, "share", system), _x(stop), BOTTOM + 18, LIGHT.soft, anchor="middle")
    unit = write(highest, "pressure", system).unit
    yield text(unit, LEFT - 8, TOP - 9, LIGHT.soft, anchor="end")
    si = highest / _number(highest, system)
    for tick in _ticks(highest / si):
        y = _y(tick * si, highest)
        yield line(LEFT - 4, y, RIGHT, y, LIGHT.ground)
        yield text(f"{tick:g}", LEFT - 8, y + 5, LIGHT.soft, anchor="end")
    yield line(LEFT, BOTTOM, RIGHT, BOTTOM, LIGHT.ink, 1.5)


def _number(pressure: float, system: System) -> float:
    """Return a pressure in the unit shown."""
    return float(write(pressure, "pressure", system, exact=True).number.replace(",", ""))


def _ticks(highest: float) -> list[float]:
    """Return round numbers from nought up to the highest, four to eight of them."""
    step = 10.0 ** np.floor(np.log10(highest))
    while highest / step < 3:
        step /= 2.0 if round(step / 10 ** np.floor(np.log10(step))) != 5 else 2.5
    return [round(n * step, 9) for n in range(1 + int(highest / step))]


def _drawn(lines: list[Line], share: Array, highest: float) -> Iterator[str]:
    """The lines with a dot at each stop, and their names at their ends."""
    ends = [_y(float(one.pressure[-1]), highest) for one in lines]
    places = spread([end + 5 for end in ends], ROW, TOP, BOTTOM)
    for one, end, place in zip(lines, ends, places, strict=True):
        points = [(_x(float(s)), _y(float(p), highest)) for s, p in zip(share, one.pressure, strict=True)]
        yield shape(points, LIGHT.air, width=WEIGHT[one.axle], closed=False, dash=DASH[one.side], cls="pressure")
        for stop in STOPS:
            y = _y(float(np.interp(stop, share, one.pressure)), highest)
            yield tag(
                "circle", cx=_x(stop), cy=y, r=3.0, fill=LIGHT.paper, stroke=LIGHT.air, stroke_width=1.6, cls="stop"
            )
        yield line(RIGHT + 4, end, NAMES - 4, place - 5, LIGHT.soft, 0.8)
        yield text(one.name, NAMES, place, LIGHT.ink)


def _stops(one: Line, share: Array, step: float, system: System) -> list[str]:
    """Return a line's pressures at the stops, as numbers."""
    return [write(float(np.interp(stop, share, one.pressure)), "pressure", system, step=step).number for stop in STOPS]


def _table(lines: list[Line], share: Array, step: float, system: System) -> tuple[list[str], float]:
    """Return the pressures at the stops, each under its stop, and where they end."""
    body, y = [line(MARGIN, BOTTOM + 26, WIDTH - MARGIN, BOTTOM + 26, LIGHT.ground)], BOTTOM + 26
    for one in lines:
        y += ROW
        for stop, said in zip(STOPS, _stops(one, share, step, system), strict=True):
            body.append(text(said, _x(stop), y, LIGHT.ink, anchor="middle", bold=True))
        body.append(text(one.name, NAMES, y, LIGHT.soft))
    return body, y + 8.0


def _words(lines: list[Line], share: Array, step: float, system: System) -> str:
    """Return how to read where one is."""
    if not lines:
        return "No bags: the steel carries the tongue, and no gauge shows how much of it has come down."
    most = max(lines, key=lambda one: abs(float(one.pressure[-1] - one.pressure[0])))
    half = write(float(np.interp(0.5, share, most.pressure)), "pressure", system, step=step)
    return (
        "Across: how much of the tongue is on the truck, from none at meet to all at lift. "
        f"Half of it is down when {most.name} reads {half} and the hitch still stands at the height where they met."
    )


def _alt(lines: list[Line], share: Array, step: float, words: str, system: System) -> str:
    """Return the chart in words."""
    stops = ", ".join(say(stop, "share", system) for stop in STOPS)
    unit = write(1e5, "pressure", system).unit
    rows = [f"{one.name} {', '.join(_stops(one, share, step, system))} {unit}" for one in lines]
    said = [f"Pressures with {stops} of the tongue load on the truck: {'; '.join(rows)}."] if rows else []
    return " ".join([*said, words])
