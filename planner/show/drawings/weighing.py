"""Truck and trailer on the scale with what it showed, each time; and the beam on a bathroom scale."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from planner.plans.answer import Stance
from planner.plans.hub_height import hub_heights
from planner.plans.setup import Setup
from planner.records import Hitch, HitchedWeights, Lever, Slip, Trailer, Truck
from planner.show.drawings import body_shapes
from planner.show.drawings.body import NECK, ROOF, Pose, TrailerPose
from planner.show.drawings.dimensioning import GROUND, arrow, dimension, ground, spread
from planner.show.drawings.elevation import LEFT, Elevation, outline, trailer_side, wheel
from planner.show.drawings.palette import LIGHT
from planner.show.drawings.svg import (
    MARGIN,
    SMALL,
    WIDTH,
    Anchor,
    Drawing,
    document,
    hatch,
    line,
    shape,
    tag,
    text,
    wrapped,
)
from planner.show.text.numbers import say
from planner.units.quantity import System

PATTERN: Final = "weighing-ground"
HEAD: Final = 14.0
PLATE: Final = 0.9  # [m] of a scale under an axle
NUMBER: Final = 84.0  # room for a reading
ROW: Final = 44.0  # of one slip's readings
PASS_WORDS: Final = {
    "alone": "Truck alone",
    "hitched": "Hitched, bars slack",
    "hitched_with_bars": "Hitched, bars set",
}
NOTE: Final = "To scale; the bodies are sketched."
TYPICAL_NOTE: Final = "A typical truck: name yours to see it to scale."
START: Final[Anchor] = "start"
END: Final[Anchor] = "end"
ALL: Final = " in all"  # of a truck in one draft
BEAM_NOTE: Final = (
    "Block the wheels. Nobody under the tongue. Lower it onto the beam slowly, jack ready to take it back."
)


def draw_weighing(
    slip: Slip,
    truck: Truck,
    trailer: Trailer | None,
    hitch: Hitch | None,
    system: System,
    *,
    typical: bool = False,
) -> Drawing:
    """Return truck and trailer from the left on their scales, with the readings of each slip under the axles.

    Parameters
    ----------
    slip : its readings
    truck, trailer, hitch : what stands there
    system : "us" or "metric"
    typical : whether the truck is not the owner's own, which is said
    """
    setup = Setup(truck, trailer if hitch is not None else None, hitch)
    pose = _level_pose(truck)
    towed = TrailerPose.of(setup, None if hitch is None else float(hitch.height))
    paper = _elevation(setup, pose, towed)
    places = _places(truck, towed, paper)
    words = [words for name in PASS_WORDS if (words := _pass_words(slip, name, system))]
    rows, bottom = _rows(slip, places, paper.ground + GROUND + 24.0, system)
    note = TYPICAL_NOTE if typical else NOTE
    body = [
        ground(0, WIDTH, paper.ground, PATTERN),
        *(trailer_side(towed, paper) if towed else ()),
        *outline(setup, pose, paper),
        *_wheels(truck, pose, paper),
        *_plates(truck, towed, paper),
        *rows,
        text(note, MARGIN, bottom, LIGHT.soft),
    ]
    alt = " ".join(["On the scale, from the left side.", *words, note])
    return document("weighing", bottom + 12.0, "On the scale", alt, body, [hatch(PATTERN, LIGHT.ground)])


def draw_lever(lever: Lever | None, system: System) -> Drawing:
    """Return the beam with the tongue on it, a pivot at one end and a bathroom scale at the other, its arms to scale.

    Parameters
    ----------
    lever : its arms and reading as far as they are known; else one to three
    system : "us" or "metric"
    """
    floor, beam = 150.0, 108.0
    near = 1.0 if lever is None or lever.tongue_arm is None else float(lever.tongue_arm)
    far = 3.0 * near if lever is None or lever.scale_arm is None else float(lever.scale_arm)
    left, right = 40.0, WIDTH - 60.0
    tongue = left + (right - left) * min(0.95, near / far) if far >= near else right
    arms = [("a", near, left, tongue, floor + 26.0), ("l", far, left, right, floor + 50.0)]
    side = END if tongue > WIDTH / 2.0 else START
    known = lever is not None and lever.tongue_arm is not None and lever.scale_arm is not None
    body = [
        ground(0, WIDTH, floor, PATTERN),
        shape([(left, beam + 6), (left - 13, floor), (left + 13, floor)], LIGHT.ink, fill=LIGHT.paper, cls="pivot"),
        tag(
            "rect", x=right - 26, y=floor - 24, width=52, height=24, fill=LIGHT.wash, stroke=LIGHT.ink, stroke_width=1.7
        ),
        shape([(right, beam + 6), (right - 8, floor - 24), (right + 8, floor - 24)], LIGHT.ink, fill=LIGHT.paper),
        tag("rect", x=left - 16, y=beam, width=right - left + 32, height=6, fill=LIGHT.paper, stroke=LIGHT.ink),
        line(tongue, 44.0, tongue, beam, LIGHT.ink, 3.0),
        arrow(tongue, beam - 1.0, np.pi / 2.0, LIGHT.ink, 2.0),
        text("Tongue", tongue + (-8.0 if tongue > WIDTH / 2.0 else 8.0), 56.0, LIGHT.ink, anchor=side),
        text("Pivot", left - 26.0, beam - 10.0, LIGHT.soft),
        text("Scale", right, beam - 10.0, LIGHT.soft, anchor="middle"),
    ]
    if lever is not None and lever.reading is not None:
        shown = say(float(lever.reading), "weight", system)
        body.append(text(shown, right, beam - 28.0, LIGHT.ink, anchor="middle", bold=True))
    for name, length, start, end, y in arms:
        words = f"{name} {say(length, 'length', system)}" if known else name
        inside = end > WIDTH / 2.0
        at, anchor = (end - 4.0, END) if inside else (end + 6.0, START)
        body.append(dimension(start, y, end, y, LIGHT.soft))
        body.append(text(words, at, y - 4.0, LIGHT.soft, anchor=anchor, halo=LIGHT.paper))
    y = floor + 76.0
    body.append(text("Tongue load = (with tongue − beam alone) × l / a", MARGIN, y, LIGHT.ink))
    for part in wrapped(BEAM_NOTE, SMALL, WIDTH - 2 * MARGIN, 3):
        y += 20.0
        body.append(text(part, MARGIN, y, LIGHT.ochre))
    lengths = f"Arms {say(near, 'length', system)} and {say(far, 'length', system)}. "
    alt = (
        "A beam lies on a pivot at its left end and on a bathroom scale at its right end; the tongue presses on it "
        f"between them. {lengths if known else ''}{BEAM_NOTE}"
    )
    return document("lever", y + 12.0, "Beam and bathroom scale", alt, body, [hatch(PATTERN, LIGHT.ground)])


def _level_pose(truck: Truck) -> Pose:
    """Return the truck level, at kerb weight."""
    axles = (truck.front, truck.rear)
    wheels = hub_heights(truck)
    return Pose(
        wheelbase=float(truck.wheelbase),
        stance=Stance(0.0, 0.0, 0.0),
        wheels=wheels,
        level_wheels=wheels[:, 0],
        ride_design=np.array([float(axle.ride_height) for axle in axles]),
        track=float(truck.rear.track),
    )


def _elevation(setup: Setup, pose: Pose, trailer: TrailerPose | None) -> Elevation:
    """Return the scale at which truck and trailer fill the width."""
    body = body_shapes.body(setup.truck)
    end = body.tail if trailer is None else min(body.tail, trailer.x - trailer.end)
    scale = (WIDTH - LEFT - MARGIN) / (body.nose - end)
    top = max(pose.height(ROOF), 0.0 if trailer is None else trailer.height + (2 * NECK if trailer.necked else NECK))
    return Elevation(scale, body.nose, HEAD + top * scale)


def _places(truck: Truck, trailer: TrailerPose | None, paper: Elevation) -> list[float]:
    """Return where the readings of front axle, rear axle and trailer stand, clear of each other."""
    wanted = [paper.x(float(truck.wheelbase)), paper.x(0.0)]
    wanted.append(WIDTH - MARGIN if trailer is None else paper.x(trailer.x - trailer.axle_distance))
    return spread(wanted, NUMBER, MARGIN + NUMBER / 2.0, WIDTH - MARGIN - NUMBER / 2.0)


def _wheels(truck: Truck, pose: Pose, paper: Elevation) -> Iterator[str]:
    """The truck's wheels."""
    for k, (_, x) in enumerate(body_shapes.axles(truck)):
        centre = float(pose.wheels[k].mean())
        yield from wheel(*paper.at(x, centre), centre * paper.scale, "wheel")


