"""The coupling enlarged, in a circle: ball and coupler (hook and eye, plate and pin) at their true heights."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Self

from planner.plans.hitching_stages import REACHED, HitchPlan, Stage
from planner.show.drawings import body_shapes as sizes
from planner.show.drawings.dimensioning import DASHES, dimension
from planner.show.drawings.palette import LIGHT
from planner.show.drawings.svg import line, number, shape, tag
from planner.show.text.numbers import say
from planner.units.quantity import System

RADIUS: Final = 68.0  # of the circle on the paper
ROOM: Final = 0.024  # [m] seen above and below the parts
WALL: Final = 0.012  # [m] of the sketched coupler
PART: Final = 0.028  # [m] half the height of a sketched hook or plate
SKID, BETWEEN = 0.03, 0.0205  # [m] behind a plate: the skid plate it is to go under, and the dimension between them
FAR: Final = 5.0  # [m] past any edge of the circle
CLIP: Final = "lens"


def coupler_height(plan: HitchPlan, stage: Stage) -> float:
    """Return how high the trailer's coupler stands: on its jack, or on the hitch. [m]"""
    assert plan.setup.trailer is not None  # a plan of hitching has one
    return stage.height if stage.name in ("lift", "tow") else float(plan.setup.trailer.parked_height)


def _span(plan: HitchPlan, stage: Stage) -> tuple[float, float]:
    """Return the least and the greatest height that a stage's circle must show. [m]"""
    heights = (stage.height, stage.target, coupler_height(plan, stage))
    return min(heights), max(heights)


