"""An answer as one object of plain values: SI numbers for other programs, null where there is none."""

from __future__ import annotations

import math
from typing import Any

from planner.physics.validation import Array
from planner.plans.answer import AXLES, CORNERS, Answer, Finding, Setting, Stance
from planner.plans.hitching_stages import HitchPlan, Stage
from planner.show.text.numbers import sentence
from planner.units.quantity import System


def answer_object(profile: str, answer: Answer, system: System) -> dict[str, Any]:
    """Return an answer as an object: gauge pressure Pa, load N, height m, moment N·m, roll rad; text in words."""
    return {
        "profile": profile,
        "pressure": corners(answer.pressure),
        "set": setting_object(answer.set),
        "bag_height": corners(answer.bag_height),
        "spring_load": corners(answer.spring_load),
        "tyre_load": corners(answer.tyre_load),
        "ride_height": corners(answer.ride_height),
        "axle_load": axles(answer.axle_load),
        "hitch_load": number(answer.hitch_load),
        "trailer_axle_load": number(answer.trailer_axle_load),
        "side_moment": axles(answer.side_moment),
        "frame_twist": number(answer.frame_twist),
        "bounce_frequency": axles(answer.bounce_frequency),
        "stance": stance_object(answer.stance),
        "coupling_height": number(answer.coupling_height),
        "level": answer.level,
        "converged": answer.converged,
        "findings": [finding_object(finding, system) for finding in answer.findings],
    }


def hitch_object(profile: str, plan: HitchPlan, system: System) -> dict[str, Any]:
    """Return the stages of hitching as an object.

    jack_up m, < 0 down; ball_mount_drop m; trailer_pitch rad, nose down positive.
    """
    return {
        "profile": profile,
        "stages": [stage_object(stage, system) for stage in plan.stages],
        "jack_up": number(plan.jack_up),
        "front_raise": number(plan.front_raise),
        "ball_mount_drop": number(plan.ball_mount_drop),
        "trailer_pitch": number(plan.trailer_pitch),
        "converged": all(stage.answer.converged for stage in plan.stages),
        "jack_share": [
            {"share": number(share), "pressure": corners(pressure)}
            for share, pressure in zip(plan.jack_share.share, plan.jack_share.pressure, strict=True)
        ],
        "findings": [finding_object(finding, system) for finding in plan.findings],
    }


def stage_object(stage: Stage, system: System) -> dict[str, Any]:
    """Return one stage: its name, whether it is reached, and its answer."""
    answer = answer_object(stage.name, stage.answer, system)
    del answer["profile"]
    return {"name": stage.name, "reachable": stage.reachable, "target_height": number(stage.target)} | answer


def setting_object(setting: Setting) -> dict[str, Any]:
    """Return the pressures rounded to the gauge, with what they give."""
    return {
        "pressure": corners(setting.pressure),
        "stance": stance_object(setting.stance),
        "coupling_height": number(setting.coupling_height),
    }


def finding_object(finding: Finding, system: System) -> dict[str, Any]:
    """Return a finding with its sentence in the units asked for and its numbers in SI."""
    return {
        "level": finding.level,
        "code": finding.code,
        "text": sentence(finding, system),
        "value": number(finding.value),
        "limit": number(finding.limit),
        "source": finding.source,
    }


def stance_object(stance: Stance) -> dict[str, float | None]:
    """Return a stance: rises in m, roll in rad."""
    return {"front": number(stance.front), "rear": number(stance.rear), "roll": number(stance.roll)}


def corners(values: Array) -> dict[str, float | None]:
    """Return a corner array by name of corner."""
    return dict(zip(CORNERS, (number(value) for value in values.ravel()), strict=True))


def axles(values: Array) -> dict[str, float | None]:
    """Return an axle array by name of axle."""
    return dict(zip(AXLES, (number(value) for value in values), strict=True))


def number(value: float | None) -> float | None:
    """Return a float that JSON can hold, None for what is not there."""
    return None if value is None or not math.isfinite(value) else float(value)
