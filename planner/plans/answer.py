"""What a plan answers: numbers in SI, and findings."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields
from importlib import import_module
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from planner.errors import UnknownName
from planner.late import found_late
from planner.physics.validation import Array
from planner.units.arguments import PintQuantity
from planner.units.dimensions import Dimension
from planner.units.quantity import Quantity, in_pint, in_unit_of

if TYPE_CHECKING:
    from planner.plans.setup import Setup

Severity = Literal["stop", "caution", "note"]
SEVERITIES: tuple[Severity, ...] = ("stop", "caution", "note")  # worst first
Kind = Literal["load", "weight", "length", "pressure", "step", "moment", "share", "angle", "time", "force"]
SI_UNITS: dict[str, str] = {
    "load": "N",
    "weight": "kg",
    "length": "m",
    "pressure": "Pa",
    "step": "Pa",
    "moment": "N·m",
    "share": "(of 1)",
    "angle": "rad",
    "time": "s",
    "force": "N",
}
AXLES = ("front", "rear")
SIDES = ("left", "right")
CORNERS = tuple(f"{axle}_{side}" for axle in AXLES for side in SIDES)


DIMENSIONS: Mapping[str, Dimension] = MappingProxyType(
    {
        **dict.fromkeys(("pressure", "set.pressure"), "pressure"),
        **dict.fromkeys(("bag_load", "set.bag_load", "spring_load", "tyre_load", "axle_load"), "load"),
        **dict.fromkeys(("hitch_load", "trailer_axle_load"), "load"),
        **dict.fromkeys(("bag_height", "set.bag_height", "ride_height"), "length"),
        **dict.fromkeys(("coupling_height", "set.coupling_height"), "length"),
        **dict.fromkeys(("side_moment", "frame_twist"), "moment"),
        **dict.fromkeys(("stance.front", "stance.rear", "set.stance.front", "set.stance.rear"), "length"),
        **dict.fromkeys(("stance.roll", "set.stance.roll"), "angle"),
    }
)
CORNER_ARRAYS = ("pressure", "bag_height", "bag_load", "spring_load", "tyre_load", "ride_height")


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


@dataclass(frozen=True, eq=False, repr=False)
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

    def __post_init__(self) -> None:
        """Let nobody write into the arrays."""
        _lock(self)

    def __repr__(self) -> str:
        """Show the pressures."""
        return f"<Setting: {_pressures(self.pressure, None)}>"


@dataclass(frozen=True, eq=False, repr=False)
class Answer:
    """Where the truck sits and what it carries; corner arrays are [front, rear][left, right] and cannot be written to.

    It shows itself in a few lines, and in a notebook as a table of pressures and findings beside the truck from above.

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
    setup : what was asked: truck, trailer, hitch, cargo
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
    setup: Setup | None = None

    def __post_init__(self) -> None:
        """Let nobody write into the arrays."""
        _lock(self)

    def __repr__(self) -> str:
        """Show the pressures to set, the stance they give and the worst finding."""
        step = None if self.setup is None else self.setup.truck.instruments.gauge_step
        stance, worst = self.set.stance, self.worst
        return (
            f"<Answer: {'gauges read' if self.set.sealed else 'set'} {_pressures(self.set.pressure, step)}\n"
            f" {'level' if self.level else 'not level'}: front {1e3 * stance.front:+.1f} mm, "
            f"rear {1e3 * stance.rear:+.1f} mm, roll {math.degrees(stance.roll):+.2f}°\n"
            f" {f'{worst.level}: {worst.text}' if worst else 'no findings'}>"
        )

    def _repr_svg_(self) -> str | None:
        """Return the truck from above, for a notebook."""
        return self._shown("svg_of")

    def _repr_html_(self) -> str | None:
        """Return the pressures, stance and findings with the truck from above, for a notebook: no script in it."""
        return self._shown("html_of")

    def _shown(self, how: str) -> str | None:
        """Return the answer as the library shows it; None where nobody knows of which truck it is."""
        text: str | None = None if self.setup is None else found_late("planner.library", how)(self)
        return text

    def quantity(self, name: str, unit: str) -> PintQuantity:
        """Return one of the answer's numbers or arrays as a quantity of pint's.

        Parameters
        ----------
        name : str
            Such as "pressure", "axle_load", "set.pressure" or "stance.roll".
        unit : str
            As in a file: "psi", "bar", "lb", "kg", "mm", "deg".

        Raises
        ------
        UnknownName
            If no quantity has that name.
        Refusal
            If the unit is not one of its dimension.

        Examples
        --------
        >>> from planner import level, read_truck
        >>> level(read_truck("profiles/trucks/ridge-truck.toml")).quantity("ride_height", "in").magnitude.shape
        (2, 2)
        """
        if name not in DIMENSIONS:
            raise UnknownName("quantity", name, DIMENSIONS)
        value: Any = self
        for part in name.split("."):
            value = getattr(value, part)
        return in_pint(np.nan if value is None else value, unit, DIMENSIONS[name])

    def to_dict(self) -> dict[str, Any]:
        """Return the answer as plain dictionaries, lists and numbers in SI units; None where there is no bag."""
        plain = {field.name: _plain(getattr(self, field.name)) for field in fields(self) if field.name != "setup"}
        for name, finding in zip(plain["findings"], self.findings, strict=True):
            name.update(text=finding.text, value=finding.value, limit=finding.limit)
        return plain

    def to_frame(self) -> Any:
        """Return the corners as a pandas DataFrame: a row each, SI units, the set pressure beside the exact one."""
        columns = {name: getattr(self, name).reshape(4) for name in CORNER_ARRAYS}
        columns["set_pressure"] = self.set.pressure.reshape(4)
        return frame(columns, CORNERS, "corner")

    @property
    def worst(self) -> Finding | None:
        """The first finding, None where there is none."""
        return self.findings[0] if self.findings else None

    @property
    def stopped(self) -> bool:
        """Whether a finding says do not drive."""
        return any(finding.level == "stop" for finding in self.findings)


def frame(columns: Mapping[str, Any], index: Any, name: str | None) -> Any:
    """Return columns as a pandas DataFrame; pandas comes with streamlit and is loaded when it is asked for.

    Examples
    --------
    >>> frame({"roll": [0.0, 0.1]}, None, "case").shape
    (2, 1)
    """
    pandas: Any = import_module("pandas")
    found = pandas.DataFrame(dict(columns), index=index)
    found.index.name = name
    return found


def _lock(holder: Answer | Setting) -> None:
    for value in vars(holder).values():
        if isinstance(value, np.ndarray):
            value.setflags(write=False)


def _pressures(pressure: Array, step: Quantity | None) -> str:
    """Return corner pressures in words, in the unit of a gauge's step, without one in bar."""
    unit = Quantity.of(0.01, "bar", "pressure") if step is None else step
    said = ["no bag" if np.isnan(one) else in_unit_of(float(one), unit) for one in pressure.reshape(4)]
    return ", ".join(f"{corner.replace('_', ' ')} {one}" for corner, one in zip(CORNERS, said, strict=True))


def _plain(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return _plain(value.tolist())
    if isinstance(value, Finding | Stance | Setting):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Mapping):
        return {key: _plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(inner) for inner in value]
    return None if isinstance(value, float) and math.isnan(value) else value
