"""A chart through 16, 18, 21, 17, 15, 12, worked out by hand from the rules of PCHIP. Tolerance: rounding.

The rules and the points are those of C. Moler, Numerical Computing with MATLAB, SIAM, 2004, ch. 3, for even steps:
the slope at a point is the harmonic mean of those beside it, nought where they change sign; at the ends it is
(3 δ₁ - δ₂) / 2.
"""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.physics.air_spring import Bag

AREAS = [16.0, 18.0, 21.0, 17.0, 15.0, 12.0]
SLOPES = [3 / 2, 12 / 5, 0.0, -8 / 3, -12 / 5, -7 / 2]  # δ = 2, 3, -4, -2, -3
MIDDLES = [16.8875, 19.8, 58 / 3, 479 / 30, 13.6375]  # (y₁ + y₂) / 2 + (d₁ - d₂) / 8


@pytest.fixture
def bag() -> Bag:
    """A chart with the example's numbers."""
    return Bag(np.arange(1.0, 7.0), np.array(AREAS), 1.0, 1.0, 0.0, 1.0)


def test_area_meets_the_points(bag: Bag) -> None:
    assert_allclose(bag.area(np.arange(1, 7)), AREAS, rtol=1e-14)


def test_area_slope_at_the_points(bag: Bag) -> None:
    assert_allclose(bag.area_slope(np.arange(1, 7)), SLOPES, rtol=1e-12, atol=1e-12)


def test_area_midway(bag: Bag) -> None:
    assert_allclose(bag.area(np.arange(1, 6) + 0.5), MIDDLES, rtol=1e-12)


def test_gas_volume_between_the_points(bag: Bag) -> None:
    # a cubic's integral over an even step is (y₁ + y₂) / 2 + (d₁ - d₂) / 12
    y, d = np.array(AREAS), np.array(SLOPES)
    gained = (y[:-1] + y[1:]) / 2 + (d[:-1] - d[1:]) / 12
    assert_allclose(np.diff(bag.gas_volume(np.arange(1, 7))), gained, rtol=1e-12)
