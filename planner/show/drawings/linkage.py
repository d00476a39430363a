"""The rear axle on its links, from the side and from behind, to scale: as it stands, and in dashes at design height."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from planner.physics.validation import Array
from planner.plans.linkage import AxleMotion, geometry_of, linkage_of, move_axle, travel_of
from planner.records import Truck
from planner.show.drawings import body_shapes
from planner.show.drawings.dimensioning import DASHES, GROUND, chain, dimension, ground
from planner.show.drawings.palette import LIGHT
from planner.show.drawings.svg import (
    MARGIN,
    SMALL,
    WIDTH,
    Drawing,
    document,
    hatch,
    line,
    number,
    shape,
    tag,
    text,
    text_width,
)
from planner.show.text.linkage import motion_lines
from planner.show.text.numbers import say
from planner.units.quantity import System

BESIDE: Final = 0.10  # [m] of paper before the foremost and behind the hindmost place
HEAD: Final = 12.0
PATTERN: Final = "links-ground"
NOTE: Final = "To scale; in dashes: at design ride height."
LINE_HEIGHT: Final = 17.0
TUBE: Final = 0.045  # [m] half the thickness of the axle's tube and of the pinion's housing, sketched
UNDER: Final = 30.0  # from the axle's centre down to where the pinion's angle stands
OVER: Final = 6.0  # and of one at the edge over the shaft that falls below it
AWAY: Final = (14.0, 24.0, 36.0, 50.0, 68.0, 90.0, 116.0)  # from a joint to its words
TURNS: Final = tuple(math.pi / 8 * n for n in (4, 3, 5, 2, 6, 1, 7, 0, 8, -1, -7, -2, -6, -3, -5, -4))  # up first


@dataclass
class _Labels:
    """Words beside joints, none on another nor off the paper."""

    top: float
    bottom: float
    taken: list[tuple[float, float, float, float]] = field(default_factory=list)

    def put(self, words: str, x: float, y: float, *, below: bool = False) -> str:
        """Return words as near to a joint as there is room, above it first, with a line to it where that is far."""
        width, height = text_width(words, SMALL), 0.8 * SMALL
        for away in AWAY:
            for turn in TURNS:
                cx = x + (away + width / 2) * math.cos(turn)
                cy = y + away * math.sin(turn) * (1 if below else -1)
                box = (cx - width / 2, cy - height / 2, cx + width / 2, cy + height / 2)
                if self._free(box):
                    self.taken.append(box)
                    said = text(words, cx, cy + height / 2 - 0.6, LIGHT.ink, anchor="middle", halo=LIGHT.paper)
                    near = min(max(x, box[0]), box[2])
                    return (line(x, y, near, cy, LIGHT.soft, 0.8) if away > AWAY[0] else "") + said
        raise AssertionError(f"no room for {words}")  # a drawing has a dozen words at most

    def _free(self, box: tuple[float, float, float, float]) -> bool:
        left, top, right, bottom = box
        if left < 2 or right > WIDTH - 2 or top < self.top or bottom > self.bottom:
            return False
        return not any(left < r + 3 and right > a - 3 and top < b + 2 and bottom > t - 2 for a, t, r, b in self.taken)


@dataclass(frozen=True)
class _Scene:
    """A truck's links in one pose, in metres over the ground: the axle stands, the body goes up, down and leans."""

    truck: Truck
    motion: AxleMotion
    hub: float

    @classmethod
    def of(cls, truck: Truck, rise: float, roll: float) -> _Scene:
        return cls(truck, move_axle(truck, rise, roll), geometry_of(truck).hub)

    def of_body(self, place: ArrayLike) -> Array:
        """Return where a place on the frame stands, given where it is at design height above ground."""
        return self._over_ground(np.asarray(place, float) - [0.0, 0.0, self.hub])

    def of_axle(self, place: ArrayLike) -> Array:
        """Return where a place on the axle stands, given where it is at design height above ground."""
        return self._over_ground(self.motion.pose.at(np.asarray(place, float) - [0.0, 0.0, self.hub]))

    def _over_ground(self, place: Array) -> Array:
        pose = self.motion.pose
        y, z = place[..., 1] - pose.y, place[..., 2] - pose.z
        c, s = np.cos(-pose.roll), np.sin(-pose.roll)
        found: Array = np.stack([place[..., 0], c * y - s * z, self.hub + s * y + c * z], axis=-1)
        return found


