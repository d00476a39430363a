"""Saturated air and pump-up in round figures, as compressor-trade pages print them.

Vapour in g/m³ of air: 0.3 % beside half the last printed digit, as their saturation pressure is another formula's. Of
the tank the page asks how long; its answer is the arithmetic of its own figures, so that row shows consistency alone.
"""

import numpy as np
import pytest

from planner.physics.air_flow import Compressor
from planner.physics.moisture import condensed, humidity_ratio, saturation_pressure

PRESSURE, DRY_GAS_CONSTANT = 101_325.0, 287.042  # J/(kg·K): ASHRAE Handbook, Fundamentals, 2017, ch. 1, eq. 1
PSI, CUBIC_FOOT = 6894.757, 0.02831685


def dry_density(kelvin):
    """Return the dry air in a cubic metre of saturated air. [kg/m³]"""
    return (PRESSURE - saturation_pressure(kelvin)) / (DRY_GAS_CONSTANT * kelvin)


@pytest.mark.parametrize(("celsius", "printed", "half"), [(20, 17.3, 0.05), (35, 39.6, 0.05)])
def test_vapour_in_saturated_air(compare, celsius, printed, half):
    kelvin = celsius + 273.15
    found = 1e3 * dry_density(kelvin) * humidity_ratio(saturation_pressure(kelvin), PRESSURE)
    compare(f"vapour in saturated air at {celsius} °C", printed, found, "g/m³", half + 0.003 * printed)


def test_of_saturated_air_squeezed_to_an_eighth_seven_eighths_of_the_water_comes_out(compare):
    kelvin = 35 + 273.15
    vapour = saturation_pressure(kelvin)
    squeezed = 8.0 * (PRESSURE - vapour) + vapour  # its dry part takes an eighth of the room
    found = 1e3 * dry_density(kelvin) * condensed(kelvin, 1.0, squeezed, kelvin, PRESSURE)
    compare("water out of air at 35 °C, squeezed 8 : 1 and cooled back", 34.68, found, "g/m³", 0.005 + 0.003 * 34.68)


def test_a_tank_of_100_gallons_is_pumped_up_by_15_cfm(compare):
    delivery = 15 * CUBIC_FOOT / 60 * 14.7 * PSI / 100e3  # their free air is at 14.7 psi, ours at 100 kPa
    pump = Compressor(np.array([0.0, 120 * PSI]), np.full(2, delivery))
    minutes = pump.pump_up_time(13.37 * CUBIC_FOOT, 0.0, 120 * PSI) / 60
    compare("100 gal from 0 to 120 psi by 15 cfm", 7.28, minutes, "min", 0.005)
