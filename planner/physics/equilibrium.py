"""The forward problem: where the truck sits with given air in its bags."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple, Protocol, Self

import numpy as np
from numpy.typing import NDArray

from planner.physics.array_layout import BLOCK, empty_arrays, in_a_row, largest_of_case, some_of
from planner.physics.constants import STANDARD_PRESSURE
from planner.physics.statics import Load
from planner.physics.truck_model import Corners, Rig, Springs
from planner.physics.validation import Array, Flags

LEAST_STIFFNESS = 500.0  # [N/m] at the spring; softer than this a corner's height is not fixed by its springs
SOFTEST_STEP = 1.0  # [N/m] stiffness that a step is reckoned with where the true one is less or negative
SOFTEST_ROLL = 1.0  # [N·m/rad] the same of the roll, whatever swings out
LONGEST_STEP = 0.02  # [m] travel in one step, so that no step leaves the neighbourhood its slopes were taken in
LARGEST_ROLL_STEP = 0.02  # [rad] the same for roll
TOLERANCE = 1e-10  # [-] largest force left over, as a part of the truck's weight
RECOVERY = 1.25  # growth of a halved step from one step to the next
SEE_SAW = 0.25  # [-] a step that goes back by more of the one before is a see-saw; by less, it is closing in
WARY_STEPS = 12  # after a step that turned back
MOST_STEPS = 300
OTHER_STEPS = (1.0, 0.3, 0.1)  # [-] of each, evenly between the axles, where a truck goes to and fro between stops
NOTHING_ACROSS = np.zeros(())  # [N/m]


class Air(Protocol):
    """How the gas answers height: its gauge pressure and the slopes of the bag's force."""

    def pressure(self, rig: Rig, height: Array) -> Array:
        """Return the gauge pressure at each corner, shape (..., 2, 2). [Pa]"""

    def slopes(self, rig: Rig, height: Array, springs: Springs, pressure: Array) -> tuple[Array, Array]:
        """Return d(force)/d(height) by the corner's own height and by that of the bag across, may be one 0. [N/m]"""

    def spread(self, shape: tuple[int, ...]) -> Self:
        """Return the same air for every case of a shape, the cases in one row."""

    def take(self, cases: Flags | slice) -> Self:
        """Return some of the cases."""


@dataclass(frozen=True, eq=False)
class HeldPressure:
    """Bags aired to a number: gauge pressure [Pa] of shape (..., 2, 2), whatever the height."""

    gauge: Array

    def pressure(self, rig: Rig, height: Array) -> Array:  # noqa: ARG002  # the height has no say
        """Return the pressure that is held."""
        return self.gauge

    def slopes(self, rig: Rig, height: Array, springs: Springs, pressure: Array) -> tuple[Array, Array]:  # noqa: ARG002  # as above
        """Return P dA/db; the bag across has no say."""
        return pressure * springs.area_slope, NOTHING_ACROSS

    def spread(self, shape: tuple[int, ...]) -> Self:
        """Return the same pressures for every case of a shape."""
        return replace(self, gauge=in_a_row(self.gauge, shape, (2, 2)))

    def take(self, cases: Flags | slice) -> Self:
        """Return some of the cases."""
        return replace(self, gauge=some_of(self.gauge, cases))


@dataclass(frozen=True, eq=False)
class RatedPressure(HeldPressure):
    """Bags aired to a number, and let down to what their load rating allows where they come to rest.

    Attributes
    ----------
    gauge : array, shape (..., 2, 2)
        What they are aired to. [Pa]
    rating, least : array, shape (2,)
        The most that a bag of an axle may carry [N], and the pressure below which none is let down for it [Pa].
    """

    rating: Array
    least: Array

    def pressure(self, rig: Rig, height: Array) -> Array:
        """Return the pressure aired to, or the one at which no bag of a line carries more than its rating."""
        rating = np.where(rig.has_bag, self.rating, 0.0)[:, None]
        rated = rig.bag_pressure(height, np.broadcast_to(rating, height.shape))
        rated = np.where(np.array(rig.joined)[:, None], rated.min(axis=-1, keepdims=True), rated)
        return np.minimum(self.gauge, np.maximum(rated, self.least[:, None]))

    def slopes(self, rig: Rig, height: Array, springs: Springs, pressure: Array) -> tuple[Array, Array]:  # noqa: ARG002  # the height has no say
        """Return P dA/db, nothing where the rating is the force; that two bags on one line differ is left out."""
        let_down = (pressure < self.gauge) & (pressure > self.least[:, None])
        own = np.where(let_down, 0.0, pressure * springs.area_slope)
        return own, NOTHING_ACROSS


