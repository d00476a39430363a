"""Many small linear programmes side by side: the least of weighted absolute values inside linear limits.

A truck at a limit is such a programme: what is wanted are targets (no lean, no rise, no twist), each with a weight, and
every limit of a bag is a row. The start, all targets met, is the best there is without limits; the dual simplex method
then takes up the limits that are passed one at a time, and lets go of those whose multiplier says that they cost more
than they save. Weights far apart make the programme lexicographic: the first target first, whatever the next ones cost.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.physics.validation import Array, Flags

Places = NDArray[np.intp]

CASES: Final = 2048  # worked on at a time: their rows stay in the processor's cache
MET: Final = 1e-11  # a row passed by less is met; rows are scaled to metres
LEAST_PIVOT: Final = 1e-7  # a target that moves a row by less, in metres a metre, does not steer it
MOST_PIVOTS: Final = 60
POOLED: Final = 512  # once fewer of them go on, they wait for those of the others
FEW: Final = 0.7  # [-] once fewer of the cases go on, the others are put aside
NEAR: Final = 0.1  # [-] an inverse that is off by less after one step of mending is good enough after the second
STILL_BEST: Final = 1e-13  # a basis is begun with whose multipliers are off by less


class Programme(NamedTuple):
    """The answer of a batch.

    coordinates : shape (c, n)
    met : whether every row is met, shape (n,)
    basis : which c variables are at nought, shape (c, n): coordinates 0 … c-1, then the room left in each row
    inverse : how the coordinates answer those variables' rows, [coordinate, variable], shape (c, c, n)
    sense : the side of nought a coordinate is off to, 0 where it is at nought, shape (c, n)
    slope : what a unit more in the row of each variable of the basis costs by moving the others, shape (c, n)
    """

    coordinates: Array
    met: Flags
    basis: Places
    inverse: Array
    sense: Array
    slope: Array

    def take(self, cases: Flags | slice) -> Programme:
        """Return some of the cases."""
        return Programme(*(_some(part, cases) for part in self))

    def put(self, cases: Places | slice, others: Programme) -> None:
        """Write others over some of the cases."""
        for own, other in zip(self, others, strict=True):
            own[..., cases] = other


def blank(c: int, n: int) -> Programme:
    """Return room for the answers of n programmes of c coordinates: none met, begun with all at nought.

    Examples
    --------
    >>> found = blank(2, 3)
    >>> found.basis[:, 0].tolist(), found.met.tolist()
    ([0, 1], [False, False, False])
    """
    basis, inverse = np.empty((c, n), np.intp), np.empty((c, c, n))
    basis[:], inverse[:] = np.arange(c)[:, None], np.eye(c)[..., None]
    return Programme(np.zeros((c, n)), np.zeros(n, bool), basis, inverse, np.zeros((c, n)), np.full((c, n), np.inf))


def _some(part: NDArray[Any], cases: Flags | slice) -> Any:
    return part[..., cases] if isinstance(cases, slice) else np.compress(cases, part, axis=-1)


_OF_CASES: Final = ("rows", "room", "x", "sense", "slope", "basis", "inverse", "met", "case")


class _Simplex:
    """The revised simplex method on all cases, the cases last.

    What is known of a programme is a basis and its inverse; a row's values are worked out as they are needed.
    """

    def __init__(self, rows: Array, room: Array, weights: Array, equal: Sequence[int], first: int) -> None:
        m, c, n = rows.shape
        self.c, self.m = c, m
        self.rows, self.room, self.weights = np.empty((c + m, c, n)), np.zeros((c + m, n)), weights
        self.rows[:c], self.rows[c:], self.room[c:] = np.eye(c)[..., None], rows, room  # first those of the coordinates
        self.equal = c + np.asarray(equal, int)
        self.up = np.concatenate(
            [weights, np.full(m, np.inf)]
        )  # what a unit more in a row of the basis costs by itself
        self.down = np.concatenate([weights, np.zeros(m)])  # and a unit less
        self.down[self.equal] = np.inf
        self.x, _, self.basis, self.inverse, self.sense, _ = blank(c, n)
        self.slope, self.met, self.case = np.zeros((c, n)), np.ones(n, bool), np.arange(first, first + n)
        self.aside: Flags | None = None  # rows that cannot be met, shape (c + m, n)

    def take(self, cases: Flags) -> None:
        """Keep some of the cases."""
        for name in _OF_CASES:
            setattr(self, name, np.compress(cases, getattr(self, name), axis=-1))
        if self.aside is not None:
            self.aside = np.compress(cases, self.aside, axis=-1)

    def join(self, others: Sequence[_Simplex]) -> None:
        """Take up the cases of others."""
        if any(one.aside is not None for one in (self, *others)):
            for one in (self, *others):
                if one.aside is None:
                    one.aside = np.zeros((one.c + one.m, len(one.met)), bool)
            self.aside = np.concatenate([one.aside for one in (self, *others) if one.aside is not None], axis=-1)
        for name in _OF_CASES:
            setattr(self, name, np.concatenate([getattr(one, name) for one in (self, *others)], axis=-1))

    def begin(self, before: Programme) -> Flags:
        """Begin with the bases of much the same programmes where they are of use; tell where, shape (n,).

        The inverse is mended by Schulz's steps, X + X (1 - A X), or made anew where they do not reach; a basis is of
        use whose multipliers are all feasible.
        """
        c, n = self.c, len(self.met)
        basis, inverse, cases = before.basis, before.inverse, np.arange(n)
        chosen = self.rows.reshape(-1).take((basis * (c * n) + cases)[:, None] + (np.arange(c) * n)[:, None])
        left = self.room.reshape(-1).take(basis * n + cases)
        for _ in (0, 1):
            off = -np.einsum("kbn,bjn->kjn", chosen, inverse)
            off[np.arange(c), np.arange(c)] += 1.0
            inverse = inverse + np.einsum("akn,kjn->ajn", inverse, off)
        near: Flags = np.abs(off).max(axis=(0, 1)) < NEAR
        far = before.met & ~near
        if far.any():
            inverse[..., far], near[far] = _inverted(chosen[..., far])
        x = np.einsum("akn,kn->an", inverse, left)
        x += np.einsum("akn,kn->an", inverse, left - np.einsum("kbn,bn->kn", chosen, x))
        x[before.sense == 0.0] = 0.0
        slope = self._slope(before.sense, inverse)
        spare = np.minimum(self.up.take(basis) + slope, self.down.take(basis) - slope)
        good: Flags = before.met & near & (spare.min(axis=0) >= -STILL_BEST)
        for row in self.equal:
            good &= (basis == row).any(axis=0)
        if good.all():
            self.x, self.sense, self.slope, self.basis, self.inverse = (
                x,
                before.sense.copy(),
                slope,
                basis.copy(),
                inverse,
            )
            return good
        for own, found in (
            (self.x, x),
            (self.sense, before.sense),
            (self.slope, slope),
            (self.basis, basis),
            (self.inverse, inverse),
        ):
            np.copyto(own, found, where=good)
        return good

    def _slope(self, sense: Array, inverse: Array) -> Array:
        """Return what a unit more in each row of the basis costs by moving the coordinates, shape (c, n)."""
        slope: Array = np.einsum("bn,bcn->cn", self.weights[:, None] * sense, inverse)
        return slope

    def passed(self) -> Array:
        """Return by how much each coordinate has passed nought, and each row is passed, shape (c + m, n)."""
        c, n = self.c, len(self.met)
        passed = np.empty((c + self.m, n))
        np.multiply(self.sense, self.x, out=passed[:c])
        np.negative(passed[:c], out=passed[:c])
        np.einsum("mcn,cn->mn", self.rows[c:], self.x, out=passed[c:])
        passed[c:] -= self.room[c:]
        passed[self.equal] = -np.inf
        if self.aside is not None:
            passed[self.aside] = -np.inf
        return passed

    def meet(self, row: int, cases: Flags) -> None:
        """Bring an equation into the basis."""
        left = self.room[self.c + row] - np.einsum("cn,cn->n", self.rows[self.c + row], self.x)
        self.pivot(np.full(len(left), self.c + row), np.where(left > 0.0, 1.0, -1.0), np.abs(left), cases)

    def pivot(self, row: Places, wanted: Array, amount: Array, active: Flags) -> None:
        """Bring a row into the basis in every active case, at the least cost.

        row : of each case, shape (n,); wanted : +1 where its value has to grow, -1 where it has to fall, by an amount
        """
        n, c = len(row), self.c
        cases = np.arange(n)
        own = np.flatnonzero(row < c)
        line = self.rows.reshape(-1).take((row * (c * n) + cases) + (np.arange(c) * n)[:, None])
        moves = np.einsum("bn,bcn->cn", line, self.inverse)
        turned = wanted * moves
        up = turned > 0.0
        cost = np.where(up, self.up.take(self.basis) + self.slope, self.down.take(self.basis) - self.slope)
        steep = np.abs(turned)
        steep[steep <= LEAST_PIVOT] = 0.0
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = np.where(steep > 0.0, np.maximum(cost, 0.0) / steep, np.inf)
        enters = ratio.argmin(axis=0)
        column_of = enters * n + cases
        least = ratio.reshape(-1).take(column_of)
        turns = active & np.isfinite(least)
        lost = active & ~turns
        if own.size:  # a coordinate may be cheaper on its other side of nought
            flips = own[active[own] & (least[own] > 2.0 * self.weights[row[own]])]
            self.sense[row[flips], flips] *= -1.0
            turns[flips] = lost[flips] = False
        if not turns.all():
            if lost.any():
                self.met[lost] = False
                if self.aside is None:
                    self.aside = np.zeros((c + self.m, n), bool)
                self.aside[row[lost], np.flatnonzero(lost)] = True
            moves *= turns
            amount = amount * turns
        gains = np.where(turns, moves.reshape(-1).take(column_of), 1.0)
        column_at = column_of + (np.arange(c) * (c * n))[:, None]
        flat = self.inverse.reshape(-1)
        column = flat.take(column_at) / gains
        self.inverse -= column[:, None] * moves
        flat[column_at] = column
        self.x += column * (wanted * amount)
        leaves = self.basis.reshape(-1).take(column_of)
        self.basis.reshape(-1)[column_of] = np.where(turns, row, leaves)
        freed = np.flatnonzero(turns & (leaves < c))
        self.sense[leaves[freed], freed] = np.where(up.reshape(-1).take(column_of[freed]), 1.0, -1.0)
        if own.size:
            own = own[turns[own]]
            self.sense[row[own], own] = self.x[row[own], own] = 0.0
        self.slope = self._slope(self.sense, self.inverse)


def _inverted(matrices: Array) -> tuple[Array, Flags]:
    """Return the inverses of matrices (c, c, n), and which of them have one, shape (n,)."""
    stacked = matrices.transpose(2, 0, 1)
    there: Flags = np.linalg.det(stacked) != 0.0
    inverse = np.linalg.inv(np.where(there[:, None, None], stacked, np.eye(len(matrices))))
    return inverse.transpose(1, 2, 0), there


def least_deviation(
    rows: Array, room: Array, weights: Array, equal: Sequence[int] = (), before: Programme | None = None
) -> Programme:
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
    before : Programme, optional
        Of programmes much like these; its bases are begun with where they are of use.

    Returns
    -------
    Programme
        ``met`` is False where no x meets all rows; such rows are then left aside.

    Notes
    -----
    Dual simplex method with bounded multipliers, revised: R. J. Vanderbei, Linear Programming, 4th ed., Springer,
    2014, ch. 5, 8 and 9 (from memory). The start x = 0 is the cheapest point without limits, so its multipliers are
    feasible.

    Examples
    --------
    >>> rows, room = np.array([[[-1.0], [-1.0]]]), np.array([[-3.0]])  # x + y >= 3
    >>> found = least_deviation(rows, room, np.array([1.0, 2.0]))
    >>> found.coordinates.ravel().tolist()  # the cheaper of both
    [3.0, 0.0]
    """
    _, c, n = rows.shape
    found, rest = blank(c, n), []
    for first in range(0, n, CASES):
        some = slice(first, first + CASES)
        simplex = _Simplex(rows[..., some], room[..., some], weights, equal, first)
        anew = np.ones(len(simplex.met), bool) if before is None else ~simplex.begin(before.take(some))
        if anew.any():
            for row in equal:
                simplex.meet(row, anew)
        if _go_on(simplex, found, POOLED if n > CASES else 1):
            rest.append(simplex)
    if rest:
        rest[0].join(rest[1:])
        _go_on(rest[0], found, 1)
    return found


