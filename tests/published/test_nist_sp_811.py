"""NIST Special Publication 811, appendix B.8: factors between customary and SI units, exact by definition.

Read where others copy it. Tolerance: half the last digit given, for exact factors the rounding of a float.
"""

import pytest
from numpy.testing import assert_allclose

from planner.units.quantity import Dimension, display, read

FACTORS = [
    ("1 psi", "pressure", 6894.757293168, 5e-10),
    ("1 lbf", "load", 4.4482216152605, 1e-15),
    ("1 lb", "weight", 0.45359237, 1e-15),
    ("1 in", "length", 0.0254, 1e-15),
    ("1 gal", "volume", 3.785411784e-3, 1e-15),
]


@pytest.mark.parametrize(("text", "dimension", "si", "tolerance"), FACTORS)
def test_a_unit_as_read(text: str, dimension: Dimension, si: float, tolerance: float) -> None:
    assert_allclose(read(text, dimension), si, rtol=0, atol=tolerance)


@pytest.mark.parametrize(("text", "dimension", "si", "tolerance"), FACTORS)
def test_the_unit_as_shown(text: str, dimension: Dimension, si: float, tolerance: float) -> None:
    # half a digit of the factor is tolerance / si of the 1 that comes back; loads are shown as weights, so lbf as lb
    number, label = display(si, dimension, "us")
    assert_allclose(number, 1, rtol=0, atol=max(tolerance / si, 1e-15))
    assert label == text.split()[1].removesuffix("f")


@pytest.mark.parametrize(("text", "printed", "half_digit"), [("101.325 kPa", 14.6959488, 5e-8)])
def test_an_atmosphere_in_psi(text: str, printed: float, half_digit: float) -> None:
    assert_allclose(display(read(text, "pressure"), "pressure", "us")[0], printed, rtol=0, atol=half_digit)
