"""One stage of hitching: truck, hitch and trailer from the side, to scale, and the pressures to set for it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from planner.plans.answer import AXLES, SIDES
from planner.plans.hitching_stages import REACHED, STAGES, HitchPlan, Stage
from planner.show.drawings import body_shapes
from planner.show.drawings.body import NECK, ROOF, Pose, TrailerPose
from planner.show.drawings.corner_labels import CAP, NO_BAG, big_number, corner_rows
from planner.show.drawings.coupling_detail import RADIUS, Lens, contact, coupler_height, leader
from planner.show.drawings.dimensioning import GROUND, ground
from planner.show.drawings.elevation import Elevation, jack, outline, trailer_side
from planner.show.drawings.palette import LIGHT, MARKS
from planner.show.drawings.profile_card import beside_truck, little_truck, place_beside
from planner.show.drawings.side_view import coupling_dimension, hitch_part, scale_of, wheels
from planner.show.drawings.svg import MARGIN, SMALL, WIDTH, Drawing, clean, document, hatch, line, text, wrapped
from planner.show.text.hitching import change_words
from planner.show.text.numbers import say, write
from planner.show.text.words import COUPLING_PARTS, corner_words, pitch_words
from planner.units.quantity import System

BESIDE_PIN: Final = 0.6  # [m] a trailer on a pin is drawn that far behind a plate it is not yet on
LENS: Final = (WIDTH - RADIUS - 12.0, RADIUS + 6.0)  # centre of the circle
WORDS: Final = 104.0  # the words at the left of the circle end here
GAP: Final = 10.0  # from them to the truck below
HEIGHT: Final = 32.0  # size of the coupling height
PATTERN: Final = "strip-ground"
NUMBERS: Final = (64.0, 56.0, 48.0, 44.0, 40.0, 36.0, 32.0, 28.0)  # sizes of the pressures, the largest that fits
FIRST, PITCH, ROW = 50.0, 84.0, 18.0  # of the axle lines down the paper, and a line of text


def stage_view(plan: HitchPlan, stage: Stage, system: System) -> Drawing:
    """Return truck and trailer from the side at one stage; ball and coupler are enlarged in a circle.

    All stages of a plan have one scale, one height and one line of ground.
    """
    setup = plan.setup
    pose, trailer, paper = Pose.of(setup, stage.answer), _trailer(plan, stage), _paper(plan)
    lens = Lens.of(plan, stage, *LENS)
    assert setup.hitch is not None  # a plan of hitching has one
    near = paper.at(float(setup.hitch.x), stage.height)
    words = _stands(plan, stage, trailer, system)
    note = f"To scale; the bodies are sketched. In the circle {_times(lens, paper)} times larger."
    note += "" if stage.reachable else " Dashes: the height wanted."
    foot, bottom = _foot(words, note, paper.ground + GROUND)
    body = [
        ground(0, WIDTH, paper.ground, PATTERN),
        *trailer_side(trailer, paper),
        *jack(trailer, paper, _jack_foot(plan, stage)),
        *outline(setup, pose, paper),
        *wheels(setup, stage.answer, pose, paper),
        *hitch_part(setup, stage.answer, pose, paper),
        *coupling_dimension(setup, stage.height, paper),
        *leader(lens, *near),
        *lens.parts(None if stage.reachable else stage.target),
        *_contact(stage, lens, system),
        *_height(plan, stage, system),
        *foot,
    ]
    alt = _alt(plan, stage, lens, words, note, system)
    return document(
        "strip", bottom, f"{stage.name} from the side", alt, body, [hatch(PATTERN, LIGHT.ground), lens.clip()]
    )


def stage_pressures(plan: HitchPlan, stage: Stage, system: System) -> Drawing:
    """Return the pressures to set for a stage, as the truck stands seen from above, and what changes at each bag."""
    step = float(plan.setup.truck.instruments.gauge_step)
    rows = corner_rows(stage.answer.set.pressure, system, step)
    lines = [[_corner_lines(plan, stage, k, i, system) for i in (0, 1)] for k in (0, 1)]
    extra = [ROW * max(0, max(map(len, row)) - 1) for row in lines]
    axles = (FIRST, FIRST + PITCH + extra[0])
    body = list(little_truck((FIRST - 26.0, axles[1] + 26.0), axles))
    body += beside_truck(rows, axles, NUMBERS)
    for row, y in zip(lines, axles, strict=True):
        for i, said in enumerate(row):
            x, anchor = place_beside(i)
            for n, (words, name) in enumerate(said):
                body.append(
                    text(words, x, y + 0.5 * CAP * NUMBERS[0] + ROW * (n + 1), getattr(LIGHT, name), anchor=anchor)
                )
    bottom = axles[1] + 0.5 * CAP * NUMBERS[0] + ROW + extra[1] + 8.0
    corners = [
        ", ".join([f"{AXLES[k]} {SIDES[i]} {rows[k][i] or NO_BAG}", *(words for words, _ in lines[k][i])])
        for k in (0, 1)
        for i in (0, 1)
    ]
    alt = f"Set for {stage.name}, as the truck stands seen from above: {'; '.join(corners)}."
    return document("strip-set", bottom, f"Pressures for {stage.name}", alt, body)


def _before(plan: HitchPlan, stage: Stage) -> Stage | None:
    """Return the stage before, None before the first."""
    place = STAGES.index(stage.name)
    return plan.stages[place - 1] if place else None


def _corner_lines(plan: HitchPlan, stage: Stage, k: int, i: int, system: System) -> list[tuple[str, str]]:
    """Return what stands under a pressure, each line with the name of its ink: the change, and what is wrong."""
    now, before = float(stage.answer.set.pressure[k, i]), _before(plan, stage)
    said: list[tuple[str, str]] = []
    if before is not None and math.isfinite(now):
        change = now - float(before.answer.set.pressure[k, i])
        step = float(plan.setup.truck.instruments.gauge_step)
        amount = write(abs(change), "pressure", system, step=step)
        up = f"{'up' if change > 0 else 'down'} {amount}"
        said.append((up, "ink") if amount.number.strip("0.") else ("as before", "soft"))
    if found := corner_words(plan.setup, stage.answer, k, i):
        severity, words = found
        said.append((f"{MARKS[severity]} {words}", {"stop": "brick", "caution": "ochre", "note": "soft"}[severity]))
    return said


def _trailer(plan: HitchPlan, stage: Stage) -> TrailerPose:
    """Return where the trailer stands: on its jack, or on the hitch."""
    trailer = TrailerPose.of(plan.setup, coupler_height(plan, stage))
    assert trailer is not None  # a plan of hitching has one
    away = BESIDE_PIN if _is_plate(plan) and stage.name == "clear" else 0.0
    return replace(trailer, x=trailer.x - away)


def _is_plate(plan: HitchPlan) -> bool:
    """Tell whether the hitch is a fifth wheel, whose plate goes under the trailer from ahead."""
    return plan.setup.hitch is not None and plan.setup.hitch.coupling == "fifth_wheel"


def _jack_foot(plan: HitchPlan, stage: Stage) -> float | None:
    """Return how high the jack's foot is: on the ground, just free, or folded. [m]"""
    assert plan.setup.trailer is not None  # a plan of hitching has one
    if stage.name == "tow":
        return None
    raised = stage.height - float(plan.setup.trailer.parked_height) if stage.name == "lift" else 0.0
    return max(0.0, raised)


