"""A truck with its valves shut in words: how far each corner moves, what its gauge shows, what puts it back."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from planner.plans.answer import CORNERS
from planner.plans.temperature import SealedChange
from planner.show.text.air import say_free_air
from planner.show.text.numbers import say, write
from planner.units.quantity import System

HEADS: Final = ("moves", "gauge", "to put it back")
LEAST: Final = 0.05e-3  # [m³] of free air that is told of


def sealed_rows(found: SealedChange, system: System) -> Iterator[tuple[str, ...]]:
    """Yield a row a corner: its name, how far it moves, its gauge then and now, the free air that puts it back."""
    for corner, rise, was, now, air in zip(
        CORNERS,
        found.rise.ravel(),
        found.then.pressure.ravel(),
        found.now.pressure.ravel(),
        found.free_air.ravel(),
        strict=True,
    ):
        far = write(abs(float(rise)), "length", system)
        moves = f"{'up' if rise > 0 else 'down'} {far}" if float(far.number) else "stays"
        if math.isnan(now):
            yield corner.replace("_", " "), moves, "steel", "–"
            continue
        gauges = [say(float(value), "pressure", system, exact=True) for value in (was, now)]
        back = f"{say_free_air(abs(float(air)), system)} {'in' if air > 0 else 'out'}"
        yield (
            corner.replace("_", " "),
            moves,
            f"{gauges[0].split(' ')[0]} → {gauges[1]}",
            back if abs(air) >= LEAST else "nothing",
        )