def _plates(truck: Truck, trailer: TrailerPose | None, paper: Elevation) -> Iterator[str]:
    """The plates of the scale, one under each axle, the trailer's together."""
    spans = [(float(truck.wheelbase), PLATE), (0.0, PLATE)]
    if trailer is not None:
        spans.append((trailer.x - trailer.axle_distance, trailer.wheels[-1] - trailer.wheels[0] + PLATE))
    for x, length in spans:
        start = paper.x(x + length / 2.0)
        yield tag(
            "rect",
            x=start,
            y=paper.ground,
            width=length * paper.scale,
            height=GROUND,
            fill=LIGHT.air_wash,
            stroke=LIGHT.air,
            stroke_width=1.4,
            cls="plate",
        )


def _rows(slip: Slip, places: list[float], y: float, system: System) -> tuple[list[str], float]:
    """Return the readings of each slip in a row of its own, and where they end."""
    drawn: list[str] = []
    for name, label in PASS_WORDS.items():
        values = _readings(slip, name, system)
        if not any(values):
            continue
        drawn.append(text(label, MARGIN, y, LIGHT.soft))
        for value, place in zip(values, places, strict=True):
            at = (places[0] + places[1]) / 2.0 if value.endswith(ALL) else place
            if value:
                drawn.append(text(value, at, y + 19.0, LIGHT.ink, anchor="middle", bold=True))
        y += ROW
    if words := _trailer_words(slip, system):
        for part in wrapped(words, SMALL, WIDTH - 2 * MARGIN, 2):
            drawn.append(text(part, MARGIN, y, LIGHT.ink))
            y += 20.0
    return drawn, y + 2.0


