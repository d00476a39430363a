"""The stages of hitching as plain lines: what to do, what to set, what to watch; and the way back."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping
from typing import Final

from planner.plans.hitching_findings import is_on_mount
from planner.plans.hitching_stages import HitchPlan, Stage, StageName
from planner.plans.weight_distribution import Bars
from planner.show.drawings.svg import clean
from planner.show.text.numbers import say
from planner.show.text.report import LINE, finding_lines, outfit_line, pressure_lines
from planner.show.text.words import COUPLING_PARTS, coupling_words, marked, pitch_words
from planner.units.quantity import System

DO: Final[dict[StageName, str]] = {
    "clear": "Set these, then back under.",
    "meet": "Come up until coupler and hitch meet. Close and pin the latch.",
    "lift": "Add air until the jack is free, then fold it. Hook up chains, breakaway and plug.",
    "tow": "Level the truck.",
}
BARS_LAST: Final = (
    " With weight-distribution bars: air to the unhitched ride height first, then the bars (common practice)."
)
WATCH: Final[dict[StageName, str]] = {
    "clear": "Nobody between truck and trailer. Chock the trailer's wheels on both sides before you back under.",
    "meet": "Fingers off coupler and hitch, and nobody between truck and trailer while air goes in.",
    "lift": "Lift the coupler with the jack against the closed latch: it must hold before you trust it. "
    "Stands under the frame before you reach under.",
    "tow": "Never tow below the least pressure of a bag. Take the chocks away last.",
}
BARS: Final = (
    "Hitched and bars slack: air to the unhitched ride height, measured at the front arch before hitching.",
    "Only then tension the bars, until the front axle has back what is wanted of its load.",
    "Weigh the front axle or measure its arch again. No more than it had unhitched.",
)
CAR_BALL: Final = (0.350, 0.420)  # [m] UN Regulation No. 55 and ISO 1103, as trade pages quote them: information only
UNHITCHING: Final = (
    "On level ground: brake set, trailer wheels chocked on both sides before anything is unhooked.",
    "Weight-distribution bars off, where there are any, as their maker says.",
    "Jack down until it carries the tongue: from lift to meet the load goes from the truck to the jack.",
    "Unhook plug, breakaway and chains, now that the jack carries the trailer.",
    "Open the latch, then let air out until the hitch is clear. Nobody between truck and trailer.",
    "Drive out. Bring the truck to its unhitched pressures before it takes the road.",
)


def hitch_lines(name: str, plan: HitchPlan, system: System, air: Mapping[str, str] | None = None) -> list[str]:
    """Return the way to the trailer and off with it, as lines for a terminal; `air` of each move, as words by name."""
    air = air or {}
    lines = [clean(name), outfit_line(plan.setup)]
    before: Stage | None = None
    for count, stage in enumerate(plan.stages, start=1):
        lines += ["", *_stage_lines(count, stage, before, plan, system), *_air_lines(air, stage.name)]
        before = stage
    lines += ["", *trailer_lines(plan, system), "", "Unhitching, the same way back:"]
    for count, step in enumerate(UNHITCHING, start=1):
        lines += textwrap.wrap(f"{count}. {step}", LINE, subsequent_indent="   ")
    return [*lines, *_air_lines(air, "unhitch"), "", *finding_lines(plan.findings, system)]


def _stage_lines(count: int, stage: Stage, before: Stage | None, plan: HitchPlan, system: System) -> Iterator[str]:
    """One stage: heading, what to do, pressures, heights, what changed."""
    yield f"{count}. {stage.name.upper()}  {coupling_words(plan.setup, stage.height, system)}"
    yield from textwrap.wrap(to_do(plan, stage), LINE)
    yield from textwrap.wrap(f"{marked('caution')} {WATCH[stage.name]}", LINE)
    if not stage.reachable:
        yield unreached_words(stage, system)
    yield from pressure_lines(plan.setup, stage.answer, system)
    axles = [say(float(load), "load", system) for load in stage.answer.axle_load]
    yield f"  axles: front {axles[0]}, rear {axles[1]}"
    if before is not None:
        yield f"  since {before.name}: {change_words(plan, before, stage, system)}"


def _air_lines(air: Mapping[str, str], move: str) -> list[str]:
    """Return the air of one move; nothing where it is not known."""
    return textwrap.wrap(air.get(move, ""), LINE, initial_indent="  ", subsequent_indent="  ")


def to_do(plan: HitchPlan, stage: Stage) -> str:
    """Return what to do at a stage; bars are for a hitch behind the axle that a drawbar hangs on."""
    return DO[stage.name] + (BARS_LAST if stage.name == "tow" and takes_bars(plan) else "")


def unreached_words(stage: Stage, system: System) -> str:
    """Return what a stage that is not reached misses, and what is in the way."""
    wanted = say(stage.target, "length", system)
    if wanted == say(stage.height, "length", system):  # the hitch is there, and the truck is not level
        return f"The truck does not come level: {stage.stopped_by}."
    return f"{wanted} is wanted and not reached: {stage.stopped_by}."


def takes_bars(plan: HitchPlan) -> bool:
    """Tell whether weight-distribution bars can be put on the hitch."""
    hitch, trailer = plan.setup.hitch, plan.setup.trailer
    assert hitch is not None  # a plan of hitching has both
    assert trailer is not None
    return hitch.x < 0 and (hitch.coupling == "ball" or trailer.bars > 0)


def change_words(plan: HitchPlan, before: Stage, after: Stage, system: System) -> str:
    """Return what changes from one stage to the next: the hitch's height, and the load that came on each axle."""
    rise = after.height - before.height
    way = "as it was" if abs(rise) < 5e-4 else f"{'up' if rise > 0 else 'down'} {say(abs(rise), 'length', system)}"
    assert plan.setup.hitch is not None  # a plan of hitching has one
    moved = f"{COUPLING_PARTS[plan.setup.hitch.coupling]} {way}"
    gains = after.answer.axle_load - before.answer.axle_load
    loads = [
        f"{axle} axle {'gains' if gain > 0 else 'loses'} {say(abs(float(gain)), 'load', system)}"
        for axle, gain in zip(("front", "rear"), gains, strict=True)
        if abs(gain) >= 1.0
    ]
    return ", ".join([moved, *loads])


