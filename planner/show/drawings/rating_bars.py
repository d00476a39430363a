"""Loads and pressures against their ratings, as bars on one scale: every rating stands at the same mark."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from planner.plans.answer import Answer
from planner.plans.setup import Setup
from planner.show.drawings.palette import LIGHT, MARKS
from planner.show.drawings.svg import (
    MARGIN,
    SMALL,
    WIDTH,
    Drawing,
    document,
    first_fitting,
    hatch,
    line,
    shape,
    tag,
    text,
    text_width,
)
from planner.show.text.numbers import say, write
from planner.show.text.rating_rows import Group, Rated, rating_rows
from planner.units.quantity import System

FULL: Final = 1.3  # share of a rating at the right edge; a longer bar is cut there and says so
MARK: Final = MARGIN + (WIDTH - 2 * MARGIN) / FULL  # where all ratings stand
BAR: Final = 10.0  # height of a bar
ROW, HEADING, OVER = 37.0, 30.0, 19.0  # down the paper: one row, one heading, the line that says over
PATTERN: Final = "over"


def load_bars(setup: Setup, answer: Answer, system: System) -> Drawing:
    """Return axles, tyres, bags, hitch and trailer against their ratings.

    Bars are shares of each one's rating, all to one scale, so that the ratings stand in line.
    """
    groups = rating_rows(setup, answer)
    body: list[str] = []
    y = 0.0
    for group in groups:
        y += HEADING
        tick = ", the tick is the least" if any(row.least for row in group.rows) else ""
        body.append(text(group.title + tick, MARGIN, y - 6, LIGHT.soft))
        body.append(line(MARGIN, y, WIDTH - MARGIN, y, LIGHT.ground))
        for row in group.rows:
            body += _row(row, y, system)
            y += ROW + (OVER if row.over or row.under else 0.0)
    alt = _alt(groups, system)
    defs = [hatch(PATTERN, LIGHT.brick, LIGHT.brick_wash)]
    return document("bars", y + 8.0, "Loads against ratings", alt, body, defs)


def _row(row: Rated, y: float, system: System) -> Iterator[str]:
    """One row: its label, value and rating, the bar under them, and under that what it is over by."""
    top = y + 22.0
    yield from _bar(row, top)
    value, limit = say(row.value, row.kind, system, step=row.step), say(row.limit, row.kind, system)
    yield text(limit, MARK + 5, top - 5, LIGHT.soft)
    yield text(value, MARK - 5, top - 5, LIGHT.ink, anchor="end", bold=True)
    room = MARK - 5 - MARGIN - text_width(value, SMALL, bold=True) - 8
    yield text(first_fitting((row.label, row.label.replace(", each", "")), SMALL, room), MARGIN, top - 5, LIGHT.ink)
    if words := _beyond(row, system):
        yield text(f"{MARKS['stop']} {words}", MARGIN, top + BAR + 15, LIGHT.brick, bold=True)


def _bar(row: Rated, top: float) -> Iterator[str]:
    """The bar: solid up to its rating, hatched in brick beyond, a mark at the rating and a tick at the least."""
    unit = (MARK - MARGIN) / row.limit
    end = min(MARGIN + max(0.0, row.value) * unit, WIDTH - MARGIN)
    yield tag("rect", x=MARGIN, y=top, width=MARK - MARGIN, height=BAR, fill=LIGHT.wash, cls="rating")
    solid = min(end, MARK) - MARGIN
    fill = LIGHT.air if row.kind == "pressure" else LIGHT.soft
    yield tag("rect", x=MARGIN, y=top, width=solid, height=BAR, fill=fill, cls="carried")
    if row.over:
        yield from _over(row, end, top)
    if row.least:
        least = MARGIN + row.least * unit
        yield line(least, top - 3, least, top + BAR + 3, LIGHT.paper, 4.0)
        yield line(least, top - 3, least, top + BAR + 3, LIGHT.ink, 1.4)
    yield line(MARK, top - 16, MARK, top + BAR + 3, LIGHT.brick if row.over else LIGHT.ink, 2.0)


def _is_cut(row: Rated) -> bool:
    """Tell whether a bar is longer than the paper is wide."""
    return row.value > FULL * row.limit


def _cut(x: float, top: float) -> str:
    """Return the two strokes that say a bar is cut short."""
    strokes = "".join(line(x + off, top + BAR + 4, x + off + 6, top - 4, LIGHT.brick, 1.4) for off in (-3.0, 3.0))
    return (
        shape(
            [(x - 3, top + BAR + 4), (x + 3, top - 4), (x + 9, top - 4), (x + 3, top + BAR + 4)],
            LIGHT.paper,
            fill=LIGHT.paper,
            width=1.0,
        )
        + strokes
    )


def _over(row: Rated, end: float, top: float) -> Iterator[str]:
    """The part of a bar past its rating."""
    look = {"fill": f"url(#{PATTERN})", "stroke": LIGHT.brick, "cls": "over"}
    yield tag("rect", x=MARK, y=top, width=end - MARK, height=BAR, stroke_width=1.4, **look)
    if _is_cut(row):
        yield _cut(end - 15, top)


def _beyond(row: Rated, system: System) -> str:
    """Return by how much a row is over its rating or under its least, in words; empty where it is neither."""
    if row.over:
        return f"over by {say(row.over, row.kind, system, step=row.step)}" + (", bar cut short" if _is_cut(row) else "")
    if row.under and row.least:
        return f"under its least, {write(row.least, row.kind, system)}"
    return ""


def _alt(groups: tuple[Group, ...], system: System) -> str:
    """Return all bars in words, what is over first."""
    rows = [row for group in groups for row in group.rows]
    beyond = [f"{row.label} {words}" for row in rows if (words := _beyond(row, system))]
    first = f"Past its limit: {'; '.join(beyond)}." if beyond else "Nothing is over its rating."
    said = [
        f"{group.title}: "
        + "; ".join(
            f"{row.label} {say(row.value, row.kind, system, step=row.step)} of {say(row.limit, row.kind, system)}"
            for row in group.rows
        )
        + "."
        for group in groups
    ]
    return " ".join([first, *said])