@dataclass(frozen=True)
class Lens:
    """The circle, and what it shows.

    Attributes
    ----------
    x, y : its centre on the paper
    scale : per metre, the same at all stages
    middle : height shown at its centre [m]
    hitch, coupler : heights of the seated ball's centre, or of the plate, on truck and trailer [m]
    radius : of the ball, else half a part's height [m]
    coupling : of the hitch
    behind : whether the hitch is behind the truck's tail
    apart : whether the trailer still stands behind the hitch
    """

    x: float
    y: float
    scale: float
    middle: float
    hitch: float
    coupler: float
    radius: float
    coupling: str
    behind: bool
    apart: bool

    @classmethod
    def of(cls, plan: HitchPlan, stage: Stage, x: float, y: float) -> Self:
        """Return the circle of a stage about a point of the paper."""
        hitch = plan.setup.hitch
        assert hitch is not None  # a plan of hitching has one
        radius = float(hitch.ball_diameter or 2 * PART) / 2.0
        spans = [_span(plan, one) for one in plan.stages]
        low, high = _span(plan, stage)
        return cls(
            x,
            y,
            RADIUS / (max(top - foot for foot, top in spans) / 2.0 + radius + ROOM),
            (low + high) / 2.0,
            stage.height,
            coupler_height(plan, stage),
            radius,
            hitch.coupling,
            hitch.x < sizes.body(plan.setup.truck).tail,
            hitch.coupling == "fifth_wheel" and stage.name == "clear",
        )

    def at(self, behind: float, z: float) -> tuple[float, float]:
        """Return a point's place on the paper: behind the hitch and above ground [m], not far past the circle."""
        x = max(-2 * RADIUS, min(2 * RADIUS, behind * self.scale))
        return self.x + x, self.y - (z - self.middle) * self.scale

    def parts(self, wanted: float | None) -> Iterator[str]:
        """Yield the circle with both parts; a wanted height that is not reached is a dashed line."""
        drawn = {"fifth_wheel": self._plate, "pintle": self._hook}.get(self.coupling, self._ball)
        look = {"cx": self.x, "cy": self.y, "r": RADIUS}
        inside = list(drawn())
        if wanted is not None:
            (left, y), (right, _) = self.at(-FAR, wanted), self.at(FAR, wanted)
            inside.append(line(left, y, right, y, LIGHT.air, 1.4, dash=DASHES))
        yield tag("circle", fill=LIGHT.paper, **look)
        yield tag("g", *inside, clip_path=f"url(#{CLIP})")
        yield tag("circle", fill="none", stroke=LIGHT.ink, stroke_width=1.2, **look)

    def clip(self) -> str:
        """Return the definition that cuts what is drawn to the circle."""
        return tag("clipPath", tag("circle", cx=self.x, cy=self.y, r=RADIUS), id=CLIP)

    def free(self) -> float:
        """Return the room between the two parts; < 0 where one is in the way of the other. [m]"""
        if self.coupling == "fifth_wheel":
            return self.hitch - self.coupler
        return self.coupler - self._foot

    def room(self) -> Iterator[str]:
        """Yield the dimension of the room between the parts; beside a plate it has lines out to it."""
        x = BETWEEN if self.apart else 0.0
        if self.apart:
            for start, z in ((-0.007, self.hitch), (SKID, self.coupler)):
                yield line(*self.at(start, z), *self.at(x, z), LIGHT.soft, 0.8)
        yield dimension(*self.at(x, self._foot), *self.at(x, self.coupler), LIGHT.ink)

    def room_at(self) -> tuple[float, float]:
        """Return where the middle of that dimension is on the paper."""
        return self.at(BETWEEN if self.apart else 0.0, (self._foot + self.coupler) / 2.0)

    @property
    def _foot(self) -> float:
        """Height of the hitch's part that comes nearest to the trailer's. [m]"""
        return self.hitch + (self.radius if self.coupling in ("ball", "gooseneck") else 0.0)

    def _ball(self) -> Iterator[str]:
        """Ball on its mount or in the bed, and the coupler's cup."""
        r, z, neck = self.radius, self.hitch, self.hitch - self.radius - 0.5 * WALL
        end = 1.3 * r if self.behind else FAR
        yield self._shape([(-FAR, neck - WALL), (-FAR, neck), (end, neck), (end, neck - WALL)], LIGHT.wash)
        stem = [(-0.45 * r, neck), (-0.45 * r, z - 0.7 * r), (0.45 * r, z - 0.7 * r), (0.45 * r, neck)]
        yield self._shape(stem, LIGHT.wash)
        x, y = self.at(0.0, z)
        wide = r * self.scale
        yield tag("circle", cx=x, cy=y, r=wide, fill=LIGHT.wash, stroke=LIGHT.ink, stroke_width=2.0, cls="lens-ball")
        c = self.coupler
        if self.behind:
            tongue = [
                (0.6 * r, c + 0.45 * r),
                (FAR, c + 0.45 * r),
                (FAR, c + r + 0.6 * WALL),
                (0.0, c + r + 0.6 * WALL),
            ]
        else:
            tongue = [(-0.75 * r, c + 0.8 * r), (-0.75 * r, c + FAR), (0.75 * r, c + FAR), (0.75 * r, c + 0.8 * r)]
        yield self._shape(tongue, LIGHT.paper)
        yield self._cup()

    def _cup(self) -> str:
        """The coupler's cup in section: its lip is level with the centre of a ball that sits in it."""
        (left, y), inner, outer = self.at(0.0, self.coupler), self.radius * self.scale, 0.0
        outer = inner + WALL * self.scale
        inner += 1.0
        half = f"{number(outer)} {number(outer)} 0 0 1 {number(left + outer)} {number(y)}"
        back = f"{number(inner)} {number(inner)} 0 0 0 {number(left - inner)} {number(y)}"
        d = f"M{number(left - outer)} {number(y)}A{half}H{number(left + inner)}A{back}Z"
        return tag("path", d=d, fill=LIGHT.paper, stroke=LIGHT.ink, stroke_width=2.0, cls="lens-cup")

    def _hook(self) -> Iterator[str]:
        """Hook with its seat, and the eye that lies on it."""
        z, c = self.hitch, self.coupler
        seat = [(-FAR, -0.05), (-FAR, -0.018), (-0.032, -0.018), (-0.026, 0.0), (0.026, 0.0), (0.038, 0.007)]
        yield self._shape([(x, z + dz) for x, dz in [*seat, (0.042, -0.012), (0.02, -0.05)]], LIGHT.wash)
        yield self._shape([(0.0, c + 0.006), (FAR, c + 0.006), (FAR, c + 0.036), (0.0, c + 0.036)], LIGHT.paper)
        x, y = self.at(0.0, c + 0.021)
        yield tag("circle", cx=x, cy=y, r=0.021 * self.scale, fill=LIGHT.paper, stroke=LIGHT.ink, stroke_width=2.0)

    def _plate(self) -> Iterator[str]:
        """Plate with its ramp, and the trailer's skid plate with its pin."""
        z, c = self.hitch, self.coupler
        plate = [(-FAR, z), (-0.007, z), (0.011, z - 0.018), (0.005, z - 0.034), (-FAR, z - 0.034)]
        start = SKID if self.apart else -FAR
        if not self.apart:
            pin = [(-0.046, c), (-0.046, c - 0.05), (-0.022, c - 0.05), (-0.022, c)]
            yield self._shape(pin, LIGHT.paper)
        yield self._shape(plate, LIGHT.wash)
        yield self._shape([(start, c), (start, c + 0.016), (FAR, c + 0.016), (FAR, c)], LIGHT.paper)

    def _shape(self, points: list[tuple[float, float]], fill: str) -> str:
        """A part through points behind the hitch and above ground. [m]"""
        return shape([self.at(x, z) for x, z in points], LIGHT.ink, fill=fill, width=2.0)


def contact(stage: Stage, lens: Lens, system: System) -> str:
    """Return in a few words how the two parts stand to each other."""
    if stage.name in ("lift", "tow"):
        return "latched"
    free = lens.free()
    if stage.name == "meet":
        off = lens.hitch - lens.coupler
        if stage.reachable:
            return "they meet"
        return f"{say(abs(off), 'length', system)} too {'high' if off > 0 else 'low'}"
    if lens.coupling == "fifth_wheel":
        return f"plate {say(abs(free), 'length', system)} {'higher' if free > 0 else 'too low'}"
    if free <= REACHED:
        return f"in the way by {say(-free, 'length', system)}" if free < -REACHED else "no gap"
    return f"gap {say(free, 'length', system)}"


def leader(lens: Lens, x: float, y: float) -> Iterator[str]:
    """Yield the small circle about the coupling in the view that is enlarged, and the line from it to the large one."""
    small = 7.0
    away = math.atan2(lens.y - y, lens.x - x)
    yield tag("circle", cx=x, cy=y, r=small, fill="none", stroke=LIGHT.soft, stroke_width=1.2)
    ends = (x + small * math.cos(away), y + small * math.sin(away))
    yield line(*ends, lens.x - RADIUS * math.cos(away), lens.y - RADIUS * math.sin(away), LIGHT.soft, 1.0)
