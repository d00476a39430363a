"""The map of loads: where a load levels, which limit stops it where it does not, this load, lines of equal pressure."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final, NamedTuple

import numpy as np

from planner.plans.load_map import LoadMap
from planner.show.drawings.areas import outlines, spots
from planner.show.drawings.axes import Scale, levels, scale_of, tick_text
from planner.show.drawings.dimensioning import DASHES
from planner.show.drawings.palette import LIGHT
from planner.show.drawings.svg import (
    MARGIN,
    SMALL,
    WIDTH,
    Drawing,
    document,
    line,
    number,
    shape,
    shorten,
    tag,
    text,
    text_width,
    wrapped,
)
from planner.show.text.load_map import Area, alt_text, areas, axis_title, key_lines
from planner.show.text.numbers import in_unit
from planner.units.quantity import System

LEFT, RIGHT = 66.0, WIDTH - 14.0  # of the map on the paper
TOP, BOTTOM = 34.0, 294.0
ROW: Final = 19.0  # a line of text
GAP: Final = 7.0  # of the hatching
SWATCH: Final = (26.0, 16.0)
RING: Final = 7.0  # radius of the mark of this load
THIN: Final = 4  # of the points along a line of equal pressure one in so many is drawn
LETTER: Final = 10.0  # room on each side of an area's letter
TRIED: Final = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9)  # places of a label along its line, in parts of it
OWN: Final = "this load"
HATCHES: Final = (  # turn and lines of a pattern cell: slanting, the other way, lying, upright, crossed, dots
    ("rotate(45)", "M0 3.5H7"),
    ("rotate(-45)", "M0 3.5H7"),
    (None, "M0 3.5H7"),
    (None, "M3.5 0V7"),
    ("rotate(45)", "M0 3.5H7M3.5 0V7"),
    (None, "M2.5 3.5H4.5"),
)


class Box(NamedTuple):
    """Room on the paper that is taken."""

    left: float
    top: float
    right: float
    bottom: float

    def clear_of(self, other: Box) -> bool:
        """Tell whether two do not overlap."""
        apart = self.right <= other.left or other.right <= self.left
        return apart or self.bottom <= other.top or other.bottom <= self.top


@dataclass(frozen=True)
class Sheet:
    """Where things of the map are on the paper: the scales, and the number of points across and up."""

    x: Scale
    y: Scale
    across: int
    up: int

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Return where SI values of both inputs are."""
        return LEFT + (RIGHT - LEFT) * self.x.part(x), BOTTOM - (BOTTOM - TOP) * self.y.part(y)

    def cells(self, room: float) -> int:
        """Return how many cells some room is, across or up, at the most."""
        narrowest = min((RIGHT - LEFT) / (self.across - 1), (BOTTOM - TOP) / (self.up - 1))
        return math.ceil(room / narrowest)

    def corner(self, across: float, up: float) -> tuple[float, float]:
        """Return where a corner of a cell is; the cells about the outermost points are cut at the frame."""
        parts = ((across - 0.5) / (self.across - 1), (up - 0.5) / (self.up - 1))
        x, y = (min(max(part, 0.0), 1.0) for part in parts)
        return LEFT + (RIGHT - LEFT) * x, BOTTOM - (BOTTOM - TOP) * y


class Contour(NamedTuple):
    """One line of equal pressure: what is written on it, and its pieces on the paper."""

    label: str
    pieces: list[list[tuple[float, float]]]


def map_view(found: LoadMap, system: System) -> Drawing:
    """Return the map of loads, over the round ranges of `axes.axis_of`, as a drawing.

    Areas by what stops a load, coloured, hatched and lettered, with a legend in words below. What
    `text.load_map.sentences` say is in its words only, as a page says it beside the drawing.
    """
    legend = areas(found, system)
    sheet = Sheet(scale_of(found.x, system), scale_of(found.y, system), *found.code.shape[::-1])
    contours = list(_contours(found, sheet, system))
    patterns = _patterns(found, legend)
    taken = [_own_box(found, sheet), *_dashes(found, sheet)]
    body = [
        *_areas(found, sheet, legend),
        *(shape(piece, LIGHT.air, width=1.4, closed=False, cls="contour") for one in contours for piece in one.pieces),
        *_frame(found, sheet),
        *_own(found, sheet),
        *_letters(found, sheet, legend, taken),
        *_labels(contours, taken),
    ]
    foot, bottom = _foot(found, legend, bool(contours))
    alt = alt_text(found, [one.label for one in contours], system)
    defs = [_pattern(name, n, colours(found, code)) for code, (name, n) in patterns.items()]
    return document("map", bottom, "Which loads it levels", alt, [*body, *foot], defs)


