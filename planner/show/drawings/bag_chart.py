"""The chart of a bag: load or area over height, a line for each pressure, and where the truck has it fitted."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from planner.physics.chart import Curve
from planner.physics.validation import Array
from planner.records.bag import Bag, Chart
from planner.show.drawings.axes import TICKS, Scale, tick_text
from planner.show.drawings.dimensioning import DASHES, spread
from planner.show.drawings.palette import LIGHT
from planner.show.drawings.svg import MARGIN, SMALL, WIDTH, Drawing, document, line, shape, tag, text, wrapped
from planner.show.text.numbers import round_step, say
from planner.units.quantity import System, display

Shown = Literal["load", "area"]
LEFT, RIGHT = 58.0, 312.0  # of the chart
TOP, BOTTOM = 34.0, 216.0
NAMES: Final = RIGHT + 14.0  # the pressures stand at the ends of their lines
ROW: Final = 19.0
FINE: Final = 41  # points of a line
ROOM: Final = 1.06  # above the highest point
TITLES: Final[dict[Shown, str]] = {"load": "Load", "area": "Area"}


@dataclass(frozen=True)
class _Line:
    """One line of the chart: its pressure in words, points and curve (height [m], load [N] or area [m²])."""

    name: str
    points: tuple[tuple[float, float], ...]
    curve: tuple[tuple[float, float], ...]


def bag_chart(chart: Chart, system: System, *, of: Shown = "load", fitted_height: float | None = None) -> Drawing:
    """Return what a chart says of a bag, as it is read between its points.

    Parameters
    ----------
    chart : a chart that makes sense, or a whole bag; of one height a bag has a typical slope, drawn in dashes
    system : "us" or "metric"
    of : load at each pressure, or effective area; a chart that was given as areas has areas only
    fitted_height : where it is fitted, if that is known; that of a bag, where left out [m]

    Returns
    -------
    Drawing
        400 wide: points as charted, a line for each pressure, the fitted height with what is read there in words.
    """
    shown = "area" if chart.area is not None else of
    fitted = float(chart.fitted_height) if fitted_height is None and isinstance(chart, Bag) else fitted_height
    lines = _lines(chart, shown, system)
    across, up = _scales(lines, fitted, shown, system)
    body = [*_axes(across, up, shown), *_drawn(lines, across, up, typical=len(chart.height) == 1)]
    words = _words(chart, lines, fitted, shown, system)
    if fitted is not None:
        body += _fitted(lines, fitted, across, up)
    y = BOTTOM + 62.0
    for part in wrapped(words, SMALL, WIDTH - 2 * MARGIN, 6):
        body.append(text(part, MARGIN, y, LIGHT.ink))
        y += ROW
    title = f"{TITLES[shown]} of the bag over its height"
    return document("bag-chart", y, title, f"{title}. {_alt(lines, shown, system)} {words}", body)


def _lines(chart: Chart, shown: Shown, system: System) -> list[_Line]:
    """Return a line for each pressure, the lowest first."""
    pressures = chart.pressures
    if chart.load_at is not None and not isinstance(chart.load_at, tuple):
        pressures = (float(chart.load_at),)
    charted, heights = tuple(float(one) for one in chart.height), np.array(chart.heights)
    found = []
    for i, (areas, at_points) in enumerate(zip(chart.area_rows, chart.charted_areas, strict=True)):
        times = pressures[i] if shown == "load" and pressures else 1.0
        curve = _curve(heights, times * np.array(areas))
        points = tuple((height, times * area) for height, area in zip(charted, at_points, strict=True))
        found.append(_Line(say(pressures[i], "pressure", system) if pressures else "", points, curve))
    return found


def _curve(heights: Array, values: Array) -> tuple[tuple[float, float], ...]:
    """Return fine points of a row as it is read; a single point is no line."""
    if len(heights) < 2:
        return ()
    fine = np.linspace(heights[0], heights[-1], FINE)
    return tuple(zip(fine.tolist(), Curve(heights, values).value(fine).tolist(), strict=True))


def _scales(lines: Sequence[_Line], fitted: float | None, shown: Shown, system: System) -> tuple[Scale, Scale]:
    """Return the scale of heights and that of loads, from nought, or areas."""
    marks = [mark for one in lines for mark in one.points + one.curve]
    heights = [height for height, _ in marks] + ([] if fitted is None else [fitted])
    values = [value for _, value in marks]
    across = _round(min(heights), max(heights), *display(1.0, "length", system))
    low = 0.0 if shown == "load" else min(values) - 0.5 * (max(values) - min(values))
    return across, _round(max(low, 0.0), ROOM * max(values), *display(1.0, shown, system))


def _round(low: float, high: float, per_si: float, unit: str) -> Scale:
    """Return a range with its ends moved out to round numbers."""
    low, high = low * per_si, high * per_si
    step = round_step((high - low if high > low else abs(high)) / TICKS)
    first, last = step * math.floor(low / step + 1e-9), step * math.ceil(high / step - 1e-9)
    return Scale(first, max(last, first + step), step, per_si, unit)


def _x(height: float, across: Scale) -> float:
    """Return how far across the paper a height is."""
    return LEFT + (RIGHT - LEFT) * across.part(height)


def _y(value: float, up: Scale) -> float:
    """Return how far down the paper a load or an area is."""
    return BOTTOM - (BOTTOM - TOP) * up.part(value)


def _axes(across: Scale, up: Scale, shown: Shown) -> Iterator[str]:
    """Round numbers of both scales with their lines, units at their ends."""
    for tick in across.ticks:
        x = _x(tick / across.per_si, across)
        yield line(x, TOP, x, BOTTOM, LIGHT.ground)
        yield text(tick_text(tick), x, BOTTOM + 18, LIGHT.soft, anchor="middle")
    for tick in up.ticks:
        y = _y(tick / up.per_si, up)
        yield line(LEFT - 4, y, RIGHT, y, LIGHT.ground)
        yield text(tick_text(tick), LEFT - 8, y + 5, LIGHT.soft, anchor="end")
    yield text(f"{TITLES[shown]}, {up.unit}", MARGIN, TOP - 14, LIGHT.soft)
    yield text(f"Height, {across.unit}", (LEFT + RIGHT) / 2.0, BOTTOM + 36, LIGHT.soft, anchor="middle")
    yield line(LEFT, BOTTOM, RIGHT, BOTTOM, LIGHT.ink, 1.5)


def _drawn(lines: Sequence[_Line], across: Scale, up: Scale, *, typical: bool) -> Iterator[str]:
    """The lines, dashed where their slope is typical, with a dot at each point and their pressures at their ends."""
    ends = [_y((one.curve or one.points)[-1][1], up) for one in lines]
    places = spread([end + 5 for end in ends], ROW, TOP, BOTTOM)
    for one, end, place in zip(lines, ends, places, strict=True):
        if one.curve:
            on_paper = [(_x(height, across), _y(value, up)) for height, value in one.curve]
            yield shape(on_paper, LIGHT.air, closed=False, dash=DASHES if typical else None, cls="row")
        for height, value in one.points:
            x, y = _x(height, across), _y(value, up)
            yield tag("circle", cx=x, cy=y, r=3.0, fill=LIGHT.paper, stroke=LIGHT.air, stroke_width=1.6, cls="point")
        if one.name:
            yield line(_x((one.curve or one.points)[-1][0], across) + 4, end, NAMES - 4, place - 5, LIGHT.soft, 0.8)
            yield text(one.name, NAMES, place, LIGHT.ink)


def _fitted(lines: Sequence[_Line], fitted: float, across: Scale, up: Scale) -> Iterator[str]:
    """The fitted height as an upright dashed line, and a full dot where each line meets it."""
    x = _x(fitted, across)
    yield line(x, TOP - 4, x, BOTTOM, LIGHT.ink, 1.4, dash=DASHES)
    yield text("fitted", x, TOP - 8, LIGHT.ink, anchor="middle", halo=LIGHT.paper)
    for one in lines:
        value = _at(one, fitted)
        if value is not None:
            yield tag("circle", cx=x, cy=_y(value, up), r=4.0, fill=LIGHT.ink, cls="fitted")


def _at(one: _Line, height: float) -> float | None:
    """Return what a line says at a height; None off its ends."""
    marks = one.curve or one.points
    if not marks[0][0] <= height <= marks[-1][0]:
        return None
    return float(np.interp(height, [mark[0] for mark in marks], [mark[1] for mark in marks]))


def _said(value: float, shown: Shown, system: System) -> str:
    """Return a load or an area in words."""
    if shown == "load":
        return say(value, "load", system)
    number, unit = display(value, "area", system)
    return f"{number:.1f} {unit}"


def _words(chart: Chart, lines: Sequence[_Line], fitted: float | None, shown: Shown, system: System) -> str:
    """Return what is read at the fitted height, and what is typical."""
    words = []
    if fitted is not None:
        read = [(one, value) for one in lines if (value := _at(one, fitted)) is not None]
        values = ", ".join(_said(value, shown, system) + (f" at {one.name}" if one.name else "") for one, value in read)
        where = f"At the fitted height, {say(fitted, 'length', system)}: "
        words.append(f"{where}{values}." if read else f"{where}off the chart.")
    if len(chart.height) == 1:
        words.append("Charted at one height: slope and ends are typical.")
    return " ".join(words)


def _alt(lines: Sequence[_Line], shown: Shown, system: System) -> str:
    """Return the points in words."""
    rows = []
    for one in lines:
        points = ", ".join(f"{_said(v, shown, system)} at {say(b, 'length', system)}" for b, v in one.points)
        rows.append(f"{one.name}: {points}" if one.name else points)
    return f"{'; '.join(rows)}."
