"""Curves through the points of a chart that keep the chart's own rises and falls, one or a family of them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from planner.physics.validation import Array

_Place = tuple[NDArray[np.intp], Array]  # on which piece, and how far along


@dataclass(frozen=True, eq=False)
class Curve:
    """Cubic pieces through points, of one slope where they meet (PCHIP).

    Parameters
    ----------
    x : array, shape (n,)
        At least two, strictly rising.
    y : array, shape (n,)

    Notes
    -----
    The slope at an inner point is 0 where the chart turns there, else the harmonic mean of the slopes of both sides,
    weighed by their lengths: the curve rises and falls only where the chart does [1]_. At an end it is that of the
    parabola through three points, cut back so that it does not turn either [2]_. It is the curve of
    scipy.interpolate.PchipInterpolator, against which it is tested; made here, it does not cost each start of the
    planner the third of a second that importing that takes.

    References
    ----------
    .. [1] F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300-304.
    .. [2] C. B. Moler, Numerical Computing with MATLAB, SIAM, 2004, sec. 3.6.
    """

    x: Array
    y: Array

    @cached_property
    def slopes(self) -> Array:
        """Slope at each point."""
        step = np.diff(self.x)
        rise = np.diff(self.y) / step
        if len(rise) == 1:
            return np.full(2, rise[0])
        slopes = np.zeros(len(self.x))
        left, right = rise[:-1], rise[1:]
        same = left * right > 0
        near, far = 2.0 * step[1:] + step[:-1], step[1:] + 2.0 * step[:-1]
        with np.errstate(all="ignore"):
            mean = (near + far) / (near / left + far / right)
        slopes[1:-1] = np.where(same, mean, 0.0)
        slopes[0] = _end_slope(step[0], step[1], rise[0], rise[1])
        slopes[-1] = _end_slope(step[-1], step[-2], rise[-1], rise[-2])
        return slopes

    @cached_property
    def pieces(self) -> Array:
        """Coefficients of each piece from its left end, cubic first, shape (4, n - 1)."""
        step, d = np.diff(self.x), self.slopes
        rise = np.diff(self.y) / step
        bend = (d[:-1] + d[1:] - 2.0 * rise) / step
        return np.stack([bend / step, (rise - d[:-1]) / step - bend, d[:-1], self.y[:-1]])

    @cached_property
    def _before(self) -> Array:
        """Integral up to the left end of each piece."""
        step = np.diff(self.x)
        a, b, c, d = self.pieces
        whole = (((a / 4.0 * step + b / 3.0) * step + c / 2.0) * step + d) * step
        return np.concatenate([[0.0], np.cumsum(whole)[:-1]])

    def _found(self, x: Array) -> tuple[NDArray[np.intp], Array]:
        """Return the piece that each place is on, and how far along."""
        piece = self.x[1:-1].searchsorted(x, "right")
        return piece, x - self.x.take(piece)

    def value(self, x: Array) -> Array:
        """Return the curve at places between the first and the last point, any shape."""
        piece, t = self._found(x)
        a, b, c, d = self.pieces.take(piece, axis=1)
        value: Array = ((a * t + b) * t + c) * t + d
        return value

    def value_and_slope(self, x: Array) -> tuple[Array, Array]:
        """Return the curve and its slope at places between the first and the last point, any shape."""
        piece, t = self._found(x)
        a, b, c, d = self.pieces.take(piece, axis=1)
        at = a * t
        value: Array = ((at + b) * t + c) * t + d
        slope: Array = (3.0 * at + 2.0 * b) * t + c
        return value, slope

    def integral(self, x: Array) -> Array:
        """Return the area under the curve from the first point to places between the first and the last, any shape."""
        piece, t = self._found(x)
        a, b, c, d = self.pieces.take(piece, axis=1)
        integral: Array = self._before.take(piece) + (((a / 4.0 * t + b / 3.0) * t + c / 2.0) * t + d) * t
        return integral


@dataclass(frozen=True, eq=False)
class CurveFamily:
    """Curves over the same places, one for each value of a second quantity; straight from curve to curve.

    Before the first curve and past the last one the nearest of the two is read.

    Parameters
    ----------
    x : array, shape (n,)
        At least two, strictly rising.
    p : array, shape (r,)
        Of each curve; at least two, strictly rising.
    y : array, shape (r, n)
    """

    x: Array
    p: Array
    y: Array

    @cached_property
    def curves(self) -> tuple[Curve, ...]:
        """The curve of each row."""
        return tuple(Curve(self.x, row) for row in self.y)

    @cached_property
    def pieces(self) -> Array:
        """Coefficients of the pieces of all curves, those of a curve beside each other, shape (4, r (n - 1))."""
        return np.concatenate([curve.pieces for curve in self.curves], axis=1)

    def rows(self, x: Array) -> Array:
        """Return every curve at places between the first and the last point, any shape; shape (r, ...)."""
        return np.stack([curve.value(x) for curve in self.curves])

    def value(self, x: Array, p: Array) -> Array:
        """Return the family at places and values that broadcast."""
        low, high, part = self._pair(x, p)
        below, above = self._cubic(low), self._cubic(high)
        value: Array = below + part * (above - below)
        return value

    def value_and_slopes(self, x: Array, p: Array) -> tuple[Array, Array, Array]:
        """Return the family, its slope by the place and its slope by the value, 0 where one curve is read alone."""
        low, high, part = self._pair(x, p)
        below, above = self._cubic(low), self._cubic(high)
        steep, steeper = self._steepness(low), self._steepness(high)
        row = self._row(p)
        gain = (above - below) / (self.p.take(row + 1) - self.p.take(row))
        inside = (p >= self.p[0]) & (p <= self.p[-1])
        return below + part * (above - below), steep + part * (steeper - steep), np.where(inside, gain, 0.0)

    def _row(self, p: Array) -> NDArray[np.intp]:
        """Return the lower row of the pair that each value is between."""
        return np.asarray(self.p[1:-1].searchsorted(p, "right"))

    def _pair(self, x: Array, p: Array) -> tuple[_Place, _Place, Array]:
        """Return the piece of both curves that each place is on, and how far it is from one to the other, 0 to 1."""
        piece, row = self.x[1:-1].searchsorted(x, "right"), self._row(p)
        along, start = x - self.x.take(piece), self.p.take(row)
        part = ((p - start) / (self.p.take(row + 1) - start)).clip(0.0, 1.0)
        lower = row * (len(self.x) - 1) + piece
        return (lower, along), (lower + len(self.x) - 1, along), part

    def _cubic(self, at: _Place) -> Array:
        piece, t = at
        a, b, c, d = self.pieces.take(piece, axis=1)
        value: Array = ((a * t + b) * t + c) * t + d
        return value

    def _steepness(self, at: _Place) -> Array:
        piece, t = at
        a, b, c = self.pieces[:3].take(piece, axis=1)
        slope: Array = (3.0 * a * t + 2.0 * b) * t + c
        return slope


def _end_slope(step: float, next_step: float, rise: float, next_rise: float) -> float:
    """Return the slope at an end from the two steps beside it."""
    slope = ((2.0 * step + next_step) * rise - step * next_rise) / (step + next_step)
    if slope * rise <= 0:
        return 0.0
    if rise * next_rise <= 0 and abs(slope) > 3.0 * abs(rise):
        return 3.0 * rise
    return float(slope)