def bars_words(bars: Bars, system: System) -> str:
    """Return what bars put back, in a sentence."""
    share, lost = say(bars.restoration, "share", system), say(bars.lost, "load", system)
    moment = say(bars.moment, "moment", system)
    return f"They put back {share} of the {lost} that the hitch took off the front axle, by a moment of {moment}."


def trailer_lines(plan: HitchPlan, system: System) -> Iterator[str]:
    """How the trailer tows, and what its pitch does."""
    yield from _pitch_lines(plan, system)
    setup = plan.setup
    if setup.trailer is not None and setup.trailer.bars > 0:
        hitched = setup.hitched()
        yield (
            f"Bars put back {say(setup.trailer.bars, 'share', system)} of what the hitch takes off the front axle, "
            f"by a moment of {say(float(hitched.bar_moment), 'moment', system)}."
        )
    if setup.hitch is not None and setup.hitch.coupling == "ball" and setup.hitch.x < 0:
        low, high = (say(height, "length", system) for height in CAR_BALL)
        yield f"For comparison: cars keep a ball at {low} to {high}, loaded (UN R55); pickups are exempt."


def _pitch_lines(plan: HitchPlan, system: System) -> Iterator[str]:
    """Pitch of the trailer, the mount that levels it, and the axles that share by it."""
    drop, nose = plan.ball_mount_drop, pitch_words(-plan.trailer_pitch, system)
    on_mount = plan.setup.hitch is not None and is_on_mount(plan.setup.hitch)
    if nose == "level":
        yield "The trailer tows level" + (": the mount needs neither rise nor drop." if on_mount else ".")
    else:
        more, place = ("rise", "lower") if drop < 0 else ("drop", "higher")
        by = say(abs(drop), "length", system)
        remedy = f"{by} more {more} in the mount" if on_mount else f"its coupler {by} {place} on the trailer"
        yield f"The trailer tows {nose}; {remedy} would level it."
    if plan.pitch.axle_change.size > 1:
        changes = ", ".join(
            f"{'plus' if change > 0 else 'minus'} {say(abs(float(change)), 'load', system)}"
            for change in plan.pitch.axle_change
        )
        yield f"Its axles, front to rear, carry {changes} for the pitch, as they are not equalised."
