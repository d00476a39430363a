"""Many small linear programmes side by side: the least of weighted absolute values inside linear limits.

A truck at a limit is such a programme: what is wanted are targets (no lean, no rise, no twist), each with a weight, and
every limit of a bag is a row. The start, all targets met, is the best there is without limits; the dual simplex method
then takes up the limits that are passed one at a time, and lets go of those whose multiplier says that they cost more
than they save. Weights far apart make the programme lexicographic: the first target first, whatever the next ones cost.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.physics.validation import Array, Flags

Places = NDArray[np.intp]

MET: Final = 1e-11  # a row passed by less is met; rows are scaled to metres
LEAST_PIVOT: Final = 1e-7  # a target that moves a row by less, in metres a metre, does not steer it
MOST_PIVOTS: Final = 60
FEW: Final = 0.7  # [-] once fewer of the cases go on, the others are put aside
STILL_MET: Final = 1e-9  # [m] and
STILL_BEST: Final = 1e-13  # a basis is kept that is off by less


class Programme(NamedTuple):
    """The answer of a batch.

    coordinates : shape (c, n)
    met : whether every row is met, shape (n,)
    basis : which c variables are at nought, shape (c, n): coordinates 0 … c-1, then the room left in each row
    slope : what a unit more of each coordinate costs by moving the others, its own cost aside; 0 where it is not at
        nought, shape (c, n)
    """

    coordinates: Array
    met: Flags
    basis: Places
    slope: Array

    def take(self, cases: Flags) -> Programme:
        """Return some of the cases."""
        return Programme(self.coordinates[:, cases], self.met[cases], self.basis[:, cases], self.slope[:, cases])


class _Tables:
    """The simplex tables of all cases, the cases last.

    Each basic variable is room - Σ table · (variables at nought). Variables are numbered: coordinates 0 … c-1, then the
    room left in each row. ``sense`` of a row is +1 where its variable must stay ≥ 0, -1 where ≤ 0 (a coordinate that is
    off to that side), 0 where it is free. The last row of a table is the slope of the cost.
    """

    def __init__(self, rows: Array, room: Array, weights: Array, equal: Sequence[int]) -> None:
        m, c, n = rows.shape
        self.c, self.m = c, m
        self.weights = np.concatenate([weights, np.zeros(m)])
        self.table = np.empty((m + 1, c + 1, n))
        self.table[:m, :c], self.table[:m, c], self.table[m] = rows, room, 0.0
        self.in_row = np.empty((m, n), np.intp)
        self.in_row[:] = np.arange(c, c + m)[:, None]
        self.at_nought = np.empty((c, n), np.intp)
        self.at_nought[:] = np.arange(c)[:, None]
        self.sense = np.ones((m, n))
        self.met = np.ones(n, bool)
        self.up = self.weights.copy()  # what a unit more of a variable at nought costs by itself
        self.down = np.concatenate([weights, np.full(m, np.inf)])  # and a unit less
        self.up[c + np.asarray(equal, int)] = self.down[c + np.asarray(equal, int)] = np.inf
        self.case = np.arange(n)

    def take(self, cases: Flags) -> None:
        """Keep some of the cases."""
        for name in ("table", "in_row", "at_nought", "sense", "met", "case"):
            setattr(self, name, np.compress(cases, getattr(self, name), axis=-1))

    def coordinates(self) -> Array:
        """Return the coordinates' values, shape (c, n)."""
        found = np.zeros((self.c + self.m, self.table.shape[-1]))
        np.put_along_axis(found, self.in_row, self.table[: self.m, self.c], axis=0)
        return found[: self.c]

    def slopes(self) -> Array:
        """Return the slope of the cost along each coordinate at nought, shape (c, n)."""
        found = np.zeros((self.c + self.m, self.table.shape[-1]))
        np.put_along_axis(found, self.at_nought, self.table[self.m, : self.c], axis=0)
        return found[: self.c]

    def pivot(self, row: Places, wanted: Array, active: Flags) -> None:
        """Bring the variable of a row to nought in every active case, at the least cost.

        row : of each case, shape (n,); wanted : +1 where its variable has to grow, -1 where it has to fall
        """
        n, c, m = self.table.shape[-1], self.c, self.m
        cases, width = np.arange(n), c + 1
        flat = self.table.reshape(-1)
        line_at = (row * (width * n) + cases) + (np.arange(width) * n)[:, None]
        line, slope = flat.take(line_at), self.table[m, :c]
        turned = wanted * line[:c]  # the variable gains -turned · x
        direction = np.where(turned < 0.0, 1.0, -1.0)
        own = np.where(turned < 0.0, self.up.take(self.at_nought), self.down.take(self.at_nought))
        cost, steep = np.maximum(own + direction * slope, 0.0), np.abs(turned)
        steep[steep <= LEAST_PIVOT] = 0.0
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = np.where(steep > 0.0, cost / steep, np.inf)
        enters = ratio.argmin(axis=0)
        column_of = enters * n + cases
        least, variable = ratio.reshape(-1).take(column_of), self.in_row.reshape(-1).take(row * n + cases)
        sense, weight = self.sense.reshape(-1).take(row * n + cases), self.weights.take(variable)
        flips = active & (variable < c) & (least > 2.0 * weight)  # cheaper on its other side of nought
        turns = active & ~flips & np.isfinite(least)
        if flips.any():
            slope[:, flips] += (2.0 * weight * sense * line[:c])[:, flips]
            self.sense[row[flips], cases[flips]] *= -1.0
        if not turns.all():
            lost = active & ~flips & ~turns
            self.sense[row[lost], cases[lost]] = 0.0
            self.met[lost] = False
            line *= turns
        pivot = np.where(turns, line.reshape(-1).take(column_of), 1.0)
        slope += (weight * sense * turns) * line[:c]
        entering = self.at_nought.reshape(-1).take(column_of)
        side = direction.reshape(-1).take(column_of)
        slope_at = column_of + m * width * n
        flat[slope_at] += self.weights.take(entering) * side * turns
        column_at = column_of + (np.arange(m + 1) * (width * n))[:, None]
        column, new_line = flat.take(column_at), line / pivot
        self.table -= column[:, None] * new_line
        new_line.reshape(-1)[column_of] = 1.0 / pivot
        column /= -pivot
        if not turns.all():
            at = np.flatnonzero(turns)
            line_at, column_at, column_of = line_at[:, at], column_at[:, at], column_of[at]
            new_line, column, row, cases = new_line[:, at], column[:, at], row[at], cases[at]
            entering, variable, side = entering[at], variable[at], side[at]
        flat[column_at], flat[line_at] = column, new_line
        self.in_row.reshape(-1)[row * n + cases], self.at_nought.reshape(-1)[column_of] = entering, variable
        self.sense.reshape(-1)[row * n + cases] = np.where(entering < c, side, 1.0)


