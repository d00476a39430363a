"""The card of a profile in a list: its pressures as the truck stands seen from above."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from datetime import date
from typing import Final

from planner.plans.answer import AXLES, SIDES, Finding
from planner.plans.saved_state import Standing
from planner.show.drawings.corner_labels import CAP, NO_BAG, big_number, big_size, corner_rows
from planner.show.drawings.dimensioning import arrow, chain
from planner.show.drawings.palette import LIGHT, MARKS, WORDS
from planner.show.drawings.svg import (
    MARGIN,
    SMALL,
    WIDTH,
    Anchor,
    Drawing,
    clean,
    document,
    number,
    shorten,
    tag,
    text,
    text_width,
    wrapped,
)
from planner.show.text.card import last_trimmed
from planner.show.text.numbers import Written, say, sentence
from planner.show.text.words import COUPLING_PARTS
from planner.units.quantity import System

NAME: Final = 20.0  # size of the profile's name
STEEL: Final = 30.0  # size of the word where there is no bag
CARD_SIZES: Final = (44.0, 40.0, 36.0, 32.0, 28.0)
LINE: Final = 18.0
GLYPH_ENDS: Final = (80.0, 194.0)  # of the little truck
AXLE_LINES: Final = (106.0, 168.0)
FOOT: Final = 218.0  # first line of text below it
BESIDE: Final = 44.0  # from the middle of the little truck to the numbers beside it
GROUND: Final = " above ground"
NOTHING_FOUND: Final = "No findings."
MOST_LINES: Final = 3  # of the worst finding
WHERE_REST: Final = "under Set these."
Rows = list[list[Written | None]]


def draw_card(stands: Standing, system: System, found: Sequence[Finding]) -> Drawing:
    """Return a profile's card for a list: pressures to set, coupling height, the worst of what is found."""
    rows, name, worst = _rows(stands, system), stands.profile.name, next(iter(found), None)
    trailer_name = stands.setup.trailer.name if stands.setup.trailer else None
    trimmed = last_trimmed(stands)
    height, said = _height_words(stands, system), _worst_words(worst, system)
    body = [*_heading(name, trailer_name, trimmed), *little_truck(GLYPH_ENDS, AXLE_LINES)]
    body += beside_truck(rows, AXLE_LINES, CARD_SIZES)
    y = FOOT
    if height:
        body.append(text(height, WIDTH / 2, y, LIGHT.ink, anchor="middle"))
        y += 24.0
    lines = wrapped(said, SMALL, WIDTH - 2 * MARGIN, MOST_LINES)
    rest = _rest_words(cut=lines[-1].endswith("…"), more=len(found) - 1)
    for part in lines:
        body.append(text(part, MARGIN, y, LIGHT.of(worst.level) if worst else LIGHT.soft))
        y += LINE
    body.append(text(rest, MARGIN, y, LIGHT.soft) if rest else "")
    y += LINE if rest else 0.0
    return document("card", y, clean(name), _alt(name, trailer_name, rows, (height, said, rest)), body)


def _heading(name: str, trailer_name: str | None, trimmed: date | None) -> Iterator[str]:
    """Name, trailer, and when it was last trimmed."""
    words = shorten(clean(name), NAME, WIDTH - 2 * MARGIN, bold=True)
    yield text(words, MARGIN, 28, LIGHT.ink, size=NAME, bold=True)
    when = f"trimmed {trimmed.isoformat()}" if trimmed else ""
    room = WIDTH - 2 * MARGIN - text_width(when, SMALL) - 12
    towed = "no trailer" if trailer_name is None else clean(trailer_name)
    yield text(shorten(towed, SMALL, room), MARGIN, 49, LIGHT.soft)
    if when:
        yield text(when, WIDTH - MARGIN, 49, LIGHT.soft, anchor="end")


