"""Which air lines lost air: the fewest that the gauges, as sure as they are, ask for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np

from planner.physics.validation import Array, Flags

FALSE_ALARM: Final = 0.05  # [-] of sound nights that are called a leak
ENOUGH: Final = 1e-3  # [-] of a sum of squares, below which a step is the last
STEP: Final = 1e-4  # [-] of a line's air, for slopes
MOST_STEPS: Final = 12
GREATEST_PART: Final = 0.95  # [-] of its air that a line may be found to have lost: the rest is a flat bag, no leak


class LeakFit(NamedTuple):
    """What a search for leaks found, by line, each of shape (n,).

    part : share of the line's air that was lost [-]
    sd : one standard deviation of it; NaN of a line that is not found to leak [-]
    leaking : which lines leak
    """

    part: Array
    sd: Array
    leaking: Flags


def find_leaks(
    fall: Array, expected: Callable[[Array], Array], covariance: Array, false_alarm: float = FALSE_ALARM
) -> LeakFit:
    """Return which lines leak, and which part of its air each of them lost.

    Parameters
    ----------
    fall : array, shape (n,)
        By how much the gauge of each line fell. [Pa]
    expected : function
        From parts of the lines' air that are lost, shape (k, n), to how much the gauges then fall, shape (k, n). [Pa]
    covariance : array, shape (n, n)
        Of fall less what is expected of it. [Pa²]
    false_alarm : float
        Share of sound nights on which a leak may be called. [-]

    Returns
    -------
    LeakFit

    Notes
    -----
    Forward selection by likelihood ratio: of all lines the one joins whose leak, fitted together with those found
    before by Gauss-Newton steps, takes most off the sum of squares, while that is more than chance takes off the best
    over their number (Bonferroni). At first a loss of the same part in every line is tried with them. A pressure that
    falls at a corner because its neighbour sank is so told from a leak: the other gauges speak too. S. Weisberg,
    Applied Linear Regression, 4th ed., ch. 10 (from memory).

    Examples
    --------
    >>> found = find_leaks(np.array([0.0, 9.0]), lambda part: 100.0 * part, np.eye(2))
    >>> found.leaking.tolist(), found.part.round(2).tolist()
    ([False, True], [0.0, 0.09])
    """
    from scipy.special import ndtri  # importing it takes longer than all else here

    lines = len(fall)
    fit = _Fit(fall, expected, np.linalg.inv(np.linalg.cholesky(covariance)))
    columns = np.zeros((lines, 0))  # how the parts of the lines follow from the leaks that are fitted
    part, squares = np.zeros(lines), fit.squares(np.zeros(lines))
    while (more := _candidates(columns)) and not columns.any(axis=1).all():
        least = float(ndtri(1.0 - false_alarm / len(more))) ** 2
        if squares <= least:  # no leak can take more off than there is
            break
        tried = [(*fit.fitted(columns_then, part), columns_then) for columns_then in more]
        fitted, left_over, columns_then = min(tried, key=lambda one: one[1])
        if not (squares - left_over > least and np.all(fitted[columns_then.any(axis=1)] > 0)):
            break
        part, squares, columns = fitted, left_over, columns_then
    return LeakFit(part, fit.deviations(columns, part), np.any(columns, axis=1, keepdims=True)[:, 0])


def _candidates(columns: Array) -> list[Array]:
    """Return the leaks that may be there besides those found: of one more line, or, at first, of all lines alike."""
    lines = len(columns)
    free = np.flatnonzero(~columns.any(axis=1))
    more = [np.column_stack([columns, np.eye(lines)[line]]) for line in free]
    return [*more, np.ones((lines, 1))] if columns.shape[1] == 0 and lines > 1 else more


def least_seen(slope: Array, covariance: Array, false_alarm: float = FALSE_ALARM) -> Array:
    """Return the part of each line's air whose loss is found on every second night, shape (n,). [-]

    slope : of the fall of each gauge by what each line lost, shape (n, n) [Pa]
    """
    from scipy.special import ndtri  # as above

    whitened = np.linalg.inv(np.linalg.cholesky(covariance)) @ slope
    least: Array = float(ndtri(1.0 - false_alarm / (len(slope) + (len(slope) > 1)))) / np.linalg.norm(whitened, axis=0)
    return least


def slopes_of_fall(expected: Callable[[Array], Array], part: Array, columns: Array | None = None) -> Array:
    """Return how the fall of each gauge grows with what lines lost, one by one or in columns, shape (n, c). [Pa]"""
    ways = np.eye(len(part)) if columns is None else columns
    falls = expected(part + STEP * np.vstack([ways.T, np.zeros(len(part))]))
    slopes: Array = (falls[:-1] - falls[-1]).T / STEP
    return slopes


@dataclass(frozen=True, eq=False)
class _Fit:
    """What the gauges say, and how leaks are held against it."""

    fall: Array
    expected: Callable[[Array], Array]
    whiten: Array

    def _left(self, part: Array) -> Array:
        left: Array = self.whiten @ (self.fall - self.expected(part[None])[0])
        return left

    def squares(self, part: Array) -> float:
        """Return the sum of squares that some parts leave over. [-]"""
        return float(np.sum(self._left(part) ** 2))

    def fitted(self, columns: Array, start: Array) -> tuple[Array, float]:
        """Return the parts lost that fit best, and the sum of squares that they leave over."""
        part, squares, scale = start, self.squares(start), 1.0
        for _ in range(MOST_STEPS):
            slopes = self.whiten @ slopes_of_fall(self.expected, part, columns)
            step = columns @ np.linalg.lstsq(slopes, self._left(part), rcond=None)[0]
            tried = np.minimum(part + scale * step, GREATEST_PART)
            new = self.squares(tried)
            if new > squares:
                scale *= 0.5
                continue
            done, part, squares, scale = squares - new < ENOUGH, tried, new, min(1.0, 2.0 * scale)
            if done:
                break
        return part, squares

    def deviations(self, columns: Array, part: Array) -> Array:
        """Return one standard deviation of each line's part, NaN of a line that does not leak, shape (n,)."""
        if not columns.size:
            return np.full(len(part), np.nan)
        slopes = self.whiten @ slopes_of_fall(self.expected, part, columns)
        covariance = columns @ np.linalg.inv(slopes.T @ slopes) @ columns.T
        sd: Array = np.where(columns.any(axis=1), np.sqrt(np.diag(covariance)), np.nan)
        return sd