@dataclass(frozen=True, eq=False)
class SealedAir:
    """Valves shut: pressure × volume of what is enclosed stays as it is.

    Attributes
    ----------
    amount : array, shape (..., 2, 2)
        Absolute pressure × gas volume at the present temperature, of the bag or, where both share a line, of the
        axle's two bags together. [J]
    ambient : array, shape (...)
        Absolute pressure outside. [Pa]
    """

    amount: Array
    ambient: Array

    @classmethod
    def shut(
        cls,
        rig: Rig,
        height: Array,
        gauge: Array,
        *,
        ambient: Array,
        temperature: Array,
        ambient_now: Array,
        temperature_now: Array,
    ) -> SealedAir:
        """Return the air shut in at one height [m], pressure [Pa] and temperature [K], as it is at another.

        Ideal gas: (P + p_ambient) V / T is constant.
        """
        heat = np.asarray(temperature_now / temperature, float)[..., None, None]
        absolute = gauge + np.asarray(ambient, float)[..., None, None]
        return cls(absolute * enclosed_volume(rig, height) * heat, np.asarray(ambient_now, float))

    def pressure(self, rig: Rig, height: Array) -> Array:
        """Return the pressure left when the gas fills the bag at its present height."""
        return self.amount / enclosed_volume(rig, height) - self.ambient[..., None, None]

    def slopes(self, rig: Rig, height: Array, springs: Springs, pressure: Array) -> tuple[Array, Array]:
        """Return P dA/db - (P + p) F' V'/V, and across a shared line the same by that bag's V' alone.

        F' = dF/dP at a height and V' = dV/db, both the area where the chart has one row. V, all gas on the line, is
        what the amount fills at the pressure given.
        """
        growth = np.where(rig.on_stop(height), 0.0, rig.gas_growth(height, springs.area))
        stiff = (pressure + self.ambient[..., None, None]) ** 2 * springs.load_gain / self.amount
        own = pressure * springs.area_slope - stiff * growth
        return own, np.where(np.array(rig.joined)[:, None], -stiff * growth[..., ::-1], 0.0)

    def spread(self, shape: tuple[int, ...]) -> Self:
        """Return the same air for every case of a shape."""
        return replace(self, amount=in_a_row(self.amount, shape, (2, 2)), ambient=in_a_row(self.ambient, shape))

    def take(self, cases: Flags | slice) -> Self:
        """Return some of the cases."""
        return replace(self, amount=some_of(self.amount, cases), ambient=self.ambient[cases])


@dataclass(frozen=True, eq=False)
class PartlySealed:
    """Some valves open, their bags aired to a number; the others shut.

    Attributes
    ----------
    open : flags, shape (..., 2, 2)
        Which valves are open; both of an axle whose bags share a line, or neither.
    held, sealed : what each corner is where its valve is open, and where it is shut
    """

    open: Flags
    held: HeldPressure
    sealed: SealedAir

    def pressure(self, rig: Rig, height: Array) -> Array:
        """Return the pressure that is held, or that is left in the bag at its present height."""
        return np.where(self.open, self.held.pressure(rig, height), self.sealed.pressure(rig, height))

    def slopes(self, rig: Rig, height: Array, springs: Springs, pressure: Array) -> tuple[Array, Array]:
        """Return those of the air that each corner has."""
        given = (rig, height, springs, pressure)
        pairs = zip(self.held.slopes(*given), self.sealed.slopes(*given), strict=True)
        own, across = (np.where(self.open, held, sealed) for held, sealed in pairs)
        return own, across

    def spread(self, shape: tuple[int, ...]) -> Self:
        """Return the same air for every case of a shape."""
        flags = np.broadcast_to(self.open, (*shape, 2, 2)).reshape(-1, 2, 2)
        return replace(self, open=flags, held=self.held.spread(shape), sealed=self.sealed.spread(shape))

    def take(self, cases: Flags | slice) -> Self:
        """Return some of the cases."""
        return replace(self, open=some_of(self.open, cases), held=self.held.take(cases), sealed=self.sealed.take(cases))


def enclosed_volume(rig: Rig, height: Array) -> Array:
    """Return the gas volume that shares a line with each corner, shape (..., 2, 2). [m³]

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import rig_of
    >>> rig = rig_of(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> (1e3 * enclosed_volume(rig, rig.design_height)).round(1).tolist()  # litres
    [[5.1, 5.1], [5.1, 5.1]]
    """
    return on_one_line(rig, rig.gas_volume(height))


