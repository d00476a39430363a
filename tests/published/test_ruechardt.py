"""Rüchardt's experiment: a ball bounces on the air of a flask, T = 2π √(m V / γ p A²), p = p₀ + m g / A.

Flask and tube as in Oberlin College's demonstration 3A70.20: V = 10.4 L, A = 2.0·10⁻⁴ m². The mass of the ball is
not given, so any must give γ back; the three here span a glass and a steel ball. Tolerance: rounding.
"""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.physics.air_spring import spring_rate
from planner.physics.constants import STANDARD_GRAVITY, STANDARD_PRESSURE
from planner.physics.ride import bounce_frequency

VOLUME, AREA = 10.4e-3, 2.0e-4  # [m³, m²]


@pytest.mark.parametrize("mass", [0.005, 0.0165, 0.030])
@pytest.mark.parametrize("gamma", [1.4, 1.667])
def test_the_period_gives_back_the_ratio_of_heat_capacities(mass: float, gamma: float) -> None:
    gauge = mass * STANDARD_GRAVITY / AREA
    rate = spring_rate(gauge, AREA, VOLUME, area_slope=0.0, exponent=gamma)
    period = 1.0 / bounce_frequency(rate, mass)
    found = 4 * np.pi**2 * mass * VOLUME / (AREA**2 * (STANDARD_PRESSURE + gauge) * period**2)
    assert_allclose(found, gamma, rtol=1e-12)
