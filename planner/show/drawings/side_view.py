"""Truck and trailer from the left side, to scale on level ground."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from planner.plans.answer import Answer, Stance
from planner.plans.setup import Setup
from planner.show.drawings import body_shapes
from planner.show.drawings.body import NECK, ROOF, Pose, TrailerPose
from planner.show.drawings.dimensioning import GROUND, dimension, ground, level_line, spread
from planner.show.drawings.elevation import LEFT, Elevation, outline, trailer_side, wheel
from planner.show.drawings.palette import LIGHT
from planner.show.drawings.springs import spring
from planner.show.drawings.svg import MARGIN, SMALL, WIDTH, Drawing, document, hatch, line, tag, text, wrapped
from planner.show.text.numbers import say
from planner.show.text.words import COUPLING_PARTS, coupling_words, pitch_words, set_ride_heights, standing
from planner.units.quantity import System

RIGHT: Final = 12.0
HEAD: Final = 30.0  # above the highest part, room for the ride heights
PATTERN: Final = "side-ground"
NOTE: Final = "To scale; the bodies are sketched."
LABEL: Final = 110.0  # room for a height's number
NUMBER: Final = 74.0  # room for a length's number


def from_side(setup: Setup, answer: Answer, system: System, *, before: Stance | None = None) -> Drawing:
    """Return truck and trailer from the left side to scale, as they stand; in dashes as in the stance `before`."""
    pose = Pose.of(setup, answer)
    trailer = TrailerPose.of(setup, answer.set.coupling_height)
    paper = _elevation(setup, pose, trailer)
    words = _words(setup, answer, trailer, system)
    if before is not None:
        words += f" Dashes: {standing(before, setup, system)}."
    foot, bottom = _foot(setup, trailer, paper, words, system)
    body = [
        ground(0, WIDTH, paper.ground, PATTERN),
        *(trailer_side(trailer, paper) if trailer else ()),
        *(outline(setup, pose, paper, before) if before else ()),
        *outline(setup, pose, paper),
        *wheels(setup, answer, pose, paper),
        *hitch_part(setup, answer, pose, paper),
        *_level(setup, pose, paper),
        *_ride_heights(setup, answer, pose, paper),
        *coupling_dimension(setup, answer.set.coupling_height, paper),
        *_heights(setup, answer, pose, paper, system),
        *foot,
    ]
    alt = _alt(setup, answer, words, system)
    return document("side", bottom, "From the side", alt, body, [hatch(PATTERN, LIGHT.ground)])


def _elevation(setup: Setup, pose: Pose, trailer: TrailerPose | None) -> Elevation:
    """Return the scale at which truck and trailer fill the width."""
    body = body_shapes.body(setup.truck)
    scale = scale_of(setup, trailer)
    tops = [pose.lifted(x, pose.height(ROOF)) for x in (0.0, pose.wheelbase)]
    if trailer is not None:
        tops.append(trailer.height + (2 * NECK if trailer.necked else NECK))
    return Elevation(scale, body.nose, HEAD + max(tops) * scale)


def scale_of(setup: Setup, trailer: TrailerPose | None, behind: float = 0.0) -> float:
    """Return the scale at which truck and trailer, drawn some way further behind, fill the width. [1/m]"""
    body = body_shapes.body(setup.truck)
    ends = [body.tail] if trailer is None else [body.tail, trailer.x - trailer.end - behind]
    if setup.hitch is not None:
        ends.append(float(setup.hitch.x))
    return (WIDTH - LEFT - RIGHT) / (body.nose - min(ends))


def wheels(setup: Setup, answer: Answer, pose: Pose, paper: Elevation) -> Iterator[str]:
    """Both wheels with their springs before them."""
    for k, (axle, x) in enumerate(body_shapes.axles(setup.truck)):
        centre = float(pose.wheels[k].mean())
        yield from wheel(*paper.at(x, centre), centre * paper.scale, "wheel")
        bag = float(answer.bag_height[k].mean())
        yield spring(axle, bag, *paper.at(x, centre + body_shapes.SEAT), paper.scale, side=True)


def hitch_part(setup: Setup, answer: Answer, pose: Pose, paper: Elevation) -> Iterator[str]:
    """Ball, hook or plate, and what holds it to the truck."""
    hitch, height = setup.hitch, answer.set.coupling_height
    if hitch is None or height is None:
        return
    x, y = paper.at(float(hitch.x), height)
    tail = body_shapes.body(setup.truck).tail
    if hitch.x < tail:
        yield line(paper.x(tail), y + 3, x, y + 3, LIGHT.ink, 3.0)
    else:
        yield line(x, y, x, paper.y(pose.lifted(float(hitch.x), pose.height(0.0))), LIGHT.ink, 3.0)
    if hitch.coupling == "fifth_wheel":
        yield line(x - 8, y, x + 8, y, LIGHT.ink, 4.0)
    else:
        yield tag("circle", cx=x, cy=y, r=3.6, fill=LIGHT.ink, stroke=LIGHT.paper, stroke_width=1.0, cls="hitch")


def _level(setup: Setup, pose: Pose, paper: Elevation) -> Iterator[str]:
    """The line on which the body's lower edge lies when it is level."""
    y, body = paper.y(pose.rocker), body_shapes.body(setup.truck)
    yield level_line(paper.x(body.nose) - 10, paper.x(body.tail) + 10, y, paper.x(0.5 * pose.wheelbase))


