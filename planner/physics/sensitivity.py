"""What a little more air, load or height does at rest: the settling equations, differentiated instead of solved."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from planner.physics.equilibrium import Settled
from planner.physics.statics import Load
from planner.physics.truck_model import AXLE, SIDE, Rig
from planner.physics.validation import Array


class Response(NamedTuple):
    """How the state (rise front, rise rear [m], roll [rad], front axle's side moment [N·m]) answers, pressures held.

    by_pressure : per pascal in each bag, shape (..., 4, 2, 2) [state][corner]
    by_axle_load : per newton on each axle, shape (..., 4, 2)
    by_side_moment : per N·m of side moment, shape (..., 4)
    """

    by_pressure: Array
    by_axle_load: Array
    by_side_moment: Array


class Asked(NamedTuple):
    """How the pressures answer that keep or move the stance; NaN at a corner with no bag.

    by_state : per metre of wanted rise front and rear, per radian of wanted roll, per N·m of the front axle's side
        moment, shape (..., 2, 2, 4) [Pa/m, Pa/m, Pa/rad, Pa/(N·m)]; 0 for what the plumbing cannot steer
    by_axle_load : per newton on each axle, shape (..., 2, 2, 2) [corner][axle] [Pa/N]
    by_side_moment : per N·m of side moment, shape (..., 2, 2) [Pa/(N·m)]
    """

    by_state: Array
    by_axle_load: Array
    by_side_moment: Array


def response(rig: Rig, load: Load, settled: Settled) -> Response:
    """Return how the rest of a truck at held pressures moves with pressure and load.

    Parameters
    ----------
    rig : Rig
    load : Load
        What is carried; one case or many.
    settled : Settled
        The rest that `settle` found at held pressures.

    Returns
    -------
    Response
        NaN where the springs do not fix what moves: the rise of an axle that is not fixed, which is then taken as held
        by tape while the others move; all of a case whose roll is not fixed.

    Raises
    ------
    numpy.linalg.LinAlgError
        If what is fixed leaves the equations without an answer.

    Notes
    -----
    At rest the four forces left over, g(state, P, load) = F - F_steel(b) - P A(b), vanish; the implicit function
    theorem gives d(state) = -(∂g/∂state)⁻¹ (∂g/∂P dP + ∂g/∂load dload), ∂g/∂P = -(A + P ∂A/∂P), with the slopes of
    Newton's method of `settle`. Checked against central differences of `settle`.

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import rig_of
    >>> rig = rig_of(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> from planner.physics.equilibrium import HeldPressure, settle
    >>> held = HeldPressure(np.array([[265e3, 265e3], [165e3, 165e3]]))
    >>> rest = settle(rig, rig.kerb, held, np.zeros(4))
    >>> by_pressure = response(rig, rig.kerb, rest).by_pressure  # [m/Pa]
    >>> (1e3 * 1e4 * by_pressure[0, 0]).round(1).tolist()  # mm in front for 0.1 bar in front left, in front right
    [5.8, 5.7]
    """
    slopes, by_load, gain = _slopes(rig, load, settled)
    matrix, force = _by_axle(slopes), _by_axle(np.concatenate([_own_corner(gain), -by_load], axis=-1))
    loose = np.repeat(~settled.fixed, 2, axis=-1) & np.array([True, False, True, False])  # its sum of forces is free
    held = np.array([[1.0, 0, 0, 0], [0, 0, 0, 0], [0, 1.0, 0, 0], [0, 0, 0, 0]])
    matrix = np.where(loose[..., None], held, matrix)
    lost = ~settled.roll_fixed[..., None, None]
    matrix = np.where(lost, np.eye(4), matrix)
    moved: Array = np.linalg.solve(matrix, np.where(loose[..., None], 0.0, force)).astype(np.float64)
    rows = np.concatenate([~settled.fixed, np.zeros_like(settled.fixed)], axis=-1)[..., None]
    moved = np.where(lost | rows, np.nan, moved)
    return Response(moved[..., :4].reshape(*moved.shape[:-1], 2, 2), moved[..., 4:6], moved[..., 6])


def asked(rig: Rig, load: Load, settled: Settled) -> Asked:
    """Return how the pressures change that hold the stance under another load, or bring another stance.

    Parameters
    ----------
    rig : Rig
    load : Load
    settled : Settled
        The rest at the pressures that are to change.

    Returns
    -------
    Asked
        With all bags inside their limits. What is steered is what `level` steers: the rise of each axle with bags; the
        roll where an axle has a line per bag; the front axle's side moment where both have.

    Raises
    ------
    numpy.linalg.LinAlgError
        If the springs that are left alone do not fix what is not steered.

    Notes
    -----
    The forces left over of `response` stay nought while what is steered is set: linear equations for the state and the
    pressure of every line. Checked against central differences of `level`.

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import rig_of
    >>> rig = rig_of(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> from planner.physics.equilibrium import HeldPressure, settle
    >>> held = HeldPressure(np.array([[265e3, 265e3], [165e3, 165e3]]))
    >>> rest = settle(rig, rig.kerb, held, np.zeros(4))
    >>> by_rear = asked(rig, rig.kerb, rest).by_state[..., 1]  # [Pa/m]
    >>> (by_rear[1] / 1e6).round(2).tolist()  # kPa behind for 1 mm more behind
    [0.55, 0.54]
    """
    slopes, by_load, gain = _slopes(rig, load, settled)
    lines, steered = _lines(rig), _steered(rig)
    count, cases = lines.shape[-1], slopes.shape[:-2]
    on_lines = -gain.reshape(*cases, 4, 1) * lines
    corners = np.concatenate([slopes, on_lines], axis=-1)
    targets = np.concatenate([np.eye(4)[steered], np.zeros((len(steered), count))], axis=-1)
    matrix = np.concatenate([corners, np.broadcast_to(targets, (*cases, *targets.shape))], axis=-2)
    right = np.zeros((*cases, 4 + len(steered), 7))
    right[..., 4:, :4] = np.eye(4)[steered]
    right[..., :4, 4:] = -by_load
    pressures = np.linalg.solve(matrix, right)[..., 4:, :]
    bagged = np.repeat(rig.has_bag, 2)[:, None]
    corner = np.where(bagged, lines @ pressures, np.nan).reshape(*cases, 2, 2, 7)
    return Asked(corner[..., :4], corner[..., 4:6], corner[..., 6])


def _slopes(rig: Rig, load: Load, settled: Settled) -> tuple[Array, Array, Array]:
    """Return what the forces left over gain per state, (..., 4, 4), and per load, (..., 4, 3), and bags per pascal."""
    springs = rig.springs(settled.height, settled.pressure)
    heave = springs.steel_slope - settled.pressure * springs.area_slope
    ratio, rise = rig.motion_ratio[..., None], heave * rig.motion_ratio[..., None]
    by_moment = rig.force_by_moment + heave * rig.height_by_moment
    by_axle = 1.0 / (2.0 * ratio) + rise / (2.0 * rig.tyre_rate[..., None])
    own = np.eye(2)[:, None, :]  # an axle's rise and load move its own corners only
    state = [rise[..., None] * own, (rig.force_by_roll + heave * rig.height_by_roll)[..., None]]
    swings_out = np.where(AXLE[:, None] < 0, by_moment, 0.0) * load.overturning[..., None, None]
    state[1] = state[1] - swings_out[..., None]
    state.append((AXLE[:, None] * by_moment)[..., None])
    loads = [by_axle[..., None] * own, np.where(AXLE[:, None] < 0, by_moment, 0.0)[..., None]]
    return _rows(state, heave.shape), _rows(loads, heave.shape), springs.load_gain


def _rows(parts: list[Array], shape: tuple[int, ...]) -> Array:
    """Return slopes at the corners beside each other, the corners in one row, shape (..., 4, columns)."""
    wide = [np.broadcast_to(part, (*shape, part.shape[-1])) for part in parts]
    return np.concatenate(wide, axis=-1).reshape(*shape[:-2], 4, -1)


def _by_axle(rows: Array) -> Array:
    """Return rows of corners as sum and difference of each axle: front sum, front difference, rear sum, …"""
    turn = np.kron(np.eye(2), np.array([[1.0, 1.0], SIDE]))
    return turn @ rows


def _own_corner(gain: Array) -> Array:
    """Return what a pascal in each bag adds to each corner's force, shape (..., 4, 4)."""
    return gain.reshape(*gain.shape[:-2], 4, 1) * np.eye(4)


def _lines(rig: Rig) -> Array:
    """Return which corner hangs on which air line, shape (4, lines)."""
    columns = []
    for k, bag in enumerate(rig.bags):
        if bag is not None:
            pair = np.zeros((4, 2))
            pair[2 * k : 2 * k + 2] = np.eye(2)
            columns += [pair.sum(axis=1)] if rig.joined[k] else list(pair.T)
    return np.array(columns).reshape(-1, 4).T


def _steered(rig: Rig) -> list[int]:
    """Return the places of the state that the lines can set."""
    bagged = [k for k, bag in enumerate(rig.bags) if bag is not None]
    separate = sum(not rig.joined[k] for k in bagged)
    return bagged + [2, 3][:separate]
