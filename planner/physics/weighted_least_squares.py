"""Unknowns from readings that are sums of them: weighted least squares, and what the readings cannot tell."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from planner.errors import Refusal
from planner.physics.validation import Array, require_finite, require_positive

UNTOLD: Final = 1e-6  # [-] part of a sum that lies outside of what the readings span, from which it is not told
FLAT: Final = 1e-9  # [-] of the greatest singular value, below which a direction is not told


@dataclass(frozen=True, eq=False)
class Estimate:
    """What readings tell of unknowns.

    Attributes
    ----------
    value : of each unknown, the least-norm one where the readings do not fix it, shape (n,)
    covariance : of them, from the readings' variances, shape (n, n)
    gain : change of each unknown for one of each reading, shape (n, m)
    span : orthonormal directions that the readings fix, shape (rank, n)
    residual : reading less what the unknowns give, shape (m,)
    spare : readings more than were needed
    chi_square : sum of squared residuals, each over its variance; about ``spare`` where the variances are right
    """

    value: Array
    covariance: Array
    gain: Array
    span: Array
    residual: Array
    spare: int
    chi_square: float

    def tells(self, of: ArrayLike) -> bool:
        """Tell whether the readings fix a sum of the unknowns, given by its factors, shape (n,)."""
        factors = np.asarray(of, float)
        outside = factors - self.span.T @ (self.span @ factors)
        return bool(np.linalg.norm(outside) <= UNTOLD * max(1.0, float(np.linalg.norm(factors))))

    def total(self, of: ArrayLike) -> tuple[float, float]:
        """Return a sum of the unknowns, given by its factors, and its standard uncertainty."""
        factors = np.asarray(of, float)
        return float(factors @ self.value), math.sqrt(max(0.0, float(factors @ self.covariance @ factors)))

    def ratio(self, top: ArrayLike, bottom: ArrayLike) -> tuple[float, float]:
        """Return the ratio of two sums of the unknowns and its standard uncertainty, to first order in it."""
        slope = self.slope(top, bottom)
        part = self.total(top)[0] / self.total(bottom)[0]
        return part, self.total(slope)[1]

    def slope(self, top: ArrayLike, bottom: ArrayLike) -> Array:
        """Return by how much the ratio of two sums changes for one of each unknown, shape (n,).

        References
        ----------
        JCGM 100:2008 (GUM), 5.2.2, eq. 13: the law of propagation with correlated inputs.
        """
        above, below = np.asarray(top, float), np.asarray(bottom, float)
        under = float(below @ self.value)
        found: Array = (above - float(above @ self.value) / under * below) / under
        return found


def estimate(design: ArrayLike, reading: ArrayLike, variance: ArrayLike) -> Estimate:
    """Return what readings, each a sum of unknowns, tell of them by weighted least squares.

    Parameters
    ----------
    design : array_like, shape (m, n)
        Factor of each unknown in each reading.
    reading, variance : array_like, shape (m,)
        What was read, and the variance of its error; errors are independent.

    Returns
    -------
    Estimate
        Where readings fix only some sums of the unknowns, `Estimate.tells` says which.

    Raises
    ------
    Refusal
        If a variance is not > 0, or something is not a finite number, or the shapes do not fit.

    Notes
    -----
    Rows over their standard deviation, then the pseudo-inverse by singular values. One unknown read several times is
    the weighted mean Σ (x / σ²) / Σ (1 / σ²), of variance 1 / Σ (1 / σ²).

    References
    ----------
    A. C. Aitken, On Least Squares and Linear Combination of Observations, Proc. R. Soc. Edinb. 55 (1936) 42-48 (from
    memory).

    Examples
    --------
    >>> mean = estimate([[1.0], [1.0]], [10.0, 13.0], [1.0, 2.0])
    >>> round(float(mean.value[0]), 6), round(float(mean.covariance[0, 0]), 6)
    (11.0, 0.666667)
    """
    a, y, v = (np.asarray(one, float) for one in (design, reading, variance))
    if a.ndim != 2 or y.shape != (len(a),) or v.shape != y.shape:
        raise Refusal("a design must have a row for each reading", f"shapes {a.shape}, {y.shape}, {v.shape}", "mend it")
    require_finite(("design", a, ""), ("reading", y, ""), ("variance", v, ""))
    require_positive(("variance of a reading", v, ""))
    weight = 1.0 / np.sqrt(v)
    left, size, right = np.linalg.svd(a * weight[:, None], full_matrices=False)
    kept = size > FLAT * (size[0] if size.size else 1.0)
    left, size, right = left[:, kept], size[kept], right[kept]
    value = right.T @ ((left.T @ (y * weight)) / size)
    residual = y - a @ value
    return Estimate(
        value=value,
        covariance=(right.T / size**2) @ right,
        gain=(right.T / size) @ left.T * weight,
        span=right,
        residual=residual,
        spare=len(y) - len(size),
        chi_square=float(np.sum((residual * weight) ** 2)),
    )
