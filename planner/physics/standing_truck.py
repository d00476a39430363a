"""A truck as it stands at given pressures, and whether it would stay upright."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from planner.physics.array_layout import BLOCK
from planner.physics.constants import STANDARD_PRESSURE
from planner.physics.equilibrium import SealedAir, on_one_line, springs_fix
from planner.physics.statics import Load
from planner.physics.truck_model import Corners, Rig, Springs
from planner.physics.validation import Array, Flags


@dataclass(frozen=True, eq=False)
class StandingTruck:
    """A truck that stands in a state at gauge pressures, one case or many; what that means is worked out when asked.

    Attributes
    ----------
    rig, load
    state : array, shape (..., 4)
        Rise front, rise rear [m], roll [rad], front axle's side moment [N·m].
    pressure : array, shape (..., 2, 2)
        Gauge. [Pa]
    """

    rig: Rig
    load: Load
    state: Array
    pressure: Array

    @cached_property
    def corners(self) -> Corners:
        """Height and force of the springs."""
        return self.rig.corners(self.load, self.state)

    @cached_property
    def springs(self) -> Springs:
        """What charts and steel give at that height and pressure."""
        return self.rig.springs(self.corners.spring_height, self.pressure)

    @cached_property
    def gas_volume(self) -> Array:
        """Of each bag; 1 where there is none, shape (..., 2, 2). [m³]"""
        return self.rig.gas_volume(self.corners.spring_height)

    @cached_property
    def upright(self) -> Flags:
        """Whether springs and shut-in air push back more than the load swings out as it leans, shape (...).

        Where they do not, no rest is stable: the least lean grows until stops or ground hold it, and without bags
        nothing in this model does.

        Examples
        --------
        >>> from planner import read_truck
        >>> from planner.plans.setup import rig_of
        >>> rig = rig_of(read_truck("profiles/trucks/ridge-truck.toml"))
        >>> bool(StandingTruck(rig, rig.kerb, np.zeros(4), np.full((2, 2), 250e3)).upright)
        True
        """
        gas = on_one_line(self.rig, self.gas_volume)
        air = SealedAir((self.pressure + STANDARD_PRESSURE) * gas, np.asarray(STANDARD_PRESSURE))
        springs = self.springs
        own, across = air.slopes(self.rig, self.corners.spring_height, springs, self.pressure)
        heave = springs.steel_slope - own - across
        return springs_fix(self.rig, self.load, heave, heave + 2.0 * across)[1]


def stand_upright(rig: Rig, load: Load, state: Array, pressure: Array) -> Flags:
    """Return which of many cases of one truck are upright, as `StandingTruck` has it, shape (...): block by block.

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import rig_of
    >>> rig = rig_of(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> stand_upright(rig, rig.kerb, np.zeros((3, 4)), np.full((3, 2, 2), 250e3)).tolist()
    [True, True, True]
    """
    shape = state.shape[:-1]
    loads, states, pressures = load.spread(shape), state.reshape(-1, 4), pressure.reshape(-1, 2, 2)
    found = np.empty(len(states), bool)
    for first in range(0, len(states), BLOCK):
        some = slice(first, first + BLOCK)
        found[some] = StandingTruck(rig, loads.take(some), states[some], pressures[some]).upright
    return found.reshape(shape)
