"""The tank's gauge through a hitching cycle: a line over the moves."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

import numpy as np

from planner.physics.validation import Array
from planner.plans.air_budget import AirBudget
from planner.plans.air_moves import AirMove
from planner.show.drawings.dimensioning import DASHES
from planner.show.drawings.palette import LIGHT
from planner.show.drawings.svg import MARGIN, SMALL, WIDTH, Drawing, document, line, shape, tag, text, wrapped
from planner.show.text.air import SUPPLY_HEADS, supply_row, time_words
from planner.show.text.numbers import say, write
from planner.units.quantity import System

LEFT, RIGHT = 84.0, WIDTH - MARGIN  # of the chart
TOP, BOTTOM = 26.0, 176.0
ROW: Final = 19.0
POINTS: Final = 25  # of a move's curve
SECONDS: Final = "s"
ROOM: Final = 0.12  # of the range shown, above cut-out and below the lowest


def tank_curve(budget: AirBudget, system: System) -> Drawing:
    """Return the tank's gauge from move to move: those of the hitching cycle, with no trailer the levelling.

    Each move has the same room, whatever it takes; within it time runs evenly, waits left out.
    """
    moves = budget.moves or (budget.levelling,)
    curves = [_curve(move) for move in moves]
    needed = _highest_bag(moves)
    every = [budget.supply.cut_in, budget.supply.cut_out, *(float(p.min()) for _, p in curves)]
    low, high = min(every), max(every)
    room = ROOM * (high - low)
    frame = (max(low - room, 0.0), high + room)
    body = [
        *_levels(budget, frame, system),
        *_columns(moves),
        *_line(curves, frame),
        *_table(moves, system),
    ]
    words = _words(budget, needed, system)
    y = BOTTOM + 24.0 + 1.4 * ROW
    for part in wrapped(words, SMALL, WIDTH - 2 * MARGIN, 4):
        y += ROW
        body.append(text(part, MARGIN, y, LIGHT.ink))
    return document("tank", y + 10.0, "The tank through the moves", f"{_alt(moves, system)} {words}", body)


def tanks_beside(budgets: Mapping[str, AirBudget], system: System) -> Drawing:
    """Return the tank's gauge through the moves with several supplies side by side, with what each of them gives."""
    every = list(budgets.values())
    through = [one.moves or (one.levelling,) for one in every]
    curves = [[_curve(move) for move in moves] for moves in through]
    levels = [every[0].supply.cut_in, every[0].supply.cut_out]
    lows = [float(p.min()) for panel in curves for _, p in panel]
    low, high = min(*levels, *lows), max(levels)
    room = ROOM * (high - low)
    frame, body = (max(low - room, 0.0), high + room), list[str]()
    body += _levels(every[0], frame, system)
    for place, (name, panel) in enumerate(zip(budgets, curves, strict=True)):
        left, right = _x(place, len(every)), _x(place + 1, len(every))
        body.append(line(left, TOP, left, BOTTOM, LIGHT.ground))
        body.append(text(name, (left + right) / 2, TOP - 9, LIGHT.ink, anchor="middle"))
        points = [
            (left + (right - left) * (n + float(part)) / len(panel), _y(float(pressure), frame))
            for n, (parts, pressures) in enumerate(panel)
            for part, pressure in zip(parts, pressures, strict=True)
        ]
        body.append(shape(points, LIGHT.air, width=2.4, closed=False, cls="tank"))
    body += [line(RIGHT, TOP, RIGHT, BOTTOM, LIGHT.ground), line(LEFT, BOTTOM, RIGHT, BOTTOM, LIGHT.ink, 1.5)]
    rows = [supply_row(budget) for budget in every]
    for n, head in enumerate(SUPPLY_HEADS):
        y = BOTTOM + 20.0 + n * ROW
        body.append(text(head, LEFT - 6, y, LIGHT.soft, anchor="end"))
        for place, row in enumerate(rows):
            body.append(text(row[n], _x(place + 0.5, len(rows)), y, LIGHT.ink, anchor="middle", bold=n == 0))
    alt = "; ".join(
        f"{name}: {', '.join(f'{head} {words}' for head, words in zip(SUPPLY_HEADS, row, strict=True))}"
        for name, row in zip(budgets, rows, strict=True)
    )
    bottom = BOTTOM + 20.0 + len(SUPPLY_HEADS) * ROW
    return document("tanks", bottom, "Tanks and compressors side by side", f"{alt}.", body)


def _curve(move: AirMove) -> tuple[Array, Array]:
    """Return times from 0 to 1 over a move, and the tank's gauge at each. [-, Pa]"""
    clock, times, pressures = 0.0, [np.zeros(1)], [move.fillings[0].tank_pressure[:1]]
    for one in move.fillings:
        times.append(clock + one.times)
        pressures.append(one.tank_pressure)
        clock += float(one.times[-1])
    whole = np.concatenate(times) / clock if clock > 0 else np.concatenate(times)
    even = np.linspace(0.0, 1.0, POINTS)  # not those of the integrator, which move with its last digits
    end = np.array([move.tank_pressure])  # after the wait, where there was one
    return np.append(even, 1.0), np.append(np.interp(even, whole, np.concatenate(pressures)), end)


