"""Sizes of units as they are printed: only the conversion is checked. Tolerance: half the last printed digit.

SP 811: NIST Special Publication 811, appendix B.8, exact by definition, to the rounding of a float.
HUD: U.S. Department of Housing and Urban Development, Residential Structural Design Guide, appendix B.
49 CFR 393.75(h), warm tyres, as the 2005 text is quoted. J684: SAE J684, classes of trailers.
J844: SAE J844 (1998), tubing; 1030 kPa has three digits.
Ontario: Ministry of Transportation of Ontario, Official Truck Handbook, leak limits.
"""

import pytest
from numpy.testing import assert_allclose

from planner.units.quantity import Dimension, System, display, read

SP_811: list[tuple[str, Dimension, float, float]] = [
    ("1 psi", "pressure", 6894.757293168, 5e-10),
    ("1 lbf", "load", 4.4482216152605, 1e-15),
    ("1 lb", "weight", 0.45359237, 1e-15),
    ("1 in", "length", 0.0254, 1e-15),
    ("1 gal", "volume", 3.785411784e-3, 1e-15),
]
HUD: list[tuple[str, Dimension, float, float]] = [
    ("1 psi", "pressure", 6894.757, 5e-4),
    ("1 gal", "volume", 3.7854118e-3, 5e-11),
    ("1 lb", "weight", 0.4535924, 5e-8),
    ("1 lbf", "load", 4.448222, 5e-7),
    ("1 lb", "load", 4.448222, 5e-7),  # a load may be typed as the weight it is
    ("1 ft**3", "volume", 0.02831685, 5e-9),
]
SHOWN: list[tuple[str, Dimension, System, float, float]] = [
    ("101.325 kPa", "pressure", "us", 14.6959488, 5e-8),  # SP 811
    ("5 psi", "pressure", "metric", 0.345, 0.0005),  # 49 CFR 393
    ("15 psi", "pressure", "metric", 1.034, 0.0005),
    ("4000 lb", "weight", "metric", 1814, 0.5),
    ("2000 lb", "weight", "metric", 907, 0.5),  # J684
    ("3500 lb", "weight", "metric", 1588, 0.5),
    ("5000 lb", "weight", "metric", 2268, 0.5),
    ("10000 lb", "weight", "metric", 4536, 0.5),
    ("-40 degF", "temperature", "metric", -40, 1e-9),  # J844
    ("200 degF", "temperature", "metric", 93, 0.5),
    ("200 degF", "temperature", "us", 200, 1e-9),
    ("150 psi", "pressure", "metric", 10.30, 0.05),
    ("21 kPa", "pressure", "us", 3, 0.5),  # Ontario
    ("28 kPa", "pressure", "us", 4, 0.5),
]


@pytest.mark.parametrize(("text", "dimension", "si", "tolerance"), SP_811 + HUD)
def test_a_unit_as_read(text: str, dimension: Dimension, si: float, tolerance: float) -> None:
    assert_allclose(read(text, dimension), si, rtol=0, atol=tolerance)


@pytest.mark.parametrize(("text", "dimension", "si", "tolerance"), SP_811)
def test_the_unit_as_shown(text: str, dimension: Dimension, si: float, tolerance: float) -> None:
    # half a digit of the factor is tolerance / si of the 1 that comes back; loads are shown as weights, so lbf as lb
    number, label = display(si, dimension, "us")
    assert_allclose(number, 1, rtol=0, atol=max(tolerance / si, 1e-15))
    assert label == text.split()[1].removesuffix("f")


@pytest.mark.parametrize(("text", "dimension", "system", "printed", "half_digit"), SHOWN)
def test_a_number_as_shown(text: str, dimension: Dimension, system: System, printed: float, half_digit: float) -> None:
    assert_allclose(display(read(text, dimension), dimension, system)[0], printed, rtol=0, atol=half_digit)