def _paper(plan: HitchPlan) -> Elevation:
    """Return the scale and the ground that fit all stages: words and circle above truck and trailer."""
    setup, trailers = plan.setup, [_trailer(plan, stage) for stage in plan.stages]
    trailer, body = trailers[-1], body_shapes.body(setup.truck)
    scale = scale_of(setup, trailer, BESIDE_PIN if _is_plate(plan) else 0.0)
    poses = [Pose.of(setup, stage.answer) for stage in plan.stages]
    truck = max(pose.lifted(x, pose.height(ROOF)) for pose in poses for x in (0.0, pose.wheelbase))
    high = max(one.height for one in trailers)
    flat = Elevation(scale, body.nose, 0.0)
    # What reaches under the circle must leave it room; the rest only the words.
    reach = [(truck, body.tail), (high + 2 * NECK, trailer.x - trailer.nose - BESIDE_PIN)]
    under = [top for top, end in (reach if trailer.necked else reach[:1]) if flat.x(end) > LENS[0] - RADIUS - GAP]
    below = [WORDS + GAP + scale * top for top, _ in (reach if trailer.necked else reach[:1])]
    below += [LENS[1] + RADIUS + GAP + scale * top for top in [*under, high + NECK]]
    return Elevation(scale, body.nose, max(below))