def _ride_heights(setup: Setup, answer: Answer, pose: Pose, paper: Elevation) -> Iterator[str]:
    """Wheel centre to arch lip at both axles, beside the arch."""
    for k, (_, x) in enumerate(body_shapes.axles(setup.truck)):
        beside = _beside_arch(pose, k, x)
        centre, height = float(pose.wheels[k].mean()), float(answer.ride_height[k].mean())
        for z in (centre, centre + height):
            yield line(paper.x(x), paper.y(z), paper.x(beside), paper.y(z), LIGHT.soft, 0.8)
        yield dimension(paper.x(beside), paper.y(centre), paper.x(beside), paper.y(centre + height), LIGHT.soft)


def _beside_arch(pose: Pose, k: int, x: float) -> float:
    """Return where an arch's dimension stands: ahead of the front one, behind the rear one. [m]"""
    return x + (1 if k == 0 else -1) * (float(pose.ride_design[k]) + 0.07)


def coupling_dimension(setup: Setup, height: float | None, paper: Elevation) -> Iterator[str]:
    """Ground to ball, hook or plate; behind the tail where the coupling is over the bed."""
    if setup.hitch is None or height is None:
        return
    x, y = paper.at(float(setup.hitch.x), height)
    at = max(x, paper.x(body_shapes.body(setup.truck).tail) + 8)
    if at > x:
        yield line(x, y, at, y, LIGHT.soft, 1.0, dash="2 3")
    yield dimension(at, paper.ground, at, y, LIGHT.soft)


def _heights(setup: Setup, answer: Answer, pose: Pose, paper: Elevation, system: System) -> Iterator[str]:
    """Ride heights and coupling height as numbers above everything, each with a leader to its dimension."""
    marks: list[tuple[str, float, float]] = []
    rides = set_ride_heights(setup, answer)
    for k, (_, x) in enumerate(body_shapes.axles(setup.truck)):
        height = float(rides[k].mean())
        top = paper.y(float(pose.wheels[k].mean()) + height)
        marks.append((f"ride {say(height, 'length', system)}", paper.x(_beside_arch(pose, k, x)), top))
    if setup.hitch is not None and answer.set.coupling_height is not None:
        part, height = COUPLING_PARTS[setup.hitch.coupling], answer.set.coupling_height
        at = max(paper.x(float(setup.hitch.x)), paper.x(body_shapes.body(setup.truck).tail) + 8)
        marks.append((f"{part} {say(height, 'length', system)}", at, paper.y(height)))
    places = spread([x for _, x, _ in marks], LABEL, LABEL / 2, WIDTH - LABEL / 2)
    for (words, x, y), place in zip(marks, places, strict=True):
        yield line(place, HEAD - 10, x, y, LIGHT.soft, 0.8)
        yield text(words, place, HEAD - 14, LIGHT.ink, anchor="middle")


def _foot(
    setup: Setup, trailer: TrailerPose | None, paper: Elevation, words: str, system: System
) -> tuple[list[str], float]:
    """Return what stands below the ground, and where it ends: lengths, the stance in words, the note."""
    y = paper.ground + GROUND + 10.0
    lines: list[str] = []
    for row in _lengths(setup, trailer):
        lines += _length_row(row, y, paper, system)
        y += 28.0
    y += 12.0
    for part in wrapped(words, SMALL, WIDTH - 2 * MARGIN, 4):
        lines.append(text(part, MARGIN, y, LIGHT.ink))
        y += 18.0
    lines.append(text(NOTE, MARGIN, y, LIGHT.soft))
    return lines, y + 11.0


def _lengths(setup: Setup, trailer: TrailerPose | None) -> list[list[tuple[float, float]]]:
    """Return the lengths to be shown, from place to place, in rows that do not overlap."""
    rows = [[(float(setup.truck.wheelbase), 0.0)]]
    if setup.hitch is not None and setup.hitch.x < 0:
        rows[0].append((0.0, float(setup.hitch.x)))
    if trailer is not None:
        if trailer.x > 0:
            rows.append([])
        rows[-1].append((trailer.x, trailer.x - trailer.axle_distance))
    return rows


def _length_row(row: list[tuple[float, float]], y: float, paper: Elevation, system: System) -> Iterator[str]:
    """Yield dimensions on one line, their numbers under it, clear of each other."""
    middles = [paper.x((start + end) / 2.0) for start, end in row]
    places = spread(middles, NUMBER, NUMBER / 2, WIDTH - NUMBER / 2)
    for (start, end), place in zip(row, places, strict=True):
        yield dimension(paper.x(start), y, paper.x(end), y, LIGHT.soft)
        yield text(say(start - end, "length", system), place, y + 16.0, LIGHT.soft, anchor="middle")


def _words(setup: Setup, answer: Answer, trailer: TrailerPose | None, system: System) -> str:
    """Return how truck and trailer stand."""
    words = standing(answer.set.stance, setup, system)
    parts = [words[0].upper() + words[1:]]
    if trailer is not None:
        parts.append(f"trailer {pitch_words(trailer.pitch, system)}")
    return "; ".join(parts) + "."


def _alt(setup: Setup, answer: Answer, words: str, system: System) -> str:
    """Return the drawing in words."""
    front, rear = (say(float(pair.mean()), "length", system) for pair in set_ride_heights(setup, answer))
    said = [f"Truck{' and trailer' if setup.trailer else ''} from the left side, on level ground. {words}"]
    said.append(f"Ride height {front} in front, {rear} behind.")
    if height := coupling_words(setup, answer.set.coupling_height, system):
        said.append(f"{height[0].upper()}{height[1:]}.")
    return " ".join([*said, NOTE])
