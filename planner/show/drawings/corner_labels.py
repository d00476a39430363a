"""The four blocks of text at the corners of a truck seen from above: pressure first, what it means under it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from planner.physics.validation import Array
from planner.plans.answer import AXLES, SIDES, Answer
from planner.plans.setup import Setup
from planner.show.drawings.palette import LIGHT, MARKS
from planner.show.drawings.svg import MARGIN, SMALL, WIDTH, Anchor, escaped, number, tag, text, text_width
from planner.show.text.numbers import Written, say, write
from planner.show.text.words import corner_words, heavier_side
from planner.units.quantity import System

COLUMN: Final = 121.0  # width of the text at one side
BIG: Final = (46.0, 44.0, 40.0, 36.0, 32.0, 28.0)  # sizes of the pressures, the largest that fits all four is taken
UNIT: Final = 15.0  # size of the unit beside them
LINE: Final = 18.0  # from one line of text to the next
CAP: Final = 0.76  # height of a figure, of the size of its type
GAP: Final = 16.0  # least distance of two blocks
NO_BAG: Final = "steel"


@dataclass(frozen=True)
class Corner:
    """One block of text.

    Attributes
    ----------
    k, i : axle and side
    baseline : of the pressure, on the paper
    size : of the pressure
    pressure : what to set, None where steel carries
    lines : the lines under it, each with the name of its ink
    """

    k: int
    i: int
    baseline: float
    size: float
    pressure: Written | None
    lines: tuple[tuple[str, str], ...]

    @property
    def top(self) -> float:
        """Where the block begins, down the paper."""
        return self.baseline - CAP * self.size

    @property
    def bottom(self) -> float:
        """Where the block ends."""
        return self.baseline + LINE * len(self.lines) + 5.0

    @property
    def said(self) -> str:
        """The block in words."""
        first = f"{self.pressure}" if self.pressure else f"{NO_BAG}, no bag"
        return ", ".join((f"{AXLES[self.k]} {SIDES[self.i]} {first}", *(line for line, _ in self.lines)))

    def texts(self) -> Iterator[str]:
        """Yield the block, on the outer edge of the paper."""
        x, anchor = edge(self.i)
        yield big_number(self.pressure or Written(NO_BAG, ""), x, self.baseline, self.size, anchor)
        for n, (words, name) in enumerate(self.lines, start=1):
            yield text(words, x, self.baseline + LINE * n, getattr(LIGHT, name), anchor=anchor)


def edge(i: int) -> tuple[float, Anchor]:
    """Return where the text of a side begins and which end of it that is."""
    return (MARGIN, "start") if i == 0 else (WIDTH - MARGIN, "end")


def big_number(written: Written, x: float, y: float, size: float, anchor: Anchor) -> str:
    """Return a number in large type with its unit in soft ink beside it."""
    figures = tag("tspan", escaped(written.number), font_size=size, font_weight=650.0, fill=LIGHT.ink)
    unit = tag("tspan", escaped(written.unit), font_size=UNIT, fill=LIGHT.soft, dx=4.0) if written.unit else ""
    return tag("text", figures, unit, x=number(x), y=number(y), text_anchor=None if anchor == "start" else anchor)


def big_size(all_written: Sequence[Written | None], width: float, sizes: Sequence[float] = BIG) -> float:
    """Return the largest size at which every number fits a width with its unit; the least one if none does."""
    fitting = (size for size in sizes if all(w is None or written_width(w, size) <= width for w in all_written))
    return next(fitting, sizes[-1])


def written_width(written: Written, size: float) -> float:
    """Return how wide a number in large type is with its unit, at most."""
    return text_width(written.number, size, bold=True) + 4.0 + text_width(written.unit, UNIT)


def corner_rows(pressure: Array, system: System, gauge_step: float | None = None) -> list[list[Written | None]]:
    """Return gauge pressures as people read them, [front, rear][left, right]; None at a corner with no bag.

    Parameters
    ----------
    pressure : shape (2, 2), NaN where there is no bag [Pa]
    system : "us" or "metric"
    gauge_step : of the owner's gauge, where it is finer than usual [Pa]
    """
    return [
        [write(float(p), "pressure", system, step=gauge_step) if math.isfinite(p) else None for p in row]
        for row in pressure
    ]


def corners(setup: Setup, answer: Answer, system: System, axle_lines: Sequence[float], top: float) -> list[Corner]:
    """Return the four blocks, each beside its axle's line on the paper, below the top and the rear below the front."""
    pressures = corner_rows(answer.set.pressure, system, float(setup.truck.instruments.gauge_step))
    size = big_size([one for row in pressures for one in row], COLUMN)
    loads = _tyre_loads(setup, answer, system)
    blocks: list[Corner] = []
    for k, row in enumerate(pressures):
        clear = max((block.bottom for block in blocks), default=top - GAP) + GAP + CAP * size
        baseline = max(axle_lines[k] - 4.0, clear)
        blocks += [
            Corner(k, i, baseline, size if one else BIG[-1], one, tuple(_lines(setup, answer, loads, k, i)))
            for i, one in enumerate(row)
        ]
    return blocks


def _tyre_loads(setup: Setup, answer: Answer, system: System) -> list[list[str]]:
    """Return what each side's tyres carry, all in one wording: the longer one if it fits everywhere."""
    loads = [[say(float(load), "load", system) for load in row] for row in answer.tyre_load]
    counts = (setup.truck.front.tyres.per_side, setup.truck.rear.tyres.per_side)
    full = [
        [f"{load} on {'tyres' if count == 2 else 'tyre'}" for load in row]
        for row, count in zip(loads, counts, strict=True)
    ]
    fits = all(text_width(words, SMALL) <= COLUMN for row in full for words in row)
    return full if fits else loads


def _lines(setup: Setup, answer: Answer, loads: list[list[str]], k: int, i: int) -> Iterator[tuple[str, str]]:
    """Yield what stands under a pressure, each line with the name of its ink."""
    yield loads[k][i], "ink"
    if heavier_side(answer.tyre_load[k]) == SIDES[i]:
        yield "heavier side", "ochre"
    if found := corner_words(setup, answer, k, i):
        severity, words = found
        yield f"{MARKS[severity]} {words}", {"stop": "brick", "caution": "ochre", "note": "soft"}[severity]
