"""The truck from above, to scale: the pressure to set at each corner, what the tyres carry, cargo, hitch."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from planner.plans.answer import AXLES, Answer
from planner.plans.setup import Setup
from planner.records import Axle
from planner.show.drawings import body_shapes
from planner.show.drawings.cargo import HALF_BOX, Loads
from planner.show.drawings.cargo import NAMED as LABEL
from planner.show.drawings.corner_labels import Corner, corners
from planner.show.drawings.dimensioning import arrow, chain
from planner.show.drawings.palette import LIGHT
from planner.show.drawings.svg import (
    MARGIN,
    SMALL,
    WIDTH,
    Drawing,
    clean,
    document,
    line,
    number,
    shape,
    shorten,
    tag,
    text,
)
from planner.show.text.words import aboard_change_words, hitch_words
from planner.units.quantity import System

BAND: Final = 136.0  # width of the truck between the two columns of numbers
BOX: Final = HALF_BOX[1] + 6.0  # room that cargo at the side needs beyond its centre
LONGEST: Final = 470.0  # of the truck with all that is on and behind it
HEAD: Final = 46.0  # room for the arrow that points to the front
BAR: Final = 46.0  # length of drawbar shown behind the truck
LINE: Final = 18.0  # from one line of text to the next
UNDER: Final = 16.0  # size of the hitch load
NOTE: Final = "To scale; the body is sketched."


@dataclass(frozen=True)
class Plan:
    """From the truck's axes, x forward and y left [m], to the paper: front up, left left."""

    scale: float
    origin: float  # y on the paper of the rear axle

    def x(self, y: float) -> float:
        """Return how far across the paper a place left of the centre line is."""
        return WIDTH / 2.0 - y * self.scale

    def y(self, x: float) -> float:
        """Return how far down the paper a place ahead of the rear axle is."""
        return self.origin - x * self.scale


def from_above(setup: Setup, answer: Answer, system: System) -> Drawing:
    """Return the truck from above to scale with the pressures to set; its height follows the truck's length."""
    plan = _plan(setup)
    places = corners(setup, answer, system, [plan.y(x) for _, x in body_shapes.axles(setup.truck)], HEAD)
    blocks_end = max(corner.bottom for corner in places)
    end = max(plan.y(_rearmost(setup)) + (BAR if setup.trailer is not None else 16.0), blocks_end)
    if any(item.x < 0 for item in setup.cargo):
        end = max(end, blocks_end + LABEL)
    zones = [(max(one.bottom for one in places[:2]), places[2].top), (blocks_end, end)]
    loads = Loads.of(setup.cargo, plan, system, zones)
    words, bottom = _foot(setup, answer, system, loads, end)
    body = [
        *front_arrow(),
        *_truck(setup, plan),
        *loads.boxes(),
        *_hitch(setup, plan, end),
        *(line for corner in places for line in corner.texts()),
        *loads.labels(),
        *words,
    ]
    title = "Pressures to set, seen from above"
    return document("above", bottom, title, _alt(setup, answer, places, loads, system), body)


def _plan(setup: Setup) -> Plan:
    """Return the largest scale at which everything fits between the columns and the length allowed."""
    body, places = body_shapes.body(setup.truck), _places(setup)
    xs = [body.nose, body.tail, *(x for x, _ in places)]
    widths = [body_shapes.outer_half_width(axle) for axle, _ in body_shapes.axles(setup.truck)]
    widths += [body_shapes.spring_half_spacing(axle) for axle, _ in body_shapes.axles(setup.truck)]
    to_sides = [(BAND / 2 - BOX) / abs(y) for _, y in places if y]
    scale = min(BAND / (2.0 * max(widths)), LONGEST / (max(xs) - min(xs)), *to_sides)
    return Plan(scale, HEAD + max(xs) * scale)


def _places(setup: Setup) -> list[tuple[float, float]]:
    """Return where hitch and cargo are, x and y. [m]"""
    places = [(float(item.x), float(item.y)) for item in setup.cargo]
    return places if setup.hitch is None else [*places, (float(setup.hitch.x), float(setup.hitch.y))]


def _rearmost(setup: Setup) -> float:
    """Return the rearmost place that is drawn, ahead of the rear axle. [m]"""
    return min(body_shapes.body(setup.truck).tail, *(x for x, _ in _places(setup)), 0.0)


