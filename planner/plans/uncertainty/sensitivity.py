"""What a little more of something does at each corner: air in a bag, load at a place, a wish to stand higher."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from planner.physics import statics
from planner.physics.equilibrium import HeldPressure, settle
from planner.physics.sensitivity import Asked, Response, asked, response
from planner.physics.statics import Load
from planner.physics.truck_model import SIDE, Rig
from planner.physics.validation import Array
from planner.plans.answer import AXLES, SIDES, Answer
from planner.plans.setup import Setup, rig_of

HITCH, BED = "hitch", "bed"
AT_LIMIT = 1.0  # [Pa, N] and
AT_END = 1e-5  # [m] of a limit a bag is at it
NOTHING = Load(np.zeros(2), np.zeros(()), np.zeros(()))


@dataclass(frozen=True, eq=False)
class LoadEffect:
    """What a newton more at one place does.

    Attributes
    ----------
    ride_height : at each corner, pressures held, shape (2, 2); NaN where pressure does not fix it [m/N]
    pressure : at each corner, to stand as before, shape (2, 2), NaN with no bag; None where a limit holds [Pa/N]
    """

    ride_height: Array
    pressure: Array | None


@dataclass(frozen=True, eq=False)
class Sensitivity:
    """Slopes of an answer about its set pressures.

    Attributes
    ----------
    by_pressure : by air line ("front left", or "front" for both bags on one line): ride height at each corner per
        pascal more in it, the other pressures held, shape (2, 2) [m/Pa]
    by_load : by place, "hitch" (with a trailer) and "bed", over the rear axle on the centre line
    by_height : by axle with bags: pressure at each corner per metre that it is wanted higher, shape (2, 2) [Pa/m];
        empty where a limit holds, for the pressures then do not follow a wish
    by_tape : axles whose height pressure does not fix, to be set by tape, not by gauge
    roll_by_tape : whether it does not fix the roll either
    """

    by_pressure: Mapping[str, Array]
    by_load: Mapping[str, LoadEffect]
    by_height: Mapping[str, Array]
    by_tape: tuple[str, ...]
    roll_by_tape: bool


def find_sensitivity(setup: Setup, answer: Answer) -> Sensitivity:
    """Return what a little more of something does at each corner of an answered setup.

    Parameters
    ----------
    setup, answer : what was asked, and `level_setup` of it

    Returns
    -------
    Sensitivity
        Slopes, so right for small changes: an inch and some psi, as long as no bag comes to a limit.

    Raises
    ------
    ArithmeticError
        If the truck finds no rest at the set pressures, or its springs do not fix where it stands.

    Examples
    --------
    >>> from planner import level, read_truck
    >>> answer = level(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> found = find_sensitivity(answer.setup, answer)
    >>> (found.by_pressure["rear left"] * 1e3 * 1e4).round(1).tolist()  # mm that 0.1 bar there lifts each corner
    [[1.6, -1.7], [11.4, 7.1]]
    """
    rig = rig_of(setup.truck)
    load, stance = setup.load(rig), answer.set.stance
    start = np.array([stance.front, stance.rear, stance.roll, answer.side_moment[0]])
    settled = settle(rig, load, HeldPressure(np.nan_to_num(answer.set.pressure)), start)
    try:
        moves = response(rig, load, settled)
        steers = None if _held(answer, rig) or not settled.roll_fixed else asked(rig, load, settled)
    except np.linalg.LinAlgError as exc:
        raise ArithmeticError(
            "pressure alone does not hold this truck at one height: set it by tape, not by gauge"
        ) from exc
    return Sensitivity(
        by_pressure={
            name: _heights(rig, load, NOTHING, _state(moves, pressed)) for name, pressed in _lines(rig).items()
        },
        by_load={name: _effect(rig, load, moves, steers, more) for name, more in _places(setup, rig).items()},
        by_height={
            name: steers.by_state[..., k] for k, name in enumerate(AXLES) if steers is not None and rig.has_bag[k]
        },
        by_tape=tuple(name for name, sure in zip(AXLES, settled.fixed, strict=True) if not sure),
        roll_by_tape=not settled.roll_fixed,
    )


def _held(answer: Answer, rig: Rig) -> bool:
    """Tell whether a limit of a bag holds the plan at a corner: its pressures then do not follow what is wished."""
    for k, bag in enumerate(rig.bags):
        if bag is None:
            continue
        pressure, height, load = answer.pressure[k], answer.bag_height[k], answer.bag_load[k]
        at_pressure = (pressure <= bag.least_pressure + AT_LIMIT) | (pressure >= bag.greatest_pressure - AT_LIMIT)
        at_height = (height <= bag.lowest + AT_END) | (height >= bag.highest - AT_END)
        if np.any(at_pressure | at_height | (load >= bag.load_rating - AT_LIMIT)):
            return True
    return False


def _lines(rig: Rig) -> dict[str, Array]:
    """Return by air line which corners it presses, shape (2, 2)."""
    found: dict[str, Array] = {}
    for k, axle in enumerate(AXLES):
        if rig.bags[k] is None:
            continue
        corners = np.zeros((2, 2, 2))
        corners[0, k, 0] = corners[1, k, 1] = 1.0
        found |= (
            {axle: corners.sum(axis=0)}
            if rig.joined[k]
            else {f"{axle} {side}": corners[i] for i, side in enumerate(SIDES)}
        )
    return found


def _places(setup: Setup, rig: Rig) -> dict[str, Load]:
    """Return what a newton at each place adds."""
    found = {}
    if setup.hitch is not None and setup.trailer is not None:
        found[HITCH] = statics.point_load(1.0, setup.hitch.x, setup.hitch_arm, rig.wheelbase)
    return found | {BED: statics.point_load(1.0, 0.0, 0.0, rig.wheelbase)}


def _effect(rig: Rig, load: Load, moves: Response, steers: Asked | None, more: Load) -> LoadEffect:
    """Return what a load does: to the ride heights at held pressures, and to the pressures that undo it."""
    state = moves.by_axle_load @ more.axle + moves.by_side_moment * more.side_moment
    pressure = None
    if steers is not None:
        split = steers.by_state[..., 3] * more.least_twist
        pressure = steers.by_axle_load @ more.axle + steers.by_side_moment * more.side_moment + split
    return LoadEffect(_heights(rig, load, more, state), pressure)


def _state(moves: Response, pressed: Array) -> Array:
    """Return how the state moves per pascal in the corners pressed, shape (4,)."""
    moved: Array = (moves.by_pressure * pressed).sum(axis=(-1, -2))
    return moved


def _heights(rig: Rig, load: Load, more: Load, state: Array) -> Array:
    """Return the change of ride height at each corner with a change of state and load, shape (2, 2). [m]

    z + squash ± t/2 (φ - φ_axle), as the rig has it, without the parts that do not change.
    """
    moments = np.array([state[3], more.side_moment - load.overturning * state[2] - state[3]])
    rise = state[:2] + more.axle / (2.0 * rig.tyre_rate)
    tilt = rig.track / 2.0 * (state[2] + moments / rig.tyre_roll_rate)
    heights: Array = rise[:, None] + SIDE * tilt[:, None]
    return heights
