"""One bag: chart, gas volume, rate; and the refusals."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.integrate import quad

from planner.physics.air_spring import Bag, spring_rate

from .rigs import SHAPES, bag

HEIGHTS = np.array([0.08, 0.12, 0.16, 0.20])
AREAS = np.array([0.031, 0.030, 0.027, 0.022])


def made(**changes):
    numbers = {
        "heights": HEIGHTS, "areas": AREAS, "fitted_height": 0.15, "volume": 0.006,
        "least_pressure": 1e4, "greatest_pressure": 7e5,
    }  # fmt: skip
    return Bag(**(numbers | changes))


def test_area_meets_every_charted_point():
    assert_allclose(made().area(HEIGHTS), AREAS, rtol=1e-14)


@given(st.lists(st.floats(0.005, 0.05), min_size=3, max_size=9))
def test_area_rises_and_falls_only_where_the_chart_does(areas):
    heights = np.linspace(0.1, 0.2, len(areas))
    part = np.linspace(0, 1, 21)
    b = made(heights=heights, areas=np.array(areas), volume=0.05)
    for k in range(len(areas) - 1):
        between = b.area(heights[k] + part * (heights[k + 1] - heights[k]))
        steps = np.diff(between) * np.sign(areas[k + 1] - areas[k])
        assert (steps >= -1e-15).all()
        assert between.min() >= min(areas[k : k + 2]) - 1e-15
        assert between.max() <= max(areas[k : k + 2]) + 1e-15


@pytest.mark.parametrize("shape", SHAPES)
def test_gas_volume_is_the_integral_of_area(shape):
    b = bag(shape=shape)
    for height in (0.08, 0.1, 0.151, 0.22):
        knots = [h for h in b.heights if min(0.15, height) < h < max(0.15, height)]
        work, _ = quad(b.area, 0.15, height, points=knots or None, epsabs=1e-15)
        assert_allclose(b.gas_volume(height), b.volume + work, rtol=1e-12)
    assert_allclose(b.gas_volume(b.fitted_height), b.volume, rtol=1e-14)


@pytest.mark.parametrize("shape", SHAPES)
def test_area_slope_is_the_slope_of_area(shape):
    b, small = bag(shape=shape), 1e-7
    for height in (0.085, 0.111, 0.155, 0.215):
        slope = (b.area(height + small) - b.area(height - small)) / (2 * small)
        assert_allclose(b.area_slope(height), slope, rtol=1e-6, atol=1e-8)


def test_past_its_ends_the_chart_is_held_not_carried_on():
    b = made()
    assert_allclose(b.area([0.05, 0.3]), [0.031, 0.022])
    assert_allclose(b.area_slope([0.05, 0.3]), 0.0)
    assert_allclose(b.gas_volume([0.05, 0.3]), b.gas_volume([0.08, 0.20]))


@given(
    height=st.floats(0.085, 0.215),
    gauge=st.floats(1e4, 9e5),
    ambient=st.floats(6e4, 1.1e5),
    exponent=st.floats(1.0, 1.4),
    shape=st.sampled_from(SHAPES),
)
def test_rate_is_the_finite_difference_of_force_with_the_gas_shut_in(height, gauge, ambient, exponent, shape):
    b, small = bag(shape=shape), 1e-6

    def force(at):
        pressure = (gauge + ambient) * (b.gas_volume(height) / b.gas_volume(at)) ** exponent - ambient
        return pressure * b.area(at)

    rate = spring_rate(
        gauge, b.area(height), b.gas_volume(height), area_slope=b.area_slope(height), exponent=exponent,
        ambient_pressure=ambient,
    )  # fmt: skip
    numeric = (force(height - small) - force(height + small)) / (2 * small)
    # a PCHIP chart has jumps of the second derivative at its points: the central difference is first order there
    assert_allclose(rate, numeric, rtol=1e-5, atol=5.0)


def test_sealed_air_of_the_rate_docstring_at_sea_level():
    # hand: 1.4 × (500e3 + 101325) × 0.02² / 0.005 = 67348.4
    assert_allclose(spring_rate(500e3, 0.02, 0.005, area_slope=0.0, exponent=1.4), 67348.4, rtol=1e-12)


def test_rate_broadcasts():
    rate = spring_rate(np.full((3, 1), 5e5), 0.02, np.full(4, 0.005), area_slope=0.1, exponent=1.0)
    assert rate.shape == (3, 4)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"areas": np.array([0.03, 0.0, 0.02, 0.01])}, r"effective area must be > 0 m², got 0 m²"),
        ({"areas": np.array([0.03, np.nan, 0.02, 0.01])}, r"effective area must be > 0 m²"),
        ({"volume": -0.001}, r"gas volume must be > 0 m³, got -0.001 m³"),
        ({"heights": np.array([0.08, 0.12, 0.12, 0.2])}, r"step between charted heights must be > 0 m, got 0 m"),
        ({"fitted_height": 0.07}, r"fitted height must lie within the chart, 0.08 to 0.2 m, got 0.07 m"),
        ({"fitted_height": 0.21}, r"fitted height must lie within the chart"),
        ({"fitted_height": np.nan}, r"fitted height must lie within the chart"),
        ({"volume": 0.001}, r"gas volume at the lowest charted height must be > 0 m³, got -0.00"),
    ],
)
def test_a_chart_that_contradicts_itself_is_refused(changes, words):
    with pytest.raises(ValueError, match=words):
        made(**changes)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ({"gauge_pressure": -2e5}, r"absolute pressure must be > 0 Pa, got -98675 Pa"),
        ({"area": 0.0}, r"area must be > 0 m²"),
        ({"gas_volume": np.array([0.005, -0.1])}, r"gas volume must be > 0 m³, got -0.1 m³"),
        ({"exponent": 0.9}, r"exponent must be >= 1 \(isothermal\), got 0.9"),
        ({"exponent": np.nan}, r"exponent must be >= 1"),
    ],
)
def test_a_rate_of_nothing_is_refused(arguments, words):
    numbers = {"gauge_pressure": 5e5, "area": 0.02, "gas_volume": 0.005, "area_slope": 0.0, "exponent": 1.4} | arguments
    with pytest.raises(ValueError, match=words):
        spring_rate(**numbers)
