"""SAE HS-1576, Manual for Incorporating Pneumatic Springs in Vehicle Suspension Designs: k = n p_abs A²/V - p_g dA/dh.

The manual exists; this form of its sign is from memory, so the check is of the closed form against the force itself:
p V^n constant, F = p_g A, differentiated by central differences.
"""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.physics.air_spring import Bag, spring_rate

AMBIENT, GAUGE, START = 101_325.0, 5e5, 0.15  # [Pa, Pa, m]
STEP = 1e-5  # [m] error of the differences about STEP² F''' / 6, below 1e-6 of the rate


@pytest.fixture(params=["narrows as it rises", "widens as it rises"])
def bag(request: pytest.FixtureRequest) -> Bag:
    """An invented bag whose area changes with height."""
    areas = np.array([0.036, 0.035, 0.033, 0.030, 0.027, 0.022])
    return Bag(
        np.linspace(0.08, 0.22, 6), areas if "narrows" in request.param else areas[::-1].copy(), START, 0.007, 0.0, 1e6
    )


def gauge_pressure(bag: Bag, height: float, exponent: float) -> float:
    """Return the gauge pressure of air shut in at the start. [Pa]"""
    return float((GAUGE + AMBIENT) * (0.007 / bag.gas_volume(height)) ** exponent - AMBIENT)


def force(bag: Bag, height: float, exponent: float) -> float:
    """Return the load the bag carries. [N]"""
    return float(gauge_pressure(bag, height, exponent) * bag.area(height))


@pytest.mark.parametrize("exponent", [1.0, 1.38, 1.4])
@pytest.mark.parametrize("height", [0.10, 0.13, 0.15, 0.17, 0.20])
def test_rate_is_the_slope_of_the_force(bag: Bag, height: float, exponent: float) -> None:
    slope = (force(bag, height + STEP, exponent) - force(bag, height - STEP, exponent)) / (2 * STEP)
    rate = spring_rate(
        gauge_pressure(bag, height, exponent),
        bag.area(height),
        bag.gas_volume(height),
        area_slope=bag.area_slope(height),
        exponent=exponent,
    )
    assert_allclose(rate, -slope, rtol=1e-6)


@pytest.mark.parametrize("height", [0.10, 0.15, 0.20])
def test_area_is_the_slope_of_the_volume(bag: Bag, height: float) -> None:
    slope = (bag.gas_volume(height + STEP) - bag.gas_volume(height - STEP)) / (2 * STEP)
    assert_allclose(bag.area(height), slope, rtol=1e-6)


def test_an_area_that_falls_with_height_stiffens() -> None:
    rates = spring_rate(GAUGE, 0.03, 0.007, area_slope=np.array([-0.1, 0.0, 0.1]), exponent=1.38)
    assert (np.diff(rates) < 0).all()
