"""What hitching answers: four stages, and what they say of truck and trailer."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

import numpy as np

from planner.physics.trailer import Pitched
from planner.physics.validation import Array
from planner.plans.answer import Answer, Finding
from planner.plans.setup import Setup

StageName = Literal["clear", "meet", "lift", "tow"]
STAGES: Final[tuple[StageName, ...]] = ("clear", "meet", "lift", "tow")
REACHED: Final = 0.0005  # [m] a height nearer than half a millimetre is reached


@dataclass(frozen=True, eq=False)
class Stage:
    """One stage of hitching.

    Attributes
    ----------
    name : clear, meet, lift or tow
    answer : pressures and all that follows, with the stage's own load
    target : coupling height asked for [m]
    reachable : whether the coupling gets there
    stopped_by : the limit that is in the way, in words; empty where it gets there
    """

    name: StageName
    answer: Answer
    target: float
    reachable: bool
    stopped_by: str

    @property
    def height(self) -> float:
        """Coupling height: on the road at the pressures set, until then where the air is stopped. [m]"""
        stands = self.answer.set if self.name == "tow" else self.answer
        assert stands.coupling_height is not None  # a stage has a hitch
        return stands.coupling_height


class JackShare(NamedTuple):
    """Pressures while the tongue comes down on the truck at one coupling height: shares (n,), Pa (n, 2, 2)."""

    share: Array
    pressure: Array


class Reach(NamedTuple):
    """How far one stage gets: of `Stage` all but what the truck then carries, and the rises front and rear [m]."""

    name: StageName
    height: float
    target: float
    reachable: bool
    stopped_by: str
    rises: tuple[float, float]


@dataclass(frozen=True, eq=False)
class Way:
    """The way to the trailer without what the truck carries on it: of `HitchPlan` all that its findings ask.

    stages : clear, meet, lift
    rear_heights : wheel centre to arch lip at the rear, left and right, at clear, meet and lift, shape (3, 2) [m]
    """

    setup: Setup
    stages: tuple[Reach, ...]
    rear_heights: Array
    front_raise: float
    jack_up: float
    ball_mount_drop: float
    bed_clearance: tuple[float, ...] | None


@dataclass(frozen=True, eq=False)
class HitchPlan:
    """The way to the trailer and off with it; unhitching is the same way back.

    Attributes
    ----------
    setup : what is hitched
    stages : clear, meet, lift, tow
    front_raise : how far the front is raised beyond its wanted height to dip the hitch, at clear [m]
    jack_up : how far the trailer's jack must go up to back under, < 0 down to a plate that stays low; 0 if neither [m]
    ball_mount_drop : how far lower the coupling should sit for a level trailer at tow; < 0 higher [m]
    pitch : what the trailer's pitch at tow does; nose down positive
    jack_share : pressure against the share of the tongue load on the truck, between meet and lift
    bed_clearance : over the end of the truck's bed at each stage; None where the records do not tell [m]
    findings : of hitching and of the tow, worst first
    """

    setup: Setup
    stages: tuple[Stage, ...]
    front_raise: float
    jack_up: float
    ball_mount_drop: float
    pitch: Pitched
    jack_share: JackShare
    bed_clearance: tuple[float, ...] | None
    findings: tuple[Finding, ...] = ()

    @property
    def rear_heights(self) -> Array:
        """Wheel centre to arch lip at the rear, left and right, at clear, meet and lift, shape (3, 2). [m]"""
        return np.array([stage.answer.ride_height[1] for stage in self.stages[:3]])

    @property
    def trailer_pitch(self) -> float:
        """Pitch of the trailer at tow, nose down positive (ISO 8855). [rad]"""
        return float(self.pitch.pitch)