def _times(lens: Lens, paper: Elevation) -> str:
    """Return how much larger the circle shows the coupling."""
    ratio = lens.scale / paper.scale
    return f"{ratio:.0f}" if ratio >= 10 else f"{ratio:.1f}"


def _contact(stage: Stage, lens: Lens, system: System) -> Iterator[str]:
    """How the two parts stand to each other: the room between them as a dimension, and in words beside the circle."""
    words = contact(stage, lens, system)
    y = WORDS - 6.0
    if stage.name == "clear" and lens.free() > REACHED:
        yield from lens.room()
        x, level = lens.room_at()
        yield line(LENS[0] - RADIUS - 6, y - 5, x - 5, level, LIGHT.soft, 0.8)
    yield text(words, LENS[0] - RADIUS - 10, y, LIGHT.ink, anchor="end", bold=True)


def _height(plan: HitchPlan, stage: Stage, system: System) -> Iterator[str]:
    """The coupling height in large type, and the one wanted where it is another."""
    assert plan.setup.hitch is not None  # a plan of hitching has one
    part = COUPLING_PARTS[plan.setup.hitch.coupling]
    yield big_number(write(stage.height, "length", system), MARGIN, 32.0, HEIGHT, "start")
    yield text(f"{part} above ground", MARGIN, 53.0, LIGHT.soft)
    if not stage.reachable:
        wanted = f"{MARKS['caution']} wanted {say(stage.target, 'length', system)}"
        yield text(wanted, MARGIN, 53.0 + ROW, LIGHT.ochre, bold=True)


def _foot(words: str, note: str, top: float) -> tuple[list[str], float]:
    """Return what stands below the ground, and where it ends: how the trailer stands, the note."""
    y, lines = top + 20.0, list[str]()
    for said, colour in ((words, LIGHT.ink), (note, LIGHT.soft)):
        for part in wrapped(said, SMALL, WIDTH - 2 * MARGIN, 4):
            lines.append(text(part, MARGIN, y, colour))
            y += ROW
    return lines, y - 6.0


def _stands(plan: HitchPlan, stage: Stage, trailer: TrailerPose, system: System) -> str:
    """Return what carries the trailer, and how it is pitched."""
    carried = {
        "clear": "behind the truck, on its jack" if _is_plate(plan) else "on its jack",
        "meet": "on its jack, no load on the hitch",
        "lift": "on the hitch, its jack just free",
        "tow": "on the hitch, its jack folded",
    }[stage.name]
    return f"Trailer {carried}; {pitch_words(trailer.pitch, system)}."


def _alt(plan: HitchPlan, stage: Stage, lens: Lens, words: str, note: str, system: System) -> str:
    """Return the drawing in words."""
    assert plan.setup.hitch is not None  # a plan of hitching has both
    assert plan.setup.trailer is not None
    part, before = COUPLING_PARTS[plan.setup.hitch.coupling], _before(plan, stage)
    wanted = "" if stage.reachable else f", {say(stage.target, 'length', system)} wanted"
    said = [
        f"{stage.name.capitalize()}, stage {STAGES.index(stage.name) + 1} of {len(STAGES)}, from the left side:",
        f"{clean(plan.setup.truck.name)} and {clean(plan.setup.trailer.name)} on level ground,",
        f"{part} {say(stage.height, 'length', system)} above ground{wanted}; {contact(stage, lens, system)}.",
        words,
    ]
    if before is not None:
        said.append(f"Since {before.name}: {change_words(plan, before, stage, system)}.")
    return " ".join([*said, note])