def on_one_line(rig: Rig, gas: Array) -> Array:
    """Return the same from the gas volume of each bag alone.

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import rig_of
    >>> rig = rig_of(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> on_one_line(rig, np.ones((2, 2))).tolist()  # no bag of it shares a line
    [[1.0, 1.0], [1.0, 1.0]]
    """
    if not any(rig.joined):
        return gas
    return np.where(np.array(rig.joined)[:, None], gas.sum(axis=-1, keepdims=True), gas)


class Settled(NamedTuple):
    """Where the truck sits.

    state : rise front, rise rear [m], roll [rad], front axle's side moment [N·m], shape (..., 4)
    pressure : gauge, shape (..., 2, 2) [Pa]
    height, bag_load : of each spring, and force of the bag, 0 where there is none, shape (..., 2, 2) [m, N]
    fixed : whether the springs fix the height of each axle, shape (..., 2), and
    roll_fixed : the roll, shape (...)
    converged : whether it rests there, shape (...); else state and pressure are the last that were tried
    """

    state: Array
    pressure: Array
    height: Array
    bag_load: Array
    fixed: Flags
    roll_fixed: Flags
    converged: Flags

    def of(self, cases: int | slice | Flags | tuple[NDArray[np.int_], NDArray[np.int_]]) -> Settled:
        """Return the part of some cases; of a slice a view, to be written to."""
        return Settled._make(part[cases] for part in self)

    def shaped(self, shape: tuple[int, ...]) -> Settled:
        """Return the cases of a row in a shape."""
        if len(shape) == 1:
            return self
        return Settled._make(part.reshape((*shape, *part.shape[1:])) for part in self)


def settle(rig: Rig, load: Load, air: Air, start: Array) -> Settled:
    """Return the stance at which springs, tyres and bars carry the load.

    Parameters
    ----------
    rig : Rig
        One truck; its numbers of shape (..., 2) broadcast against the cases.
    load : Load
        One case or many.
    air : HeldPressure, RatedPressure, SealedAir or PartlySealed
        The gas, of a shape that broadcasts against the load's.
    start : array, shape (..., 4)
        A state to start from, such as the levelled one.

    Returns
    -------
    Settled

    Notes
    -----
    Unknowns are both rises, the roll and the front axle's side moment; equations are the four springs. Newton's
    method with the analytic Jacobian: each axle's rise and side moment follow from the roll by a 2 × 2 elimination,
    which leaves one equation, Σ R = M - G φ. Where the springs together do not fix the body, SOFTEST_STEP is used
    in place of the stiffness of a corner that gives less as it is loaded: the step then follows the force, to a
    stable rest or to a stop. A step that goes back by much of the one before is halved and makes the next ones wary
    in the same way, which ends the see-saw about the start of a stop.

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import rig_of
    >>> rig = rig_of(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> air = HeldPressure(np.array([[265e3, 265e3], [165e3, 165e3]]))
    >>> settle(rig, rig.kerb, air, np.zeros(4)).state[:3].round(4).tolist()  # [m, m, rad]
    [0.0008, -0.0003, -0.0039]
    """
    shape = np.broadcast(start[..., 0], load.side_moment).shape
    rig, load, air, begin = rig.spread(shape), load.spread(shape), air.spread(shape), in_a_row(start, shape, (4,))
    count = math.prod(shape)
    found = Settled(
        state=empty_arrays((4,), count),
        pressure=empty_arrays((2, 2), count),
        height=empty_arrays((2, 2), count),
        bag_load=empty_arrays((2, 2), count),
        fixed=empty_arrays((2,), count, bool),
        roll_fixed=np.zeros(count, bool),
        converged=np.zeros(count, bool),
    )
    for first in range(0, count, BLOCK):
        cases = slice(first, first + BLOCK)
        _settle_block(rig.take(cases), load.take(cases), air.take(cases), begin[cases], found.of(cases), 1.0)
    for share in OTHER_STEPS:
        lost = ~found.converged
        if not lost.any():
            break
        again = found.of(lost)
        _settle_block(rig.take(lost), load.take(lost), air.take(lost), begin[lost], again, share, even=True)
        for part, better in zip(found, again, strict=True):
            part[lost] = better
    return found.shaped(shape)


