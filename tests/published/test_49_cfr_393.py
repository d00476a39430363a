"""49 CFR 393.75(h), build-up of pressure in a warm tyre: its numbers in both systems of units.

5 psi (34.5 kPa) for tyres rated up to 4000 lb (1814 kg), 15 psi (103.4 kPa) above. Read where the 2005 text is quoted;
only the units are checked. Tolerance: half the last printed digit.
"""

import pytest
from numpy.testing import assert_allclose

from planner.units.quantity import display, read


@pytest.mark.parametrize(("text", "bar"), [("5 psi", 0.345), ("15 psi", 1.034)])
def test_pressures(text: str, bar: float) -> None:
    assert_allclose(display(read(text, "pressure"), "pressure", "metric")[0], bar, rtol=0, atol=0.0005)


def test_tyre_rating() -> None:
    assert_allclose(display(read("4000 lb", "weight"), "weight", "metric")[0], 1814, rtol=0, atol=0.5)
