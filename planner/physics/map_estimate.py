"""The most likely unknowns of one case, many measurements and a prior together (maximum a posteriori).

`least_squares` does the same for many small cases at once, and finds the slopes by steps; here they are given.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from planner.physics.validation import Array, Flags

MOST_STEPS: Final = 40
MOST_HALVINGS: Final = 12
ENOUGH: Final = 1e-7  # [-] of the sum of squares, by which a last step may still lessen it


@dataclass(frozen=True, eq=False)
class Estimate:
    """Unknowns as measurements and prior together have them, in standard deviations of the prior about its values.

    Attributes
    ----------
    value : shape (u,) [-]
    slopes : of the measurements by the unknowns, each over its spread, shape (m, u) [-]
    left_over : measured less found, over its spread, shape (m,) [-]
    converged : whether the steps came to an end
    """

    value: Array
    slopes: Array
    left_over: Array
    converged: bool

    @cached_property
    def information(self) -> Array:
        """What measurements and prior tell together, the inverse of the covariance, shape (u, u). [-]"""
        told: Array = self.slopes.T @ self.slopes + np.eye(len(self.value))
        return told

    @cached_property
    def covariance(self) -> Array:
        """Of the unknowns, in variances of the prior, shape (u, u). [-]"""
        covariance: Array = np.asarray(np.linalg.inv(self.information), float)
        return covariance

    @property
    def squares(self) -> float:
        """Sum of squares, of the prior too. [-]"""
        return float(self.left_over @ self.left_over + self.value @ self.value)

    @cached_property
    def own_spread(self) -> Array:
        """How far what is left over of each measurement may be off were all as stated, shape (m,), 0 to 1. [-]

        √(1 - h), h the leverage: what a measurement alone decides is left over by nothing, right or wrong.
        """
        leverage = np.einsum("mu,uv,mv->m", self.slopes, self.covariance, self.slopes)
        spread: Array = np.sqrt(np.clip(1.0 - leverage, 0.0, 1.0))
        return spread

    def without(self, dropped: Flags) -> tuple[Array, Array]:
        """Return the unknowns (u,) and their covariance (u, u), as they would be without some measurements.

        On the straight lines through what was found: the sums are those of the rest.
        """
        some = self.slopes[dropped]
        covariance: Array = np.asarray(np.linalg.inv(self.information - some.T @ some), float)
        return self.value - covariance @ (some.T @ self.left_over[dropped]), covariance


def estimate(
    left_over: Callable[[Array], Array], slopes: Callable[[Array], Array], unknowns: int, start: Array | None = None
) -> Estimate:
    """Return what measurements and prior together say of some unknowns, the most likely of all.

    Parameters
    ----------
    left_over : function
        From unknowns (u,) to measured less expected, each over its spread, (m,). [-]
    slopes : function
        From unknowns (u,) to the slopes of what is expected, each over its spread, (m, u). [-]
    unknowns : int
        How many; each is 0 by the prior, with a standard deviation of 1.
    start : array, shape (u,), optional
        Where to begin; the prior, if left out.

    Returns
    -------
    Estimate

    Notes
    -----
    Gauss-Newton steps on |left_over|² + |x|², halved while they do not lessen it: the mode of the posterior, and its
    covariance from the slopes there. As the prior counts as measurements do, no number of them is too small. Å. Björck,
    Numerical Methods for Least Squares Problems, SIAM, 1996, sec. 9.2 (from memory).

    Examples
    --------
    >>> found = estimate(lambda x: np.array([2.0 - x[0]]), lambda x: np.array([[1.0]]), 1)
    >>> found.value.round(6).tolist(), found.covariance.round(6).tolist()  # half way, half the variance
    ([1.0], [[0.5]])
    """
    value = np.zeros(unknowns) if start is None else start
    off = left_over(value)
    squares, converged = float(off @ off + value @ value), False
    for _ in range(MOST_STEPS):
        by = slopes(value)
        step = np.linalg.solve(by.T @ by + np.eye(unknowns), by.T @ off - value)
        tried, new, off_then = value, squares, off
        for halving in range(MOST_HALVINGS):
            tried = value + 0.5**halving * step
            off_then = left_over(tried)
            new = float(off_then @ off_then + tried @ tried)
            if new <= squares:
                break
        else:
            converged = True  # no step lessens it further
            break
        gain, value, off, squares = squares - new, tried, off_then, new
        if gain <= ENOUGH * (1.0 + squares):
            converged = True
            break
    return Estimate(value, slopes(value), off, converged)
