"""What the owner should know of the rear axle's links where it stands: what ends, what binds, what runs rough."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from planner.physics.validation import Array
from planner.plans.answer import SIDES, Finding
from planner.plans.linkage import AxleMotion, geometry_of, move_axle
from planner.records import Truck

LINKAGE: Final = "linkage-"  # how codes begin of what counts at any stage
ROAD_ANGLE: Final = np.radians(3.0)  # of a joint at road speed: common practice
UNEVEN: Final = np.radians(3.0)  # left over of all joints: what a single one may do
STRAIGHT: Final = np.radians(0.5)  # under which a joint's needles do not roll and dent their races: common practice
HOSE_SLACK: Final = 0.0254  # [m] 1 in: common practice
SHOCK_ROOM: Final = 0.0127  # [m] ½ in to either end: common practice
ASIDE: Final = 0.00635  # [m] ¼ in: common practice
GIVEN: Final = 0.001  # [m] of a bar's bushings before it is told
PRACTICE: Final = "common practice; the joints' maker governs"
GEOMETRY: Final = "geometry: rigid bars"


def linkage_findings(truck: Truck, ride_height: ArrayLike, *, on_road: bool) -> Iterator[Finding]:
    """Yield what the links say of a stance; nothing for a truck that gives none.

    Parameters
    ----------
    truck : Truck
    ride_height : array_like, shape (2,)
        Wheel centre to arch lip at the rear, left and right. [m]
    on_road : bool
        Whether this is how it is driven, not a stage of hitching.

    Examples
    --------
    >>> from planner import read_truck
    >>> list(linkage_findings(read_truck("profiles/trucks/ridge-truck.toml"), [0.5, 0.5], on_road=True))
    []
    """
    if truck.rear.linkage is None:
        return
    left, right = (float(one) for one in np.asarray(ride_height, float))
    rise, lean = (left + right) / 2.0 - float(truck.rear.ride_height), left - right
    motion = move_axle(truck, rise, lean / float(truck.rear.track))
    if not motion.reached:
        yield Finding(
            "stop",
            f"{LINKAGE}out-of-reach",
            "The rear axle's bars do not let it sit there: one would have to stretch by {value}. Stay away from that "
            "height, and measure the bar ends again.",
            GEOMETRY,
            {"value": (float(motion.stretch), "length")},
        )
        return
    yield from _ends(truck, motion)
    yield from _joints(truck, motion)
    if on_road:
        yield from _driveline(motion)
        yield from _aside(motion)


def _ends(truck: Truck, motion: AxleMotion) -> Iterator[Finding]:
    """Brake hose and shock absorbers: what is only so long."""
    linkage = truck.rear.linkage
    assert linkage is not None  # who asks has one
    if linkage.hose is not None and motion.hose_reach is not None:
        reach, length = float(motion.hose_reach), float(linkage.hose.length)
        if reach > length - HOSE_SLACK:
            words = "is pulled tight" if reach >= length else "has next to no slack left"
            yield Finding(
                "stop" if reach >= length else "caution",
                f"{LINKAGE}hose",
                f"The brake hose {words}: its ends are {{value}} apart and it is {{limit}} long. "
                "Fit a longer one, or move its bracket.",
                f"{GEOMETRY}; an inch of slack is common practice",
                {"value": (reach, "length"), "limit": (length, "length")},
            )
    if linkage.shock is not None and motion.shock_length is not None:
        shortest, longest = float(linkage.shock.shortest), float(linkage.shock.longest)
        yield from _shocks(shortest - motion.shock_length, shortest, "closed", "it bottoms before the bump stop")
        yield from _shocks(motion.shock_length - longest, longest, "open", "it stops the axle instead of a strap")


def _shocks(past: Array, limit: float, end: str, instead: str) -> Iterator[Finding]:
    """Both shock absorbers against one of their ends, by how far they are past it, left and right, shape (2,). [m]"""
    near = past > -SHOCK_ROOM
    if not near.any():
        return
    worst = float(past.max())
    which = "s, left and right" if near.all() else f", {SIDES[int(near.argmax())]}"
    words = f"fully {end}, so that {instead}" if worst >= 0 else f"nearly {end}"
    length = limit - worst if end == "closed" else limit + worst
    yield Finding(
        "stop" if worst >= 0 else "caution",
        f"{LINKAGE}shock-{end}",
        f"Rear shock{which}: {words}. {{value}} from eye to eye, {{limit}} when {end}.",
        f"{GEOMETRY}; half an inch to spare is common practice",
        {"value": (length, "length"), "limit": (limit, "length")},
    )


def _joints(truck: Truck, motion: AxleMotion) -> Iterator[Finding]:
    """Joints of bars and driveshaft against what their makers allow, and bars that bind."""
    linkage = truck.rear.linkage
    assert linkage is not None  # who asks has one
    shaft = linkage.driveshaft
    if shaft is not None and shaft.joint_limit is not None and motion.joint_angles is not None:
        worst = float(motion.joint_angles.max())
        if worst > shaft.joint_limit:
            yield Finding(
                "stop",
                f"{LINKAGE}driveshaft-joint",
                "A joint of the driveshaft bends by {value}, over the {limit} its maker allows: do not turn it there.",
                "the joint's maker",
                {"value": (worst, "angle"), "limit": (float(shaft.joint_limit), "angle")},
            )
    if linkage.joint_limit is not None:
        bar = int(motion.swing.argmax())
        if motion.swing[bar] > linkage.joint_limit:
            name = geometry_of(truck).names[bar]
            yield Finding(
                "stop",
                f"{LINKAGE}bar-joint",
                f"The {_called(name)} swings by {{value}} in its ends, over the {{limit}} their maker allows.",
                "the joint's maker",
                {"value": (float(motion.swing[bar]), "angle"), "limit": (float(linkage.joint_limit), "angle")},
            )
    if motion.stretch > GIVEN:
        yield Finding(
            "note",
            f"{LINKAGE}binds",
            "The rear axle has one bar too many, and here they do not all fit: bushings give by {value}.",
            f"{GEOMETRY}, least squares",
            {"value": (float(motion.stretch), "length")},
        )


def _driveline(motion: AxleMotion) -> Iterator[Finding]:
    """How the driveshaft runs at road speed."""
    if motion.joint_angles is None or motion.residual is None:
        return
    worst, least, uneven = (
        float(one) for one in (motion.joint_angles.max(), motion.joint_angles.min(), motion.residual)
    )
    if worst > ROAD_ANGLE:
        yield Finding(
            "caution",
            "driveline-angle",
            "A joint of the driveshaft works at {value}, over the usual {limit} at road speed.",
            PRACTICE,
            {"value": (worst, "angle"), "limit": (float(ROAD_ANGLE), "angle")},
        )
    if uneven > UNEVEN:
        yield Finding(
            "caution",
            "driveline-uneven",
            "The driveshaft's joints do not cancel: it runs like one joint at {value}, over the usual {limit}. Turn "
            "the pinion with the bars.",
            PRACTICE,
            {"value": (uneven, "angle"), "limit": (float(UNEVEN), "angle")},
        )
    if least < STRAIGHT:
        yield Finding(
            "note",
            "driveline-straight",
            "A joint of the driveshaft works at {value}, under the usual {limit}: its needles hardly roll and wear.",
            PRACTICE,
            {"value": (least, "angle"), "limit": (float(STRAIGHT), "angle")},
        )


def _aside(motion: AxleMotion) -> Iterator[Finding]:
    """A track bar that pulls the axle off the centre line."""
    aside = float(motion.pose.y)
    if abs(aside) > ASIDE:
        yield Finding(
            "note",
            "driveline-axle-aside",
            f"The rear axle stands {{value}} to the {SIDES[0] if aside > 0 else SIDES[1]}: set the track bar's length "
            "at the height the truck is driven at.",
            "common practice",
            {"value": (abs(aside), "length"), "limit": (ASIDE, "length")},
        )


def _called(name: str) -> str:
    """Return what a bar is called in a sentence: "left lower bar"."""
    kind, _, side = name.partition(" ")
    return name if name == "track bar" else f"{side} {kind} bar".strip()
