"""Sizes of the truck and its trailer for drawing: from the record what it holds, the rest in proportion to it.

Wheelbase, track, spring spacing, wheel radius, ride height, hitch and loads are the owner's. The body, the width of a
tyre and the trailer's deck are not in any record: they are sketched in the proportions below, and the drawings say so.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from planner.errors import Refusal
from planner.records import Axle, Truck

TYRE_WIDTH: Final = 0.60  # of the unloaded radius
DUAL_PITCH: Final = 1.25  # distance of the tyres of a pair, of the tyre's width
NOSE: Final = 2.15  # from front axle to nose, of the front wheel's radius
TAIL: Final = 0.29  # from rear axle to tail, of the wheelbase, where no hitch says where the tail is
CAB_BACK: Final = 0.42  # from rear axle to the back of the cab, of the wheelbase
INDEPENDENT_SPRINGS: Final = 0.6  # spacing of the springs of an independent axle, of its track
BALL_BEHIND: Final = 0.25  # [m] a ball sits behind the bumper
SEAT: Final = 0.06  # [m] from wheel centre up to the spring's seat on the axle
DRAWBAR: Final = 1.3  # [m] from coupling to the front of a trailer's deck
DECK_BEHIND_TAIL: Final = 0.7  # [m] from the truck's tail to the deck of a trailer with a neck
DECK_BEHIND_AXLE: Final = 0.32  # from the axle centre to the end of the deck, of the coupling's distance
NECK_REACH: Final = 1.9  # [m] from a coupling over the bed to the deck, where no truck says how far
TRAILER_WHEEL: Final = 0.36  # [m] radius of a trailer's wheels
WHEEL_PITCH: Final = 2.25  # distance of a trailer's axles, of that radius
LEAST_BAG_AREA: Final = 1e-4  # [m²] so that a bag of any chart has a size


@dataclass(frozen=True)
class Body:
    """Ends and half width of the body, in the truck's axes: x forward of the rear axle, y to the left. [m]"""

    nose: float
    tail: float
    half_width: float


def axles(truck: Truck) -> tuple[tuple[Axle, float], tuple[Axle, float]]:
    """Return front and rear axle, each with its place ahead of the rear axle [m]."""
    return (truck.front, float(truck.wheelbase)), (truck.rear, 0.0)


def tyre_width(axle: Axle) -> float:
    """Return the width of one tyre. [m]"""
    return TYRE_WIDTH * float(axle.tyres.unloaded_radius)


def tyre_places(axle: Axle) -> list[float]:
    """Return the centres of an axle's tyres, left to right; the track runs to the middle of a pair. [m]"""
    half = DUAL_PITCH * tyre_width(axle) / 2.0 if axle.tyres.per_side == 2 else 0.0
    centres = {side * axle.track / 2.0 + off for side in (1, -1) for off in (half, -half)}
    return sorted(centres, reverse=True)


def outer_half_width(axle: Axle) -> float:
    """Return half the width over the tyres. [m]"""
    return tyre_places(axle)[0] + tyre_width(axle) / 2.0


def body(truck: Truck) -> Body:
    """Return the sketched body: it ends short of the rearmost receiver, and sits between the wheels."""
    radius = float(truck.rear.tyres.unloaded_radius)
    behind = min((float(hitch.x) for hitch in truck.hitches if hitch.x < 0), default=None)
    tail = -TAIL * truck.wheelbase if behind is None else behind + BALL_BEHIND
    inner = min(axle.track / 2.0 - (outer_half_width(axle) - axle.track / 2.0) for axle in (truck.front, truck.rear))
    return Body(
        nose=float(truck.wheelbase) + NOSE * float(truck.front.tyres.unloaded_radius),
        tail=min(tail, -1.15 * radius),
        half_width=max(0.96 * inner, 0.2 * float(truck.rear.track)),
    )


def cab_back(truck: Truck) -> float:
    """Return where the sketched cab ends and the load bed begins, ahead of the rear axle. [m]"""
    return CAB_BACK * float(truck.wheelbase)


def spring_half_spacing(axle: Axle) -> float:
    """Return half the distance between the springs; an independent axle's sit well inside its wheels. [m]"""
    if axle.spring_spacing is not None:
        return float(axle.spring_spacing) / 2.0
    return INDEPENDENT_SPRINGS * axle.track / 2.0


def bag_radius(axle: Axle) -> float:
    """Return the radius of a circle of the bag's effective area at its fitted height. [m]"""
    bag = axle.bag
    if bag is None:
        raise Refusal("a bag radius needs an axle with bags", "one without", "draw its steel")
    return math.sqrt(max(bag.fitted_area, LEAST_BAG_AREA) / math.pi)
