"""SAE J844 (1998), air-brake tubing: -40 °C (-40 °F) to 93 °C (200 °F), 1030 kPa (150 psi).

Read in a copy; only the units are checked. Tolerance: half the last printed digit; 1030 kPa has three digits.
"""

import pytest
from numpy.testing import assert_allclose

from planner.units.quantity import display, read


@pytest.mark.parametrize(("fahrenheit", "celsius", "tolerance"), [(-40, -40, 1e-9), (200, 93, 0.5)])
def test_temperatures(fahrenheit: int, celsius: int, tolerance: float) -> None:
    kelvin = read(f"{fahrenheit} degF", "temperature")
    assert_allclose(display(kelvin, "temperature", "metric")[0], celsius, rtol=0, atol=tolerance)
    assert_allclose(display(kelvin, "temperature", "us")[0], fahrenheit, rtol=0, atol=1e-9)


def test_pressure() -> None:
    assert_allclose(display(read("150 psi", "pressure"), "pressure", "metric")[0], 10.30, rtol=0, atol=0.05)  # bar
