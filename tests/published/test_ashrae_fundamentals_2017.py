"""ASHRAE Handbook, Fundamentals, 2017, ch. 1: standard atmosphere (table 1), saturation over ice and water (table 3).

Read in the tests of PsychroLib. Tolerance: half the last printed digit in
Pa. The psia column lies up to 0.0024 psi above the handbook's own equation 3 (its Pa column lies on it), so there it is
0.0025 psi.
"""

import pytest

from planner.physics.atmosphere import standard_pressure
from planner.physics.moisture import saturation_pressure
from planner.units.quantity import display, read

from .comparison import Compare

METRES = [(-500, 107_478), (0, 101_325), (500, 95_461), (1000, 89_875), (4000, 61_640), (10_000, 26_436)]
FEET = [(0, 14.696), (1000, 14.175), (3000, 13.173), (10_000, 10.108)]


@pytest.mark.parametrize(("altitude", "printed"), METRES)
def test_pressure_by_metres(compare: Compare, altitude: float, printed: float) -> None:
    compare(f"air pressure at {altitude:,} m", printed, standard_pressure(altitude), "Pa", 0.5)


@pytest.mark.parametrize(("feet", "printed"), FEET)
def test_pressure_by_feet(compare: Compare, feet: float, printed: float) -> None:
    number, unit = display(float(standard_pressure(read(f"{feet} ft", "length"))), "pressure", "us")
    assert unit == "psi"
    compare(f"air pressure at {feet:,} ft", printed, number, "psi", 0.0025)


CELSIUS = [(-60, 1.08, 0.005), (-20, 103.24, 0.005), (-5, 401.74, 0.005), (5, 872.6, 0.05), (25, 3169.7, 0.05)]
CELSIUS += [(50, 12_351.3, 0.05), (100, 101_418.0, 0.5), (150, 476_101.4, 0.05)]  # Pa, half the last digit
FAHRENHEIT = [(-4, 0.014974), (23, 0.058268), (41, 0.12656), (77, 0.45973), (122, 1.79140), (212, 14.7094)]  # psia


@pytest.mark.parametrize(("celsius", "printed", "half"), CELSIUS)
def test_saturation_in_pascal(compare: Compare, celsius: float, printed: float, half: float) -> None:
    # PsychroLib holds this table to 300 ppm, as the handbook's own equations lie off it by so much
    found = saturation_pressure(celsius + 273.15)
    compare(f"saturated vapour at {celsius} °C", printed, found, "Pa", half + 3e-4 * printed)


@pytest.mark.parametrize(("fahrenheit", "printed"), FAHRENHEIT)
def test_saturation_in_psia(compare: Compare, fahrenheit: float, printed: float) -> None:
    pressure = float(saturation_pressure((fahrenheit + 459.67) / 1.8))
    found = display(pressure, "pressure", "us")[0]
    compare(f"saturated vapour at {fahrenheit} °F", printed, found, "psi", 3e-4 * printed)