class _Side:
    """From metres to the paper, from the left: front to the left. All heights of the travel fit."""

    def __init__(self, truck: Truck) -> None:
        linkage, radius = linkage_of(truck), float(truck.rear.tyres.unloaded_radius)
        places = [end for ends in linkage.bars.values() for end in ends]
        places += [end for one in (linkage.shock, linkage.hose) if one is not None for end in one.ends]
        if linkage.driveshaft is not None:
            places.append(linkage.driveshaft.pinion.at)
        self.front = max(max(place[0] for place in places), radius) + BESIDE
        rear = min(min(place[0] for place in places), -radius) - BESIDE
        self.scale = WIDTH / (self.front - rear)
        top = max(max(place[2] for place in places), 2 * radius) + max(travel_of(truck)[1], 0.0) + BESIDE
        self.ground = HEAD + top * self.scale

    def at(self, place: Array) -> tuple[float, float]:
        """Return a place's place on the paper."""
        return (self.front - float(place[0])) * self.scale, self.ground - float(place[2]) * self.scale


class _Behind:
    """From metres to the paper, from behind: left is left."""

    def __init__(self, truck: Truck) -> None:
        linkage = linkage_of(truck)
        places = [end for ends in linkage.bars.values() for end in ends]
        if linkage.shock is not None:
            places += linkage.shock.ends
        half = max(body_shapes.outer_half_width(truck.rear), max(abs(place[1]) for place in places)) + 0.02
        self.scale = (WIDTH - 2 * MARGIN) / (2 * half)
        top = max(max(place[2] for place in places), 2 * float(truck.rear.tyres.unloaded_radius))
        self.ground = HEAD + (top + max(travel_of(truck)[1], 0.0) + BESIDE) * self.scale

    def at(self, place: Array) -> tuple[float, float]:
        """Return a place's place on the paper."""
        return WIDTH / 2 - float(place[1]) * self.scale, self.ground - float(place[2]) * self.scale


def linkage_from_side(truck: Truck, rise: float, roll: float, system: System) -> Drawing:
    """Return the rear axle on its links from the left, with the angles at their joints.

    Parameters
    ----------
    truck : Truck
        With links.
    rise : float
        Of the body over the axle against design ride height. [m]
    roll : float
        Of the body against the axle, left side up positive. [rad]
    system : "us" or "metric"

    Returns
    -------
    Drawing
        400 wide, to scale.
    """
    scene, paper = _Scene.of(truck, rise, roll), _Side(truck)
    still = _Scene.of(truck, 0.0, 0.0)
    labels = _Labels(2.0, paper.ground - 2)
    x, y = paper.at(scene.of_axle((0.0, 0.0, scene.hub)))
    body = [ground(0, WIDTH, paper.ground, PATTERN)]
    body.append(tag("circle", cx=x, cy=y, r=paper.ground - y, fill="none", stroke=LIGHT.soft, stroke_width=1.4))
    body += _bars(still, paper, dashed=True)
    body += _hanging(scene, paper)
    body += _bars(scene, paper)
    body += _pinion(scene, paper)
    if scene.motion.reached:
        body += _side_words(scene, paper, labels, system)
    return _document("links-side", "The rear axle from the left", scene, body, paper.ground, system)