def _go_on(simplex: _Simplex, found: Programme, few: int) -> bool:
    """Pivot until fewer than a few of the cases go on, and fill in those that are done; tell whether any are left."""
    for _ in range(MOST_PIVOTS):
        passed = simplex.passed()
        most = passed.max(axis=0)
        active = most > MET
        count = np.count_nonzero(active)
        if count < FEW * len(active) or count < few:
            _keep(found, simplex, ~active)
            if count == 0:
                return False
            simplex.take(active)
            if count < few:
                return True
            passed, most, active = np.compress(active, passed, axis=-1), most[active], active[active]
        row = passed.argmax(axis=0)
        sense = simplex.sense.reshape(-1).take(np.minimum(row, simplex.c - 1) * len(row) + np.arange(len(row)))
        simplex.pivot(row, np.where(row < simplex.c, sense, -1.0), most, active)
    simplex.met &= ~active
    _keep(found, simplex, np.ones(len(simplex.case), bool))
    return False


def _keep(found: Programme, simplex: _Simplex, done: Flags) -> None:
    """Keep the results of the cases that are done."""
    now = Programme(simplex.x, simplex.met, simplex.basis, simplex.inverse, simplex.sense, simplex.slope)
    if done.all():
        first, end = simplex.case[0], simplex.case[-1] + 1
        found.put(slice(first, end) if end - first == len(done) else simplex.case, now)
    else:
        found.put(simplex.case[done], now.take(done))