def colours(found: LoadMap, code: int) -> tuple[str, str]:
    """Return the ground and the hatching of an area: air for bags, brick for labels, ochre for a stance that is off."""
    stop = found.stop(code)
    if stop is None:
        return LIGHT.paper, LIGHT.paper
    return {
        "bag": (LIGHT.air_wash, LIGHT.air),
        "label": (LIGHT.brick_wash, LIGHT.brick),
        "stance": (LIGHT.ochre_wash, LIGHT.ochre),
    }[stop.kind]


def _patterns(found: LoadMap, legend: list[Area]) -> dict[int, tuple[str, int]]:
    """Return the name of each area's pattern and which hatching it has: no two of one colour alike, up to six."""
    seen: dict[str, int] = {}
    patterns = {}
    for area in legend:
        stop = found.stop(area.code)
        if stop is not None:
            n = seen[stop.kind] = seen.get(stop.kind, -1) + 1
            patterns[area.code] = f"map-{area.letter.lower()}", n % len(HATCHES)
    return patterns


def _pattern(name: str, n: int, colour: tuple[str, str]) -> str:
    """Return a hatching on its ground."""
    turn, lines = HATCHES[n]
    back = tag("rect", width=GAP, height=GAP, fill=colour[0])
    width = 2.0 if lines == HATCHES[-1][1] else 1.2
    return tag(
        "pattern",
        back,
        tag("path", d=lines, stroke=colour[1], stroke_width=width),
        id=name,
        width=GAP,
        height=GAP,
        patternUnits="userSpaceOnUse",
        patternTransform=turn,
    )


def _fill(area: Area) -> str:
    return f"url(#map-{area.letter.lower()})" if area.code else LIGHT.paper


def _areas(found: LoadMap, sheet: Sheet, legend: list[Area]) -> Iterator[str]:
    """The areas with their outlines."""
    loops = outlines(found.code)
    for area in legend:
        lines = [
            "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in (sheet.corner(*place) for place in loop)) + "Z"
            for loop in loops[area.code]
        ]
        yield tag(
            "path",
            d="".join(lines),
            fill=_fill(area),
            fill_rule="evenodd",
            stroke=LIGHT.ink,
            stroke_width=1.2,
            stroke_linejoin="round",
            cls="area",
        )


def _frame(found: LoadMap, sheet: Sheet) -> Iterator[str]:
    """The frame with its ticks, their numbers and what they are of."""
    yield tag(
        "rect", x=LEFT, y=TOP, width=RIGHT - LEFT, height=BOTTOM - TOP, fill="none", stroke=LIGHT.ink, stroke_width=1.6
    )
    end = -MARGIN
    for tick in sheet.x.ticks:
        x, said = LEFT + (RIGHT - LEFT) * sheet.x.part(tick / sheet.x.per_si), tick_text(tick)
        half = text_width(said, SMALL) / 2
        yield line(x, BOTTOM, x, BOTTOM + 5, LIGHT.ink, 1.2)
        place = min(x, WIDTH - 2 - half)
        if place - half >= end + 6:
            yield text(said, place, BOTTOM + ROW, LIGHT.soft, anchor="middle")
            end = place + half
    for tick in sheet.y.ticks:
        y = BOTTOM - (BOTTOM - TOP) * sheet.y.part(tick / sheet.y.per_si)
        yield line(LEFT - 5, y, LEFT, y, LIGHT.ink, 1.2)
        yield text(tick_text(tick), LEFT - 8, y + 5, LIGHT.soft, anchor="end")
    titles = [axis_title(one, scale.unit) for one, scale in ((found.x, sheet.x), (found.y, sheet.y))]
    room = WIDTH - 2 * MARGIN
    yield text(shorten(f"↑ {titles[1]}", SMALL, room, bold=True), MARGIN, 18, LIGHT.ink, bold=True)
    said = shorten(f"{titles[0]} →", SMALL, room, bold=True)
    yield text(said, RIGHT, BOTTOM + 2 * ROW + 1, LIGHT.ink, anchor="end", bold=True)


def _own(found: LoadMap, sheet: Sheet) -> Iterator[str]:
    """The mark of this load, and dashes from it to both axes."""
    x, y = sheet.at(found.x.value, found.y.value)
    for halo, width, dash in ((LIGHT.paper, 4.0, None), (LIGHT.ink, 1.4, DASHES)):
        yield line(LEFT, y, x - RING, y, halo, width, dash=dash)
        yield line(x, y + RING, x, BOTTOM, halo, width, dash=dash)
    yield tag("circle", cx=x, cy=y, r=RING, fill=LIGHT.paper, stroke=LIGHT.ink, stroke_width=2.4, cls="own")
    yield tag("circle", cx=x, cy=y, r=2.0, fill=LIGHT.ink)
    box = _own_box(found, sheet)
    yield text(OWN, box.left + 3, box.bottom - 5, LIGHT.ink, bold=True, halo=LIGHT.paper)