def link_ends(truck: Truck, system: System) -> Drawing:
    """Return the bars as they were entered, from the left, by name; and how the place of an end is measured."""
    scene, paper = _Scene.of(truck, 0.0, 0.0), _Side(truck)
    linkage = linkage_of(truck)
    labels = _Labels(2.0, paper.ground - 2)
    x, y = paper.at(scene.of_axle((0.0, 0.0, scene.hub)))
    body = [ground(0, WIDTH, paper.ground, PATTERN)]
    body.append(tag("circle", cx=x, cy=y, r=paper.ground - y, fill="none", stroke=LIGHT.soft, stroke_width=1.4))
    body += [*_hanging(scene, paper), *_bars(scene, paper), *_pinion(scene, paper)]
    body.append(chain(x, HEAD, x, paper.ground - 4))
    ahead, left, up = (say(abs(part), "length", system) for part in linkage.lower.frame.at)
    ex, ey = paper.at(scene.of_body(linkage.lower.frame.at))
    low = (ey + 2 * paper.ground) / 3
    body += [dimension(ex, low, x, low, LIGHT.soft), dimension(ex, paper.ground, ex, ey, LIGHT.soft)]
    body.append(labels.put(f"{ahead} ahead", (ex + x) / 2, low))
    body.append(labels.put(f"{up} up", ex, (low + paper.ground) / 2))
    named = {name: linkage.bars[name] for name in linkage.bars if not name.endswith("right")}
    for part, what in (("shock", linkage.shock), ("hose", linkage.hose)):
        named |= {part: what.ends} if what is not None else {}
    for name, ends in named.items():
        middle = np.mean([paper.at(np.asarray(end)) for end in ends], axis=0)
        body.append(labels.put(name.removesuffix(" left"), *middle.tolist()))
    if linkage.driveshaft is not None:
        body.append(labels.put("pinion", *paper.at(scene.of_axle(linkage.driveshaft.pinion.at))))
    y = paper.ground + GROUND + LINE_HEIGHT
    side = "left" if linkage.lower.frame.y > 0 else "right"
    words = f"Lower bar, frame: {ahead}; {left}, {side}; {up} up."
    body.append(text(words, MARGIN, y, LIGHT.soft))
    title = "Where the bars are measured"
    return document("link-ends", y + 8, title, f"{title}. {words}", body, [hatch(PATTERN, LIGHT.ground)])


def linkage_from_behind(truck: Truck, rise: float, roll: float, system: System) -> Drawing:
    """Return the rear axle on its links from behind, with track bar and roll centre; see `linkage_from_side`."""
    scene, paper = _Scene.of(truck, rise, roll), _Behind(truck)
    axle, still = truck.rear, _Scene.of(truck, 0.0, 0.0)
    labels = _Labels(2.0, paper.ground - 2)
    radius, width = scene.hub * paper.scale, body_shapes.tyre_width(axle) * paper.scale
    y = paper.ground - radius
    body = [ground(0, WIDTH, paper.ground, PATTERN), chain(WIDTH / 2, HEAD, WIDTH / 2, paper.ground - 4)]
    half = float(axle.track) / 2 * paper.scale
    body.append(line(WIDTH / 2 - half, y, WIDTH / 2 + half, y, LIGHT.soft, 4.0))
    for place in body_shapes.tyre_places(axle):
        x = WIDTH / 2 - place * paper.scale
        body.append(
            tag(
                "rect", x=x - width / 2, y=y - radius, width=width, height=2 * radius, rx=min(6.0, width / 3),
                fill=LIGHT.paper, stroke=LIGHT.soft, stroke_width=1.4, cls="tyre",
            )
        )  # fmt: skip
    frame = max((ends[0] for ends in linkage_of(truck).bars.values()), key=lambda end: end[2])
    (x1, y1), (x2, y2) = (
        paper.at(scene.of_body((frame[0], side * float(axle.track) / 3, frame[2]))) for side in (1, -1)
    )
    body.append(line(x1, y1, x2, y2, LIGHT.soft, 1.2))
    body.append(labels.put("frame", x1, y1))
    body += _bars(still, paper, dashed=True)
    body += _hanging(scene, paper)
    body += _bars(scene, paper)
    if scene.motion.reached:
        body += _rear_words(scene, paper, labels, system)
    return _document("links-rear", "The rear axle from behind", scene, body, paper.ground, system)


