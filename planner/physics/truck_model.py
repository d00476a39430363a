"""The truck as arrays: geometry and rates of both axles, and the linear part of its statics."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from typing import Any, Final, NamedTuple

import numpy as np

from planner.physics.air_spring import Bag
from planner.physics.array_layout import by_axle, by_place, cases_first, in_a_row, is_whole, some_of
from planner.physics.chart import Chart, Charts
from planner.physics.constants import STOP_GAP, STOP_RATE
from planner.physics.statics import Load
from planner.physics.validation import Array, Flags, require_positive

SIDE = np.array([1.0, -1.0])  # left, right: the sign of y (ISO 8855)
AXLE = np.array([1.0, -1.0])  # front, rear: the sign with which the front axle's side moment enters each

_NO_AREA: Final = Chart(np.array([0.0, 1.0]), (np.array([[0.0], [0.0]]),))
_NO_GAS: Final = Chart(np.array([0.0, 1.0]), (np.array([[0.0], [1.0]]),))

_NUMBERS: Final[dict[str, tuple[int, ...]]] = {  # of a rig, with the shape each has for one truck
    "wheelbase": (),
    "unsprung_load": (2,),
    "half_spacing": (2,),
    "track": (2,),
    "motion_ratio": (2,),
    "tyre_rate": (2,),
    "anti_roll_rate": (2,),
    "steel_rate": (2,),
    "steel_load": (2,),
    "bag_offset": (2, 2),
    "chart_tilt": (2,),
}
_TILTED: Final = ("slope", "slope_about")  # of a bag
_PRESSURE_LIMITS: Final = ("least_pressure", "greatest_pressure")


class Corners(NamedTuple):
    """What a state of the truck means at the corners, each of shape (..., 2, 2).

    spring_height : height of the spring, bag height where there is a bag [m]
    spring_force : force in all springs of the corner, at the spring [N]
    """

    spring_height: Array
    spring_force: Array


class Springs(NamedTuple):
    """What springs give at a height, each of shape (..., 2, 2).

    area, area_slope : effective area of the bag and its slope dA/db, 0 where there is no bag [m², m²/m]
    load_gain : how fast the bag's load grows with pressure, dF/dP: its area, where that is the same at all [m²]
    steel_force : of steel and stops, at the spring [N]
    steel_slope : how fast that force falls with height, ≥ 0 [N/m]
    """

    area: Array
    area_slope: Array
    load_gain: Array
    steel_force: Array
    steel_slope: Array


@dataclass(frozen=True, eq=False)
class Rig:
    """One truck, or a batch of trucks of one layout.

    Every number is an array of shape (..., 2), front and rear; wheelbase has shape (...), bag_offset (..., 2, 2).

    Attributes
    ----------
    wheelbase : distance between the axles [m]
    kerb : load as weighed, which is the zero of every stance
    unsprung_load : weight below the springs [N]
    half_spacing : half the spring spacing of a solid axle, half the track of an independent one [m]
    track : wheel to wheel [m]
    motion_ratio : spring travel over wheel travel [-]
    tyre_rate : of one side, duals added [N/m]
    anti_roll_rate : between body and axle [N·m/rad]
    steel_rate, steel_load : of the leaf or coil that stays, one side, at the spring; load at design height [N/m, N]
    bags : front and rear bag, None where the axle has none
    joined : whether both bags of the axle share one line
    tape_error : what its owner's tape can tell of a height [m]
    bag_offset : by how much each bag sits higher at design ride height than its fitted height says [m]
    chart_tilt : by how much the slope of each chart of one height is off, as a part of the area there [1/m]

    Raises
    ------
    Refusal
        If a length, a ratio or a tyre rate is not > 0, or an axle with no bag has no steel rate.
    """

    wheelbase: Array
    kerb: Load
    unsprung_load: Array
    half_spacing: Array
    track: Array
    motion_ratio: Array
    tyre_rate: Array
    anti_roll_rate: Array
    steel_rate: Array
    steel_load: Array
    bags: tuple[Bag | None, Bag | None]
    joined: tuple[bool, bool]
    tape_error: float = 0.0
    bag_offset: Array = field(default_factory=partial(np.zeros, (2, 2)))
    chart_tilt: Array = field(default_factory=partial(np.zeros, 2))

    def __post_init__(self) -> None:
        """Refuse a rig that no stance could carry."""
        require_positive(
            ("wheelbase", self.wheelbase, "m"),
            ("half spring spacing", self.half_spacing, "m"),
            ("track", self.track, "m"),
            ("motion ratio", self.motion_ratio, "-"),
            ("tyre rate", self.tyre_rate, "N/m"),
        )
        for k, bag in enumerate(self.bags):
            if bag is None:
                require_positive(("steel rate of an axle with no bag", self.steel_rate[..., k], "N/m"))

    @cached_property
    def alone(self) -> bool:
        """Whether this is one truck, not a batch of trucks."""
        return all(np.ndim(getattr(self, name)) == len(inner) for name, inner in _NUMBERS.items())

    def spread(self, shape: tuple[int, ...]) -> Rig:
        """Return a batch of trucks with the cases of a shape in one row; one truck is itself for all cases."""
        if self.alone:
            return self
        numbers: dict[str, Any] = {
            name: in_a_row(getattr(self, name), shape, inner) for name, inner in _NUMBERS.items()
        }
        return replace(self, kerb=self.kerb.spread(shape), **numbers)

    def take(self, cases: Flags | slice) -> Rig:
        """Return some trucks of a batch in one row; one truck is itself for all cases."""
        if self.alone or is_whole(cases, len(self.track)):
            return self
        numbers: dict[str, Any] = {name: some_of(getattr(self, name), cases) for name in _NUMBERS}
        return replace(self, kerb=self.kerb.take(cases), **numbers)

    def truck(self, case: int) -> Rig:
        """Return one truck of a batch in one row, as a rig of one truck."""
        numbers: dict[str, Any] = {
            name: value if value.ndim == len(inner) else value[case]
            for name, inner in _NUMBERS.items()
            if (value := np.asarray(getattr(self, name))) is not None
        }
        return replace(self, kerb=self.kerb.case(case), **numbers)

    # What each corner's numbers do when the state (z_front, z_rear, roll, front axle's side moment) changes.
    # The statics are linear in the state and in the load, so these are constants of the rig.

    @cached_property
    def tyre_roll_rate(self) -> Array:
        """Moment per radian of an axle on its tyres, κ t² / 2. [N·m/rad]"""
        rate: Array = 0.5 * self.tyre_rate * self.track**2
        return rate

    @cached_property
    def _arm(self) -> Array:
        """Spring travel per radian of roll between body and axle, left. [m/rad]"""
        arm: Array = self.motion_ratio * self.half_spacing
        return arm

    @cached_property
    def height_by_roll(self) -> Array:
        """d(spring height)/d(roll), shape (..., 2, 2). [m/rad]"""
        return SIDE * self._arm[..., None]

    @cached_property
    def height_by_moment(self) -> Array:
        """d(spring height)/d(side moment on the axle), shape (..., 2, 2). [m/(N·m)]"""
        return SIDE * (self._arm / self.tyre_roll_rate)[..., None]

    @cached_property
    def force_by_roll(self) -> Array:
        """d(spring force)/d(roll), shape (..., 2, 2): what the anti-roll bar asks of the springs. [N/rad]"""
        return SIDE * (self.anti_roll_rate / (2.0 * self._arm))[..., None]

    @cached_property
    def force_by_moment(self) -> Array:
        """d(spring force)/d(side moment on the axle), shape (..., 2, 2). [N/(N·m)]"""
        share = (1.0 + self.anti_roll_rate / self.tyre_roll_rate) / (2.0 * self._arm)
        return SIDE * share[..., None]

    @cached_property
    def design_height(self) -> Array:
        """Height of each spring at design ride height, shape (..., 2, 2); 0 where there is no bag. [m]"""
        fitted = np.array([bag.fitted_height if bag else 0.0 for bag in self.bags])
        height: Array = fitted[:, None] + self.bag_offset * self.has_bag[:, None]
        return height

    def squash(self, load: Load) -> Array:
        """Return the tyres' mean squash beyond the kerb's own, shape (..., 2). [m]"""
        squash: Array = (load.axle - self.kerb.axle) / (2.0 * self.tyre_rate)
        return squash

    def axle_moments(self, load: Load, state: Array) -> Array:
        """Return the side moment on each axle, shape (..., 2); they sum to the load's. [N·m]"""
        front = state[..., 3]
        return by_axle(front, load.moment_at(state[..., 2]) - front)

    def corners(self, load: Load, state: Array) -> Corners:
        """Return what a state asks of the springs.

        Parameters
        ----------
        load : Load
        state : array, shape (..., 4)
            Rise of the body at the front and the rear axle line [m], roll [rad], front axle's side moment [N·m].

        Returns
        -------
        Corners
            Height b = b_fitted + m [z + squash ± a (φ - φ_axle)], with φ_axle = -R / (κ t²/2), and force
            S / m from ΣS = W - unsprung, ΔS = [R + K (φ - φ_axle)] / a: moments about the centre line of body and axle.
        """
        shape = np.broadcast(state[..., 0], load.side_moment).shape
        given = np.empty((7, *shape))
        for place in range(4):
            given[place] = state[..., place]
        given[4], given[5], given[6] = load.axle[..., 0], load.axle[..., 1], load.moment_at(state[..., 2])
        constant, matrix = self._linear
        if self.alone:
            asked = matrix @ given.reshape(7, -1) + constant[:, None]
        else:
            asked = np.einsum("ij...,j...->i...", matrix, given)
            asked += constant
        heights, forces = asked.reshape(2, 2, 2, *(shape if self.alone else asked.shape[1:]))
        return Corners(cases_first(heights), cases_first(forces))

    @cached_property
    def _linear(self) -> tuple[Array, Array]:
        """Constant, (8, ...), and matrix, (8, 7, ...), of `corners`: heights, then forces, corner by corner.

        Columns: rise front, rise rear, roll, front axle's side moment, axle load front and rear, side moment of all at
        that roll; the rear axle's side moment is the last less the fourth.
        """
        batch = np.broadcast_shapes(
            self.kerb.axle.shape[:-1],
            *(np.shape(getattr(self, name))[: -len(inner)] for name, inner in _NUMBERS.items() if inner),
        )
        constant, matrix = np.zeros((2, 2, 2, *batch)), np.zeros((2, 2, 2, 7, *batch))

        def of_corners(values: Array) -> Array:
            return by_place(np.broadcast_to(values, (*batch, 2, 2)))

        by_roll = of_corners(self.height_by_roll), of_corners(self.force_by_roll)
        by_moment = of_corners(self.height_by_moment), of_corners(self.force_by_moment)
        design, (height, force) = of_corners(self.design_height), matrix
        for part, roll, moment in zip(matrix, by_roll, by_moment, strict=True):
            part[:, :, 2] = roll
            part[0, :, 3], part[1, :, 3], part[1, :, 6] = moment[0], -moment[1], moment[1]
        for k in (0, 1):
            ratio, rate = self.motion_ratio[..., k], 2.0 * self.tyre_rate[..., k]
            height[k, :, k] = ratio
            height[k, :, 4 + k] = ratio / rate
            force[k, :, 4 + k] = 0.5 / ratio
            constant[0, k] = design[k] - ratio * self.kerb.axle[..., k] / rate
            constant[1, k] = -0.5 * self.unsprung_load[..., k] / ratio
        return constant.reshape(8, *batch), matrix.reshape(8, 7, *batch)

    def axle_roll(self, moments: Array) -> Array:
        """Return the roll of each axle on its tyres from its side moment, shape (..., 2). [rad]"""
        roll: Array = -moments / self.tyre_roll_rate
        return roll

    def tyre_loads(self, load: Load, moments: Array) -> Array:
        """Return the ground load of each side of each axle, W/2 ± R/t, shape (..., 2, 2). [N]"""
        return (load.axle / 2.0)[..., None] + SIDE * (moments / self.track)[..., None]

    def ride_heights(self, load: Load, state: Array) -> Array:
        """Return the rise of each arch above its wheel centre against design, shape (..., 2, 2). [m]"""
        moments = self.axle_moments(load, state)
        roll = state[..., 2, None] - self.axle_roll(moments)
        lift = state[..., :2] + self.squash(load)
        return lift[..., None] + SIDE * (self.track / 2.0 * roll)[..., None]

    # What the springs give at a height.

    @cached_property
    def _areas(self) -> Charts:
        return Charts(tuple(bag.area_chart if bag else _NO_AREA for bag in self.bags))

    @cached_property
    def _gas(self) -> Charts:
        return Charts(tuple(bag.gas_chart if bag else _NO_GAS for bag in self.bags))

    @cached_property
    def travel(self) -> Array:
        """Lowest and highest spring height of each axle, shape (2, 2) [axle][end]; no end without a bag. [m]"""
        return np.array([(bag.lowest, bag.highest) if bag else (-np.inf, np.inf) for bag in self.bags])

    def inside(self, height: Array) -> Array:
        """Return heights held between the ends of the charts, shape (..., 2, 2). [m]"""
        inside: Array = height.clip(self.travel[:, :1], self.travel[:, 1:])
        return inside

    def _read_at(self, inside: Array, pressure: Array | None) -> tuple[Array, Array | None]:
        """Return heights inside the charts and, where one has several rows, pressures, of one shape and by place."""
        if pressure is None or not self._areas.read_by_value:
            return by_place(inside), None
        inside, pressure = np.broadcast_arrays(inside, pressure)
        return by_place(inside), by_place(pressure)

    @cached_property
    def tilted(self) -> bool:
        """Whether a chart is tilted."""
        return bool(np.any(self.chart_tilt))

    def _tilt(self, inside: Array) -> tuple[Array, Array]:
        """Return what `chart_tilt` makes of the area at a height, as a factor, and its slope by height, (..., 2, 2).

        (1 + (s + t) x) / (1 + s x), x from the charted height: the slope is s + t where the chart was given s.
        """
        slope, about = (np.array([[getattr(bag, n) if bag else 0.0] for bag in self.bags]) for n in _TILTED)
        given, tilt = 1.0 + slope * (inside - about), self.chart_tilt[..., None]
        return 1.0 + tilt * (inside - about) / given, tilt / given**2

    def area(self, height: Array, pressure: Array | None = None) -> Array:
        """Return the effective area at each corner, 0 where there is no bag, shape (..., 2, 2). [m²]

        pressure : gauge, (..., 2, 2), needed where a chart has several [Pa]
        """
        inside = self.inside(height)
        area = cases_first(self._areas.value(*self._read_at(inside, pressure)))
        return area * self._tilt(inside)[0] if self.tilted else area

    def bag_load(self, height: Array, pressure: Array) -> Array:
        """Return the load that each bag carries, P A(b, P), 0 where there is none, shape (..., 2, 2). [N]"""
        load: Array = pressure * self.area(height, pressure)
        return load

    def bag_pressure(self, height: Array, load: Array) -> Array:
        """Return the gauge pressure at which each bag carries a load, 0 where there is none, shape (..., 2, 2). [Pa]"""
        if not self._areas.read_by_value:
            area = self.area(height)
            return load / np.where(area > 0, area, np.inf)
        if self.tilted:
            load = load / self._tilt(self.inside(height))[0]
        pressure = np.zeros_like(load)
        heights, loads, pressures = by_place(height), by_place(load), by_place(pressure)
        for k, bag in enumerate(self.bags):
            if bag is not None:
                pressures[k] = bag.pressure(heights[k], loads[k])
        return pressure

    def limit_loads(self, height: Array) -> tuple[Array, Array]:
        """Return the load of each bag at its least and its greatest pressure, infinite where there is none. [N]"""
        least, most = (np.array([[getattr(b, n) if b else 0.0] for b in self.bags]) for n in _PRESSURE_LIMITS)
        low = self.area(height, least)
        high = self.area(height, most) if self._areas.read_by_value else low
        there = self.has_bag[:, None]
        return np.where(there, least * low, -np.inf), np.where(there, most * high, np.inf)

    def gas_volume(self, height: Array) -> Array:
        """Return the gas volume of each bag; 1 where there is none, so that it divides. [m³]"""
        return cases_first(self._gas.value(by_place(self.inside(height))))

    def gas_growth(self, height: Array, area: Array) -> Array:
        """Return dV/db of each bag, which is its area where no volumes are charted and no other area is read. [m²]"""
        if all(bag is None or bag.gas_is_area for bag in self.bags):
            return area
        return cases_first(self._gas.value_and_slopes(by_place(self.inside(height)))[1])

    def springs(self, height: Array, pressure: Array | None = None) -> Springs:
        """Return what charts, steel and stops give at a height, shape (..., 2, 2). [m]

        pressure : gauge, (..., 2, 2), needed where a chart has several [Pa]
        """
        inside = self.inside(height)
        area, slope, by_pressure = self._areas.value_and_slopes(*self._read_at(inside, pressure))
        area, slope = cases_first(area), cases_first(slope)
        load_gain = area
        if pressure is not None and self._areas.read_by_value:
            load_gain = area + pressure * cases_first(by_pressure)
        if self.tilted:
            factor, by_height = self._tilt(inside)
            area, slope, load_gain = area * factor, slope * factor + area * by_height, load_gain * factor
        past_end = self.past_end(height)
        on_stop = past_end != 0
        return Springs(
            area,
            slope * ~on_stop,
            load_gain,
            self._steel(height, past_end),
            self.steel_rate[..., None] + STOP_RATE * on_stop,
        )

    def steel_force(self, height: Array) -> Array:
        """Return the force of steel and stops at each corner, at the spring, shape (..., 2, 2). [N]"""
        return self._steel(height, self.past_end(height))

    def _steel(self, height: Array, past_end: Array) -> Array:
        steel = self.steel_load[..., None] - self.steel_rate[..., None] * (height - self.design_height)
        force: Array = steel - STOP_RATE * past_end
        return force

    @cached_property
    def _stops(self) -> Array:
        return self.travel + STOP_GAP * np.array([-1.0, 1.0])

    def past_end(self, height: Array) -> Array:
        """Return by how much each corner is past an end of its chart, so on a stop, 0 off it, shape (..., 2, 2). [m]

        A stop begins STOP_GAP past the end: a bag that is held at it stands off the stop, however numbers were rounded.
        """
        past: Array = height - height.clip(self._stops[:, :1], self._stops[:, 1:])
        return past

    def on_stop(self, height: Array) -> Flags:
        """Tell which corners are past an end of the chart, so on a stop, shape (..., 2, 2)."""
        on: Flags = self.past_end(height) != 0.0
        return on

    @cached_property
    def has_bag(self) -> Flags:
        """Which axles have bags, shape (2,)."""
        return np.array([bag is not None for bag in self.bags])
