"""The forward problem: where the truck sits with given air in its bags."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple, Protocol

import numpy as np

from planner.physics.checks import Array, Flags
from planner.physics.rig import SIDE, Rig
from planner.physics.statics import Load

LEAST_STIFFNESS = 500.0  # [N/m] at the spring; softer than this a corner's height is not fixed by its springs
SOFTEST_STEP = 1.0  # [N/m] stiffness that a step is reckoned with where the true one is less or negative
LONGEST_STEP = 0.02  # [m] travel in one step, so that no step leaves the neighbourhood its slopes were taken in
LARGEST_ROLL_STEP = 0.02  # [rad] the same for roll
TOLERANCE = 1e-10  # [-] largest force left over, as a part of the truck's weight
RECOVERY = 1.25  # growth of a halved step from one step to the next
WARY_STEPS = 12  # after a step that turned back
MOST_STEPS = 300


class Air(Protocol):
    """How the gas answers height: its gauge pressure and the slopes of the bag's force."""

    def pressure(self, rig: Rig, height: Array) -> Array:
        """Return the gauge pressure at each corner, shape (..., 2, 2). [Pa]"""

    def slopes(self, rig: Rig, height: Array, area: Array, pressure: Array) -> tuple[Array, Array]:
        """Return d(force)/d(height) by the corner's own height and by the height of the bag across. [N/m]"""


@dataclass(frozen=True, eq=False)
class HeldPressure:
    """Bags aired to a number: gauge pressure [Pa] of shape (..., 2, 2), whatever the height."""

    gauge: Array

    def pressure(self, rig: Rig, height: Array) -> Array:  # noqa: ARG002  # the height has no say
        """Return the pressure that is held."""
        return self.gauge

    def slopes(self, rig: Rig, height: Array, area: Array, pressure: Array) -> tuple[Array, Array]:  # noqa: ARG002  # as above
        """Return P dA/db; the bag across has no say."""
        own = pressure * rig.area_slope(height)
        return own, np.zeros_like(own)


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
        return cls(absolute * enclosed(rig, height) * heat, np.asarray(ambient_now, float))

    def pressure(self, rig: Rig, height: Array) -> Array:
        """Return the pressure left when the gas fills the bag at its present height."""
        return self.amount / enclosed(rig, height) - self.ambient[..., None, None]

    def slopes(self, rig: Rig, height: Array, area: Array, pressure: Array) -> tuple[Array, Array]:
        """Return P dA/db - (P + p) A V'/V, and across a shared line the same by that bag's V' alone; V' = dV/db = A."""
        growth = np.where(rig.on_stop(height), 0.0, area)
        stiff = (pressure + self.ambient[..., None, None]) * area / enclosed(rig, height)
        own = pressure * rig.area_slope(height) - stiff * growth
        return own, np.where(np.array(rig.joined)[:, None], -stiff * growth[..., ::-1], 0.0)


def enclosed(rig: Rig, height: Array) -> Array:
    """Return the gas volume that shares a line with each corner, shape (..., 2, 2). [m³]"""
    gas = rig.gas_volume(height)
    return np.where(np.array(rig.joined)[:, None], gas.sum(axis=-1, keepdims=True), gas)


class Settled(NamedTuple):
    """Where the truck sits.

    state : rise front, rise rear [m], roll [rad], front axle's side moment [N·m], shape (..., 4)
    pressure : gauge, shape (..., 2, 2) [Pa]
    fixed : whether the springs fix the height of each axle, shape (..., 2), and
    roll_fixed : the roll, shape (...)
    """

    state: Array
    pressure: Array
    fixed: Flags
    roll_fixed: Flags