def _document(name: str, title: str, scene: _Scene, body: list[str], floor: float, system: System) -> Drawing:
    """Return a drawing with its note, and the lines of the pose as its words."""
    if not scene.motion.reached:
        words = "The bars do not let the axle get there."
        body.append(text(words, WIDTH / 2, HEAD + 8, LIGHT.brick, anchor="middle", bold=True, halo=LIGHT.paper))
    y = floor + GROUND + LINE_HEIGHT
    body.append(text(NOTE, MARGIN, y, LIGHT.soft))
    alt = f"{title}. {' '.join(motion_lines(scene.truck, scene.motion, system))}"
    return document(name, y + 8, title, alt, body, [hatch(PATTERN, LIGHT.ground)])


def _bars(scene: _Scene, paper: _Side | _Behind, *, dashed: bool = False) -> Iterator[str]:
    """Yield the bars with their joints; at design height in dashes, without."""
    for name, (frame, axle) in linkage_of(scene.truck).bars.items():
        (x1, y1), (x2, y2) = paper.at(scene.of_body(frame)), paper.at(scene.of_axle(axle))
        if dashed:
            yield line(x1, y1, x2, y2, LIGHT.soft, 1.2, dash=DASHES)
            continue
        yield line(x1, y1, x2, y2, LIGHT.ink, 2.0 if name.endswith("right") else 3.0)
        for x, y in ((x1, y1), (x2, y2)):
            yield tag("circle", cx=x, cy=y, r=4.0, fill=LIGHT.paper, stroke=LIGHT.ink, stroke_width=1.6, cls="joint")


def _hanging(scene: _Scene, paper: _Side | _Behind) -> Iterator[str]:
    """Yield shocks and hose: a shock as its two tubes, a hose with the sag that its slack gives it."""
    linkage = linkage_of(scene.truck)
    if linkage.shock is not None:
        sides = [linkage.shock.ends, linkage.shock.mirrored][: 1 if isinstance(paper, _Side) else 2]
        for frame, axle in sides:
            (x1, y1), (x2, y2) = paper.at(scene.of_body(frame)), paper.at(scene.of_axle(axle))
            part = 0.5 * (linkage.shock.shortest / max(math.dist(frame, axle), 1e-6))
            mx, my = x2 + part * (x1 - x2), y2 + part * (y1 - y2)
            yield line(x1, y1, x2, y2, LIGHT.soft, 2.0)
            yield line(mx, my, x2, y2, LIGHT.soft, 6.0)
    if linkage.hose is not None and isinstance(paper, _Side) and scene.motion.hose_reach is not None:
        (x1, y1), (x2, y2) = (
            paper.at(scene.of_body(linkage.hose.frame.at)),
            paper.at(scene.of_axle(linkage.hose.axle.at)),
        )
        slack = max(float(linkage.hose.length - scene.motion.hose_reach), 0.0)
        sag = math.sqrt(0.375 * slack * float(scene.motion.hose_reach)) * paper.scale  # of a flat parabola
        low = f"{number((x1 + x2) / 2 - 2 * sag)} {number((y1 + y2) / 2)}"
        d = f"M{number(x1)} {number(y1)}Q{low} {number(x2)} {number(y2)}"
        yield tag("path", d=d, fill="none", stroke=LIGHT.ochre, stroke_width=2.0, cls="hose")


def _pinion(scene: _Scene, paper: _Side) -> Iterator[str]:
    """Yield the axle's housing with its pinion, and the driveshaft as far as the paper goes."""
    shaft = linkage_of(scene.truck).driveshaft
    x, y = paper.at(scene.of_axle((0.0, 0.0, scene.hub)))
    yield tag(
        "circle", cx=x, cy=y, r=TUBE * paper.scale, fill=LIGHT.paper, stroke=LIGHT.ink, stroke_width=1.7, cls="hub"
    )
    if shaft is None:
        return
    px, py = paper.at(scene.of_axle(shaft.pinion.at))
    ahead = shaft.front if shaft.carrier is None else shaft.carrier
    fx, fy = paper.at(scene.of_body(ahead.at))
    edge = min(max((px - 2.0) / max(px - fx, 1e-6), 0.0), 1.0)
    yield line(px, py, px + edge * (fx - px), py + edge * (fy - py), LIGHT.ink, 5.0)
    yield line(px, py, px + edge * (fx - px), py + edge * (fy - py), LIGHT.paper, 2.4)
    yield shape(
        [(x, y - TUBE * paper.scale), (px, py), (x, y + TUBE * paper.scale)], LIGHT.ink, width=1.7, closed=False
    )
    yield tag("circle", cx=px, cy=py, r=4.5, fill=LIGHT.paper, stroke=LIGHT.ink, stroke_width=1.8, cls="pinion")


