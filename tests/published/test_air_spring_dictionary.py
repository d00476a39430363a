"""Dirac Delta, a dictionary of science and engineering, entry "air spring".

It has k = γ p S / l and an "almost constant system natural frequency throughout the normal vehicle load range". No
number is printed for "almost"; a tenth is taken here, where a steel spring's frequency would change by half.
"""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.physics.air_spring import spring_rate
from planner.physics.constants import STANDARD_GRAVITY, STANDARD_PRESSURE
from planner.physics.ride import bounce_frequency

AREA, VOLUME = 0.03, 0.010  # [m², m³]
GAUGE = np.array([3e5, 4e5, 5e5, 6e5, 7e5])  # [Pa] in step with the load


def test_frequency_hardly_changes_with_load() -> None:
    mass = GAUGE * AREA / STANDARD_GRAVITY
    air = bounce_frequency(spring_rate(GAUGE, AREA, VOLUME, area_slope=0.0, exponent=1.38), mass)
    steel = bounce_frequency(1e5, mass)
    assert np.ptp(air) < 0.1 * air.mean()
    assert np.ptp(steel) > 0.4 * steel.mean()


@pytest.mark.parametrize("length", [0.1, 0.2, 0.4])
def test_rate_of_a_column_by_its_length(length: float) -> None:
    rate = spring_rate(GAUGE, AREA, AREA * length, area_slope=0.0, exponent=1.4)
    assert_allclose(rate, 1.4 * (GAUGE + STANDARD_PRESSURE) * AREA / length, rtol=1e-12)
