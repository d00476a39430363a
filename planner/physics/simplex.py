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

from planner.physics.checks import Array, Flags

MET: Final = 1e-11  # a row passed by less is met; rows are scaled to metres
LEAST_PIVOT: Final = 1e-7  # a target that moves a row by less, in metres a metre, does not steer it
MOST_PIVOTS: Final = 60


class Programme(NamedTuple):
    """The answer of a batch: coordinates, shape (c, n), and whether every row is met, shape (n,)."""

    coordinates: Array
    met: Flags


class _Tables:
    """The simplex tables of all cases, the cases last.

    Each basic variable is room - Σ table · (variables at nought). Variables are numbered: targets 0 … c-1, then the
    room left in each row. ``sense`` of a row is +1 where its variable must stay ≥ 0, -1 where ≤ 0 (a target that is off
    to that side), 0 where it is free. The last row of a table is the slope of the cost.
    """

    def __init__(self, rows: Array, room: Array, weights: Array, equal: Sequence[int]) -> None:
        m, c, n = rows.shape
        self.c, self.m, self.weights = c, m, weights
        self.table = np.empty((m + 1, c + 1, n))
        self.table[:m, :c], self.table[:m, c], self.table[m] = rows, room, 0.0
        self.in_row = np.repeat(np.arange(c, c + m)[:, None], n, axis=1)
        self.at_nought = np.repeat(np.arange(c)[:, None], n, axis=1)
        self.sense = np.ones((m, n))
        self.met = np.ones(n, bool)
        self.up = np.concatenate([weights, np.zeros(m)])  # what a unit more of a variable at nought costs by itself
        self.down = np.concatenate([weights, np.full(m, np.inf)])  # and a unit less
        self.up[c + np.asarray(equal, int)] = self.down[c + np.asarray(equal, int)] = np.inf
        self.case = np.arange(n)

    def take(self, cases: Flags) -> None:
        """Keep some of the cases."""
        self.table = np.ascontiguousarray(self.table[:, :, cases])
        for name in ("in_row", "at_nought", "sense"):
            setattr(self, name, np.ascontiguousarray(getattr(self, name)[:, cases]))
        self.met, self.case = self.met[cases], self.case[cases]

    def coordinates(self) -> Array:
        """Return the targets' values, shape (c, n)."""
        n = self.table.shape[-1]
        found = np.zeros((self.c + self.m, n))
        np.put_along_axis(found, self.in_row, self.table[: self.m, self.c], axis=0)
        return found[: self.c]

    def pivot(self, row: NDArray[np.intp], wanted: Array, active: Flags) -> None:
        """Bring the variable of a row to nought in every active case, at the least cost.

        row : of each case, shape (n,); wanted : +1 where its variable has to grow, -1 where it has to fall, 0 to do
        nothing.
        """
        n, c, m = self.table.shape[-1], self.c, self.m
        cases = np.arange(n)
        line = self.table[row, :, cases].T
        turned = wanted * line[:c]  # the variable gains -turned · x
        grows = turned < 0.0
        slope = self.table[m, :c]
        own = np.where(grows, self.up[self.at_nought], self.down[self.at_nought])
        cost = np.maximum(own + np.where(grows, slope, -slope), 0.0)
        steep = np.abs(turned)
        ratio = np.where(steep > LEAST_PIVOT, cost / np.maximum(steep, LEAST_PIVOT), np.inf)
        enters = ratio.argmin(axis=0)
        least = ratio[enters, cases]
        variable, sense = self.in_row[row, cases], self.sense[row, cases]
        weight = np.where(variable < c, self.weights[np.minimum(variable, c - 1)], 0.0)
        flips = active & (variable < c) & (least > 2.0 * weight)  # cheaper on its other side of nought
        lost = active & ~flips & ~np.isfinite(least)
        turns = active & ~flips & ~lost
        if flips.any():
            slope[:, flips] += (2.0 * weight * sense * line[:c])[:, flips]
            self.sense[row[flips], cases[flips]] *= -1.0
        if lost.any():
            self.sense[row[lost], cases[lost]] = 0.0
            self.met[lost] = False
        if not turns.all():
            line = np.where(turns, line, 0.0)
        pivot = np.where(turns, line[enters, cases], 1.0)
        slope += np.where(turns, weight * sense, 0.0) * line[:c]
        entering = self.at_nought[enters, cases]
        direction = np.where(grows[enters, cases], 1.0, -1.0)
        own = np.where(entering < c, self.weights[np.minimum(entering, c - 1)], 0.0)
        slope[enters, cases] += np.where(turns, own * direction, 0.0)
        column = self.table[:, enters, cases].copy() if n > 1 else self.table[:, enters, cases]
        new_line = line / pivot
        self.table -= column[:, None] * new_line
        keep = turns if not turns.all() else slice(None)
        at, e, r = cases[keep], enters[keep], row[keep]
        new_line[e, at] = 1.0 / pivot[keep]
        self.table[:, e, at] = -column[:, keep] / pivot[keep]
        self.table[r, :, at] = new_line[:, keep].T
        self.in_row[r, at], self.at_nought[e, at] = entering[keep], variable[keep]
        self.sense[r, at] = np.where(entering[keep] < c, direction[keep], 1.0)


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
    found, met = np.zeros((tables.c, n)), np.zeros(n, bool)
    for _ in range(MOST_PIVOTS):
        passed = -tables.sense * tables.table[: tables.m, tables.c]
        row = passed.argmax(axis=0)
        active = passed[row, np.arange(len(row))] > MET
        count = np.count_nonzero(active)
        if count < 0.7 * len(active):
            done = ~active
            if count == 0:
                break
            found[:, tables.case[done]], met[tables.case[done]] = tables.coordinates()[:, done], tables.met[done]
            tables.take(active)
            row, active = row[active], active[active]
        cases = np.arange(len(row))
        tables.pivot(row, tables.sense[row, cases], active)
    else:
        tables.met &= ~active
    found[:, tables.case], met[tables.case] = tables.coordinates(), tables.met
    return Programme(found, met)
