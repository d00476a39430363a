"""U.S. Department of Housing and Urban Development, Residential Structural Design Guide, appendix B: unit conversions.

Tolerance: half the last printed digit.
"""

import pytest
from numpy.testing import assert_allclose

from planner.units.quantity import Dimension, read


@pytest.mark.parametrize(
    ("text", "dimension", "per_si", "printed", "half_digit"),
    [
        ("1 psi", "pressure", 1, 6894.757, 5e-4),  # Pa
        ("1 gal", "volume", 1000, 3.7854118, 5e-8),  # L
        ("1 lb", "weight", 1, 0.4535924, 5e-8),  # kg
        ("1 lbf", "load", 1, 4.448222, 5e-7),  # N
        ("1 lb", "load", 1, 4.448222, 5e-7),  # N: a load may be typed as the weight it is
        ("1 ft**3", "volume", 1, 0.02831685, 5e-9),  # m³
    ],
)
def test_factor(text: str, dimension: Dimension, per_si: float, printed: float, half_digit: float) -> None:
    assert_allclose(read(text, dimension) * per_si, printed, rtol=0, atol=half_digit)