def settle(rig: Rig, load: Load, air: Air, start: Array) -> Settled:
    """Return the stance at which springs, tyres and bars carry the load.

    Parameters
    ----------
    rig : Rig
        One truck; its numbers of shape (..., 2) broadcast against the cases.
    load : Load
        One case or many.
    air : HeldPressure or SealedAir
        The gas, of a shape that broadcasts against the load's.
    start : array, shape (..., 4)
        A state to start from, such as the levelled one.

    Returns
    -------
    Settled

    Raises
    ------
    ArithmeticError
        If a case finds no rest within the steps allowed.

    Notes
    -----
    Unknowns are both rises, the roll and the front axle's side moment; equations are the four springs. Newton's
    method with the analytic Jacobian: each axle's rise and side moment follow from the roll by a 2 × 2 elimination,
    which leaves one equation, Σ R = M. Where the springs together do not fix the body, SOFTEST_STEP is used in place of
    the stiffness of a corner that gives less as it is loaded: the step then follows the force, to a stable rest or to
    a stop. A step that turns back on the one before is halved and makes the next ones wary in the same way, which ends
    the see-saw about the start of a stop.
    """
    shape = np.broadcast_shapes(start.shape[:-1], load.side_moment.shape)
    state = np.broadcast_to(start, (*shape, 4)).copy()
    enough = TOLERANCE * load.axle.sum(axis=-1)
    last, part, wary = np.zeros_like(state), np.ones(shape), np.zeros(shape, int)
    for _ in range(MOST_STEPS):
        corners = rig.corners(load, state)
        height = corners.spring_height
        area, pressure = rig.area(height), air.pressure(rig, height)
        left_over = corners.spring_force - rig.steel_force(height) - pressure * area
        done = np.abs(left_over).max(axis=(-1, -2)) <= enough
        own, across = air.slopes(rig, height, area, pressure)
        heave = rig.steel_slope(height) - own - across
        roll = heave + 2.0 * across
        fixed, roll_fixed = _fixed(rig, heave, roll)
        if done.all():
            return Settled(state, pressure, fixed, roll_fixed)
        bold = fixed.all(axis=-1) & roll_fixed & (wary == 0)
        floor = np.where(bold, -np.inf, SOFTEST_STEP)[..., None, None]
        step = _newton_step(rig, left_over, np.maximum(heave, floor), np.maximum(roll, floor))
        turned_back = (step * last)[..., :3].sum(axis=-1) < 0
        part = np.where(turned_back, 0.5 * part, np.minimum(1.0, RECOVERY * part))
        wary = np.where(turned_back, WARY_STEPS, np.maximum(wary - 1, 0))
        last = np.where(done[..., None], 0.0, part[..., None] * step)
        state += last
    raise ArithmeticError(f"no rest found for {int((~done).sum())} of {done.size} cases: check the truck's numbers")


def _roll_terms(rig: Rig, roll: Array) -> tuple[Array, Array]:
    """Return by how much each corner's spring force runs ahead per radian of roll and per N·m of side moment."""
    by_roll = SIDE * (rig.force_by_roll + roll * rig.height_by_roll)
    by_moment = SIDE * (rig.force_by_moment + roll * rig.height_by_moment)
    return by_roll, by_moment


def _newton_step(rig: Rig, left_over: Array, heave: Array, roll: Array) -> Array:
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
    d_roll = -moment_alone.sum(axis=-1) / moment_per_roll.sum(axis=-1)
    d_roll = np.clip(d_roll, -LARGEST_ROLL_STEP, LARGEST_ROLL_STEP)
    d_moment = moment_alone + moment_per_roll * d_roll[..., None]
    d_moment -= d_moment.mean(axis=-1, keepdims=True)
    side = roll_l * d_roll[..., None] + moment_l * d_moment
    other = roll_r * d_roll[..., None] + moment_r * d_moment
    d_rise = -(over_l + over_r + side - other) / (rise_l + rise_r)
    d_rise = np.clip(d_rise, -LONGEST_STEP, LONGEST_STEP)
    return np.concatenate([d_rise, d_roll[..., None], d_moment[..., :1]], axis=-1)


def _fixed(rig: Rig, heave: Array, roll: Array) -> tuple[Flags, Flags]:
    """Tell whether the springs fix each axle's height, and the roll: whether each stiffness is above the least."""
    by_roll, by_moment = _roll_terms(rig, roll)
    axle_fixed = heave.sum(axis=-1) > 2.0 * LEAST_STIFFNESS
    whole = heave[..., 0] * by_moment[..., 1] + heave[..., 1] * by_moment[..., 0]
    roll_rate = (heave[..., 0] * by_roll[..., 1] + heave[..., 1] * by_roll[..., 0]) / np.where(whole == 0, 1, whole)
    least = 2.0 * LEAST_STIFFNESS * (rig.motion_ratio * rig.half_spacing) ** 2
    return axle_fixed, roll_rate.sum(axis=-1) > least.sum(axis=-1)