def _readings(slip: Slip, name: str, system: System) -> list[str]:
    """Return what an axle's readings say on one slip: front, rear, trailer; empty where it has none."""
    one = getattr(slip, name)
    found = [None if one is None else one.axle(axle) for axle in ("front", "rear", "trailer")]
    if one is not None and one.truck is not None and found[:2] == [None, None]:
        both = say(float(one.truck), "weight", system)
        return [f"{both}{ALL}", "", "" if found[2] is None else say(found[2], "weight", system)]
    return ["" if value is None else say(value, "weight", system) for value in found]


def _pass_words(slip: Slip, name: str, system: System) -> str:
    """Return the readings of one slip in words; empty where it has none."""
    values = _readings(slip, name, system)
    names = ("front axle", "rear axle", "trailer's axles")
    said = ", ".join(f"{what} {value}" for what, value in zip(names, values, strict=True) if value)
    one: HitchedWeights | None = getattr(slip, name)
    return f"{PASS_WORDS[name]}: {said}." if said and one is not None else ""


def _trailer_words(slip: Slip, system: System) -> str:
    """Return what was weighed of the trailer unhitched, in words."""
    own = slip.trailer_alone
    if own is None or own.is_empty:
        return ""
    parts = (("all of it", own.gross), ("on its jack", own.jack), ("on its axles", own.axles))
    return "Trailer unhitched: " + ", ".join(
        f"{what} {say(float(value), 'weight', system)}" for what, value in parts if value is not None
    )
