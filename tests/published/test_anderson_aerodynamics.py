"""J. D. Anderson, Fundamentals of Aerodynamics, 6th ed., appendix D: pressure by geometric altitude, to five figures.

Read in a public program that copies the column. Tolerance: 1 Pa, the whole last digit, because three of the ten rows
lie 0.6 Pa under the standard, as if cut off and not rounded.
"""

import pytest

from planner.physics.atmosphere import standard_pressure

from .comparison import Compare

EARTH_RADIUS = 6_356_766.0  # [m] U.S. Standard Atmosphere, 1976
PRESSURE = [89_876, 79_501, 70_121, 61_660, 54_048, 47_217, 41_105, 35_651, 30_800, 26_500]  # [Pa] at 1, 2, ... 10 km


@pytest.mark.parametrize(("kilometres", "printed"), list(enumerate(PRESSURE, start=1)))
def test_pressure_by_geometric_altitude(compare: Compare, kilometres: int, printed: float) -> None:
    geometric = kilometres * 1000.0
    geopotential = EARTH_RADIUS * geometric / (EARTH_RADIUS + geometric)
    compare(f"air pressure at {kilometres} km", printed, standard_pressure(geopotential), "Pa", 1.0)