def _side_words(scene: _Scene, paper: _Side, labels: _Labels, system: System) -> Iterator[str]:
    """Yield the angles at the joints: of pinion and driveshaft, of each left bar since design height."""
    motion, linkage = scene.motion, linkage_of(scene.truck)
    if linkage.driveshaft is not None and motion.joint_angles is not None:
        angles = [say(float(one), "angle", system) for one in motion.joint_angles]
        at = paper.at(scene.of_axle(linkage.driveshaft.pinion.at))
        yield labels.put(f"joint {angles[-1]}", *at)
        pinion = say(float(linkage.driveshaft.pinion_angle + motion.pinion_up), "angle", system)
        x, y = paper.at(scene.of_axle((0.0, 0.0, scene.hub)))
        yield labels.put(f"pinion {pinion}", x, y + UNDER, below=True)
        yield labels.put(f"front joint {', '.join(angles[:-1])}", 2.0, _at_edge(scene, paper) - OVER)
    for name, swing in zip(linkage.bars, motion.swing, strict=True):
        if not name.endswith("right") and name != "track bar":
            at = paper.at(scene.of_body(linkage.bars[name][0]))
            yield labels.put(_swing(float(swing), system), *at, below=name.startswith("lower"))
    if linkage.shock is not None and motion.shock_length is not None:
        length = say(float(motion.shock_length[0]), "length", system)
        yield labels.put(length, *paper.at(scene.of_body(linkage.shock.frame.at)))


def _at_edge(scene: _Scene, paper: _Side) -> float:
    """Return how far down the paper the driveshaft leaves it."""
    shaft = linkage_of(scene.truck).driveshaft
    assert shaft is not None  # who asks has one
    (px, py), (fx, fy) = paper.at(scene.of_axle(shaft.pinion.at)), paper.at(scene.of_body(shaft.front.at))
    return py + (fy - py) * (px / max(px - fx, 1e-6))


def _rear_words(scene: _Scene, paper: _Behind, labels: _Labels, system: System) -> Iterator[str]:
    """Yield the roll centre as a cross with its height, the track bar's swing, lengths of the shocks."""
    motion, linkage = scene.motion, linkage_of(scene.truck)
    x, y = paper.at(np.array([0.0, 0.0, float(motion.roll_centre)]))
    yield tag("circle", cx=x, cy=y, r=5.0, fill=LIGHT.paper, stroke=LIGHT.air, stroke_width=1.8, cls="roll-centre")
    yield line(x - 8, y, x + 8, y, LIGHT.air, 1.6) + line(x, y - 8, x, y + 8, LIGHT.air, 1.6)
    yield labels.put(f"roll centre {say(float(motion.roll_centre), 'length', system)}", x, y)
    if "track bar" in linkage.bars:
        swing = float(motion.swing[list(linkage.bars).index("track bar")])
        at = paper.at(scene.of_body(linkage.bars["track bar"][0]))
        yield labels.put(f"track bar {_swing(swing, system)}", *at, below=True)
    if linkage.shock is not None and motion.shock_length is not None:
        ends: Sequence[ArrayLike] = (linkage.shock.frame.at, linkage.shock.frame.mirrored)
        for end, length in zip(ends, motion.shock_length, strict=True):
            yield labels.put(say(float(length), "length", system), *paper.at(scene.of_body(end)))


def _swing(angle: float, system: System) -> str:
    """Return by how much a bar has swung, in words."""
    return f"swing {say(angle, 'angle', system)}"
