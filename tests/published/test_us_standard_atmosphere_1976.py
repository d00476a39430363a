"""U.S. Standard Atmosphere, 1976 (NOAA-S/T 76-1562): pressure at the top of the troposphere, and by feet.

Tables by geometric altitude Z are met at the geopotential altitude H = r Z / (r + Z), r = 6356.766 km (the standard's
eq. 18, from memory). Tolerance: half the last printed digit.
"""

import pytest

from planner.physics.atmosphere import standard_pressure
from planner.units.quantity import display, read

from .comparison import Compare

EARTH_RADIUS = 6_356_766.0  # [m]


def test_pressure_at_the_top_of_the_troposphere(compare: Compare) -> None:
    compare("air pressure at 11,000 m", 22_632, standard_pressure(11_000.0), "Pa", 0.5)


@pytest.mark.parametrize(("feet", "printed"), [(5000, 12.228), (10_000, 10.108), (15_000, 8.297)])
def test_pressure_by_geometric_feet(compare: Compare, feet: float, printed: float) -> None:
    geometric = read(f"{feet} ft", "length")
    pressure = standard_pressure(EARTH_RADIUS * geometric / (EARTH_RADIUS + geometric))
    compare(f"air pressure at {feet:,} ft", printed, display(float(pressure), "pressure", "us")[0], "psi", 0.0005)
