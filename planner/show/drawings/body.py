"""Where the truck and its trailer stand over the ground, for the views from the side and from behind."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Self

import numpy as np

from planner.physics.validation import Array
from planner.plans.answer import Answer, Stance
from planner.plans.hub_height import hub_heights
from planner.plans.setup import Setup
from planner.records import Trailer
from planner.show.drawings import body_shapes

# The sketched body's heights from its arch lips. [m]
ROCKER, BONNET, RAIL, ROOF = -0.35, 0.26, 0.36, 0.97
NECK: Final = 0.30  # [m] from a coupling over the bed up to the trailer's neck
LEAST_ROCKER: Final = 0.12  # [m] above ground


@dataclass(frozen=True)
class Pose:
    """The truck over level ground.

    Attributes
    ----------
    wheelbase : [m]
    stance : of the body, against level
    wheels : heights of the wheel centres, [axle][side] [m]
    level_wheels : of each axle, at kerb weight, where stances are counted from [m]
    ride_design : of each axle, wheel centre to arch lip at level [m]
    track : rear [m]
    """

    wheelbase: float
    stance: Stance
    wheels: Array
    level_wheels: Array
    ride_design: Array
    track: float

    @classmethod
    def of(cls, setup: Setup, answer: Answer) -> Self:
        """Return the pose that an answer gives."""
        truck = setup.truck
        axles = (truck.front, truck.rear)
        return cls(
            wheelbase=float(truck.wheelbase),
            stance=answer.stance,
            wheels=hub_heights(truck, answer.tyre_load),
            level_wheels=hub_heights(truck)[:, 0],
            ride_design=np.array([float(axle.ride_height) for axle in axles]),
            track=float(truck.rear.track),
        )

    @property
    def arches(self) -> Array:
        """Heights of the arch lips above ground at level, front and rear. [m]"""
        heights: Array = self.level_wheels + self.ride_design
        return heights

    @property
    def rocker(self) -> float:
        """Height of the body's lower edge at level. [m]"""
        return max(LEAST_ROCKER, float(self.arches.min()) + ROCKER)

    def height(self, part: float) -> float:
        """Return the height at level of a part of the body counted from its higher arch lip. [m]"""
        return float(self.arches.max()) + part

    def lifted(self, x: float, z: float, stance: Stance | None = None) -> float:
        """Return how high a point of the body stands that is at ``z`` at level, ``x`` ahead of the rear axle. [m]"""
        at = stance or self.stance
        return z + at.rear + (at.front - at.rear) * x / self.wheelbase

    def leaned(self, y: float, z: float, stance: Stance | None = None) -> tuple[float, float]:
        """Return where a point over the rear axle is, left of the centre line and above ground. [m]"""
        at = stance or self.stance
        return y - at.roll * (z - float(self.level_wheels[1])), z + at.rear + at.roll * y


@dataclass(frozen=True)
class TrailerPose:
    """The trailer behind a coupling, on level ground.

    Attributes
    ----------
    x, height : of the coupling, ahead of the truck's rear axle and above ground [m]
    level_height : of the coupling when the trailer sits level [m]
    axle_distance : coupling to axle centre [m]
    nose, end : of the deck, behind the coupling [m]
    necked : whether it reaches over the truck's bed
    axles : count
    """

    x: float
    height: float
    level_height: float
    axle_distance: float
    nose: float
    end: float
    necked: bool
    axles: int

    @classmethod
    def of(cls, setup: Setup, coupling_height: float | None) -> Self | None:
        """Return the pose of the setup's trailer, None where it has none."""
        trailer, hitch = setup.trailer, setup.hitch
        if trailer is None or hitch is None or coupling_height is None:
            return None
        reach = float(hitch.x) - body_shapes.body(setup.truck).tail + body_shapes.DECK_BEHIND_TAIL
        return cls._of(trailer, float(hitch.x), coupling_height, reach)

    @classmethod
    def alone(cls, trailer: Trailer) -> Self:
        """Return the pose of a trailer that stands level by itself: places count from its coupling."""
        return cls._of(trailer, 0.0, float(trailer.coupling_height), body_shapes.NECK_REACH)

    @classmethod
    def _of(cls, trailer: Trailer, x: float, height: float, reach: float) -> Self:
        """Return a trailer's pose behind a coupling; a neck reaches as far back as told before its deck begins."""
        distance, necked = float(trailer.axle_distance), trailer.coupling in ("gooseneck", "fifth_wheel")
        nose = reach if necked else min(body_shapes.DRAWBAR, 0.4 * distance)
        wheels = body_shapes.TRAILER_WHEEL * (1.0 + body_shapes.WHEEL_PITCH * (trailer.axle_count - 1) / 2.0)
        end = distance + max(body_shapes.DECK_BEHIND_AXLE * distance, wheels + 0.2)
        return cls(
            x,
            height,
            float(trailer.coupling_height),
            distance,
            max(0.1, min(nose, distance - wheels)),
            end,
            necked,
            trailer.axle_count,
        )

    @property
    def pitch(self) -> float:
        """Pitch against level, nose up positive. [rad]"""
        return (self.height - self.level_height) / self.axle_distance

    @property
    def wheels(self) -> list[float]:
        """Where the wheels are, behind the coupling. [m]"""
        pitch = body_shapes.TRAILER_WHEEL * body_shapes.WHEEL_PITCH
        return [self.axle_distance + pitch * (n - (self.axles - 1) / 2.0) for n in range(self.axles)]

    def at(self, behind: float, z: float) -> tuple[float, float]:
        """Return where a point is that is at ``z`` when level: ahead of the truck's rear axle, above ground. [m]"""
        return self.x - behind, z + self.pitch * (self.axle_distance - behind)