def front_arrow() -> Iterator[str]:
    """The arrow that points to the front, and the names of the sides."""
    middle = WIDTH / 2
    yield line(middle, 12, middle, 36, LIGHT.soft, 1.4) + arrow(middle, 12, -math.pi / 2, LIGHT.soft, 1.4)
    yield text("front", middle + 10, 28, LIGHT.soft)
    yield text("left", MARGIN, 28, LIGHT.soft)
    yield text("right", WIDTH - MARGIN, 28, LIGHT.soft, anchor="end")


def _truck(setup: Setup, plan: Plan) -> Iterator[str]:
    """Body, axle lines, tyres and springs."""
    yield from _body(setup, plan)
    for axle, x in body_shapes.axles(setup.truck):
        half = body_shapes.outer_half_width(axle)
        yield chain(plan.x(half), plan.y(x), plan.x(-half), plan.y(x))
    for name, (axle, x) in zip(AXLES, body_shapes.axles(setup.truck), strict=True):
        for y in body_shapes.tyre_places(axle):
            yield _tyre(axle, plan.x(y), plan.y(x), plan.scale, name)
        yield from _springs(axle, plan, x)


def _body(setup: Setup, plan: Plan) -> Iterator[str]:
    """The sketched body: outline, bonnet, cab between two windows, load bed."""
    body, length = body_shapes.body(setup.truck), float(setup.truck.wheelbase)
    half, radius = body.half_width, float(setup.truck.front.tyres.unloaded_radius)
    shoulder, cowl, screen = body.nose - 0.55 * radius, length - 1.25 * radius, length - 2.1 * radius
    cab = body_shapes.cab_back(setup.truck)

    def mirrored(ends: list[tuple[float, float]], bow: float, stroke: str, width: float) -> str:
        left = [(plan.x(share * half), plan.y(x)) for x, share in ends]
        return _outline(left, plan.y(ends[-1][0] + bow), stroke, width)

    yield mirrored([(body.tail, 1.0), (cab, 1.0), (shoulder, 0.93)], 1.25 * radius, LIGHT.ink, 2.0)
    yield mirrored([(screen, 0.80), (cowl, 0.90)], 0.45 * radius, LIGHT.soft, 1.2)
    yield mirrored([(cab + 0.14, 0.82), (cab + 0.3, 0.76)], 0.0, LIGHT.soft, 1.2)
    for share, front, back_share, back in (
        (0.50, cowl + 0.35 * radius, 0.56, shoulder),
        (0.80, screen, 0.76, cab + 0.3),
    ):
        for side in (half, -half):
            ends = plan.x(side * share), plan.y(front), plan.x(side * back_share), plan.y(back)
            yield line(*ends, LIGHT.soft, 1.0)
    yield from _bed(body, cab, plan)


def _bed(body: body_shapes.Body, cab: float, plan: Plan) -> Iterator[str]:
    """The load bed with its boards."""
    half, front, back = body.half_width, cab - 0.05, body.tail + 0.07
    corners_of_bed = [(back, 0.87), (front, 0.87), (front, -0.87), (back, -0.87)]
    yield shape([(plan.x(share * half), plan.y(x)) for x, share in corners_of_bed], LIGHT.soft, width=1.2)
    for share in (-0.58, -0.29, 0.0, 0.29, 0.58):
        x = plan.x(share * half)
        yield line(x, plan.y(front), x, plan.y(back), LIGHT.ground, 1.0)


def _outline(left: list[tuple[float, float]], top: float, stroke: str, width: float) -> str:
    """Return a shape that is the same left and right of the middle, its front end bowed towards a height."""
    right = [(WIDTH - x, y) for x, y in reversed(left)]
    points = "L".join(f"{number(x)} {number(y)}" for x, y in left)
    back = "L".join(f"{number(x)} {number(y)}" for x, y in right)
    d = f"M{points}Q{number(WIDTH / 2)} {number(top)} {back}Z"
    return tag("path", d=d, fill="none", stroke=stroke, stroke_width=width, stroke_linejoin="round")


def _tyre(axle: Axle, x: float, y: float, scale: float, name: str) -> str:
    """One tyre, to scale along the truck."""
    length, width = 2.0 * float(axle.tyres.unloaded_radius) * scale, body_shapes.tyre_width(axle) * scale
    return tag(
        "rect",
        x=x - width / 2,
        y=y - length / 2,
        width=width,
        height=length,
        rx=min(6.0, width / 2),
        fill=LIGHT.paper,
        stroke=LIGHT.ink,
        stroke_width=2.0,
        cls=f"tyre {name}",
    )


