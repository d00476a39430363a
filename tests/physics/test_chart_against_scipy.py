"""F. N. Fritsch and R. E. Carlson, SIAM J. Numer. Anal. 17 (1980) 238-246: the RPN data, on which splines overshoot.

Printed again by J. M. Hyman, SIAM J. Sci. Stat. Comput. 4 (1983) 645-654. One is added to each value, since an area is
above nought. Reference for the values between: scipy's own pchip_interpolate and quad. Tolerance: rounding.
"""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad
from scipy.interpolate import CubicSpline, pchip_interpolate

from planner.physics.air_spring import Bag

HEIGHTS = np.array([7.99, 8.09, 8.19, 8.7, 9.2, 10.0, 12.0, 15.0, 20.0])
AREAS = 1.0 + np.array([0.0, 2.76429e-5, 4.37498e-2, 0.169183, 0.469428, 0.943740, 0.998636, 0.999919, 0.999994])
BETWEEN = np.linspace(7.99, 20.0, 2_000)


@pytest.fixture
def bag() -> Bag:
    """A chart with the paper's numbers."""
    return Bag(HEIGHTS, AREAS, 10.0, 30.0, 0.0, 1.0)


def test_a_chart_that_rises_is_read_as_one_that_rises(bag: Bag) -> None:
    assert (np.diff(bag.area(BETWEEN)) >= 0).all()
    assert (bag.area_slope(BETWEEN) >= -1e-15).all()
    assert (np.diff(CubicSpline(HEIGHTS, AREAS)(BETWEEN)) < 0).any()  # the data do tell the two apart


def test_area_against_scipy(bag: Bag) -> None:
    assert_allclose(bag.area(BETWEEN), pchip_interpolate(HEIGHTS, AREAS, BETWEEN), rtol=1e-14)
    assert_allclose(bag.area_slope(BETWEEN), pchip_interpolate(HEIGHTS, AREAS, BETWEEN, der=1), rtol=1e-9, atol=1e-13)


@pytest.mark.parametrize("height", [7.99, 8.3, 9.7, 11.0, 20.0])
def test_gas_volume_against_quadrature(bag: Bag, height: float) -> None:
    swept = quad(lambda b: float(pchip_interpolate(HEIGHTS, AREAS, b)), 10.0, height, points=HEIGHTS[1:-1])[0]
    assert_allclose(bag.gas_volume(height), 30.0 + swept, rtol=1e-10)  # cubics: exact but for rounding