def _settle_block(
    rig: Rig, load: Load, air: Air, start: Array, found: Settled, boldest: float, *, even: bool = False
) -> None:
    """Settle some cases and put them where they belong; those at rest drop out as the others go on.

    boldest : the greatest part of a step that is made [-]
    """
    state = empty_arrays((4,), len(start))
    state[:] = start
    enough, moving = TOLERANCE * (load.axle[:, 0] + load.axle[:, 1]), np.arange(len(start))
    last, part, wary = 0.0 * state, boldest + 0.0 * enough, 0 * moving
    for _ in range(MOST_STEPS):
        height, force = rig.corners(load, state)
        pressure = air.pressure(rig, height)
        springs = rig.springs(height, pressure)
        bag_load = pressure * springs.area
        left_over = force - springs.steel_force - bag_load
        own, across = air.slopes(rig, height, springs, pressure)
        heave = springs.steel_slope - own - across
        roll = heave + 2.0 * across
        at_rest = largest_of_case(np.abs(left_over)) <= enough
        if at_rest.any():
            fixed = springs_fix(rig, load, heave, roll)
            _put(found, moving, at_rest, (state, pressure, height, bag_load, *fixed, at_rest))
            go = ~at_rest
            if not go.any():
                return
            if 2 * np.count_nonzero(go) < len(go):  # else it costs more than it saves, and who rests stays at rest
                rig, load, air, moving = rig.take(go), load.take(go), air.take(go), moving[go]
                state, last, left_over, heave, roll = (some_of(v, go) for v in (state, last, left_over, heave, roll))
                part, wary, enough, at_rest = part[go], wary[go], enough[go], at_rest[go]
        if min(heave.min(), roll.min()) < SOFTEST_STEP:
            heave, roll = _stiff_enough(rig, load, heave, roll, wary)
        step = _newton_step(rig, load, left_over, heave, roll, even=even)
        turned_back = product_along(step, last) < -SEE_SAW * product_along(last, last)
        part = np.where(turned_back, 0.5 * part, np.minimum(boldest, RECOVERY * part))
        wary = np.where(turned_back, WARY_STEPS, np.maximum(wary - 1, 0))
        last = np.where(at_rest[:, None], 0.0, part[:, None] * step)
        state += last
    height = rig.corners(load, state).spring_height  # of those that are left; the last step may have begun with more
    pressure, fixed = air.pressure(rig, height), springs_fix(rig, load, heave, roll)
    _put(found, moving, ~at_rest, (state, pressure, height, rig.bag_load(height, pressure), *fixed, at_rest))


def _put(found: Settled, moving: NDArray[np.intp], some: Flags, values: tuple[Array | Flags, ...]) -> None:
    """Put what is found of some of the cases that were still moving where it belongs."""
    where = moving[some]
    for place, value in zip(found, values, strict=True):
        place[where] = value[some]


def _stiff_enough(rig: Rig, load: Load, heave: Array, roll: Array, wary: NDArray[np.int_]) -> tuple[Array, Array]:
    """Return stiffness to reckon a step with: the true one where the springs fix the body and no step was wary."""
    fixed, roll_fixed = springs_fix(rig, load, heave, roll)
    bold = fixed[:, 0] & fixed[:, 1] & roll_fixed & (wary == 0)
    floor = np.where(bold, -np.inf, SOFTEST_STEP)[:, None, None]
    return np.maximum(heave, floor), np.maximum(roll, floor)


def product_along(step: Array, other: Array) -> Array:
    """Return how far a step of the stance goes along another: their product over rises and roll, shape (n,).

    Examples
    --------
    >>> product_along(np.array([[1.0, 0.0, 2.0, 9.0]]), np.array([[3.0, 1.0, 0.5, 9.0]])).tolist()  # no moment
    [4.0]
    """
    product: Array = step[:, 0] * other[:, 0] + step[:, 1] * other[:, 1] + step[:, 2] * other[:, 2]
    return product


def _roll_terms(rig: Rig, roll: Array) -> tuple[Array, Array]:
    """Return by how much each corner's spring force runs ahead per radian of roll and per N·m of side moment."""
    force_by_roll, height_by_roll, force_by_moment, height_by_moment = (
        term[..., :1] for term in (rig.force_by_roll, rig.height_by_roll, rig.force_by_moment, rig.height_by_moment)
    )  # of the left; the right's are the same with the other sign
    return force_by_roll + roll * height_by_roll, force_by_moment + roll * height_by_moment


