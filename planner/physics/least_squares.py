"""Least squares with a prior: the most likely numbers behind measurements that are fewer than what is not known."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.physics.validation import Array, Flags

Rows = Callable[[Array], Array]
Cases = NDArray[np.intp]
RowsOfCases = Callable[[Array, Cases], Array]

STEP: Final = 1e-4  # [standard deviations] of the prior, over which slopes are taken
LONGEST: Final = 3.0  # [standard deviations] of the prior, in one step
ENOUGH: Final = 1e-3  # [-] a step that lowers the sum of squares by no more is the last
MOST_STEPS: Final = 60
# [-] of a step, of which the best is made: past a stop of a bag the slopes are others
PARTS: Final = np.array([1.0, 0.3, 0.1, 0.03, 0.01, 0.001, 0.0])


class Fit(NamedTuple):
    """The most likely numbers of n cases, in standard deviations of their prior.

    value : shape (n, p) [-]
    slope : how the rows answer to each number, shape (n, m, p) [-]
    left_over : rows at that value, shape (n, m), in standard deviations of the measurements [-]
    converged : whether the last step changed nothing, shape (n,)
    """

    value: Array
    slope: Array
    left_over: Array
    converged: Flags

    def covariance_of(self, gradient: Array) -> Array:
        """Return the covariance of what depends on the numbers by a gradient, (n, k, p); shape (n, k, k)."""
        found: Array = gradient @ _turned(self.covariance_with(gradient))
        return found

    def covariance_with(self, gradient: Array) -> Array:
        """Return the covariance of the numbers with what depends on them by a gradient, (n, k, p); the same shape."""
        weight = _inverse_of_rows(self.slope) @ (self.slope @ _turned(gradient))
        found: Array = gradient - _turned(weight) @ self.slope
        return found

    def surprise(self) -> Array:
        """Return how far the measurements are from what the prior expects, shape (n, m). [standard deviations]

        Each by itself, its own error and all that moves it counted: of true priors a normal deviate.
        """
        expected = self.left_over - (self.slope @ self.value[..., None])[..., 0]
        found: Array = expected / np.sqrt(1.0 + (self.slope**2).sum(axis=-1))
        return found


def fit_with_prior(rows: RowsOfCases, start: Array) -> Fit:
    """Return the numbers u that make |u|² + |rows(u)|² least, each case by itself.

    Parameters
    ----------
    rows : function of an array (c, k, p) and of which c of the n cases it is of, to an array (c, k, m)
        What each measurement is off by, in its standard deviations, for k sets of numbers of each case; 0 for one that
        was not made.
    start : array, shape (n, p)
        In standard deviations of the prior, whose mean is 0.

    Returns
    -------
    Fit

    Notes
    -----
    Gauss-Newton on normal priors and errors, which is their most likely point (A. Tarantola, Inverse Problem Theory,
    SIAM, 2005, section 3.2, eq. 3.51 and 3.53; from memory). The step is solved in the space of the measurements, as
    they are fewer: u = -Jᵀ (J Jᵀ + 1)⁻¹ (r - J u).

    Examples
    --------
    >>> found = fit_with_prior(lambda u, cases: u[..., :1] + u[..., 1:] - 3.0, np.zeros((1, 2)))
    >>> found.value.round(6).tolist()
    [[1.0, 1.0]]
    """
    value, converged, everyone = np.array(start, float), np.zeros(len(start), bool), np.arange(len(start))
    for _ in range(MOST_STEPS):
        moving = np.flatnonzero(~converged)
        if not len(moving):
            break
        of_moving, here = _rows_of(rows, moving), value[moving]
        left, slope = slopes_of(of_moving, here)
        wanted = (slope @ here[..., None])[..., 0] - left
        after = (_turned(slope) @ _inverse_of_rows(slope) @ wanted[..., None])[..., 0]
        part, gain = _best_part(of_moving, here, (after - here).clip(-LONGEST, LONGEST))
        value[moving] += part
        converged[moving] = gain <= ENOUGH
    left, slope = slopes_of(_rows_of(rows, everyone), value)
    return Fit(value, slope, left, converged)


def slopes_of(rows: Rows, value: Array) -> tuple[Array, Array]:
    """Return a function's rows at a value (n, p), shape (n, m), and their slopes by forward steps, (n, m, p).

    Examples
    --------
    >>> left, slope = slopes_of(lambda u: 2.0 * u[..., :1] + u[..., 1:], np.array([[1.0, 1.0]]))
    >>> left.tolist(), slope.round(6).tolist()
    ([[3.0]], [[[2.0, 1.0]]])
    """
    count = value.shape[-1]
    tried = value[:, None, :] + STEP * np.vstack([np.zeros(count), np.eye(count)])
    found = rows(tried)
    left = found[:, 0]
    return left, _turned((found[:, 1:] - found[:, :1]) / STEP)


def _rows_of(rows: RowsOfCases, cases: Cases) -> Rows:
    return lambda value: rows(value, cases)


def _best_part(rows: Rows, value: Array, step: Array) -> tuple[Array, Array]:
    """Return the part of each step that lowers the sum of squares most, shape (n, p), and by how much, (n,)."""
    tried = value[:, None] + PARTS[:, None] * step[:, None]
    squares = (tried**2).sum(axis=-1) + (rows(tried) ** 2).sum(axis=-1)
    best = np.argmin(squares, axis=-1)
    return PARTS[best][:, None] * step, squares[:, -1] - squares.min(axis=-1)


def _turned(matrix: Array) -> Array:
    turned: Array = np.swapaxes(matrix, -1, -2)
    return turned


def _inverse_of_rows(slope: Array) -> Array:
    """Return (J Jᵀ + 1)⁻¹, shape (n, m, m)."""
    inverse: Array = np.linalg.inv(slope @ _turned(slope) + np.eye(slope.shape[-2])).astype(np.float64)
    return inverse
