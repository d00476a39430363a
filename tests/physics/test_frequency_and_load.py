"""Dirac Delta, a dictionary of science and engineering, entry "air spring".

It has an "almost constant system natural frequency throughout the normal vehicle load range". No
number is printed for "almost"; a tenth is taken here, where a steel spring's frequency would change by half.
"""

import numpy as np

from planner.physics.air_spring import spring_rate
from planner.physics.constants import STANDARD_GRAVITY
from planner.physics.ride import bounce_frequency

AREA, VOLUME = 0.03, 0.010  # [m², m³]
GAUGE = np.array([3e5, 4e5, 5e5, 6e5, 7e5])  # [Pa] in step with the load


def test_frequency_hardly_changes_with_load() -> None:
    mass = GAUGE * AREA / STANDARD_GRAVITY
    air = bounce_frequency(spring_rate(GAUGE, AREA, VOLUME, area_slope=0.0, exponent=1.38), mass)
    steel = bounce_frequency(1e5, mass)
    assert np.ptp(air) < 0.1 * air.mean()
    assert np.ptp(steel) > 0.4 * steel.mean()
