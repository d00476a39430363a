"""The chart's curve against scipy's, and what must hold of any chart."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal
from scipy.interpolate import PchipInterpolator

from planner.physics.chart import Curve

steps = st.floats(1e-3, 10.0)
wholes = st.integers(-2, 2).map(float)  # which make level and turning parts
heights = st.one_of(st.floats(-5.0, 5.0).map(lambda y: round(y, 9)), wholes)


@st.composite
def charts(draw):
    """The points of a chart."""
    count = draw(st.integers(2, 9))
    x = np.cumsum(draw(st.lists(steps, min_size=count, max_size=count)))
    return x, np.array(draw(st.lists(heights, min_size=count, max_size=count)))


def places(x):
    """Places all over a chart, its points among them, in no order."""
    inner = np.random.default_rng(0).uniform(x[0], x[-1], (40, 3))
    return np.concatenate([inner.ravel(), x])


@given(chart=charts())
def test_value_slope_and_integral_are_scipy_s(chart):
    x, y = chart
    ours, theirs, at = Curve(x, y), PchipInterpolator(x, y), places(x)
    size = 1.0 + np.abs(y).max()
    steepest = 1.0 + np.abs(np.diff(y) / np.diff(x)).max()
    value, slope = ours.value_and_slope(at)
    assert_allclose(value, theirs(at), rtol=1e-12, atol=1e-12 * size)
    assert_allclose(slope, theirs.derivative()(at), rtol=1e-9, atol=1e-9 * steepest)
    assert_allclose(ours.integral(at), theirs.antiderivative()(at), rtol=1e-11, atol=1e-11 * size * (x[-1] - x[0]))
    assert_array_equal(ours.value(at), value)


@given(chart=charts())
def test_it_meets_its_points_and_stays_between_neighbours(chart):
    x, y = chart
    curve = Curve(x, y)
    assert_allclose(curve.value(x), y, atol=1e-12 * (1 + np.abs(y).max()))
    for left in range(len(x) - 1):
        between = curve.value(np.linspace(x[left], x[left + 1], 21))
        low, high = sorted(y[left : left + 2])
        assert between.min() >= low - 1e-9
        assert between.max() <= high + 1e-9


@pytest.mark.parametrize("shape", [(), (0,), (3,), (2, 3, 2)])
def test_any_shape(shape):
    curve = Curve(np.array([0.0, 1.0, 3.0]), np.array([1.0, 2.0, 1.5]))
    at = np.full(shape, 1.0)
    assert curve.value(at).shape == curve.integral(at).shape == curve.value_and_slope(at)[1].shape == shape
    assert_allclose(curve.value(at), 2.0)
