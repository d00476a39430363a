"""The trailer by itself from above, to scale, front up: what is on its deck, and what its wheels and coupling carry."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from planner.plans.trailer_deck import DeckPlan
from planner.records import DeckItem, PointMass
from planner.show.drawings import body_shapes
from planner.show.drawings.body import TrailerPose
from planner.show.drawings.cargo import COLUMN, NAMED, Loads
from planner.show.drawings.dimensioning import chain
from planner.show.drawings.palette import LIGHT
from planner.show.drawings.svg import MARGIN, SMALL, WIDTH, Anchor, Drawing, document, line, shape, tag, text, wrapped
from planner.show.drawings.top_view import BOX, HEAD, LONGEST, Plan, front_arrow
from planner.show.drawings.trailer_side import AHEAD, LINE, UNDER, centre_mark, centre_words, loads_words
from planner.show.text.numbers import say
from planner.show.text.words import COUPLING_PARTS
from planner.units.quantity import System

BAND: Final = 120.0  # width of the trailer between the two columns of numbers
TYRE: Final = 0.21  # [m] width of a sketched tyre
TWIN: Final = 1.25  # distance of the tyres of a pair, of that width
DECK_EDGE: Final = 0.05  # [m] from the inner tyre to the deck
NECK_HALF: Final = 0.3  # [m] half the width of a neck
BLOCK: Final = (24.0, 38.0)  # room above and below the axle centre for the numbers beside it
ORIGIN: Final = "the axle centre"
NOTE: Final = "To scale; deck and wheels are sketched."


def deck_above(plan: DeckPlan, system: System) -> Drawing:
    """Return a trailer from above to scale with what is on it, the load of each side's wheels and of the coupling."""
    pose = TrailerPose.alone(plan.trailer)
    cargo = [_as_mass(item) for item in plan.trailer.deck]
    paper = _paper(plan, pose)
    coupling_end = paper.y(pose.axle_distance) + 2 * LINE + 4
    block = (max(paper.y(0.0) - BLOCK[0], coupling_end), max(paper.y(0.0), coupling_end + BLOCK[0]) + BLOCK[1])
    end = max(block[1], paper.y(_rearmost(plan, pose)) + 16.0)
    if any(item.ahead < 0 for item in plan.trailer.deck):
        end = max(end, block[1] + NAMED)
    loads = Loads.of(cargo, paper, system, [(coupling_end, block[0]), (block[1], end)], ORIGIN)
    foot, bottom = _foot(plan, loads, end + 14.0, system)
    body = [
        *front_arrow(),
        *_trailer(plan, pose, paper),
        *loads.boxes(),
        *_coupling(plan, paper, system),
        *_wheels(plan, paper, block, system),
        *loads.labels(),
        centre_mark(paper.x(plan.centre[1]), paper.y(plan.centre[0])),
        *foot,
    ]
    return document("deck-above", bottom, "The trailer from above", _alt(plan, loads, system), body)


def _as_mass(item: DeckItem) -> PointMass:
    """Return an item as the placing of boxes and names knows it; how high it lies nobody asks."""
    return PointMass(item.name, float(item.weight), float(item.ahead), float(item.left), math.nan)


def _paper(plan: DeckPlan, pose: TrailerPose) -> Plan:
    """Return the largest scale at which everything fits between the columns and the length allowed."""
    items = [(float(item.ahead), float(item.left)) for item in plan.trailer.deck]
    front = max([pose.axle_distance + AHEAD, *(ahead for ahead, _ in items)])
    half = max(abs(y) + TYRE / 2 for y in _tyres(plan))
    to_sides = [(BAND / 2 - BOX) / abs(left) for _, left in items if left]
    scale = min(BAND / (2 * half), LONGEST / (front - _rearmost(plan, pose)), *to_sides)
    return Plan(scale, HEAD + front * scale)


def _rearmost(plan: DeckPlan, pose: TrailerPose) -> float:
    """Return the rearmost place that is drawn, ahead of the axle centre. [m]"""
    return min([pose.axle_distance - pose.end, *(float(item.ahead) for item in plan.trailer.deck)])


def _tyres(plan: DeckPlan) -> list[float]:
    """Return the tyres of one axle left to right, left of the centre line; the track runs to the middle of a pair."""
    half = TWIN * TYRE / 2 if plan.trailer.tyres_per_side == 2 else 0.0
    return sorted({s * float(plan.trailer.track) / 2 + off for s in (1, -1) for off in (half, -half)}, reverse=True)