def _springs(axle: Axle, plan: Plan, x: float) -> Iterator[str]:
    """Bags as circles of their effective area, joined ones with their line; steel as a leaf along the truck."""
    half, y = body_shapes.spring_half_spacing(axle), plan.y(x)
    if axle.bag is None:
        yield from (_steel(axle, plan.x(side * half), y, plan.scale) for side in (1, -1))
        return
    if axle.plumbing == "joined":
        yield line(plan.x(half), y + 4, plan.x(-half), y + 4, LIGHT.air, 2.0)
        yield text("one line", WIDTH / 2, y + 21, LIGHT.air, anchor="middle", halo=LIGHT.paper)
    for side in (1, -1):
        yield tag(
            "circle",
            cx=plan.x(side * half),
            cy=y,
            r=max(3.0, body_shapes.bag_radius(axle) * plan.scale),
            fill=LIGHT.air_wash,
            stroke=LIGHT.air,
            stroke_width=1.8,
            cls="bag",
        )


def _steel(axle: Axle, x: float, y: float, scale: float) -> str:
    """A spring of steel from above: a leaf of a solid axle, a coil of an independent one."""
    radius = float(axle.tyres.unloaded_radius) * scale
    if axle.suspension == "solid":
        return "".join(line(x + off, y - radius, x + off, y + radius, LIGHT.ink, 1.4) for off in (-2.0, 2.0))
    rings = (0.24 * radius, 0.13 * radius)
    return "".join(tag("circle", cx=x, cy=y, r=r, fill="none", stroke=LIGHT.ink, stroke_width=1.4) for r in rings)


def _hitch(setup: Setup, plan: Plan, end: float) -> Iterator[str]:
    """The coupling in its place, and the drawbar behind it, broken off."""
    if setup.hitch is None:
        return
    x, y = plan.x(float(setup.hitch.y)), plan.y(float(setup.hitch.x))
    tail = plan.y(body_shapes.body(setup.truck).tail)
    if y > tail:
        yield line(x, tail, x, y, LIGHT.ink, 3.0)
    if setup.trailer is not None:
        for side in (-1, 1):
            yield line(x + side * 3.0, y, x + side * 11.0, end - 8, LIGHT.soft, 1.4)
        yield _break(x, end - 8, 17.0)
    yield tag("circle", cx=x, cy=y, r=5.0, fill=LIGHT.ink, stroke=LIGHT.paper, stroke_width=1.5, cls="hitch")


def _break(x: float, y: float, half: float) -> str:
    """Return the line that says the rest is not drawn."""
    steps = [(-half, 0), (-3, 0), (-1.5, -5), (1.5, 5), (3, 0), (half, 0)]
    return shape([(x + dx, y + dy) for dx, dy in steps], LIGHT.soft, width=1.2, closed=False)


def _foot(setup: Setup, answer: Answer, system: System, loads: Loads, top: float) -> tuple[list[str], float]:
    """Return the lines below the truck, and where they end: the hitch load, cargo and who is aboard, the note."""
    room, y, lines = WIDTH - 2 * MARGIN, top + (12.0 if setup.trailer else 20.0), []
    if setup.trailer is not None:
        words = hitch_words(setup, answer, system) or ""
        lines.append(text(words, WIDTH / 2, y, LIGHT.ink, size=UNDER, anchor="middle", bold=True))
        name = shorten(clean(setup.trailer.name), SMALL, room)
        lines.append(text(name, WIDTH / 2, y + LINE, LIGHT.soft, anchor="middle"))
        y += 2 * LINE + 8
    for words in loads.listed():
        lines.append(text(words, MARGIN, y, LIGHT.ochre))
        y += LINE
    y += 8 if loads.numbered else 0
    if words := aboard_change_words(setup, system):
        lines.append(text(shorten(words, SMALL, room), MARGIN, y, LIGHT.ochre))
        y += LINE
    lines.append(text(NOTE, MARGIN, y, LIGHT.soft))
    return lines, y + 12.0


def _alt(setup: Setup, answer: Answer, places: list[Corner], loads: Loads, system: System) -> str:
    """Return the drawing in words."""
    said = [f"{one.said[0].upper()}{one.said[1:]}." for one in places]
    if cargo := loads.said():
        said.append(f"Cargo: {cargo}.")
    if aboard := aboard_change_words(setup, system):
        said.append(f"{aboard}.")
    if words := hitch_words(setup, answer, system):
        assert setup.trailer is not None  # there are no words without one
        said.append(f"{words}, from {clean(setup.trailer.name)}.")
    return " ".join(["The truck from above, front at the top.", *said, NOTE])
