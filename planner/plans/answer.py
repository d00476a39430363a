"""What a plan answers: numbers in SI, and findings."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

from planner.physics.validation import Array

Severity = Literal["stop", "caution", "note"]
SEVERITIES: tuple[Severity, ...] = ("stop", "caution", "note")  # worst first
Kind = Literal["load", "weight", "length", "pressure", "step", "moment", "share", "angle"]
SI_UNITS: dict[str, str] = {
    "load": "N",
    "weight": "kg",
    "length": "m",
    "pressure": "Pa",
    "step": "Pa",
    "moment": "N·m",
    "share": "(of 1)",
    "angle": "rad",
}
AXLES = ("front", "rear")
SIDES = ("left", "right")
CORNERS = tuple(f"{axle}_{side}" for axle in AXLES for side in SIDES)


@dataclass(frozen=True)
class Finding:
    """One thing the owner should know.

    Attributes
    ----------
    level : stop (do not drive), caution (mend it or know why not), note
    code : stable name, for programs
    template : the sentence, with names of amounts in braces
    amounts : the amounts it speaks of, SI value and kind; "value" and "limit" are what was compared
    source : where the limit comes from
    """

    level: Severity
    code: str
    template: str
    source: str
    amounts: Mapping[str, tuple[float, Kind]] = field(default_factory=lambda: MappingProxyType({}))

    @property
    def value(self) -> float | None:
        """What was found, SI; None where the finding is no number."""
        return self.amounts["value"][0] if "value" in self.amounts else None

    @property
    def limit(self) -> float | None:
        """What it was held against, SI."""
        return self.amounts["limit"][0] if "limit" in self.amounts else None

    def say(self, amount: Callable[[float, Kind], str]) -> str:
        """Return the sentence, with every amount written by a function of SI value and kind."""
        return self.template.format(**{name: amount(*value) for name, value in self.amounts.items()})

    @property
    def text(self) -> str:
        """The sentence in SI units."""
        return self.say(lambda value, kind: f"{value:.4g} {SI_UNITS[kind]}")


@dataclass(frozen=True)
class Stance:
    """Place of the body against level: rise at the front and rear axle line [m], roll, left side up positive [rad]."""

    front: float
    rear: float
    roll: float

    @classmethod
    def of(cls, state: Array) -> Stance:
        """Return the stance of one state: its first three numbers."""
        return cls(*(float(part) for part in state[:3]))


@dataclass(frozen=True, eq=False)
class Setting:
    """What the gauges show, and where the truck stands on it; this is what an owner has, and what is judged.

    Attributes
    ----------
    pressure : gauge, NaN at a corner with no bag: rounded to the gauge's step, or as they were given [Pa]
    stance, coupling_height : that they give [m, rad, m]
    bag_height, bag_load : NaN at a corner with no bag [m, N]
    sealed : whether they are what the gauges now read, the valves shut, and not what is to be set
    """

    pressure: Array
    stance: Stance
    coupling_height: float | None
    bag_height: Array
    bag_load: Array
    sealed: bool = False


@dataclass(frozen=True, eq=False)
class Answer:
    """Where the truck sits and what it carries; corner arrays are [front, rear][left, right].

    Attributes
    ----------
    pressure : gauge, NaN at a corner with no bag [Pa]
    bag_height : NaN at a corner with no bag [m]
    bag_load : force of the bag, NaN at a corner with no bag [N]
    spring_load : motion ratio × force in the springs of the corner [N]
    tyre_load : ground load of one side of an axle [N]
    ride_height : wheel centre to arch lip [m]
    axle_load : ground load, shape (2,) [N]
    side_moment : on each axle, left heavier positive, shape (2,) [N·m]
    frame_twist : front axle's side moment beyond the split that twists the frame least [N·m]
    bounce_frequency : of each axle's sprung mass, shape (2,) [Hz]
    hitch_load, trailer_axle_load : 0 with no trailer [N]
    coupling_height : ball centre or plate above ground; None with no hitch [m]
    level : whether the wanted stance is reached at the set pressures, as near as a tape can tell
    set : the pressures a gauge can show, and what they give
    converged : whether the truck rests so, at the exact and at the set pressures
    """

    pressure: Array
    bag_height: Array
    bag_load: Array
    spring_load: Array
    tyre_load: Array
    ride_height: Array
    axle_load: Array
    side_moment: Array
    frame_twist: float
    bounce_frequency: Array
    hitch_load: float
    trailer_axle_load: float
    stance: Stance
    coupling_height: float | None
    level: bool
    set: Setting
    findings: tuple[Finding, ...]
    converged: bool = True

    @property
    def worst(self) -> Finding | None:
        """The first finding, None where there is none."""
        return self.findings[0] if self.findings else None

    @property
    def stopped(self) -> bool:
        """Whether a finding says do not drive."""
        return any(finding.level == "stop" for finding in self.findings)