def _trailer(plan: DeckPlan, pose: TrailerPose, paper: Plan) -> Iterator[str]:
    """Drawbar or neck, deck with its boards, axles and wheels."""
    tyres, length = _tyres(plan), pose.axle_distance
    half = max(0.2, min(abs(y) for y in tyres) - TYRE / 2 - DECK_EDGE)
    nose, tail = length - pose.nose, length - pose.end
    if pose.necked:
        neck = [(length + 0.12, NECK_HALF), (nose, NECK_HALF), (nose, -NECK_HALF), (length + 0.12, -NECK_HALF)]
    else:
        neck = [(nose, 0.7 * half), (length, 0.06), (length, -0.06), (nose, -0.7 * half)]
    yield shape([(paper.x(y), paper.y(x)) for x, y in neck], LIGHT.ink, fill=LIGHT.paper, width=1.7)
    deck = [(nose, half), (nose, -half), (tail, -half), (tail, half)]
    yield shape([(paper.x(y), paper.y(x)) for x, y in deck], LIGHT.ink, fill=LIGHT.paper, width=2.0, cls="deck")
    for share in (-0.6, -0.2, 0.2, 0.6):
        x = paper.x(share * half)
        yield line(x, paper.y(nose), x, paper.y(tail), LIGHT.ground, 1.0)
    outer = max(tyres) + TYRE / 2
    for behind in pose.wheels:
        y = paper.y(length - behind)
        yield chain(paper.x(outer), y, paper.x(-outer), y)
        yield from (_tyre(paper.x(tyre), y, paper.scale) for tyre in tyres)


def _tyre(x: float, y: float, scale: float) -> str:
    """One tyre."""
    width, length = TYRE * scale, 2 * body_shapes.TRAILER_WHEEL * scale
    look = {"fill": LIGHT.paper, "stroke": LIGHT.ink, "cls": "tyre"}
    radius = min(5.0, width / 2)
    return tag(
        "rect", x=x - width / 2, y=y - length / 2, width=width, height=length, rx=radius, stroke_width=1.8, **look
    )


def _coupling(plan: DeckPlan, paper: Plan, system: System) -> Iterator[str]:
    """The coupling, with its load beside it."""
    x, y = paper.x(0.0), paper.y(float(plan.trailer.axle_distance))
    at = WIDTH - MARGIN - COLUMN
    yield line(x, y, at - 6, y, LIGHT.soft, 1.0)
    yield tag("circle", cx=x, cy=y, r=5.0, fill=LIGHT.ink, stroke=LIGHT.paper, stroke_width=1.5, cls="hitch")
    yield text(say(plan.tongue_load, "load", system), at, y + 5, LIGHT.ink, size=UNDER, bold=True)
    yield text(f"on the {COUPLING_PARTS[plan.trailer.coupling]}", at, y + 5 + LINE, LIGHT.soft)


def _wheels(plan: DeckPlan, paper: Plan, block: tuple[float, float], system: System) -> Iterator[str]:
    """What the wheels of each side carry, beside the axles."""
    y, count = block[0] + BLOCK[0] - 4, plan.trailer.axle_count
    for side, one in zip((1, -1), plan.side_load, strict=True):
        anchor: Anchor = "end" if side == 1 else "start"
        x = WIDTH / 2 - side * (WIDTH / 2 - MARGIN - COLUMN)
        yield line(x + side * 6, y - 5, paper.x(side * max(_tyres(plan))), paper.y(0.0), LIGHT.soft, 1.0)
        yield text(say(count * one, "load", system), x, y, LIGHT.ink, size=UNDER, bold=True, anchor=anchor)
        yield text(f"{'left' if side == 1 else 'right'} wheels", x, y + LINE, LIGHT.soft, anchor=anchor)
        tyres = count * plan.trailer.tyres_per_side
        if tyres > 1:
            each = say(one / plan.trailer.tyres_per_side, "load", system)
            yield text(f"{each} a tyre", x, y + 2 * LINE, LIGHT.soft, anchor=anchor)


def _foot(plan: DeckPlan, loads: Loads, y: float, system: System) -> tuple[list[str], float]:
    """Return the lines below the trailer, and where they end: centre of mass, the list of items, the note."""
    lines = [centre_mark(MARGIN + 7, y - 5, "key")]
    words = centre_words(plan, system)
    for part in wrapped(f"{words[0].upper()}{words[1:]}", SMALL, WIDTH - 2 * MARGIN - 22, 3):
        lines.append(text(part, MARGIN + 22, y, LIGHT.ink))
        y += LINE
    y += 4
    for said in loads.listed():
        lines.append(text(said, MARGIN, y, LIGHT.ochre))
        y += LINE
    y += 8 if loads.numbered else 0
    lines.append(text(NOTE, MARGIN, y, LIGHT.soft))
    return lines, y + 12.0


def _alt(plan: DeckPlan, loads: Loads, system: System) -> str:
    """Return the drawing in words."""
    left, right = (say(plan.trailer.axle_count * one, "load", system) for one in plan.side_load)
    words = centre_words(plan, system)
    said = ["The trailer from above, front at the top."]
    said.append(f"{loads_words(plan, system)}; left wheels {left}, right wheels {right}.")
    said.append(f"{words[0].upper()}{words[1:]}.")
    if on_it := loads.said():
        said.append(f"On it: {on_it}.")
    return " ".join([*said, NOTE])