def least_deviation(rows: Array, room: Array, weights: Array, equal: Sequence[int] = ()) -> Programme:
    """Return the coordinates x, shape (c, n), with rows · x <= room and the least Σ weights |x|.

    Parameters
    ----------
    rows : array, shape (m, c, n)
        Of n programmes, each of m limits on c coordinates.
    room : array, shape (m, n)
        What each limit leaves at x = 0; < 0 where it is passed there.
    weights : array, shape (c,)
        Cost of each coordinate's distance from nought.
    equal : sequence of int
        Rows that must be met exactly: rows · x = room.

    Returns
    -------
    Programme
        ``met`` is False where no x meets all rows; such rows are then left aside.

    Notes
    -----
    Dual simplex method with bounded multipliers: R. J. Vanderbei, Linear Programming, 4th ed., Springer, 2014, ch. 5
    and 9 (from memory). The start x = 0 is the cheapest point without limits, so its multipliers are feasible.
    """
    tables = _Tables(rows, room, weights, equal)
    n = rows.shape[-1]
    everyone = np.ones(n, bool)
    for row in equal:
        left = tables.table[row, tables.c]
        tables.pivot(np.full(n, row), np.where(left > 0, -1.0, 1.0), everyone)
    found = Programme(
        np.zeros((tables.c, n)), np.zeros(n, bool), np.zeros((tables.c, n), np.intp), np.zeros((tables.c, n))
    )
    for _ in range(MOST_PIVOTS):
        passed = -tables.sense * tables.table[: tables.m, tables.c]
        row = passed.argmax(axis=0)
        active = passed.max(axis=0) > MET
        count = np.count_nonzero(active)
        if count < FEW * len(active):
            if count == 0:
                break
            _keep(found, tables, ~active)
            tables.take(active)
            row, active = row[active], active[active]
        tables.pivot(row, tables.sense.reshape(-1).take(row * len(row) + np.arange(len(row))), active)
    else:
        tables.met &= ~active
    _keep(found, tables, np.ones(len(tables.case), bool))
    return found


def _keep(found: Programme, tables: _Tables, done: Flags) -> None:
    """Keep the results of the cases that are done."""
    at = tables.case[done]
    found.coordinates[:, at], found.met[at] = tables.coordinates()[:, done], tables.met[done]
    found.basis[:, at], found.slope[:, at] = tables.at_nought[:, done], tables.slopes()[:, done]


def same_basis(rows: Array, room: Array, weights: Array, equal: Sequence[int], basis: Places) -> tuple[Array, Flags]:
    """Return the coordinates (c, n) with the variables of a basis at nought, and whether they are still the best (n,).

    rows, room, weights and equal are those of :func:`least_deviation`; basis is that of a programme much like this.
    """
    m, c, n = rows.shape
    all_rows = np.concatenate([np.broadcast_to(np.eye(c)[..., None], (c, c, n)), rows])
    chosen = np.take_along_axis(all_rows, basis[:, None], axis=0)
    left = np.take_along_axis(np.concatenate([np.zeros((c, n)), room]), basis, axis=0)
    try:
        inverse = np.moveaxis(np.linalg.inv(np.moveaxis(chosen, -1, 0)), 0, -1)
    except np.linalg.LinAlgError:
        return np.zeros((c, n)), np.zeros(n, bool)
    found: Array = np.einsum("abn,bn->an", inverse, left)
    inside = room - np.einsum("mcn,cn->mn", rows, found)
    inside[list(equal)] = 0.0
    is_coordinate = basis < c
    found[basis[is_coordinate], np.nonzero(is_coordinate)[1]] = 0.0
    slope = np.einsum("an,abn->bn", weights[:, None] * np.sign(found), inverse)
    own = np.concatenate([weights, np.zeros(m)])[basis]
    spare = np.where(is_coordinate, own - np.abs(slope), -slope)
    if len(equal):
        spare[np.isin(basis, c + np.asarray(equal))] = 0.0
    best: Flags = (inside.min(axis=0) >= -STILL_MET) & (spare.min(axis=0) >= -STILL_BEST)
    return found, best
