"""Springs as they look from the side and from behind: bags as bellows of their height, steel as leaf or coil."""

from __future__ import annotations

import math
from typing import Final

from planner.records import Axle
from planner.show.drawings import body_shapes
from planner.show.drawings.palette import LIGHT
from planner.show.drawings.svg import line, number, shape, tag

COIL_TURNS: Final = 4
COIL_HEIGHT: Final = 0.26  # [m] a coil of steel, sketched
LEAF: Final = 1.25  # half length of a leaf, of the wheel's radius


def spring(axle: Axle, bag_height: float, x: float, y: float, scale: float, *, side: bool) -> str:
    """Return a spring that stands on a point of the paper.

    Parameters
    ----------
    axle : whose spring it is
    bag_height : NaN where there is no bag [m]
    x, y : where it stands
    scale : of the paper, per metre
    side : seen from the side, where a leaf shows its length; else from behind, where it shows its end
    """
    if axle.bag is not None and math.isfinite(bag_height):
        return bellows(x, y, bag_height * scale, body_shapes.bag_radius(axle) * scale)
    if axle.suspension == "solid":
        half = LEAF * float(axle.tyres.unloaded_radius) * scale
        return leaf(x, y, half) if side else leaf_end(x, y, scale)
    return coil(x, y, COIL_HEIGHT * scale, 0.3 * COIL_HEIGHT * scale)


def bellows(x: float, y: float, height: float, half: float) -> str:
    """Return a bag: two folds between two plates."""
    fold, least = max(height, 1.0) / 2.0, max(half, 2.0)
    folds = "".join(
        tag(
            "rect",
            x=x - least,
            y=y - height + n * fold,
            width=2 * least,
            height=fold,
            rx=min(least, fold / 2),
            fill=LIGHT.air_wash,
            stroke=LIGHT.air,
            stroke_width=1.4,
            cls="bag",
        )
        for n in (0, 1)
    )
    plates = "".join(line(x - 0.8 * least, at, x + 0.8 * least, at, LIGHT.air, 2.4) for at in (y, y - height))
    return folds + plates


def leaf(x: float, y: float, half: float) -> str:
    """Return a leaf spring from the side: a bow over the axle with shorter leaves under it."""
    parts = ((1.0, 0.0), (0.72, 3.0), (0.45, 6.0))
    bows = (
        f"M{number(x - half * share)} {number(y - 6 + drop - 0.10 * half * share)}"
        f"Q{number(x)} {number(y + drop)} {number(x + half * share)} {number(y - 6 + drop - 0.10 * half * share)}"
        for share, drop in parts
    )
    return tag("path", d="".join(bows), fill="none", stroke=LIGHT.ink, stroke_width=1.4, cls="steel")


def leaf_end(x: float, y: float, scale: float) -> str:
    """Return a leaf spring from its end: a stack."""
    half = max(2.5, 0.035 * scale)
    return "".join(
        tag("rect", x=x - half, y=y - 4 * n, width=2 * half, height=3.0, fill=LIGHT.ink, cls="steel") for n in (1, 2, 3)
    )


def coil(x: float, y: float, height: float, half: float) -> str:
    """Return a coil of steel."""
    points = [(x + (half if n % 2 else -half), y - height * n / (2 * COIL_TURNS)) for n in range(2 * COIL_TURNS + 1)]
    return shape(points, LIGHT.ink, width=1.4, closed=False, cls="steel")
