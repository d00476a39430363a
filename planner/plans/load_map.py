"""A map of loads: any two inputs of a load over their ranges, and at every point which limit stops it, if one does.

Every point is levelled at once, and held against the rule of `stops`: what it says, Level says of that load alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

import numpy as np

from planner.errors import Refusal, UnknownName
from planner.physics.truck_model import Rig
from planner.physics.validation import Array, Codes, Flags
from planner.plans.answer import AXLES
from planner.plans.map_inputs import Input, inputs_of
from planner.plans.setup import Setup, rig_of
from planner.plans.stops import Stop, find_stops

SIZE: Final = 150  # points along each axis
ALONG: Final = 65  # points in each of the rounds that look for the first stop along a line
ROUNDS: Final = 3  # to within a quarter of a millionth of the range


class Axis(NamedTuple):
    """One axis of a map: the key of an input, and the range it goes through. [SI]"""

    key: str
    low: float
    high: float


class Turn(NamedTuple):
    """Where along a line it changes whether a load is stopped: the value of the input [SI], and by what (0 nothing)."""

    value: float
    code: int


@dataclass(frozen=True, eq=False)
class LoadMap:
    """A map of loads over two inputs; arrays have shape (y, x).

    Attributes
    ----------
    setup : the load that the map is about
    x, y : the inputs, with this load's own values
    x_values, y_values : where the points are [SI]
    stops : what may stop a load; code n is stops[n - 1]
    code : which of them stops each point, 0 none
    levels : whether the truck comes to the wanted stance with every bag inside its limits
    pressure : mean gauge pressure of the corners of pressure_axle, as levelled; None without bags [Pa]
    pressure_axle : "rear", "front" where the rear has no bag, "" without bags
    here : what stops this load, 0 nothing
    more : where a load with more of x is stopped first, by what; None where it is not in this range, or is stopped now
    less : where a stopped load with less of x is stopped no more; None where there is no such place, or it is not now
    """

    setup: Setup
    x: Input
    y: Input
    x_values: Array
    y_values: Array
    stops: tuple[Stop, ...]
    code: Codes
    levels: Flags
    pressure: Array | None
    pressure_axle: Literal["rear", "front", ""]
    here: int
    more: Turn | None
    less: Turn | None

    def stop(self, code: int) -> Stop | None:
        """Return what a code stands for, None for 0."""
        return self.stops[code - 1] if code else None


def load_map(setup: Setup, x: Axis, y: Axis, size: tuple[int, int] = (SIZE, SIZE)) -> LoadMap:
    """Return the map of a load over two of its inputs.

    Parameters
    ----------
    setup : Setup
    x, y : Axis
        Two different inputs of `inputs_of` and their ranges.
    size : (int, int)
        Points along x and along y.

    Returns
    -------
    LoadMap
        Which of several things that stop a load is told: see `find_stops`.

    Raises
    ------
    Refusal
        If an input is not one of this load, both are the same, or a range is empty.

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.setup import Setup
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> setup = Setup.of(mill.profile, mill.truck, mill.trailer)
    >>> found = load_map(setup, Axis("weight", 1000.0, 9000.0), Axis("tongue", 0.05, 0.25), (5, 3))
    >>> [found.stop(code).code if code else "" for code in found.code[0]]
    ['', '', 'trailer-gvwr', 'trailer-gvwr', 'trailer-gvwr']
    """
    known = inputs_of(setup)
    for axis in (x, y):
        if axis.key not in known:
            raise UnknownName("an axis of this load", axis.key, known)
        if not axis.low < axis.high:
            raise Refusal(f"the range of {axis.key} must grow", f"{axis.low:g} to {axis.high:g}", "swap its ends")
    if x.key == y.key:
        raise Refusal("the two axes must differ", f"{x.key!r} twice", "choose another for one")
    rig, across, up = rig_of(setup.truck), np.linspace(x.low, x.high, size[0]), np.linspace(y.low, y.high, size[1])
    found = find_stops(setup, rig, {x.key: across, y.key: up[:, None]}, size[::-1], on_grid=True)
    here, more, less = _along(setup, rig, x, known[x.key].value)
    return LoadMap(
        setup=setup,
        x=known[x.key],
        y=known[y.key],
        x_values=across,
        y_values=up,
        stops=found.stops,
        code=found.code,
        levels=found.levels,
        pressure=_mean_pressure(rig, found.pressure),
        pressure_axle=_pressure_axle(rig),
        here=here,
        more=more,
        less=less,
    )


def _pressure_axle(rig: Rig) -> Literal["rear", "front", ""]:
    return "rear" if rig.has_bag[1] else "front" if rig.has_bag[0] else ""


def _along(setup: Setup, rig: Rig, x: Axis, own: float) -> tuple[int, Turn | None, Turn | None]:
    """Return what stops this load, where more of x is stopped first, and where less of it is stopped no more."""
    now = find_stops(setup, rig, {x.key: np.array([own])}, (1,))
    here, stopped = int(now.code[0]), bool(now.stopped[0])
    ends = (own, x.low) if stopped else (own, x.high)
    turn = None
    for _ in range(ROUNDS):
        values = np.linspace(*ends, ALONG)
        found = find_stops(setup, rig, {x.key: values}, (ALONG,))
        other = np.flatnonzero(found.stopped != stopped)
        if not other.size or ends[0] == ends[1]:
            break
        first = int(other[0])
        turn, ends = (
            Turn(float(values[first]), int(found.code[first])),
            (float(values[first - 1]), float(values[first])),
        )
    return (here, None, turn) if stopped else (here, turn, None)


def _mean_pressure(rig: Rig, pressure: Array) -> Array | None:
    """Return the mean pressure of the axle whose pressure is drawn."""
    name = _pressure_axle(rig)
    if not name:
        return None
    left, right = (pressure[..., AXLES.index(name), side] for side in (0, 1))
    mean: Array = 0.5 * (left + right)
    return mean
