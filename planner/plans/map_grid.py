"""Levelling over a grid of loads: where a limit binds, points between others that agree are not levelled one by one."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.physics import levelling
from planner.physics.active_set import all_steered
from planner.physics.bag_limits import Limit
from planner.physics.levelling import Levelled
from planner.physics.statics import Load
from planner.physics.truck_model import Rig
from planner.physics.validation import Array, Codes, Flags

STEP: Final = 4  # every so many points one is levelled first; even, so that a cell has a point in its middle
CLOSE: Final = np.array([2e-5, 2e-5, 1e-5, 5.0])  # [m, m, rad, N·m] a middle so near to what lies between is between


class GridLevelled(NamedTuple):
    """What levelling finds over a grid.

    levelled : of shape (rows, columns)
    exact : where it was levelled; elsewhere it is between four points that were, shape (rows, columns)
    """

    levelled: Levelled
    exact: Flags


def level_grid(rig: Rig, load: Load, wanted: Array, told: Callable[[Levelled, Array], Codes]) -> GridLevelled:
    """Return what levelling finds over a grid of loads, shape (rows, columns).

    Parameters
    ----------
    rig, load, wanted
        As in :func:`levelling.level`, load and wanted of shape (rows, columns) or one for all.
    told : callable
        Gives by which limit of its bags each case of a row is stopped, 0 none, from what was levelled and wanted.

    Returns
    -------
    GridLevelled
        Exact where no limit binds. Where one does, in cells of STEP points a side, of which corners and middle are
        levelled first: one that is stopped by the same limit at all five is taken to be as in its middle; one whose
        five are held at the same limits, the middle between the corners within CLOSE, is filled in between them, as
        states are smooth while the same limits hold. All other cells are levelled point by point. What shows at none
        of the five points of a cell is not seen.
    """
    shape = np.broadcast_shapes(load.side_moment.shape, wanted.shape[:-1])
    grid = _Grid(rig, load.spread(shape), np.broadcast_to(wanted, (*shape, 3)).reshape(-1, 3), shape)
    corners, middles = _cells(shape)
    unknown = ~(grid.exact[corners].all(axis=-1) & grid.exact[middles])
    corners, middles = corners[unknown], middles[unknown]
    nodes = np.column_stack([corners, middles])
    grid.level(nodes)
    code, inside = told(grid.at(nodes), grid.wanted[nodes]), _inside(shape, corners[:, 0])
    stopped = (code[:, -1] > 0) & (code == code[:, -1:]).all(axis=-1)
    smooth = grid.smooth(corners, middles) & ~stopped
    left = np.ones(len(grid.exact), bool)
    left[inside[stopped | smooth]] = False
    grid.level(np.flatnonzero(left))
    grid.fill_between(corners[smooth], inside[smooth])
    grid.fill_alike(middles[stopped], inside[stopped])
    return GridLevelled(grid.shaped(), grid.exact.reshape(shape))


def _cells(shape: tuple[int, ...]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the corners of all whole cells, shape (cells, 4), and their middles, as places in a row of all points."""
    rows, columns = (np.arange(0, count - STEP, STEP) for count in shape)
    first = (rows[:, None] * shape[1] + columns).ravel()
    corners = first[:, None] + np.array([0, STEP, STEP * shape[1], STEP * (shape[1] + 1)])
    return corners, first + STEP // 2 * (shape[1] + 1)


def _inside(shape: tuple[int, ...], first: NDArray[np.intp]) -> NDArray[np.intp]:
    """Return all points of each cell, edges and corners with it, shape (cells, STEP + 1, STEP + 1)."""
    along = np.arange(STEP + 1)
    return first[:, None, None] + along[:, None] * shape[1] + along


class _Grid:
    """All points in a row: those where no limit binds known from the start, others as they are levelled."""

    def __init__(self, rig: Rig, load: Load, wanted: Array, shape: tuple[int, ...]) -> None:
        self.rig, self.load, self.wanted, self.shape = rig, load, wanted, shape
        count = len(wanted)
        if all_steered(rig):
            asked = levelling.ask(rig, load, wanted)
            self.state, self.pressure = asked.state, asked.pressure
            self.exact: Flags = ~(asked.passed != Limit.NONE).any(axis=(-1, -2))
        else:  # a shared line or steel binds everywhere
            self.state, self.pressure, self.exact = np.empty((count, 4)), np.empty((count, 2, 2)), np.zeros(count, bool)
        self.held: Codes = np.zeros((count, 2, 2), np.int8)
        self.converged: Flags = np.ones(count, bool)

    def level(self, points: NDArray[np.intp]) -> None:
        """Level those of some points that are not known yet."""
        wanted = np.zeros(len(self.exact), bool)
        wanted[points] = True
        wanted &= ~self.exact
        if wanted.any():
            found = levelling.level(self.rig, self.load.take(wanted), self.wanted[wanted])
            self.state[wanted], self.pressure[wanted] = found.state, found.pressure
            self.held[wanted], self.converged[wanted] = found.held, found.converged
            self.exact |= wanted

    def smooth(self, corners: NDArray[np.intp], middles: NDArray[np.intp]) -> Flags:
        """Return which cells may be filled in between their corners."""
        held = self.held[corners]
        same: Flags = (held == self.held[middles][:, None]).all(axis=(1, 2, 3))
        near = np.abs(self.state[corners].mean(axis=1) - self.state[middles]) <= CLOSE
        same &= near.all(axis=-1) & self.converged[corners].all(axis=-1) & self.converged[middles]
        return same

    def fill_alike(self, middles: NDArray[np.intp], inside: NDArray[np.intp]) -> None:
        """Fill in the points of some cells that were not levelled with what is in their middle."""
        left = ~self.exact[inside]
        like = np.broadcast_to(middles[:, None, None], inside.shape)[left]
        for part in (self.state, self.pressure, self.held, self.converged):
            part[inside[left]] = part[like]

    def fill_between(self, corners: NDArray[np.intp], inside: NDArray[np.intp]) -> None:
        """Fill in the points of some cells that were not levelled between their corners."""
        along = np.linspace(0.0, 1.0, STEP + 1)
        parts = np.array([np.outer(a, b) for a in (1 - along, along) for b in (1 - along, along)])
        left = ~self.exact[inside]
        points = inside[left]
        self.state[points] = np.einsum("kij,nkc->nijc", parts, self.state[corners])[left]
        self.pressure[points] = np.einsum("kij,nkab->nijab", parts, self.pressure[corners])[left]
        self.held[points] = np.broadcast_to(self.held[corners[:, :1]][:, :, None], (*inside.shape, 2, 2))[left]

    def at(self, points: NDArray[np.intp]) -> Levelled:
        """Return what was found at some points."""
        return Levelled(self.state[points], self.pressure[points], self.held[points], self.converged[points])

    def shaped(self) -> Levelled:
        """Return what was found over the grid."""
        corners = (*self.shape, 2, 2)
        return Levelled(
            self.state.reshape(*self.shape, 4),
            self.pressure.reshape(corners),
            self.held.reshape(corners),
            self.converged.reshape(self.shape),
        )