def _dashes(found: LoadMap, sheet: Sheet) -> list[Box]:
    """Return the room of the dashes from this load's mark to the axes, and of the mark."""
    x, y = sheet.at(found.x.value, found.y.value)
    return [Box(LEFT, y - 2, x, y + 2), Box(x - 2, y, x + 2, BOTTOM), Box(x - RING, y - RING, x + RING, y + RING)]


def _own_box(found: LoadMap, sheet: Sheet) -> Box:
    """Return the room of the words beside this load's mark: at its right, at its left where there is none."""
    x, y = sheet.at(found.x.value, found.y.value)
    width = text_width(OWN, SMALL, bold=True) + 6
    left = x + RING + 1 if x + RING + width < RIGHT else x - RING - width - 1
    middle = min(max(y - 12, TOP + 12), BOTTOM - 12)
    return Box(left, middle - 10, left + width, middle + 10)


def _letters(found: LoadMap, sheet: Sheet, legend: list[Area], taken: list[Box]) -> Iterator[str]:
    """The letter of each area where it is wide enough; what it takes is noted."""
    places = spots(found.code, sheet.cells(LETTER))
    for area in legend:
        for place in places.get(area.code, []) if area.letter else []:
            x, y = sheet.corner(*place)
            box = Box(x - 9, y - 10, x + 9, y + 10)
            if all(box.clear_of(other) for other in taken):
                taken.append(box)
                yield text(area.letter, x, y + 5, LIGHT.ink, anchor="middle", bold=True, halo=LIGHT.paper, cls="letter")
                break


def _contours(found: LoadMap, sheet: Sheet, system: System) -> Iterator[Contour]:
    """Yield lines of equal pressure, where no bag is past a limit, at round pressures."""
    from contourpy import contour_generator  # only a page with a map needs it

    if found.pressure is None:
        return
    past = np.array([False, *(stop.kind == "bag" for stop in found.stops)])[found.code]
    if past.all():
        return
    pressure = np.where(past, np.nan, found.pressure)
    wanted, unit = levels(float(np.nanmin(pressure)), float(np.nanmax(pressure)), "pressure", system)
    lines = contour_generator(z=pressure)
    per_si = in_unit(1.0, "pressure", system)[0]
    for level in wanted:
        pieces = [
            [sheet.corner(x + 0.5, y + 0.5) for x, y in _thinned(piece)]
            for piece in lines.lines(level / per_si)
            if piece is not None and len(piece) > 2 * THIN
        ]
        if pieces:
            yield Contour(f"{tick_text(level)} {unit}", pieces)


def _thinned(piece: Any) -> list[tuple[float, float]]:
    """Return a line of contourpy, shape (points, 2), with fewer points, both ends kept."""
    return [(float(x), float(y)) for x, y in [*piece[:-1:THIN], piece[-1]]]


def _labels(contours: list[Contour], taken: list[Box]) -> Iterator[str]:
    """The pressure on each line, where there is room for it."""
    for one in contours:
        half = text_width(one.label, SMALL, bold=True) / 2 + 3
        longest = max(one.pieces, key=len)
        for part in TRIED:
            x, y = longest[round(part * (len(longest) - 1))]
            box = Box(x - half, y - 10, x + half, y + 10)
            inside = box.left > LEFT and box.right < RIGHT and box.top > TOP and box.bottom < BOTTOM
            if inside and all(box.clear_of(other) for other in taken):
                taken.append(box)
                yield text(one.label, x, y + 5, LIGHT.air, anchor="middle", bold=True, halo=LIGHT.paper, cls="pressure")
                break


def _foot(found: LoadMap, legend: list[Area], lines: bool) -> tuple[list[str], float]:
    """Return the legend below the map, and where it ends."""
    body: list[str] = []
    y = BOTTOM + 2 * ROW + 10
    for area in legend:
        rows, entry = _entry(area, y)
        body += entry
        y += rows
    for said in key_lines(found, lines):
        for part in wrapped(said, SMALL, WIDTH - 2 * MARGIN, 3):
            y += ROW
            body.append(text(part, MARGIN, y, LIGHT.soft))
    return body, y + 10


def _entry(area: Area, y: float) -> tuple[float, list[str]]:
    """Return how high one line of the legend is, and its parts: swatch, letter, words."""
    width, height = SWATCH
    body = [
        tag(
            "path",
            d=f"M{number(MARGIN)} {number(y + 5)}h{number(width)}v{number(height)}h{number(-width)}z",
            fill=_fill(area),
            stroke=LIGHT.ink,
            stroke_width=1.2,
            cls="swatch",
        )
    ]
    if area.letter:
        body.append(text(area.letter, MARGIN + width + 8, y + 18, LIGHT.ink, bold=True))
    start = MARGIN + width + 26
    parts = wrapped(area.words, SMALL, WIDTH - MARGIN - start, 3)
    body += [text(part, start, y + 18 + n * ROW, LIGHT.ink) for n, part in enumerate(parts)]
    return max(len(parts), 1) * ROW + 6, body
