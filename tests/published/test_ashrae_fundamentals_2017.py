"""ASHRAE Handbook, Fundamentals, 2017, ch. 1, table 1: standard atmosphere, in Pa by metres and in psia by feet.

Read in the tests of PsychroLib. Tolerance: half the last printed digit in
Pa. The psia column lies up to 0.0024 psi above the handbook's own equation 3 (its Pa column lies on it), so there it is
0.0025 psi.
"""

import pytest

from planner.physics.atmosphere import standard_pressure
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