def _newton_step(rig: Rig, load: Load, left_over: Array, heave: Array, roll: Array, *, even: bool) -> Array:
    """Return the step of the state, shape (..., 4), that makes the forces left over vanish, bounded."""
    by_rise = heave * rig.motion_ratio[..., None]
    by_roll, by_moment = _roll_terms(rig, roll)
    (rise_l, rise_r), (roll_l, roll_r), (moment_l, moment_r), (over_l, over_r) = (
        (term[..., 0], term[..., 1]) for term in (by_rise, by_roll, by_moment, left_over)
    )
    # left:  rise_l dz + roll_l dφ + moment_l dR = -over_l;   right: rise_r dz - roll_r dφ - moment_r dR = -over_r
    whole = rise_l * moment_r + rise_r * moment_l
    moment_alone = (rise_l * over_r - rise_r * over_l) / whole
    moment_per_roll = -(rise_l * roll_r + rise_r * roll_l) / whole
    both_per_roll = moment_per_roll[:, 0] + moment_per_roll[:, 1]  # and what the load swings out is lost
    firm = np.minimum(both_per_roll + load.overturning, -SOFTEST_ROLL)  # what tips over tips to its stops
    d_roll = -(moment_alone[:, 0] + moment_alone[:, 1]) / firm
    d_roll = d_roll.clip(-LARGEST_ROLL_STEP, LARGEST_ROLL_STEP)
    d_moment = moment_alone + moment_per_roll * d_roll[..., None]
    side = roll_l * d_roll[..., None] + moment_l * d_moment
    other = roll_r * d_roll[..., None] + moment_r * d_moment
    d_rise = -(over_l + over_r + side - other) / (rise_l + rise_r)
    d_rise = d_rise.clip(-LONGEST_STEP, LONGEST_STEP)
    step = empty_arrays((4,), len(d_roll))
    step[:, :2], step[:, 2] = d_rise, d_roll
    rear = d_moment[:, 1] + load.overturning * d_roll  # the same but for a roll step that was cut short
    firmer = np.ones_like(moment_l) if even else (moment_l + moment_r) ** 2
    step[:, 3] = (firmer[:, 0] * d_moment[:, 0] - firmer[:, 1] * rear) / (firmer[:, 0] + firmer[:, 1])
    return step


def springs_fix(rig: Rig, load: Load, heave: Array, roll: Array | None = None) -> tuple[Flags, Flags]:
    """Tell whether the springs fix each axle's height, shape (..., 2), and the roll, (...): are they stiff enough?

    The roll only where they are stiffer than what swings out as it grows.

    heave, roll : what each corner's springs and air gain as it goes down alone, and as the one across goes up, (..., 2,
    2); the same where no air goes across [N/m]

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import rig_of
    >>> rig = rig_of(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> [found.tolist() for found in springs_fix(rig, rig.kerb, np.full((2, 2), 1e5))]
    [[True, True], True]
    """
    roll = heave if roll is None else roll
    by_roll, by_moment = _roll_terms(rig, roll)
    left, right = heave[..., 0], heave[..., 1]
    axle_fixed = left + right > 2.0 * LEAST_STIFFNESS
    whole = left * by_moment[..., 1] + right * by_moment[..., 0]
    roll_rate = (left * by_roll[..., 1] + right * by_roll[..., 0]) / np.where(whole == 0, 1, whole)
    least = 2.0 * LEAST_STIFFNESS * (rig.motion_ratio * rig.half_spacing) ** 2
    return axle_fixed, roll_rate[..., 0] + roll_rate[..., 1] - load.overturning > least.sum(axis=-1)


@dataclass(frozen=True, eq=False)
class Standing:
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
        >>> bool(Standing(rig, rig.kerb, np.zeros(4), np.full((2, 2), 250e3)).upright)
        True
        """
        gas = on_one_line(self.rig, self.gas_volume)
        air = SealedAir((self.pressure + STANDARD_PRESSURE) * gas, np.asarray(STANDARD_PRESSURE))
        springs = self.springs
        own, across = air.slopes(self.rig, self.corners.spring_height, springs, self.pressure)
        heave = springs.steel_slope - own - across
        return springs_fix(self.rig, self.load, heave, heave + 2.0 * across)[1]


def stand_upright(rig: Rig, load: Load, state: Array, pressure: Array) -> Flags:
    """Return which of many cases of one truck are upright, as `Standing` has it, shape (...): block by block.

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
        found[some] = Standing(rig, loads.take(some), states[some], pressures[some]).upright
    return found.reshape(shape)
