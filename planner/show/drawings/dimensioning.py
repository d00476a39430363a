"""What a drawing board has: chain lines, dimensions with open arrowheads, ground, and labels that make room."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from planner.show.drawings.palette import LIGHT
from planner.show.drawings.svg import line, number, shape, tag, text

ARROW: Final = 6.0  # length of an arrowhead
CHAIN: Final = "12 4 2 4"
DASHES: Final = "7 5"
GROUND: Final = 9.0  # depth of the ground's hatching


def spread(wanted: Sequence[float], pitch: float, low: float, high: float) -> list[float]:
    """Return places for labels as near as is simple to where they are wanted, in the same order, none on another.

    Parameters
    ----------
    wanted : places in any order; equal ones keep their order
    pitch : least distance of neighbours
    low, high : first and last place; what does not fit between them starts at ``low`` and runs over ``high``

    Returns
    -------
    list of float
        In the order given.
    """
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    placed = [0.0] * len(wanted)
    top, bottom = low, max(high, low + pitch * (len(wanted) - 1)) + pitch
    for i in order:
        placed[i] = top = max(wanted[i], top)
        top += pitch
    for i in reversed(order):
        placed[i] = bottom = min(placed[i], bottom - pitch)
    return placed


def arrow(x: float, y: float, angle: float, stroke: str, width: float = 1.0) -> str:
    """Return an open arrowhead with its tip at a point, towards an angle [rad, clockwise from the right]."""
    ends = [(x - ARROW * math.cos(angle + turn), y - ARROW * math.sin(angle + turn)) for turn in (-0.45, 0.45)]
    return shape([ends[0], (x, y), ends[1]], stroke, width=width, closed=False)


def dimension(x1: float, y1: float, x2: float, y2: float, stroke: str) -> str:
    """Return a dimension line with an open arrowhead at each end."""
    angle = math.atan2(y2 - y1, x2 - x1)
    return line(x1, y1, x2, y2, stroke) + arrow(x2, y2, angle, stroke) + arrow(x1, y1, angle + math.pi, stroke)


def chain(x1: float, y1: float, x2: float, y2: float) -> str:
    """Return a chain line, for axles and centre lines."""
    return line(x1, y1, x2, y2, LIGHT.soft, 1.2, dash=CHAIN)


def level_line(x1: float, x2: float, y: float, label: float) -> str:
    """Return the level line, with its word over a place on it."""
    word = text("level", label, y - 5, LIGHT.air, anchor="middle", halo=LIGHT.paper)
    return line(x1, y, x2, y, LIGHT.air, 1.4, dash=DASHES) + word


def ground(x1: float, x2: float, y: float, pattern: str) -> str:
    """Return level ground, hatched below its line."""
    hatching = tag("rect", x=x1, y=y, width=x2 - x1, height=GROUND, fill=f"url(#{pattern})")
    return hatching + line(x1, y, x2, y, LIGHT.ink, 1.5)


def crossed_box(x: float, y: float, half: float) -> str:
    """Return cargo: a box with its diagonals, about a centre."""
    cross = "".join(
        f"M{number(x - half)} {number(y - s * half)}L{number(x + half)} {number(y + s * half)}" for s in (1, -1)
    )
    box = tag(
        "rect",
        x=x - half,
        y=y - half,
        width=2 * half,
        height=2 * half,
        fill=LIGHT.ochre_wash,
        stroke=LIGHT.ochre,
        stroke_width=1.6,
        cls="cargo",
    )
    return box + tag("path", d=cross, stroke=LIGHT.ochre, stroke_width=0.8)
