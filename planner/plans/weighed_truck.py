"""What gauges and tapes should read on a truck whose numbers and axle loads are given: the equations of calibration."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from planner.physics import statics
from planner.physics.array_layout import by_axle
from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.truck_model import SIDE, Rig
from planner.physics.validation import Array, Flags
from planner.plans.answer import AXLES, CORNERS
from planner.plans.setup import Setup, rig_of, roll_axis_heights
from planner.plans.uncertainty.spreads import CHART_SLOPE, SLOPE_OVER, Spread, Spreads, correlation_of, spreads_of
from planner.records import Truck
from planner.records.weighed_reading import WeighedReading

What = Literal["area_scale", "area_slope", "area_sides", "steel_load", "steel_rate", "tyre_rate"]
PATHS: Final[dict[What, str]] = {  # of a parameter, below its axle
    "area_scale": "bag.area_scale",
    "area_slope": "bag.area_slope",
    "area_sides": "bag.area_sides",
    "steel_load": "steel_load",
    "steel_rate": "steel_rate",
    "tyre_rate": "tyres.rate",
}
SHARE_UNKNOWN: Final = 0.02  # [-] spread of the left share where no scale weighed it (common practice)
SHARE_WEIGHED: Final = 0.003  # [-] where one did (common practice)
STEEL_FRICTION: Final = 0.03  # [-] of its load, of an axle on steel alone, up against down (from memory)
ONE_LINE: Final = 100.0  # [Pa] by which two bags on one line may differ
WIDE_RISE: Final = 0.15  # [m] spread of what is known of a stance before it is measured: next to nothing
WIDE_ROLL: Final = 0.1  # [rad]
SPLIT: Final = 0.03  # [-] of weight times track, of the front axle's part: bags aired crosswise (common practice)
OF_READING: Final = 7  # unknowns of each reading: axle loads, side moment, rises, roll, front axle's side moment
ROWS: Final = 12  # what each reading may hold: four heights, four pressures or forces, two shared lines, two axle loads
LINES, AXLE_LOADS = 8, 10  # rows from which on the last ones are
WIDE_LOAD: Final = 0.3  # [-] of an axle's load, spread of what is known of it before the scale is read: little
STEP: Final = 1e-3  # [standard deviations] for slopes


@dataclass(frozen=True)
class Prior:
    """A number of the truck before it is learnt.

    Attributes
    ----------
    what, axle : which it is, of the front axle 0 or the rear one 1
    value, sd : as the file has it, and one standard deviation [-, 1/m, -, N, N/m, N/m of one tyre]
    spread : of How sure that the deviation is, where there is one of it alone
    """

    what: What
    axle: int
    value: float
    sd: float
    spread: Spread | None = None

    @property
    def path(self) -> str:
        """What it is called: "front.bag.area_scale"."""
        return f"{AXLES[self.axle]}.{PATHS[self.what]}"


def priors_of(truck: Truck) -> list[Prior]:
    """Return the numbers of a truck that readings can teach, with their spreads.

    The spreads are those of How sure: the owner's own, else typical. Area: scale 1 of the chart, slope 0 beyond the
    chart's, as a part of the area a metre about fitted height, and left over right less 1.

    Examples
    --------
    >>> from planner import read_truck
    >>> [one.path for one in priors_of(read_truck("profiles/trucks/ridge-truck.toml"))][:4]
    ['front.bag.area_scale', 'front.bag.area_slope', 'front.bag.area_sides', 'front.tyres.rate']
    """
    spreads = spreads_of(Setup(truck))
    return [one for k in (0, 1) for one in _of_axle(truck, spreads, k) if one.sd > 0]


def _of_axle(truck: Truck, spreads: Spreads, k: int) -> list[Prior]:
    """Return the numbers of one axle."""
    axle, name, found = (truck.front, truck.rear)[k], AXLES[k], list[Prior]()
    if axle.bag is not None:
        slope = spreads[f"slope.{name}"].value / SLOPE_OVER if axle.bag.has_one_height else CHART_SLOPE
        area = spreads[f"area.{name}"]
        found += [
            Prior("area_scale", k, 1.0, area.value, area),
            Prior("area_slope", k, 0.0, slope),
            Prior("area_sides", k, 0.0, spreads["sides.area"].value),
        ]
    steel: tuple[What, ...] = ("steel_load", "steel_rate")
    found += [
        Prior(what, k, float(value), spreads[key].value, spreads[key])
        for what, key in ((what, f"{what}.{name}") for what in steel)
        if (value := getattr(axle, what)) > 0
    ]
    tyre = spreads[f"tyre.{name}"]
    return [*found, Prior("tyre_rate", k, float(axle.tyres.rate), tyre.value, tyre)]


@dataclass(frozen=True, eq=False)
class Measured:
    """What readings hold: numbers, their spreads, and which are there, each of shape (n, ROWS)."""

    value: Array
    sd: Array
    there: Flags


@dataclass(frozen=True, eq=False)
class WeighedTruck:
    """A truck, its numbers that are to be learnt, and readings on a scale.

    Unknowns are one row: the parameters, then OF_READING of each reading, all in standard deviations of the prior, each
    independent of the rest; `spread_root` makes parameters of them.
    """

    truck: Truck
    readings: tuple[WeighedReading, ...]

    @cached_property
    def priors(self) -> list[Prior]:
        """The parameters before they are learnt."""
        return priors_of(self.truck)

    @cached_property
    def rig(self) -> Rig:
        """The truck as its file has it."""
        return rig_of(self.truck)

    @cached_property
    def design(self) -> Array:
        """Design ride height at the corners, shape (2, 2). [m]"""
        heights = [float(self.truck.front.ride_height), float(self.truck.rear.ride_height)]
        return np.repeat(heights, 2).reshape(2, 2)

    @property
    def unknowns(self) -> int:
        """How many unknowns there are."""
        return len(self.priors) + OF_READING * len(self.readings)

    @cached_property
    def parameters(self) -> tuple[Array, Array]:
        """Values and standard deviations of the parameters by the prior, each of shape (p,)."""
        return np.array([one.value for one in self.priors]), np.array([one.sd for one in self.priors])

    @cached_property
    def spread_root(self) -> Array:
        """The S of the parameters' covariance S Sᵀ by the prior, shape (p, p)."""
        spreads = [(one.spread.key, one.spread.correlated) if one.spread else (one.path, ()) for one in self.priors]
        root: Array = self.parameters[1][:, None] * np.linalg.cholesky(correlation_of(spreads))
        return root

    @cached_property
    def stands(self) -> tuple[Array, Array]:
        """Values and standard deviations of each reading's unknowns by the prior, each of shape (n, OF_READING)."""
        pairs = [self._stand(one) for one in self.readings]
        return np.array([value for value, _ in pairs]), np.array([sd for _, sd in pairs])

    @cached_property
    def measured(self) -> Measured:
        """What the readings hold."""
        pairs = [self._measured(one) for one in self.readings]
        value, sd = np.array([one for one, _ in pairs]), np.array([two for _, two in pairs])
        return Measured(np.nan_to_num(value), np.nan_to_num(sd, nan=1.0), np.isfinite(value))

    def _stand(self, reading: WeighedReading) -> tuple[Array, Array]:
        """Return what is known of how a truck stood before gauge and tape are looked at, and how well."""
        axle = np.array([float(reading.front_axle), float(reading.rear_axle)]) * G
        share = self.truck.kerb.left_share if reading.left_share is None else reading.left_share
        around = float(np.sum(axle * self.rig.track))
        rise = self._rises(reading)
        mean = np.array([np.nanmean(one) if np.isfinite(one).any() else 0.0 for one in rise])
        squash = (axle - self.rig.kerb.axle) / (2.0 * self.rig.tyre_rate)
        part = float(self.rig.kerb.overturning_front / self.rig.kerb.overturning) if self.rig.kerb.overturning else 0.5
        moment = (share - 0.5) * around
        value = [*axle, moment, *(mean - squash), 0.0, part * moment]
        beside = (SHARE_UNKNOWN if reading.left_share is None else SHARE_WEIGHED) * around
        sd = [*(WIDE_LOAD * axle), beside, WIDE_RISE, WIDE_RISE, WIDE_ROLL, SPLIT * around]
        return np.array(value), np.array(sd)

    def _rises(self, reading: WeighedReading) -> Array:
        """Return measured ride heights less design, NaN where none was measured, shape (2, 2). [m]"""
        corners = [getattr(reading, corner) for corner in CORNERS]
        read = [np.nan if one is None or one.ride_height is None else float(one.ride_height) for one in corners]
        return np.array(read).reshape(2, 2) - self.design

    def _measured(self, reading: WeighedReading) -> tuple[Array, Array]:
        """Return one reading's numbers and spreads, NaN where there is none, each of shape (ROWS,)."""
        instruments = self.truck.instruments
        corners = [getattr(reading, corner) for corner in CORNERS]
        read = [np.nan if one is None or one.pressure is None else float(one.pressure) for one in corners]
        pressure = np.array(read).reshape(2, 2)
        friction = spreads_of(Setup(self.truck)).get("friction")
        by_friction = (0.0 if friction is None else friction.value) * pressure
        gauge = np.sqrt(float(instruments.gauge_error) ** 2 + float(instruments.gauge_step) ** 2 / 12 + by_friction**2)
        carried = np.array([float(reading.front_axle), float(reading.rear_axle)]) * G / 2.0
        bare = ~self.rig.has_bag
        pressure[bare] = 0.0  # of steel alone the force is known: what is left over of it is nought
        gauge[bare] = STEEL_FRICTION * carried[bare, None]
        shared = np.where(self.rig.joined, 0.0, np.nan)
        tape = np.full(4, max(float(instruments.tape_error), 1e-5))
        scale = float(reading.resolution) * G / np.sqrt(12.0)  # an even spread over one division of the scale
        value = np.concatenate([self._rises(reading).ravel(), pressure.ravel(), shared, 2.0 * carried])
        sd = np.concatenate([tape, np.maximum(gauge, 1.0).ravel(), np.full(2, ONE_LINE), np.full(2, scale)])
        return value, sd

    def expected(self, unknown: Array) -> Array:
        """Return what the readings should hold at some unknowns, shape (..., u), as an array (..., n, ROWS)."""
        count = len(self.priors)
        parameters = self.parameters_at(unknown[..., :count])
        stands, spread = self.stands
        off = unknown[..., count:].reshape(*unknown.shape[:-1], *spread.shape)
        return self.read_at(parameters, stands + spread * off)

    def parameters_at(self, unknown: Array) -> Array:
        """Return the parameters at their unknowns, both of shape (..., p)."""
        value: Array = self.parameters[0] + unknown @ self.spread_root.T
        return value

    def read_at(self, parameters: Array, stand: Array) -> Array:
        """Return what gauge and tape read at parameters (..., p) and stands (..., n, OF_READING), (..., n, ROWS).

        Statics and tyres give the springs' heights and forces (`Rig.corners`), as in levelling; steel takes its part,
        and the bag's pressure carries the rest on the area of the chart, scaled, tilted about fitted height, and
        larger on one side. Stops are left out: what a bag past the end of its chart leaves to them, no gauge tells.
        """
        rig, factor = self._rig(parameters[..., None, :])
        load = self._load(stand)
        state = stand[..., 3:7]
        height, force = rig.corners(load, state)
        area = factor[..., 0, :, None] * (1.0 + factor[..., 1, :, None] * (height - rig.design_height))
        area = area * (1.0 + SIDE * factor[..., 2, :, None] / 2.0)
        left = force - rig.steel_load[..., None] + rig.steel_rate[..., None] * (height - rig.design_height)
        pressure = np.where(rig.has_bag[:, None], rig.bag_pressure(height, left / area), left)
        rises = rig.ride_heights(load, state)
        flat = (*pressure.shape[:-2], 4)
        across = pressure[..., 0] - pressure[..., 1]
        return np.concatenate([rises.reshape(flat), pressure.reshape(flat), across, load.axle], axis=-1)

    def _rig(self, parameters: Array) -> tuple[Rig, Array]:
        """Return the truck with its parameters, and area scale, slope and sides of both axles, shape (..., 3, 2)."""
        whole = {what: np.zeros((*parameters.shape[:-1], 2)) for what in PATHS}
        whole["area_scale"] += 1.0
        whole["steel_load"] += self.rig.steel_load
        whole["steel_rate"] += self.rig.steel_rate
        for n, one in enumerate(self.priors):
            whole[one.what][..., one.axle] = parameters[..., n]
        given = {one.what for one in self.priors}
        sides = np.array([self.truck.front.tyres.per_side, self.truck.rear.tyres.per_side])
        tyre = whole["tyre_rate"] * sides
        rig = replace(
            self.rig,
            tyre_rate=np.where(tyre > 0, tyre, self.rig.tyre_rate) if "tyre_rate" in given else self.rig.tyre_rate,
            steel_load=whole["steel_load"],
            steel_rate=whole["steel_rate"],
        )
        return rig, np.stack([whole["area_scale"], whole["area_slope"], whole["area_sides"]], axis=-2)

    def _load(self, stand: Array) -> statics.Load:
        """Return the loads of stands: the weights swing out as high over the roll axis as the kerb's do."""
        axle = by_axle(stand[..., 0], stand[..., 1])
        over = self.truck.mass_height - roll_axis_heights(self.truck)
        out = (axle - self.rig.unsprung_load) * over
        side = stand[..., 2]
        return statics.Load(axle, side, np.zeros_like(side), out.sum(axis=-1), out[..., 0])

    def left_over(self, unknown: Array, there: Flags) -> Array:
        """Return measured less expected over its spread, of the numbers that are there, shape (m,). [-]"""
        found = (self.measured.value - self.expected(unknown)) / self.measured.sd
        part: Array = found[there]
        return part

    def slopes(self, unknown: Array, there: Flags) -> Array:
        """Return the slopes of what is expected over its spread, shape (m, u). [-]

        A reading's own unknowns move no other reading, so those of all readings are stepped together.
        """
        count, readings = len(self.priors), len(self.readings)
        steps = np.zeros((count + OF_READING, self.unknowns))
        steps[:count, :count] = np.eye(count)
        steps[count:, count:] = np.tile(np.eye(OF_READING), readings)
        tried = np.concatenate([unknown + STEP * steps, unknown - STEP * steps])
        read = self.expected(tried) / self.measured.sd
        by = (read[: len(steps)] - read[len(steps) :]) / (2.0 * STEP)
        found = np.zeros((readings, ROWS, self.unknowns))
        found[..., :count] = np.moveaxis(by[:count], 0, -1)
        for n in range(readings):
            own = slice(count + OF_READING * n, count + OF_READING * (n + 1))
            found[n, :, own] = by[count:, n].T
        part: Array = found[there]
        return part

    def virtual_slopes(self, parameters: Array, stand: Array, sd: Array) -> Array:
        """Return the slopes of one reading that is not made yet, by parameters and its own unknowns, (ROWS, p + 7). [-]

        parameters (p,), stand (OF_READING,) : where it would be made; sd (ROWS,) : the spreads of its numbers.
        """
        own, count = self.stands[1][-1], len(self.priors)
        steps = np.diag(np.concatenate([np.ones(count), own]))
        steps[:count, :count] = self.spread_root.T
        up, down = (
            self.read_at(parameters + sign * steps[:, :count], (stand + sign * steps[:, count:])[:, None])
            for sign in (STEP, -STEP)
        )
        slopes: Array = ((up - down)[..., 0, :] / (2.0 * STEP * sd)).T
        return slopes


def places_of(there: Flags) -> NDArray[np.intp]:
    """Return reading and row of each number that is there, in their order, shape (m, 2)."""
    return np.argwhere(there)


def combined(readings: Sequence[WeighedReading]) -> tuple[WeighedReading, ...]:
    """Return readings of several files in order of time where their times compare, else as they came."""
    if len({reading.at.tzinfo is None for reading in readings}) > 1:
        return tuple(readings)
    return tuple(sorted(readings, key=lambda one: one.at))
