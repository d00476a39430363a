"""The truck from behind, to scale: how it leans, on its springs and on its tyres."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from planner.plans.answer import SIDES, Answer, Stance
from planner.plans.setup import Setup
from planner.show.drawings import body_shapes
from planner.show.drawings.body import RAIL, ROOF, Pose
from planner.show.drawings.dimensioning import DASHES, GROUND, chain, dimension, ground, level_line
from planner.show.drawings.palette import LIGHT
from planner.show.drawings.springs import spring
from planner.show.drawings.svg import (
    MARGIN,
    SMALL,
    WIDTH,
    Anchor,
    Drawing,
    document,
    hatch,
    shape,
    tag,
    text,
    text_width,
)
from planner.show.text.numbers import say
from planner.show.text.words import heavier_side, height_words, lean_words, set_ride_heights
from planner.units.quantity import System

SPAN: Final = 216.0  # width of the truck between the numbers at its sides
TALLEST: Final = 230.0  # of the truck
HEAD: Final = 14.0
PATTERN: Final = "rear-ground"
NOTE: Final = "To scale; the body is sketched."
LEAST_SILL: Final = 0.02  # [m] from the body's underside up to the arch lips
BODY_BESIDE: Final = 0.03  # [m] of the body outside the tyres


@dataclass(frozen=True)
class Back:
    """From metres to the paper, seen from behind: left is left."""

    scale: float
    ground: float

    def at(self, y: float, z: float) -> tuple[float, float]:
        """Return the place on the paper of a point left of the centre line and above ground."""
        return WIDTH / 2.0 - y * self.scale, self.ground - z * self.scale


def from_behind(setup: Setup, answer: Answer, system: System, *, before: Stance | None = None) -> Drawing:
    """Return the truck from behind to scale, as it leans; in dashes as it stood in the stance `before`."""
    pose = Pose.of(setup, answer)
    paper = _paper(setup, pose)
    rail = paper.at(0.0, pose.height(RAIL))[1]
    words = _words(setup, answer, before, system)
    body = [
        ground(0, WIDTH, paper.ground, PATTERN),
        chain(WIDTH / 2, HEAD - 6, WIDTH / 2, paper.ground - 4),
        *_body(setup, pose, paper),
        *(_body(setup, pose, paper, before) if before else ()),
        *_axle(setup, answer, pose, paper),
        level_line(WIDTH / 2 - SPAN / 2 - 10, WIDTH / 2 + SPAN / 2 + 10, rail, WIDTH / 2),
        *_sides(setup, answer, pose, paper, system),
    ]
    y = paper.ground + GROUND + 36.0
    for part in words:
        body.append(text(part, WIDTH / 2, y, LIGHT.ink, anchor="middle"))
        y += 18.0
    body.append(text(NOTE, WIDTH / 2, y, LIGHT.soft, anchor="middle"))
    return document(
        "rear", y + 11.0, "From behind", _alt(setup, answer, words, system), body, [hatch(PATTERN, LIGHT.ground)]
    )


def _paper(setup: Setup, pose: Pose) -> Back:
    """Return the largest scale at which the truck fits."""
    half, tall = _half_width(setup), pose.height(ROOF) + max(0.0, pose.stance.rear)
    scale = min(SPAN / (2.0 * half), TALLEST / tall)
    return Back(scale, HEAD + tall * scale)


def _half_width(setup: Setup) -> float:
    """Return half the width of the body: it covers the tyres. [m]"""
    return max(body_shapes.outer_half_width(axle) for axle, _ in body_shapes.axles(setup.truck)) + BODY_BESIDE


def _frame(setup: Setup, pose: Pose) -> float:
    """Return the height at level of the body's underside between the wheels: it rests on the bags if any."""
    bag, arch = setup.truck.rear.bag, float(pose.arches[1])
    if bag is None:
        return min(pose.rocker, arch - LEAST_SILL)
    return min(float(pose.level_wheels[1]) + body_shapes.SEAT + float(bag.fitted_height), arch - LEAST_SILL)