def little_truck(ends: tuple[float, float], axle_lines: tuple[float, float]) -> Iterator[str]:
    """A little truck from above, not to scale, to tell the corners apart."""
    middle, (top, bottom) = WIDTH / 2, ends
    yield arrow(middle, top - 12, -math.pi / 2, LIGHT.soft, 1.4)
    left = [(middle - 17, top + 12), (middle - 18, bottom)]
    sides = f"L{number(middle + 18)} {number(bottom)}H{number(middle - 18)}Z"
    bonnet = f"Q{number(middle)} {number(top - 10)} {number(middle + 17)} {number(top + 12)}"
    d = f"M{number(middle - 17)} {number(top + 12)}{bonnet}{sides}"
    yield tag("path", d=d, fill="none", stroke=LIGHT.ink, stroke_width=1.7, stroke_linejoin="round")
    for y in axle_lines:
        yield chain(left[0][0], y, middle + 17, y)
        for side in (-1, 1):
            x = middle + side * 25
            yield tag(
                "rect",
                x=x - 4,
                y=y - 11,
                width=8,
                height=22,
                rx=3,
                fill=LIGHT.paper,
                stroke=LIGHT.ink,
                stroke_width=1.7,
            )


def beside_truck(rows: Rows, axle_lines: tuple[float, float], sizes: Sequence[float]) -> Iterator[str]:
    """The four pressures beside the little truck's wheels, as large as they fit."""
    size = big_size([one for row in rows for one in row], WIDTH / 2 - MARGIN - BESIDE, sizes)
    for row, y in zip(rows, axle_lines, strict=True):
        for i, written in enumerate(row):
            x, anchor = place_beside(i)
            yield _number(written, x, y + CAP * size / 2, size, anchor)


def place_beside(i: int) -> tuple[float, Anchor]:
    """Return where what stands beside the little truck begins on a side, and which end of it that is."""
    return (WIDTH / 2 - BESIDE, "end") if i == 0 else (WIDTH / 2 + BESIDE, "start")


def _number(written: Written | None, x: float, y: float, size: float, anchor: Anchor) -> str:
    """Return one pressure, or that steel carries the corner."""
    if written is None:
        return text(NO_BAG, x, y, LIGHT.soft, size=min(size, STEEL), anchor=anchor, bold=True)
    return big_number(written, x, y, size, anchor)


def _rows(stands: Standing, system: System) -> Rows:
    """Return the pressures to set, as the owner's gauge shows them."""
    step = float(stands.setup.truck.instruments.gauge_step)
    return corner_rows(stands.answer.set.pressure, system, step)


def _height_words(stands: Standing, system: System) -> str:
    """Return how high the hitch is, empty with none."""
    hitch, height = stands.setup.hitch, stands.answer.set.coupling_height
    if hitch is None or height is None:
        return ""
    return f"{COUPLING_PARTS[hitch.coupling]} {say(height, 'length', system)}{GROUND}"


def _worst_words(worst: Finding | None, system: System) -> str:
    """Return the worst finding with its mark and word, or that there is none."""
    if worst is None:
        return NOTHING_FOUND
    return f"{MARKS[worst.level]} {WORDS[worst.level]}: {sentence(worst, system)}"


def _rest_words(*, cut: bool, more: int) -> str:
    """Return where the rest is of what the card has no room for; empty where all is said."""
    if cut:
        return f"The rest{f' and {more} more' if more > 0 else ''}: {WHERE_REST}"
    return f"{more} more {WHERE_REST}" if more > 0 else ""


def _alt(name: str, trailer_name: str | None, rows: Rows, rest: tuple[str, ...]) -> str:
    """Return a card in words."""
    corners = [
        f"{AXLES[k]} {SIDES[i]} {written or NO_BAG}" for k, row in enumerate(rows) for i, written in enumerate(row)
    ]
    towed = f" with {clean(trailer_name)}" if trailer_name is not None else ""
    said = [f"{clean(name)}{towed}: {', '.join(corners)}", *(one.rstrip(".") for one in rest if one)]
    return ". ".join(said) + "."
