"""How sure an answer is: where each corner ends up, against level and what a tape can tell, and whose doubt it is."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple

from planner.plans.answer import AXLES, SIDES
from planner.plans.uncertainty.result import Certainty
from planner.show.drawings.dimensioning import DASHES
from planner.show.drawings.palette import LIGHT
from planner.show.drawings.svg import (
    MARGIN,
    SMALL,
    WIDTH,
    Drawing,
    document,
    hatch,
    line,
    tag,
    text,
    text_width,
    wrapped,
)
from planner.show.text.numbers import round_step, say, write
from planner.show.text.uncertainty import goal, percent, sentences
from planner.units.quantity import System, display

MIDDLE: Final = WIDTH / 2  # where level stands
HALF: Final = WIDTH / 2 - MARGIN - 6.0  # from level to the furthest end of a band
TOP, ROW, BOX, LINE = 52.0, 46.0, 14.0, 19.0  # first row, from row to row, height of a box, a line of text
FURTHER: Final = 1.08  # the paper goes on past the longest band
LEAST_SCALE: Final = 0.003  # [m] half the paper's width at the least, so that nothing is blown up out of measure
LEFT: Final = 202.0  # where the bars of the shares start, right of name and percentage
PERCENT: Final = 58.0  # of a percentage, and the gaps beside it
BAR: Final = 10.0
WORTH_A_BAR: Final = 0.01  # [-] of the variance; what gives less is named together
TAPE: Final = "tape"


class Row(NamedTuple):
    """One band of the drawing: its name, five percentiles off level [m], and what is written of it."""

    name: str
    off: tuple[float, ...]
    words: str


def certainty_view(sure: Certainty, system: System) -> Drawing:
    """Return where the corners end up, and which inputs make them differ.

    Ride heights of all corners and the lean to one scale, level in the middle; below, shares as bars.
    """
    rows = _rows(sure, system)
    half = max(LEAST_SCALE, FURTHER * max(abs(value) for row in rows for value in (*row.off, sure.tape_error)))
    scale, bottom = HALF / half, TOP + ROW * len(rows)
    body = [*_strip(sure, scale, bottom), *_axis(half, bottom, system)]
    for n, row in enumerate(rows):
        body += _band(row, TOP + ROW * n, scale)
    y = bottom + LINE + 6
    for part in wrapped(_key(sure, system), SMALL, WIDTH - 2 * MARGIN, 6):
        y += LINE
        body.append(text(part, MARGIN, y, LIGHT.soft))
    bars, y = _shares(sure, y + LINE)
    defs = [hatch(TAPE, LIGHT.ground, gap=5.0, width=1.2)]
    return document("sure", y + 6.0, "How sure", _alt(sure, rows, system), [*body, *bars], defs)


def _rows(sure: Certainty, system: System) -> list[Row]:
    """Return the four ride heights and the lean."""
    rows = []
    for k, axle in enumerate(AXLES):
        for i, side in enumerate(SIDES):
            level = float(sure.level_height[k, i])
            heights = [float(one[k, i]) for one in sure.ride_height]
            words = f"{say(heights[2], 'length', system)}, {_range(heights[0], heights[-1], system)}"
            rows.append(Row(f"{axle} {side}", tuple(height - level for height in heights), words))
    lean = tuple(float(one) for one in sure.lean)
    rows.append(Row("left over right", lean, f"off by {_range(lean[0], lean[-1], system)}"))
    return rows


def _range(low: float, high: float, system: System) -> str:
    """Return a range with its unit once: "18.8 to 20.9 in"."""
    first, last = write(low, "length", system), write(high, "length", system)
    return f"{first.number} to {last}" if first.unit == last.unit else f"{first} to {last}"


def _strip(sure: Certainty, scale: float, bottom: float) -> Iterator[str]:
    """The hatched strip about level that a tape cannot tell from it, and the level line."""
    half = sure.tape_error * scale
    yield tag(
        "rect", x=MIDDLE - half, y=TOP - 8, width=2 * half, height=bottom - TOP + 8, fill=f"url(#{TAPE})", cls=TAPE
    )
    for x in (MIDDLE - half, MIDDLE + half):
        yield line(x, TOP - 8, x, bottom, LIGHT.soft, 0.8)
    yield line(MIDDLE, TOP - 8, MIDDLE, bottom, LIGHT.air, 1.6, dash=DASHES)
    yield text(goal(sure), MIDDLE, TOP - 14, LIGHT.air, anchor="middle")
    yield text("← lower", MARGIN, TOP - 14, LIGHT.soft)
    yield text("higher →", WIDTH - MARGIN, TOP - 14, LIGHT.soft, anchor="end")
    yield text("Ride height: the middle, and 9 in 10", MARGIN, 20.0, LIGHT.ink, bold=True)


def _axis(half: float, bottom: float, system: System) -> Iterator[str]:
    """The scale below: distances from level in round numbers, one to three a side."""
    yield line(MIDDLE - HALF, bottom, MIDDLE + HALF, bottom, LIGHT.ink, 1.2)
    shown, unit = display(half, "length", system)
    step = round_step(shown / 3.0)
    for n in range(1, int(shown / step + 1e-9) + 1):
        for sign, mark in ((-1, "−"), (1, "+")):
            x = MIDDLE + sign * HALF * n * step / shown
            yield line(x, bottom, x, bottom + 5, LIGHT.ink, 1.2)
            said = f"{mark}{n * step:g}"
            furthest = WIDTH / 2 - 4.0 - text_width(said, SMALL) / 2  # from the middle, to be on the paper whole
            beside = min(max(x, MIDDLE - furthest), MIDDLE + furthest)
            yield text(said, beside, bottom + LINE, LIGHT.soft, anchor="middle")
    yield text(unit, MIDDLE, bottom + LINE, LIGHT.soft, anchor="middle")


def _band(row: Row, y: float, scale: float) -> Iterator[str]:
    """One row: its name and numbers, the line of 9 in 10, the box of half of them, the tick of the middle."""
    low, quarter, median, three_quarters, high = (MIDDLE + scale * off for off in row.off)
    centre = y + 28.0
    yield text(row.name, MARGIN, y + 10, LIGHT.ink, halo=LIGHT.paper)
    yield text(row.words, WIDTH - MARGIN, y + 10, LIGHT.ink, anchor="end", bold=True, halo=LIGHT.paper)
    yield line(low, centre, high, centre, LIGHT.ink, 2.0)
    for end in (low, high):
        yield line(end, centre - 5, end, centre + 5, LIGHT.ink, 2.0)
    box = {"x": quarter, "y": centre - BOX / 2, "width": three_quarters - quarter, "height": BOX}
    yield tag("rect", **box, fill=LIGHT.air_wash, stroke=LIGHT.air, stroke_width=1.6, cls="half")
    yield line(median, centre - BOX / 2 - 2, median, centre + BOX / 2 + 2, LIGHT.ink, 3.0)


def _key(sure: Certainty, system: System) -> str:
    """Return how to read the drawing."""
    return (
        f"Across: how far from {goal(sure)}. Tick: the middle. Box: half of {sure.draws:,} trucks that may be yours; "
        f"line: 9 in 10 of them. Hatched: what a tape cannot tell from {goal(sure)}, "
        f"{say(sure.tape_error, 'length', system, exact=True)} either way."
    )


def _told(sure: Certainty) -> tuple[list[tuple[str, float]], list[str]]:
    """Return the inputs that matter with their shares, most first, and the names of those that do not."""
    pairs = sorted(zip(sure.shares.groups, sure.shares.total, strict=True), key=lambda pair: -pair[1])
    told = [(name, float(share)) for name, share in pairs if share >= WORTH_A_BAR]
    return told, [name for name, share in pairs if share < WORTH_A_BAR]


def _shares(sure: Certainty, top: float) -> tuple[list[str], float]:
    """Return the bars of the shares, and where they end."""
    told, less = _told(sure)
    body, y = [text("What makes it uncertain", MARGIN, top + 8, LIGHT.ink, bold=True)], top + 18.0
    full = WIDTH - MARGIN - LEFT
    for name, share in told:
        # several inputs learnt together have long names
        first, *more = wrapped(name, SMALL, LEFT - MARGIN - PERCENT, 3)
        body.append(text(first, MARGIN, y + 14, LIGHT.ink))
        body.append(text(percent(share), LEFT - 8, y + 14, LIGHT.ink, anchor="end", bold=True))
        body.append(tag("rect", x=LEFT, y=y + 4, width=full, height=BAR, fill=LIGHT.wash, cls="whole"))
        body.append(
            tag("rect", x=LEFT, y=y + 4, width=full * min(share, 1.0), height=BAR, fill=LIGHT.soft, cls="share")
        )
        for part in more:
            y += LINE - 3
            body.append(text(part, MARGIN, y + 14, LIGHT.ink))
        y += LINE + 5
    rest = (
        f"Less than 1 % each: {', '.join(less)}." if less and told else "" if told else "None: all is taken as exact."
    )
    for part in wrapped(rest, SMALL, WIDTH - 2 * MARGIN, 3):
        y += LINE - 3
        body.append(text(part, MARGIN, y, LIGHT.soft))
    return body, y + 8.0


def _alt(sure: Certainty, rows: list[Row], system: System) -> str:
    """Return the drawing in words."""
    bands = "; ".join(f"{row.name} {row.words}" for row in rows)
    told, less = _told(sure)
    shares = ", ".join(f"{name} {percent(share)}" for name, share in told) or "nothing"
    rest = f"; less than 1 % each: {', '.join(less)}" if less and told else ""
    said = [*sentences(sure, system), f"Ride heights, the middle and what 9 in 10 lie in: {bands}."]
    return " ".join([*said, f"What makes it uncertain: {shares}{rest}."])
