"""The Engineering ToolBox, "Compressed Air - Water Content": kg of water in a m³ of free air, saturated.

Two digits are printed, so 3 %; 4 % in the row of 60 °C, where 0.18 is of nearly as much vapour as air. Free air there
is dry air of 1.204 kg/m³, at 20 °C and 101,325 Pa.
"""

import pytest

from planner.physics.moisture import condensed, humidity_ratio, saturation_pressure

from .comparison import half_a_digit

DRY_DENSITY = 1.204  # kg/m³
BARS = [0, 2, 4, 6, 8, 10, 12, 14]  # gauge
TABLE = {
    0: [0.0045, 0.0015, 0.00091, 0.00065, 0.00051, 0.00041, 0.00035, 0.00030],
    20: [0.018, 0.0058, 0.0035, 0.0025, 0.0019, 0.0016, 0.0013, 0.0012],
    40: [0.059, 0.019, 0.011, 0.0079, 0.0062, 0.0050, 0.0043, 0.0037],
    60: [0.18, 0.053, 0.031, 0.022, 0.017, 0.014, 0.012, 0.010],
}


@pytest.mark.parametrize("celsius", TABLE)
def test_saturated_air(compare, celsius):
    for bar, printed in zip(BARS, TABLE[celsius], strict=True):
        held = DRY_DENSITY * humidity_ratio(saturation_pressure(celsius + 273.15), 101_325 + bar * 1e5)
        off = 0.03 * printed + half_a_digit(printed, 2)
        compare(f"water in saturated air of {celsius} °C at {bar} bar", printed, held, "kg/m³", off)


def test_example_air_of_20_degrees_and_70_percent_in_a_tank_of_40_degrees(compare):
    kept = DRY_DENSITY * condensed(293.15, 0.70, 901_325, 313.15)
    # 70 % of 0.018, which is rounded, less 0.0062
    compare("water left in a tank at 40 °C and 8 bar of air drawn in at 20 °C, 70 %", 0.0064, kept, "kg/m³", 0.0004)