def _body(setup: Setup, pose: Pose, paper: Back, stance: Stance | None = None) -> Iterator[str]:
    """The body from behind in its stance: tail, cab behind it; in another stance its outline in dashes."""
    half, rear = _half_width(setup), setup.truck.rear
    inner = body_shapes.tyre_places(rear)[-1] + body_shapes.tyre_width(rear) / 2.0 + 0.04
    arch, rail, roof, frame = float(pose.arches[1]), pose.height(RAIL), pose.height(ROOF), _frame(setup, pose)

    def posed(left: list[tuple[float, float]]) -> list[tuple[float, float]]:
        both = [*left, *((-y, z) for y, z in reversed(left))]
        return [paper.at(*pose.leaned(y, z, stance)) for y, z in both]

    tail = posed([(half, rail), (half, arch), (abs(inner), arch), (abs(inner), frame)])
    cab = posed([(0.92 * half, rail), (0.78 * half, roof)])
    if stance is not None:
        yield shape(tail, LIGHT.soft, width=1.2, dash=DASHES) + shape(cab, LIGHT.soft, width=1.2, dash=DASHES)
        return
    yield shape(cab, LIGHT.soft, fill=LIGHT.paper, width=1.4)
    yield shape(posed([(0.78 * half, rail + 0.1), (0.68 * half, roof - 0.1)]), LIGHT.soft, width=1.0)
    yield shape(tail, LIGHT.ink, fill=LIGHT.paper, cls="body")
    yield shape(posed([(0.84 * half, rail - 0.04), (0.84 * half, arch + 0.04)]), LIGHT.soft, width=1.2)


def _axle(setup: Setup, answer: Answer, pose: Pose, paper: Back) -> Iterator[str]:
    """Tyres, the axle between them, springs on it."""
    axle = setup.truck.rear
    left, right = (float(z) for z in pose.wheels[1])
    half, track = axle.track / 2.0, float(axle.track)

    def seat(y: float) -> float:
        return (left + right) / 2.0 + (left - right) * y / track

    yield shape([paper.at(half, left), paper.at(-half, right)], LIGHT.ink, width=4.0, closed=False)
    for y in body_shapes.tyre_places(axle):
        yield _tyre(*paper.at(y, seat(y)), body_shapes.tyre_width(axle) * paper.scale, paper)
    spacing = body_shapes.spring_half_spacing(axle)
    for y, height in zip((spacing, -spacing), answer.bag_height[1], strict=True):
        yield spring(axle, float(height), *paper.at(y, seat(y) + body_shapes.SEAT), paper.scale, side=False)


def _tyre(x: float, y: float, width: float, paper: Back) -> str:
    """One tyre from behind: it stands on the ground, as high above its centre as below."""
    radius = paper.ground - y
    return tag(
        "rect",
        x=x - width / 2,
        y=y - radius,
        width=width,
        height=2 * radius,
        rx=min(6.0, width / 3),
        fill=LIGHT.paper,
        stroke=LIGHT.ink,
        stroke_width=2.0,
        cls="tyre rear",
    )


def _sides(setup: Setup, answer: Answer, pose: Pose, paper: Back, system: System) -> Iterator[str]:
    """At each side its name and ride height, and under the ground what its tyres carry."""
    half, track = _half_width(setup), float(setup.truck.rear.track)
    heavier, rides = heavier_side(answer.tyre_load[1]), set_ride_heights(setup, answer)
    for i, side in enumerate((1, -1)):
        centre, height = float(pose.wheels[1, i]), float(rides[1, i])
        x, low = paper.at(side * (half + 0.08), centre)
        high = paper.at(0.0, centre + height)[1]
        yield dimension(x, low, x, high, LIGHT.soft)
        anchor: Anchor = "end" if side == 1 else "start"
        beside, middle = x - side * 7, (low + high) / 2
        yield text(SIDES[i], beside, middle - 22, LIGHT.soft, anchor=anchor)
        yield text("ride", beside, middle - 5, LIGHT.soft, anchor=anchor)
        yield text(say(height, "length", system), beside, middle + 12, LIGHT.ink, anchor=anchor)
        load = say(float(answer.tyre_load[1, i]), "load", system)
        words = f"{load}, heavier" if heavier == SIDES[i] else load
        edge = text_width(words, SMALL) / 2 + MARGIN
        under = paper.at(side * track / 2, 0.0)[0]
        yield text(words, min(max(under, edge), WIDTH - edge), paper.ground + GROUND + 15, LIGHT.ink, anchor="middle")


def _words(setup: Setup, answer: Answer, before: Stance | None, system: System) -> list[str]:
    """Return how the rear stands, and how it stood before."""
    track = float(setup.truck.rear.track)

    def stands(stance: Stance) -> str:
        return f"rear {height_words(stance.rear, system)}, {lean_words(stance, track, system)}"

    now = stands(answer.set.stance)
    lines = [now[0].upper() + now[1:]]
    return lines if before is None else [*lines, f"dashes: {stands(before)}"]


def _alt(setup: Setup, answer: Answer, words: list[str], system: System) -> str:
    """Return the drawing in words."""
    heights = set_ride_heights(setup, answer)[1]
    rides = [f"{side} {say(float(h), 'length', system)}" for side, h in zip(SIDES, heights, strict=True)]
    loads = [f"{side} {say(float(w), 'load', system)}" for side, w in zip(SIDES, answer.tyre_load[1], strict=True)]
    said = "; ".join(words)
    return f"The truck from behind. {said}. Ride height {', '.join(rides)}. Tyres carry {', '.join(loads)}. {NOTE}"
