"""Findings: the answer held against every label, rating and limit, worst first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import cache

import numpy as np

from planner.physics.validation import Flags
from planner.plans.answer import AXLES, SEVERITIES, Answer, Finding
from planner.plans.linkage_findings import linkage_findings
from planner.plans.rating_findings import label_findings
from planner.plans.ratings import AIM_SCREEN, AIM_TOLERANCE, SMALL, headlamp_aim, headlamps_off, least_twist_told
from planner.plans.setup import Setup
from planner.plans.stance_findings import Ways, stance_findings

ALIKE = 9  # places after the point to which a limit is passed as far as another: rounding says less
AT_ARM = 1e-3  # [m] a load nearer to where its left share puts it lies there


def findings(setup: Setup, answer: Answer, ways: Ways) -> tuple[Finding, ...]:
    """Return everything the owner should know of an answer at the pressures that are set, worst first."""
    if ways.plan is not None:
        ways = replace(ways, plan=cache(ways.plan))
    found = [
        *_no_rest(ways),
        *_tips_over(ways),
        *label_findings(setup, answer, ways.plan, ways.passed),
        *_bias_on_ball(setup),
        *stance_findings(setup, answer, ways),
        *_twist(setup, answer, ways),
        *linkage_findings(setup.truck, answer.ride_height[1], on_road=ways.on_road),
        *_headlamps(setup, answer, ways),
        *_undetermined(ways.fixed),
    ]
    return worst_first(found)


def worst_first(found: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return findings in the order they should be read.

    Examples
    --------
    >>> some = [Finding("note", "a", "", ""), Finding("stop", "b", "", "")]
    >>> [one.code for one in worst_first(some)]
    ['b', 'a']
    """
    return tuple(sorted(found, key=_rank))


def _rank(finding: Finding) -> tuple[int, float]:
    """Order by severity, then by how far the limit is passed."""
    value, limit = finding.value, finding.limit
    past = abs(value / limit - 1.0) if value is not None and limit else 0.0
    return SEVERITIES.index(finding.level), -round(past, ALIKE)  # those as far past stay in the order of the checks


def _no_rest(ways: Ways) -> Iterator[Finding]:
    """Numbers that are not a rest must not be driven on."""
    if not ways.converged:
        yield Finding(
            "stop",
            "not-converged",
            "The truck does not settle under this load: the numbers shown are not where it stands. Do not set them. "
            "Check weights, charts and rates for a typo, and take load off.",
            "statics: forces left over",
        )


def _tips_over(ways: Ways) -> Iterator[Finding]:
    """A load so high over soft springs that the least lean grows."""
    if not ways.upright:
        yield Finding(
            "stop",
            "tips-over",
            "The load is so high that a lean throws it over faster than springs and air push back: it tips over. "
            "Take load off, or carry it lower.",
            "statics: roll stiffness less the weight times its height over the roll axis",
        )


def _bias_on_ball(setup: Setup) -> Iterator[Finding]:
    """A coupling that swivels passes no side moment, so a bias of the hitch load leans nothing here."""
    hitch = setup.hitch
    if setup.trailer is None or hitch is None:
        return
    arm = (setup.left_share - 0.5) * float(setup.truck.rear.track)
    of_bed = any(abs(float(item.y) - arm) < AT_ARM for item in setup.cargo)  # the share of a load in the bed is meant
    if hitch.roll_coupling < 1.0 and abs(setup.left_share - 0.5) > SMALL and not of_bed:
        passed = "none of it" if hitch.roll_coupling == 0.0 else f"only {100 * hitch.roll_coupling:.0f} % of it"
        yield Finding(
            "note",
            "side-bias-on-ball",
            f"The hitch load is entered as {{value}} on the left, but this coupling swivels and passes {passed}: a "
            "lopsided trailer shows on its own tyres. Enter a lopsided load on the truck as cargo.",
            "statics: a ball carries no moment",
            {"value": (setup.left_share, "share")},
        )


def _twist(setup: Setup, answer: Answer, ways: Ways) -> Iterator[Finding]:
    """What the frame holds of twist."""
    twist = abs(answer.frame_twist)
    least = float(least_twist_told(setup, answer.spring_load[0].sum()))
    if twist <= least:
        return
    if ways.plan is not None and abs(ways.plan().frame_twist) < twist - least:
        advice = "The planned pressures take it out."
    else:
        advice = (
            "Load the cargo even left and right to take it out." if setup.cargo else "It is the truck's own weight."
        )
    yield Finding(
        "note",
        "frame-twist",
        "The frame is twisted by {value}: front and rear do not share the side load by where it lies. " + advice,
        "least strain energy of a uniform frame",
        {"value": (twist, "moment")},
    )


def _headlamps(setup: Setup, answer: Answer, ways: Ways) -> Iterator[Finding]:
    """Pitch of the body moves the beam."""
    stance = answer.set.stance
    aim = float(headlamp_aim(setup, np.asarray(stance.front), np.asarray(stance.rear)))
    level = next((level for level, off in headlamps_off(np.asarray(aim)).items() if off), None)
    if level is None:
        return
    way, effect = ("up", "they blind others") if aim > 0 else ("down", "they light less road")
    advice = "Have them aimed for this load."
    if setup.wanted[0] != setup.wanted[1]:
        advice = "Ask for a level stance, or have them aimed."
    elif ways.plan is not None and ways.plan().level:
        advice = "Level the truck, or have them aimed."
    yield Finding(
        level,
        "headlamp-aim",
        f"The headlights aim {{value}} {way} at {{screen}} compared with level: {effect}. {advice}",
        "SAE J599 aims at 25 ft, within 4 in",
        {"value": (abs(aim), "length"), "limit": (AIM_TOLERANCE, "length"), "screen": (AIM_SCREEN, "length")},
    )


def _undetermined(fixed: Flags) -> Iterator[Finding]:
    """A bag whose area grows with height as fast as steel resists does not hold a height by pressure."""
    for name, sure in zip(AXLES, fixed, strict=True):
        if not sure:
            yield Finding(
                "caution",
                f"height-not-fixed-{name}",
                f"Pressure alone does not hold the {name} axle at one height: set it by tape, not by gauge, "
                "and shut the valves.",
                "stiffness at constant pressure: steel rate - P dA/db",
            )
