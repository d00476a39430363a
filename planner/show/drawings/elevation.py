"""The truck's body, wheels and trailer from the left side, posed over level ground: what every side view is made of."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from planner.plans.answer import Stance
from planner.plans.setup import Setup
from planner.show.drawings import body_shapes
from planner.show.drawings.body import BONNET, NECK, RAIL, ROOF, Pose, TrailerPose
from planner.show.drawings.dimensioning import DASHES
from planner.show.drawings.palette import LIGHT
from planner.show.drawings.svg import line, shape, tag

LEFT: Final = 14.0  # margin before the nose
DECK: Final = 0.16  # [m] thickness of the sketched deck
ARC: Final = 14  # points of an arch
JACK: Final = 0.45  # [m] from a coupling to the jack of a drawbar
FOLDED: Final = 0.10  # [m] a folded jack's foot hangs below the frame


@dataclass(frozen=True)
class Elevation:
    """From metres to the paper: front to the left, ground at a line."""

    scale: float
    nose: float
    ground: float

    def x(self, x: float) -> float:
        """Return how far across the paper a place ahead of the rear axle is."""
        return LEFT + (self.nose - x) * self.scale

    def y(self, z: float) -> float:
        """Return how far down the paper a height is."""
        return self.ground - z * self.scale

    def at(self, x: float, z: float) -> tuple[float, float]:
        """Return a point's place on the paper."""
        return self.x(x), self.y(z)


def _profile(setup: Setup, pose: Pose) -> list[tuple[float, float]]:
    """Return the body's outline at level, from the tail forward along the roof and back along the lower edge."""
    body, length = body_shapes.body(setup.truck), pose.wheelbase
    radius = float(setup.truck.front.tyres.unloaded_radius)
    cab, cowl, screen = body_shapes.cab_back(setup.truck), length - 0.9 * radius, length - 2.1 * radius
    rail, bonnet, roof, rocker = (pose.height(RAIL), pose.height(BONNET), pose.height(ROOF), pose.rocker)
    upper = [
        (body.tail, rocker),
        (body.tail, rail),
        (cab, rail),
        (cab + 0.06, roof),
        (screen, roof),
        (cowl, bonnet + 0.04),
        (body.nose - 0.1, bonnet - 0.06),
        (body.nose, bonnet - 0.18),
        (body.nose, rocker),
    ]
    return [*upper, *_arch(pose, 0, length), *_arch(pose, 1, 0.0)]


def _arch(pose: Pose, k: int, x: float) -> list[tuple[float, float]]:
    """Return the points of a wheel arch at level, front to rear: its lip stands the ride height above the wheel."""
    centre, radius = float(pose.level_wheels[k]), float(pose.ride_design[k])
    start = math.asin(max(-0.9, min(0.9, (pose.rocker - centre) / radius)))
    turns = (start + (math.pi - 2 * start) * n / ARC for n in range(ARC + 1))
    return [(x + radius * math.cos(turn), centre + radius * math.sin(turn)) for turn in turns]


def outline(setup: Setup, pose: Pose, paper: Elevation, stance: Stance | None = None) -> Iterator[str]:
    """The body in its stance; in dashes, with no windows, in another."""
    points = [paper.at(x, pose.lifted(x, z, stance)) for x, z in _profile(setup, pose)]
    if stance is not None:
        yield shape(points, LIGHT.soft, width=1.2, dash=DASHES)
        return
    yield shape(points, LIGHT.ink, fill=LIGHT.paper, width=1.7, cls="body")
    length, radius = pose.wheelbase, float(setup.truck.front.tyres.unloaded_radius)
    cab, cowl, screen = body_shapes.cab_back(setup.truck), length - 0.9 * radius, length - 2.1 * radius
    roof, sill = pose.height(ROOF - 0.09), pose.height(RAIL + 0.04)
    pillar = (screen + cab) / 2.0
    glass = [(cab + 0.16, sill), (cab + 0.16, roof), (screen - 0.02, roof), (cowl - 0.2, sill)]
    yield shape([paper.at(x, pose.lifted(x, z)) for x, z in glass], LIGHT.soft, width=1.2)
    for x, top in ((pillar, roof), (cab, pose.height(RAIL))):
        (x1, y1), (x2, y2) = paper.at(x, pose.lifted(x, top)), paper.at(x, pose.lifted(x, pose.rocker))
        yield line(x1, y1, x2, y2, LIGHT.soft, 1.0)


