"""Curves through the points of a chart that keep the chart's own rises and falls, and charts read together."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.errors import Refusal
from planner.physics.validation import Array

FEW: Final = 256  # places: more are compared with each point of a chart, as a search mispredicts its turns for each
MOST_COMPARED: Final = 60  # points of a chart: with more a search is quicker after all
NO_GAIN: Final = np.zeros(())


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
    def integral_pieces(self) -> Array:
        """Coefficients of the integral from the first point, the fourth power first, shape (5, n - 1)."""
        step = np.diff(self.x)
        a, b, c, d = self.pieces
        whole = (((a / 4.0 * step + b / 3.0) * step + c / 2.0) * step + d) * step
        before = np.concatenate([[0.0], np.cumsum(whole)[:-1]])
        return np.stack([a / 4.0, b / 3.0, c / 2.0, d, before])

    @cached_property
    def _alone(self) -> Charts:
        return Charts((Chart(self.x, (self.pieces,)),))

    def value(self, x: Array) -> Array:
        """Return the curve at places between the first and the last point, any shape."""
        value: Array = self._alone.value(x[None])[0]
        return value

    def value_and_slope(self, x: Array) -> tuple[Array, Array]:
        """Return the curve and its slope at places between the first and the last point, any shape."""
        value, slope, _ = self._alone.value_and_slopes(x[None])
        return value[0], slope[0]

    def integral(self, x: Array) -> Array:
        """Return the area under the curve from the first point to places between the first and the last, any shape."""
        integral: Array = Charts((Chart(self.x, (self.integral_pieces,)),)).value(x[None])[0]
        return integral


class Chart(NamedTuple):
    """A curve, or several over the same places, one for each value of a second quantity; straight from curve to curve.

    Before the first curve and past the last one the nearest of the two is read.

    x : places where the pieces of a curve meet, shape (n,)
    curves : of each, coefficients of its pieces from their left ends, highest power first, shape (two or more, n - 1)
    p : value of the second quantity that each curve is for, strictly rising; none where there is one curve
    """

    x: Array
    curves: tuple[Array, ...]
    p: Array | None = None


class Charts:
    """Several charts, read together: the first axis of places says which chart each is on.

    A call of numpy costs as much for one place as for a hundred; so do all charts in one.
    """

    def __init__(self, charts: tuple[Chart, ...]) -> None:
        self._inner = [chart.x[1:-1] for chart in charts]
        self._values = [chart.p for chart in charts]
        self.read_by_value = any(chart.p is not None for chart in charts)
        sizes = [len(chart.x) - 1 for chart in charts]
        self._to_next = [0 if chart.p is None else size for chart, size in zip(charts, sizes, strict=True)]
        counts = [size * len(chart.curves) for chart, size in zip(charts, sizes, strict=True)]
        self._first = np.cumsum([0, *counts[:-1]]).tolist()
        self._left = np.concatenate([chart.x[:-1] for chart in charts for _ in chart.curves])
        curves = [curve for chart in charts for curve in chart.curves]
        powers = max(len(curve) for curve in curves)
        filled = [np.concatenate([np.zeros((powers - len(one), one.shape[1])), one]) for one in curves]
        self._pieces = np.concatenate(filled, axis=1)

    def value(self, x: Array, p: Array | None = None) -> Array:
        """Return each chart at places between its first and its last point, shape (charts, ...).

        p : value of the second quantity, of the shape of the places, needed where a chart has several curves
        """
        piece, along = self._found(x)
        if not self.read_by_value:
            return self._polynomial(piece, along)
        lower, to_next, _, part = self._between(p)
        piece += lower
        below, above = self._polynomial(piece, along), self._polynomial(piece + to_next, along)
        value: Array = below + part.clip(0.0, 1.0) * (above - below)
        return value

    def value_and_slopes(self, x: Array, p: Array | None = None) -> tuple[Array, Array, Array]:
        """Return each chart, its slope by the place and its slope by the value, 0 where one curve is read alone."""
        piece, along = self._found(x)
        if not self.read_by_value:
            return *self._polynomial_and_slope(piece, along), NO_GAIN
        lower, to_next, step, part = self._between(p)
        piece += lower
        below, steep = self._polynomial_and_slope(piece, along)
        above, steeper = self._polynomial_and_slope(piece + to_next, along)
        held = part.clip(0.0, 1.0)
        gain = np.where(part == held, (above - below) / step, 0.0)
        return below + held * (above - below), steep + held * (steeper - steep), gain

    def _found(self, x: Array) -> tuple[NDArray[np.intp], Array]:
        """Return the piece of its chart's first curve that each place is on, and how far along."""
        piece = np.empty(x.shape, np.intp)
        for n, inner in enumerate(self._inner):
            if x.size < FEW or len(inner) > MOST_COMPARED:
                piece[n] = inner.searchsorted(x[n], "right")
            else:
                piece[n] = sum(((x[n] >= point).view(np.int8) for point in inner), np.zeros(x[n].shape, np.int8))
            piece[n] += self._first[n]
        return piece, x - self._left.take(piece)

    def _between(self, p: Array | None) -> tuple[NDArray[np.intp], NDArray[np.intp], Array, Array]:
        """Return how many pieces further the lower of the curves beside each value begins, and the upper after that.

        And how far they are apart, and which part of that the value is past the lower one. A curve alone is beside
        itself.
        """
        if p is None:
            raise Refusal("a chart of several pressures is read at a pressure", "none", "give the gauge pressure too")
        lower, part, step = np.zeros(p.shape, np.intp), np.zeros(p.shape), np.ones(p.shape)
        for n, (values, size) in enumerate(zip(self._values, self._to_next, strict=True)):
            if values is not None:
                row = values[1:-1].searchsorted(p[n], "right")
                lower[n], start = size * row, values.take(row)
                step[n] = values.take(row + 1) - start
                part[n] = (p[n] - start) / step[n]
        return lower, np.array(self._to_next).reshape(-1, *(1,) * (p.ndim - 1)), step, part

    def _polynomial(self, piece: NDArray[np.intp], along: Array) -> Array:
        """Return the value of pieces so far along, by Horner's scheme."""
        first, *others, last = self._pieces.take(piece, axis=1)
        value: Array = first * along
        for one in others:
            value += one
            value *= along
        value += last
        return value

    def _polynomial_and_slope(self, piece: NDArray[np.intp], along: Array) -> tuple[Array, Array]:
        """Return the value and the slope of pieces so far along, by Horner's scheme."""
        slope, second, *others = self._pieces.take(piece, axis=1)
        value: Array = slope * along
        value += second
        for one in others:
            slope = slope * along
            slope += value
            value *= along
            value += one
        return value, slope


def _end_slope(step: float, next_step: float, rise: float, next_rise: float) -> float:
    """Return the slope at an end from the two steps beside it."""
    slope = ((2.0 * step + next_step) * rise - step * next_rise) / (step + next_step)
    if slope * rise <= 0:
        return 0.0
    if rise * next_rise <= 0 and abs(slope) > 3.0 * abs(rise):
        return 3.0 * rise
    return float(slope)
