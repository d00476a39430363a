"""Readings over time as the truck stands seen from above: at each corner gauge and tape beside what is expected."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from planner.physics.validation import Array
from planner.plans.answer import AXLES, CORNERS, SIDES, Kind
from planner.plans.reading_history import LowCorner, ReadingHistory
from planner.show.drawings.dimensioning import DASHES, chain
from planner.show.drawings.palette import LIGHT, MARKS
from planner.show.drawings.svg import (
    MARGIN,
    SMALL,
    WIDTH,
    Drawing,
    document,
    line,
    shape,
    tag,
    text,
    wrapped,
)
from planner.show.text.numbers import in_unit, round_step, say, write
from planner.show.text.trim import off_words
from planner.units.quantity import System

PANEL: Final = 74.0  # of a corner's gauge, and as much of its tape
BELOW: Final = 22.0  # a panel, for its words
CELL: Final = 2 * (PANEL + BELOW) + 34.0
HEAD: Final = 22.0
WIDE: Final = WIDTH / 2 - MARGIN - 12.0  # of a panel
LEAST: Final[dict[Kind, float]] = {"pressure": 20e3, "length": 0.0127}  # that a scale reaches: small is to look small
ROOM: Final = 0.86  # of half a panel that the farthest dot takes


def history_view(history: ReadingHistory, system: System, *, low_corner: LowCorner | None = None) -> Drawing:
    """Return readings over time as a drawing.

    Parameters
    ----------
    history : ReadingHistory
        One reading or more.
    system : "us" or "metric"
    low_corner : corner that asks for more air than the others, which is marked

    Returns
    -------
    Drawing
        400 wide. At each corner the gauge above the tape; the dashed line is what is planned, or where the truck should
        have stood on what the gauges said; all gauges to one scale, and all tapes.
    """
    off: dict[Kind, Array] = {"pressure": -history.short, "length": history.ride_height - history.expected}
    reach = {kind: _reach(values, kind, system) for kind, values in off.items()}
    across = _across(history)
    body = [text("front", WIDTH / 2, 14.0, LIGHT.soft, anchor="middle"), chain(WIDTH / 2, 20.0, WIDTH / 2, 2 * CELL)]
    for place, corner in enumerate(CORNERS):
        k, i = divmod(place, 2)
        left, top = (MARGIN, WIDTH - MARGIN - WIDE)[i], HEAD + k * CELL
        asks = low_corner is not None and low_corner.corner == corner
        body.append(_name(k, i, left, top, asks))
        for n, (kind, values) in enumerate(off.items()):
            frame = (left, top + 26.0 + n * (PANEL + BELOW))
            body += _panel(across, values[:, k, i], reach[kind], frame, asks and kind == "pressure")
            words = _last_words(history, kind, values[:, k, i], k, i, system)
            body.append(text(words, left, frame[1] + PANEL + 15.0, LIGHT.soft))
    y = HEAD + 2 * CELL + 8.0
    for part in wrapped(_key(history, reach, system), SMALL, WIDTH - 2 * MARGIN, 5):
        body.append(text(part, MARGIN, y, LIGHT.soft))
        y += 18.0
    return document("readings", y - 4.0, "Readings over time, from above", _alt(history, off, system), body)


def _reach(off: Array, kind: Kind, system: System) -> float:
    """Return half the range of a scale, a round number in the unit shown. [SI]"""
    largest = float(np.nanmax(np.abs(off), initial=LEAST[kind], where=np.isfinite(off)))
    per_si, _ = in_unit(1.0, kind, system)
    return round_step(largest * per_si) / per_si


def _across(history: ReadingHistory) -> Array:
    """Return how far along the time from the first reading to the last each was made, shape (n,). [-]"""
    seconds = np.array([(at - history.at[0]).total_seconds() for at in history.at])
    whole: Array = seconds / seconds[-1] if len(seconds) > 1 and seconds[-1] > 0 else np.full(len(seconds), 0.5)
    return whole


def _name(k: int, i: int, x: float, top: float, asks: bool) -> str:
    """Return a corner's name, marked where it asks for air."""
    name = f"{AXLES[k]} {SIDES[i]}"
    if asks:
        return text(f"{MARKS['caution']} {name}: needs air", x, top + 16.0, LIGHT.ochre, bold=True)
    return text(name, x, top + 16.0, LIGHT.ink, bold=True)


def _panel(across: Array, off: Array, reach: float, frame: tuple[float, float], asks: bool) -> Iterator[str]:
    """Yield one number of a corner over time about what is expected of it."""
    left, top = frame
    middle = top + PANEL / 2
    yield tag("rect", x=left, y=top, width=WIDE, height=PANEL, fill="none", stroke=LIGHT.ground)
    yield line(left, middle, left + WIDE, middle, LIGHT.air, 1.6, dash=DASHES)
    read = np.isfinite(off)
    points = [
        (left + 6.0 + (WIDE - 12.0) * float(part), middle - ROOM * PANEL / 2 * float(one) / reach)
        for part, one in zip(across[read], off[read], strict=True)
    ]
    if len(points) > 1:
        yield shape(points, LIGHT.soft, width=1.0, closed=False)
    for x, y in points:
        yield tag("circle", cx=x, cy=y, r=3.0, fill=LIGHT.ochre if asks else LIGHT.ink)


def _last_words(history: ReadingHistory, kind: Kind, off: Array, k: int, i: int, system: System) -> str:
    """Return what the last of a corner's readings of a kind said: "32, plan 45 psi"."""
    read = np.flatnonzero(np.isfinite(off))
    if not len(read):
        return "no bag" if kind == "pressure" and not np.isfinite(history.planned[k, i]) else "not read"
    if kind == "length":
        words = off_words(float(off[read[-1]]), system, "as expected")
        return f"last {words}"
    last, planned = float(history.pressure[read[-1], k, i]), float(history.planned[k, i])
    return f"{write(last, kind, system).number}, plan {say(planned, kind, system)}"


def _key(history: ReadingHistory, reach: dict[Kind, float], system: System) -> str:
    """Return how to read it."""
    first, last = (at.date().isoformat() for at in (history.at[0], history.at[-1]))
    when = first if first == last else f"{first} to {last}"
    gauge, tape = (say(half / ROOM, kind, system) for kind, half in reach.items())
    return (
        f"{when}. Above the gauge, dashed what is planned; below the tape, dashed where it should have stood on what "
        f"the gauges said. One scale for all: gauge ± {gauge}, tape ± {tape}."
    )


def _alt(history: ReadingHistory, off: dict[Kind, Array], system: System) -> str:
    """Return the drawing in words."""
    parts = []
    for place, corner in enumerate(CORNERS):
        k, i = divmod(place, 2)
        words = [_last_words(history, kind, values[:, k, i], k, i, system) for kind, values in off.items()]
        parts.append(f"{corner.replace('_', ' ')}: gauge {words[0]}; tape {words[1]}")
    return f"{len(history.at)} readings. {'. '.join(parts)}."
