"""What the owner should know of hitching: what is out of reach and the way round it, pitch, bars, room over the bed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from planner.plans.answer import Finding
from planner.plans.hitching_stages import REACHED, STAGES, HitchPlan, Way
from planner.plans.linkage_findings import linkage_findings
from planner.plans.rating_findings import Amounts
from planner.records import Hitch

LEVEL_ENOUGH: Final = 0.0127  # [m] ½ in at the coupling, nose up, before it is told: common practice
NOSE_DOWN_ENOUGH: Final = 0.0508  # [m] 2 in at the coupling, nose down, before it is told: common practice
NOSE: Final = "trailer-nose-"  # how codes begin of a trailer that does not tow level
HIGH_HITCH: Final = "CDL manual: the trailer low enough that the tractor raises it; no space between the plates"
BED_ROOM: Final = 0.1524  # [m] 6 in over the box: common practice


def hitch_findings(plan: HitchPlan | Way) -> Iterator[Finding]:
    """Yield what the owner should know of the hitching itself."""
    clear, meet, lift = plan.stages[:3]
    if not clear.reachable:
        yield _out_of_reach(plan)
    if abs(plan.front_raise) > REACHED:
        way = "Raise" if plan.front_raise > 0 else "Lower"
        tips = "up" if plan.front_raise * _arm(plan) > 0 else "down"
        yield Finding(
            "note",
            "front-helps-the-dip",
            f"{way} the front by {{value}} to back under: it tips the hitch {tips}.",
            "geometry: the hitch moves by |x| / wheelbase of the front",
            {"value": (abs(plan.front_raise), "length")},
        )
    ways_out = (
        (meet, "meet the coupler", "Bring the coupler to the hitch with the trailer's jack."),
        (
            lift,
            "free the jack",
            "Park with the jack run in more, or block the tongue and fold the jack as far as it goes.",
        ),
    )
    for stage, what, way_out in ways_out:
        if not stage.reachable:
            yield Finding(
                "caution",
                f"{stage.name}-out-of-reach",
                f"To {what}, the hitch needs {{limit}} and gets {{value}}: {stage.stopped_by}. {way_out}",
                "geometry and limits of the bags",
                {"value": (stage.height, "length"), "limit": (stage.target, "length")},
            )
    yield from _trailer_findings(plan)
    yield from _clearance_findings(plan)
    yield from _link_findings(plan)


def _arm(plan: HitchPlan | Way) -> float:
    """Return how far ahead of the rear axle the hitch is, < 0 behind it. [m]"""
    assert plan.setup.hitch is not None  # hitch_up asked
    return float(plan.setup.hitch.x)


def is_on_mount(hitch: Hitch) -> bool:
    """Tell whether a mount sets the height of a hitch; over the bed the trailer's coupler does.

    Examples
    --------
    >>> from planner import read_truck
    >>> [is_on_mount(one) for one in read_truck("profiles/trucks/ridge-truck.toml").hitches]
    [True, False]
    """
    return hitch.coupling in ("ball", "pintle")


def _out_of_reach(plan: HitchPlan | Way) -> Finding:
    """The hitch cannot come where it should to back under: the trailer's jack makes up for it, up or down.

    A plate below the trailer's own lets the pin ride over the jaws, a high hitch, so that the trailer comes off.
    """
    clear, trailer = plan.stages[0], plan.setup.trailer
    assert trailer is not None  # hitch_up asked
    amounts: Amounts = {
        "value": (clear.height, "length"),
        "limit": (clear.target, "length"),
        "jack": (abs(plan.jack_up), "length"),
    }
    why = f"{{limit}} to back under: {clear.stopped_by}."
    if plan.jack_up >= 0.0:
        words = f"The hitch comes down to {{value}} and needs {why} Put the trailer's jack up by {{jack}}."
        return Finding("caution", "dip-out-of-reach", words, "geometry and limits of the bags", amounts)
    down = "Bring the trailer down by {jack} on its jack before you back under"
    if clear.height >= trailer.parked_height:
        words = f"The plate comes up to {{value}} and needs {why} {down}."
        return Finding("caution", "dip-out-of-reach", words, "geometry and limits of the bags", amounts)
    words = (
        f"The plate comes up to {{value}}, below the trailer's, and needs {why} {down}: a pin that stands high can "
        "ride over the jaws and come off on the road. Check that there is no gap between the plates and that the "
        "jaws are shut."
    )
    return Finding("stop", "plate-too-low", words, HIGH_HITCH, amounts)


def _trailer_findings(plan: HitchPlan | Way) -> Iterator[Finding]:
    """Pitch of the trailer, and its bars."""
    trailer, hitch = plan.setup.trailer, plan.setup.hitch
    assert trailer is not None  # hitch_up asked
    assert hitch is not None
    off, on_mount = -plan.ball_mount_drop, is_on_mount(hitch)
    if off < -LEVEL_ENOUGH:
        yield Finding(
            "caution",
            f"{NOSE}up",
            "The trailer tows nose up, its coupler {value} above level: it should be level or slightly nose down. "
            + (
                "Use a mount with {value} more drop."
                if on_mount
                else "Set its coupler {value} higher on the trailer, where its maker allows."
            ),
            "common practice: level or slightly nose down",
            {"value": (-off, "length"), "limit": (LEVEL_ENOUGH, "length")},
        )
    if off > NOSE_DOWN_ENOUGH:
        yield Finding(
            "note",
            f"{NOSE}down",
            "The trailer tows nose down, its coupler {value} below level. "
            + (
                "Use a mount with {value} more rise."
                if on_mount
                else "Set its coupler {value} lower on the trailer, where its maker allows."
            ),
            "common practice: level or slightly nose down",
            {"value": (off, "length"), "limit": (NOSE_DOWN_ENOUGH, "length")},
        )
    if trailer.bars > 1.0:
        yield Finding(
            "caution",
            "bars-over-restored",
            "The bars put back {value} of what the hitch took off the front axle: ease them to {limit} at the most.",
            "SAE J2807 committee: front-axle load restoration not over 100 %",
            {"value": (trailer.bars, "share"), "limit": (1.0, "share")},
        )


def _clearance_findings(plan: HitchPlan | Way) -> Iterator[Finding]:
    """Room between the truck's bed and what hangs over it, the least of all stages."""
    if plan.bed_clearance is None:
        return
    least = min(plan.bed_clearance)
    if least < BED_ROOM:
        stage = STAGES[plan.bed_clearance.index(least)]
        yield Finding(
            "stop" if least <= 0 else "caution",
            "bed-clearance",
            f"At {stage} the trailer passes {{value}} over the end of the bed, under the usual {{limit}}: "
            "set the trailer's neck higher above the coupling, where its maker allows.",
            "common practice: 6 in",
            {"value": (least, "length"), "limit": (BED_ROOM, "length")},
        )


def _link_findings(plan: HitchPlan | Way) -> Iterator[Finding]:
    """What the links of the rear axle have to say before tow, where the truck squats lower than it is driven."""
    for name, heights in zip(STAGES[:3], plan.rear_heights, strict=True):
        for one in linkage_findings(plan.setup.truck, heights, on_road=False):
            yield replace(one, code=f"{name}-{one.code}", template=f"At {name}: {one.template}")
