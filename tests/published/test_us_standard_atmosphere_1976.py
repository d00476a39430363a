"""U.S. Standard Atmosphere, 1976 (NOAA-S/T 76-1562): constants of the troposphere, and its pressure by feet.

Tables by geometric altitude Z are met at the geopotential altitude H = r Z / (r + Z), r = 6356.766 km (the standard's
eq. 18, from memory). Tolerance: half the last printed digit.
"""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.physics.atmosphere import standard_pressure
from planner.units.quantity import display, read

T0, LAPSE, P0 = 288.15, 6.5e-3, 101_325.0  # [K, K/m, Pa]
G0, MOLAR_MASS, GAS_CONSTANT = 9.80665, 28.9644e-3, 8.31432  # [m/s², kg/mol, J/(mol K)]
EARTH_RADIUS = 6_356_766.0  # [m]


def test_pressure_follows_from_the_constants() -> None:
    altitude = np.linspace(-500.0, 11_000.0, 24)
    expected = P0 * (1.0 - LAPSE * altitude / T0) ** (G0 * MOLAR_MASS / (GAS_CONSTANT * LAPSE))
    assert_allclose(standard_pressure(altitude), expected, rtol=5e-6)  # the function has both constants to six digits


def test_pressure_at_the_top_of_the_troposphere() -> None:
    assert_allclose(standard_pressure(11_000.0), 22_632, rtol=0, atol=0.5)


@pytest.mark.parametrize(("feet", "printed"), [(5000, 12.228), (10_000, 10.108), (15_000, 8.297)])
def test_pressure_by_geometric_feet(feet: float, printed: float) -> None:
    geometric = read(f"{feet} ft", "length")
    pressure = standard_pressure(EARTH_RADIUS * geometric / (EARTH_RADIUS + geometric))
    assert_allclose(display(float(pressure), "pressure", "us")[0], printed, rtol=0, atol=0.0005)


@pytest.mark.parametrize("altitude", [-501.0, 11_001.0, np.nan])
def test_other_layers_are_refused(altitude: float) -> None:
    with pytest.raises(ValueError, match="altitude must lie between -500 and 11000 m"):
        standard_pressure(altitude)
