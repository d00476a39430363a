"""A curve through the points of a chart that keeps the chart's own rises and falls."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from planner.physics.validation import Array

FEW: Final = 256  # places: more are compared with each point of a chart, as a search mispredicts its turns for each
MOST_COMPARED: Final = 60  # points of a chart: with more a search is quicker after all


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
    def before(self) -> Array:
        """Integral from the first point up to the left end of each piece, shape (n - 1,)."""
        step = np.diff(self.x)
        a, b, c, d = self.pieces
        whole = (((a / 4.0 * step + b / 3.0) * step + c / 2.0) * step + d) * step
        return np.concatenate([[0.0], np.cumsum(whole)[:-1]])

    @cached_property
    def _alone(self) -> Curves:
        return Curves((self,))

    def value(self, x: Array) -> Array:
        """Return the curve at places between the first and the last point, any shape."""
        value: Array = self._alone.value(x[None])[0]
        return value

    def value_and_slope(self, x: Array) -> tuple[Array, Array]:
        """Return the curve and its slope at places between the first and the last point, any shape."""
        value, slope = self._alone.value_and_slope(x[None])
        return value[0], slope[0]

    def integral(self, x: Array) -> Array:
        """Return the area under the curve from the first point to places between the first and the last, any shape."""
        integral: Array = self._alone.integral(x[None])[0]
        return integral


class Curves:
    """Several curves, read together: the first axis of places says which curve each is on.

    A call of numpy costs as much for one place as for a hundred; so do all curves in one.
    """

    def __init__(self, curves: tuple[Curve, ...]) -> None:
        self._inner = [curve.x[1:-1] for curve in curves]
        self._first = np.cumsum([0, *(len(curve.x) - 1 for curve in curves[:-1])]).tolist()
        self._left = np.concatenate([curve.x[:-1] for curve in curves])
        self._pieces = np.concatenate([curve.pieces for curve in curves], axis=1)
        self._before = np.concatenate([curve.before for curve in curves])

    def _found(self, x: Array) -> tuple[NDArray[np.intp], Array]:
        """Return the piece that each place is on, and how far along."""
        piece = np.empty(x.shape, np.intp)
        for n, inner in enumerate(self._inner):
            if x.size < FEW or len(inner) > MOST_COMPARED:
                piece[n] = inner.searchsorted(x[n], "right")
            else:
                piece[n] = sum(((x[n] >= point).view(np.int8) for point in inner), np.zeros(x[n].shape, np.int8))
            piece[n] += self._first[n]
        return piece, x - self._left.take(piece)

    def value(self, x: Array) -> Array:
        """Return each curve at places between its first and its last point, shape (curves, ...)."""
        piece, t = self._found(x)
        a, b, c, d = self._pieces.take(piece, axis=1)
        value: Array = ((a * t + b) * t + c) * t + d
        return value

    def value_and_slope(self, x: Array) -> tuple[Array, Array]:
        """Return each curve and its slope at such places."""
        piece, t = self._found(x)
        a, b, c, d = self._pieces.take(piece, axis=1)
        at = a * t
        value: Array = ((at + b) * t + c) * t + d
        slope: Array = (3.0 * at + 2.0 * b) * t + c
        return value, slope

    def integral(self, x: Array) -> Array:
        """Return the area under each curve from its first point to such places."""
        piece, t = self._found(x)
        a, b, c, d = self._pieces.take(piece, axis=1)
        integral: Array = self._before.take(piece) + (((a / 4.0 * t + b / 3.0) * t + c / 2.0) * t + d) * t
        return integral


def _end_slope(step: float, next_step: float, rise: float, next_rise: float) -> float:
    """Return the slope at an end from the two steps beside it."""
    slope = ((2.0 * step + next_step) * rise - step * next_rise) / (step + next_step)
    if slope * rise <= 0:
        return 0.0
    if rise * next_rise <= 0 and abs(slope) > 3.0 * abs(rise):
        return 3.0 * rise
    return float(slope)