def _highest_bag(moves: tuple[AirMove, ...]) -> float:
    """Return the highest gauge of a bag that air goes into; where one stalls, that of the tank that feeds it. [Pa]"""
    return max(
        one.tank.pressure if one.stalls else float(np.max(one.pressure[-1], initial=0.0, where=one.air_in > 0.0))
        for move in moves
        for one in move.fillings
    )


def _x(place: float, count: int) -> float:
    """Return how far across the paper a place is, counted in moves."""
    return LEFT + (RIGHT - LEFT) * place / count


def _y(pressure: float, frame: tuple[float, float]) -> float:
    """Return how far down the paper a pressure is."""
    return BOTTOM - (BOTTOM - TOP) * (pressure - frame[0]) / (frame[1] - frame[0])


def _levels(budget: AirBudget, frame: tuple[float, float], system: System) -> Iterator[str]:
    """Cut-out and cut-in as dashed lines with their names."""
    for name, pressure in (("cut-out", budget.supply.cut_out), ("cut-in", budget.supply.cut_in)):
        y = _y(pressure, frame)
        yield line(LEFT, y, RIGHT, y, LIGHT.soft, 1.0, dash=DASHES)
        yield text(name, LEFT - 6, y - 2, LIGHT.soft, anchor="end")
        yield text(say(pressure, "pressure", system), LEFT - 6, y + 13, LIGHT.soft, anchor="end")


def _columns(moves: tuple[AirMove, ...]) -> Iterator[str]:
    """Upright lines between the moves, and their names above."""
    for place, move in enumerate(moves):
        yield line(_x(place, len(moves)), TOP, _x(place, len(moves)), BOTTOM, LIGHT.ground)
        yield text(move.name, _x(place + 0.5, len(moves)), TOP - 9, LIGHT.ink, anchor="middle")
    yield line(RIGHT, TOP, RIGHT, BOTTOM, LIGHT.ground)
    yield line(LEFT, BOTTOM, RIGHT, BOTTOM, LIGHT.ink, 1.5)


def _line(curves: list[tuple[Array, Array]], frame: tuple[float, float]) -> Iterator[str]:
    """The tank's gauge, with a dot at the end of each move."""
    count = len(curves)
    points = [
        (_x(place + float(part), count), _y(float(pressure), frame))
        for place, (parts, pressures) in enumerate(curves)
        for part, pressure in zip(parts, pressures, strict=True)
    ]
    yield shape(points, LIGHT.air, width=2.6, closed=False, cls="tank")
    for place, (_, pressures) in enumerate(curves, start=1):
        x, y = _x(place, count), _y(float(pressures[-1]), frame)
        yield tag("circle", cx=x, cy=y, r=3.5, fill=LIGHT.paper, stroke=LIGHT.air, stroke_width=1.6, cls="after")


def _table(moves: tuple[AirMove, ...], system: System) -> Iterator[str]:
    """Under each move the tank's gauge after it, and how many seconds it takes."""
    unit = write(1e5, "pressure", system).unit
    for name, y in ((unit, BOTTOM + 20.0), (SECONDS, BOTTOM + 20.0 + ROW)):
        yield text(name, LEFT - 6, y, LIGHT.soft, anchor="end")
    for place, move in enumerate(moves):
        x = _x(place + 0.5, len(moves))
        yield text(
            write(move.tank_pressure, "pressure", system).number,
            x,
            BOTTOM + 20.0,
            LIGHT.ink,
            anchor="middle",
            bold=True,
        )
        yield text(_short(move), x, BOTTOM + 20.0 + ROW, LIGHT.ink, anchor="middle")


def _short(move: AirMove) -> str:
    """Return a time that fits under its move, its unit only where that is not seconds."""
    words = time_words(move.longest, move.band)
    return {"no time": "none", "less than 0.1 s": "0"}.get(words, words.removesuffix(f" {SECONDS}"))


def _words(budget: AirBudget, needed: float, system: System) -> str:
    """Return how to read it."""
    return (
        f"The tank after each move, from {say(budget.supply.cut_out, 'pressure', system)}; the compressor "
        f"starts at {say(budget.supply.cut_in, 'pressure', system)}. The highest bag filled needs "
        f"{say(needed, 'pressure', system)}."
    )


def _alt(moves: tuple[AirMove, ...], system: System) -> str:
    """Return the line in words."""
    parts = [
        f"{move.name} {say(move.tank_pressure, 'pressure', system)} after {time_words(move.longest, move.band)}"
        for move in moves
    ]
    return f"The tank's gauge after each move: {', '.join(parts)}."
