"""Cargo on a truck seen from above: crossed boxes to scale in place, with names beside them or numbers and a list."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Protocol

from planner.plans.answer import SIDES
from planner.records import PlacedLoad
from planner.show.drawings.dimensioning import crossed_box, spread
from planner.show.drawings.palette import LIGHT
from planner.show.drawings.svg import MARGIN, SMALL, WIDTH, Anchor, clean, line, shorten, text
from planner.show.text.numbers import say
from planner.units.quantity import System

COLUMN: Final = 120.0  # width of the names at one side
MOST_NAMED: Final = 6  # more get numbers and a list below
NAMED, NUMBERED = 40.0, 18.0  # from one label to the next: two lines of text, or a number
CAP: Final = 11.0  # height of a line of text above its baseline
HALF_BOX: Final = (6.0, 13.0)  # half the side of the smallest and the largest box
LARGE: Final = 500.0  # [kg] what gets the largest box


Zone = tuple[float, float]  # from where to where, down the paper, a column is free


class Paper(Protocol):
    """Where a place of the truck is on the paper."""

    def x(self, y: float) -> float:
        """Return how far across."""

    def y(self, x: float) -> float:
        """Return how far down."""


@dataclass(frozen=True)
class Label:
    """One item's box on the paper, and where its label stands: which side, how far down; None where it has none."""

    item: PlacedLoad
    x: float
    y: float
    half: float
    side: int
    label_y: float | None


@dataclass(frozen=True)
class Loads:
    """All cargo on the paper. With ``numbered`` the labels are numbers and the names belong in a list."""

    placed: tuple[Label, ...]
    numbered: bool
    system: System
    origin: str = "the rear axle"  # what places are counted from

    @classmethod
    def of(
        cls,
        cargo: Sequence[PlacedLoad],
        paper: Paper,
        system: System,
        zones: Sequence[Zone],
        origin: str = "the rear axle",
    ) -> Loads:
        """Place cargo and its labels, which have the zones of both columns to themselves."""
        sides = _sides(cargo)
        spots = [(paper.x(float(item.y)), paper.y(float(item.x))) for item in cargo]
        down = [y for _, y in spots]
        places = [] if len(cargo) > MOST_NAMED else _label_places(sides, down, zones, NAMED)
        numbered = bool(cargo) and (not places or None in places)
        if numbered:
            places = _label_places(sides, down, zones, NUMBERED)
        placed = tuple(
            Label(item, x, y, box_half(float(item.weight)), side, place)
            for item, (x, y), side, place in zip(cargo, spots, sides, places, strict=True)
        )
        return cls(placed, numbered, system, origin)

    def boxes(self) -> Iterator[str]:
        """Yield the leaders, then the boxes, heaviest first so that a small one on a large one shows."""
        for one in self.placed:
            if one.label_y is not None:
                end = _inner(one.side) + (4.0 if one.side == 0 else -4.0)
                yield line(one.x, one.y, end, one.label_y, LIGHT.ochre, 1.0)
        for one in sorted(self.placed, key=lambda one: -one.half):
            yield crossed_box(one.x, one.y, one.half)

    def labels(self) -> Iterator[str]:
        """Yield names with weights, or numbers, at the ends of the leaders."""
        for n, one in enumerate(self.placed, start=1):
            if one.label_y is None:
                continue
            anchor: Anchor = "end" if one.side == 0 else "start"
            x = _inner(one.side)
            if self.numbered:
                yield text(str(n), x, one.label_y + 5, LIGHT.ochre, anchor=anchor, bold=True)
                continue
            name = shorten(clean(one.item.name), SMALL, COLUMN)
            yield text(name, x, one.label_y - 2, LIGHT.ochre, anchor=anchor)
            yield text(self._weight(one.item), x, one.label_y + 14, LIGHT.ochre, anchor=anchor)

    def listed(self) -> list[str]:
        """Return the list that numbers need: a line each, and one for all that have no number."""
        if not self.numbered:
            return []
        with_number = [(n, one.item) for n, one in enumerate(self.placed, start=1) if one.label_y is not None]
        lines = []
        for n, item in with_number:
            end = f", {self._weight(item)}"
            lines.append(f"{n}. {shorten(clean(item.name), SMALL, WIDTH - 2 * MARGIN - 110.0)}{end}")
        rest = [one.item for one in self.placed if one.label_y is None]
        if rest:
            total = say(sum(float(item.weight) for item in rest), "weight", self.system)
            lines.append(f"and {len(rest)} more, {total} together")
        return lines

    def said(self) -> str:
        """Return all cargo in words, empty where there is none."""
        return "; ".join(self._said(one.item) for one in self.placed)

    def _weight(self, item: PlacedLoad) -> str:
        return say(float(item.weight), "weight", self.system)

    def _said(self, item: PlacedLoad) -> str:
        """Return an item with its weight and place."""
        ahead, left = float(item.x), float(item.y)
        along = f"{say(abs(ahead), 'length', self.system)} {'ahead of' if ahead >= 0 else 'behind'} {self.origin}"
        if left == 0:
            return f"{clean(item.name)} {self._weight(item)}, {along}"
        across = f"{say(abs(left), 'length', self.system)} to the {SIDES[left < 0]}"
        return f"{clean(item.name)} {self._weight(item)}, {along}, {across}"


def _label_places(
    sides: Sequence[int], down: Sequence[float], zones: Sequence[Zone], pitch: float
) -> list[float | None]:
    """Return how far down the paper each label stands: in the zone nearest to its box that has room, or None."""
    places: list[float | None] = [None] * len(sides)
    for side in (0, 1):
        members: list[list[int]] = [[] for _ in zones]
        for j in sorted((j for j, own in enumerate(sides) if own == side), key=lambda j: down[j]):
            near = sorted(range(len(zones)), key=lambda z: max(zones[z][0] - down[j], down[j] - zones[z][1], 0.0))
            free = [z for z in near if (len(members[z]) + 1) * pitch <= zones[z][1] - zones[z][0]]
            if free:
                members[free[0]].append(j)
        for zone, own in zip(zones, members, strict=True):
            wanted = [down[j] for j in own]
            for j, place in zip(own, spread(wanted, pitch, zone[0] + pitch / 2, zone[1] - pitch / 2), strict=True):
                places[j] = place
    return places


def _inner(side: int) -> float:
    """Return the inner edge of a column."""
    return MARGIN + COLUMN if side == 0 else WIDTH - MARGIN - COLUMN


def box_half(weight: float) -> float:
    """Return half the side of an item's box: its area goes with the weight [kg], between a least and a greatest."""
    least, greatest = HALF_BOX
    return min(greatest, max(least, greatest * math.sqrt(weight / LARGE)))


def _sides(cargo: Sequence[PlacedLoad]) -> list[int]:
    """Return the side of each label, 0 left: its own, and for what stands in the middle the emptier one."""
    sides: list[int | None] = [None if not item.y else int(item.y < 0) for item in cargo]
    for j, side in enumerate(sides):
        if side is None:
            sides[j] = int(sides.count(0) > sides.count(1))
    return [side or 0 for side in sides]
