"""The trailer from behind: what its wheels carry left and right, each tyre against its rating."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from planner.plans.answer import SIDES
from planner.plans.ratings import is_over
from planner.plans.trailer_deck import DeckPlan
from planner.show.drawings.dimensioning import GROUND, chain, ground
from planner.show.drawings.palette import LIGHT, MARKS
from planner.show.drawings.svg import MARGIN, WIDTH, Anchor, Drawing, document, hatch, line, shape, tag, text
from planner.show.text.numbers import say
from planner.units.quantity import STANDARD_GRAVITY as G
from planner.units.quantity import System

HALF_TRACK: Final = 50.0  # on the paper
FLOOR: Final = 58.0  # of the body, down the paper
TOP: Final = 20.0
GROUND_LINE: Final = 92.0
TYRE: Final = (14.0, 44.0)  # width and height
PATTERN: Final = "trailer-behind-ground"
NOTE: Final = "Sketch, not to scale."


def trailer_behind(plan: DeckPlan, system: System) -> Drawing:
    """Return the trailer from behind with the load of its wheels left and right."""
    middle = WIDTH / 2
    words = [_side_words(plan, i, system) for i in (0, 1)]
    body = [ground(0, WIDTH, GROUND_LINE, PATTERN), chain(middle, 6, middle, GROUND_LINE - 4)]
    wide = HALF_TRACK - TYRE[0]
    body.append(
        shape([(middle - wide, TOP), (middle + wide, TOP), (middle + wide, FLOOR), (middle - wide, FLOOR)], LIGHT.ink)
    )
    body.append(
        line(
            middle - HALF_TRACK,
            GROUND_LINE - TYRE[1] / 2,
            middle + HALF_TRACK,
            GROUND_LINE - TYRE[1] / 2,
            LIGHT.ink,
            3.0,
        )
    )
    for i in (0, 1):
        body += _side(i, words[i])
    y = GROUND_LINE + GROUND + 16.0
    body.append(text(NOTE, middle, y, LIGHT.soft, anchor="middle"))
    said = "; ".join(f"{SIDES[i]} {', '.join(line for line, _ in words[i])}" for i in (0, 1))
    alt = f"The trailer's wheels from behind: {said}. {NOTE}"
    return document("trailer-behind", y + 11.0, "The trailer from behind", alt, body, [hatch(PATTERN, LIGHT.ground)])


def _side(i: int, words: list[tuple[str, bool]]) -> Iterator[str]:
    """One side: its tyre, and beside it what it carries."""
    out = -1 if i == 0 else 1
    x = WIDTH / 2 + out * HALF_TRACK
    wide, tall = TYRE
    box = {"x": x - wide / 2, "y": GROUND_LINE - tall, "width": wide, "height": tall, "rx": 4.0}
    yield tag("rect", **box, fill=LIGHT.paper, stroke=LIGHT.ink, stroke_width=2.0, cls="tyre")
    anchor: Anchor = "start" if i == 0 else "end"
    at = MARGIN if i == 0 else WIDTH - MARGIN
    yield text(SIDES[i], at, 22, LIGHT.soft, anchor=anchor)
    for n, (said, over) in enumerate(words):
        yield text(said, at, 40 + 18.0 * n, LIGHT.brick if over else LIGHT.ink, anchor=anchor, bold=n == 0)


def _side_words(plan: DeckPlan, i: int, system: System) -> list[tuple[str, bool]]:
    """Return what a side carries, and each tyre of it against its rating; whether that is over."""
    trailer, load = plan.trailer, plan.side_load[i] * plan.trailer.axle_count
    lines = [(say(load, "load", system), False)]
    if trailer.tyre_load_rating is not None:
        each, most = plan.side_load[i] / trailer.tyres_per_side, trailer.tyre_load_rating * G
        lines.append((f"{say(each, 'load', system).split()[0]} of {say(most, 'load', system)}", False))
        if is_over(each, most, "load"):
            lines.append((f"{MARKS['stop']} tyre overload", True))
    return lines
