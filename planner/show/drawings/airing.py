"""One move at the valves against time: the gauge of each bag, and how far the truck leans on the way."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from planner.physics.validation import Array
from planner.plans.air_moves import AirMove
from planner.plans.answer import AXLES, SIDES
from planner.show.drawings.dimensioning import DASHES, spread
from planner.show.drawings.jack_curve import DASH, WEIGHT
from planner.show.drawings.palette import LIGHT
from planner.show.drawings.svg import MARGIN, SMALL, WIDTH, Drawing, document, line, shape, text, wrapped
from planner.show.text.air import time_words
from planner.show.text.numbers import in_unit, round_step, say
from planner.units.quantity import System

LEFT, NAMES = 56.0, WIDTH - MARGIN - 78.0  # of the chart, and of the names behind it
RIGHT: Final = NAMES - 16.0
TOP, BOTTOM = 24.0, 150.0  # of the gauges
LEAN_TOP, LEAN_BOTTOM = 178.0, 238.0  # of the lean
ROW: Final = 17.0
LEAST_BEYOND: Final = 2e-4  # [m] of lean that is worth a word
POINTS: Final = 49  # along the time, even: not those of the integrator, which move with its last digits
LEAST_LEAN: Final = 0.0127  # [m] that the scale of the lean reaches at least: small is to look small


def airing_view(move: AirMove, track: float, system: System) -> Drawing:
    """Return a move against time; waits for the compressor are not drawn.

    Parameters
    ----------
    move : AirMove
    track : over which the lean is told [m]
    system : "us" or "metric"
    """
    time, gauges, lean = _courses(move, track)
    per_si, unit = in_unit(1.0, "pressure", system)
    low, high = np.nanmin(gauges) * per_si, np.nanmax(gauges) * per_si
    step = round_step(max(high - low, 2.0 * per_si * 6895.0) / 3.0)
    frame = (step * np.floor(low / step), step * np.ceil(high / step + 1e-9))
    body = [text(unit, LEFT - 8, TOP - 9, LIGHT.soft, anchor="end")]
    for tick in np.arange(frame[0], frame[1] + 0.5 * step, step):
        y = _y(float(tick), frame)
        body += [
            line(LEFT - 4, y, RIGHT, y, LIGHT.ground),
            text(f"{tick:g}", LEFT - 8, y + 5, LIGHT.soft, anchor="end"),
        ]
    body += _gauges(time, gauges * per_si, frame)
    body += _lean(time, lean, system)
    body += _times(float(time[-1]))
    words = _words(lean, system)
    y = LEAN_BOTTOM + 37.0
    for part in wrapped(words, SMALL, WIDTH - 2 * MARGIN, 4):
        body.append(text(part, MARGIN, y, LIGHT.ink))
        y += ROW
    return document(
        "airing", y, f"{move.name.capitalize()} against time", f"{_alt(move, gauges, system)} {words}", body
    )


def _courses(move: AirMove, track: float) -> tuple[Array, Array, Array]:
    """Return times [s], gauges then, shape (n, 2, 2) [Pa], and by how much the left is over the right [m]."""
    clock, times, gauges, rolls = 0.0, list[Array](), list[Array](), list[Array]()
    for one in move.fillings:
        times.append(clock + one.times)
        gauges.append(one.pressure.reshape(-1, 4))
        rolls.append(one.roll)
        clock += float(one.times[-1])
    at = np.linspace(0.0, clock, POINTS)
    every, whole = np.concatenate(times), np.concatenate(gauges)
    read = np.stack([np.interp(at, every, whole[:, n]) for n in range(4)], axis=1).reshape(-1, 2, 2)
    return at, read, np.interp(at, every, np.concatenate(rolls)) * track


def _x(part: float) -> float:
    """Return how far across the paper a part of the time is."""
    return LEFT + (RIGHT - LEFT) * part


def _y(pressure: float, frame: tuple[float, float]) -> float:
    """Return how far down the paper a pressure in the unit shown is."""
    return BOTTOM - (BOTTOM - TOP) * (pressure - frame[0]) / (frame[1] - frame[0])


def _across(time: Array) -> list[float]:
    """Return how far across each point in time is."""
    return [_x(float(one / time[-1]) if time[-1] > 0 else 1.0) for one in time]


def _gauges(time: Array, gauges: Array, frame: tuple[float, float]) -> Iterator[str]:
    """Yield a line for each bag, named at its end."""
    bags = [(k, i) for k in (0, 1) for i in (0, 1) if np.isfinite(gauges[0, k, i])]
    ends = [_y(float(gauges[-1, k, i]), frame) for k, i in bags]
    places = spread([end + 5.0 for end in ends], ROW, TOP, BOTTOM + ROW)
    for (k, i), end, place in zip(bags, ends, places, strict=True):
        points = [(x, _y(float(one), frame)) for x, one in zip(_across(time), gauges[:, k, i], strict=True)]
        yield shape(points, LIGHT.air, width=WEIGHT[AXLES[k]], closed=False, dash=DASH[SIDES[i]], cls="gauge")
        yield line(RIGHT + 3, end, NAMES - 3, place - 5, LIGHT.soft, 0.8)
        yield text(f"{AXLES[k]} {SIDES[i]}", NAMES, place, LIGHT.ink)


def _lean(time: Array, lean: Array, system: System) -> Iterator[str]:
    """Yield how much higher the left is than the right."""
    middle, half = (LEAN_TOP + LEAN_BOTTOM) / 2, (LEAN_BOTTOM - LEAN_TOP) / 2
    reach = float(max(np.abs(lean).max(), LEAST_LEAN))
    yield line(LEFT, middle, RIGHT, middle, LIGHT.air, 1.2, dash=DASHES)
    yield text("lean", LEFT - 8, middle + 5, LIGHT.soft, anchor="end")
    points = [(x, middle - half * float(one) / reach) for x, one in zip(_across(time), lean, strict=True)]
    yield shape(points, LIGHT.ink, width=2.0, closed=False, cls="lean")
    yield text("left up", NAMES, LEAN_TOP + 8, LIGHT.soft)
    yield text(say(reach, "length", system), NAMES, LEAN_TOP + 8 + ROW, LIGHT.soft)
    yield text("right up", NAMES, LEAN_BOTTOM + 2, LIGHT.soft)


def _times(whole: float) -> Iterator[str]:
    """Yield the axis of time."""
    yield line(LEFT, LEAN_BOTTOM, RIGHT, LEAN_BOTTOM, LIGHT.ink, 1.5)
    yield text("0 s", LEFT, LEAN_BOTTOM + 15, LIGHT.soft)
    yield text(time_words(whole), RIGHT, LEAN_BOTTOM + 15, LIGHT.soft, anchor="end")


def _words(lean: Array, system: System) -> str:
    """Return how far it leans on the way beyond where it leans before and after."""
    far = say(float(np.abs(lean).max()), "length", system)
    if far.startswith("0 "):
        return "It stays level on the way, as near as a tape can tell."
    low, high = sorted((float(lean[0]), float(lean[-1])))
    left, right = float(lean.max()) - high, low - float(lean.min())
    if max(left, right) < LEAST_BEYOND:
        return f"It leans by {far} at the most, and no further than at its ends."
    side = "left" if left > right else "right"
    return f"It leans by {far} at the most: on the way the {side} is further up than at either end."


def _alt(move: AirMove, gauges: Array, system: System) -> str:
    """Return the gauges in words."""
    parts = [
        f"{AXLES[k]} {SIDES[i]} {say(float(gauges[0, k, i]), 'pressure', system)} to "
        f"{say(float(gauges[-1, k, i]), 'pressure', system)} in {time_words(float(move.time[k, i]))}"
        for k in (0, 1)
        for i in (0, 1)
        if np.isfinite(gauges[0, k, i])
    ]
    return f"{move.name.capitalize()}: {', '.join(parts)}."