def wheel(x: float, y: float, radius: float, cls: str) -> Iterator[str]:
    """Yield a wheel: tyre, rim, centre."""
    yield tag("circle", cx=x, cy=y, r=radius, fill=LIGHT.paper, stroke=LIGHT.ink, stroke_width=1.7, cls=cls)
    yield tag("circle", cx=x, cy=y, r=0.55 * radius, fill="none", stroke=LIGHT.soft, stroke_width=1.0)
    yield line(x - 3, y, x + 3, y, LIGHT.ink) + line(x, y - 3, x, y + 3, LIGHT.ink)


def standing_height(trailer: TrailerPose, behind: float) -> float:
    """Return the height of what a load stands on, a distance behind the coupling: drawbar, neck or deck. [m]"""
    if trailer.necked:
        on_neck = trailer.level_height + NECK + 0.14
        return on_neck if behind < trailer.nose + 0.2 else min(0.80, trailer.level_height - 0.2) + DECK
    low = trailer.level_height - 0.03
    return low + (0.10 if behind < trailer.nose - 0.08 else DECK)


def trailer_side(trailer: TrailerPose, paper: Elevation) -> Iterator[str]:
    """The sketched trailer: neck or drawbar, deck, wheels."""
    low = trailer.level_height - 0.03
    top = low + DECK
    if trailer.necked:
        low, neck = min(0.80, trailer.level_height - 0.2), trailer.level_height + NECK
        top = low + DECK
        points = [(0.0, trailer.level_height), (0.0, neck), (trailer.nose, neck), (trailer.nose, low)]
        points += [(trailer.end, low), (trailer.end, top), (trailer.nose + 0.2, top), (trailer.nose + 0.2, neck + 0.14)]
        points += [(-0.12, neck + 0.14), (-0.12, trailer.level_height)]
    else:
        points = [(0.0, low), (trailer.nose, low), (trailer.end, low), (trailer.end, top), (trailer.nose, top)]
        points += [(trailer.nose - 0.08, low + 0.10), (-0.12, low + 0.10), (-0.12, low)]
    yield shape([paper.at(*trailer.at(a, z)) for a, z in points], LIGHT.ink, fill=LIGHT.paper, width=1.5, cls="trailer")
    for behind in trailer.wheels:
        x, y = paper.at(trailer.x - behind, body_shapes.TRAILER_WHEEL)
        yield from wheel(x, y, body_shapes.TRAILER_WHEEL * paper.scale, "trailer-wheel")


def jack(trailer: TrailerPose, paper: Elevation, foot: float | None) -> Iterator[str]:
    """The trailer's jack, its foot at a height above ground; folded up to the frame where there is none."""
    if trailer.necked:
        behind, top, frame = trailer.nose + 0.35, 0.0, min(0.80, trailer.level_height - 0.2)
    else:
        behind, top, frame = min(JACK, 0.5 * trailer.nose), 0.25, trailer.level_height - 0.03
    x, head = paper.at(*trailer.at(behind, frame + DECK + top))
    y = paper.y(trailer.at(behind, frame - FOLDED)[1] if foot is None else foot)
    half = max(3.5, 0.1 * paper.scale)
    yield line(x, head, x, y, LIGHT.ink, 3.0)
    yield line(x - half, y - 1.0, x + half, y - 1.0, LIGHT.ink, 2.4)
    yield tag("circle", cx=x, cy=y, r=0.8, fill=LIGHT.ink, cls="jack")
