"""Water in compressed air, tips at gaeicc.com: US gallons an hour for each cfm of free air that is drawn in.

All of the vapour counts; 8.34 lb to the gallon. Half the last printed digit, and 0.3 % of a density rounded there.
"""

import pytest
from numpy.testing import assert_allclose

from planner.physics.moisture import MASS_RATIO, humidity_ratio, saturation_pressure

POUND, CUBIC_FOOT, PRESSURE = 0.45359237, 0.02831685, 101_325.0
DRY_GAS_CONSTANT = 287.042  # J/(kg·K): ASHRAE Handbook, Fundamentals, 2017, ch. 1, eq. 1


@pytest.mark.parametrize(
    ("fahrenheit", "humidity", "printed"),
    [
        (70, 1.0, 0.0083),
        (70, 0.7, 0.0058),
        (80, 1.0, 0.0114),
        (80, 0.5, 0.0057),
        (100, 1.0, 0.0205),
        (100, 0.6, 0.0123),
    ],
)
def test_gallons_an_hour(compare, fahrenheit, humidity, printed):
    kelvin = (fahrenheit + 459.67) / 1.8
    vapour = humidity * saturation_pressure(kelvin)
    dry = (PRESSURE - vapour) / (DRY_GAS_CONSTANT * kelvin)  # kg in a m³
    water = dry * humidity_ratio(vapour, PRESSURE)
    assert_allclose(water, MASS_RATIO * vapour / (DRY_GAS_CONSTANT * kelvin), rtol=1e-9)
    found = water * CUBIC_FOOT * 60 / POUND / 8.34
    what = f"water in a cfm of free air at {fahrenheit} °F, {humidity:.0%} humid"
    compare(what, printed, found, "gal/h", 0.00005 + 0.003 * printed)
