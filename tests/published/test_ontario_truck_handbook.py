"""Ministry of Transportation of Ontario, Official Truck Handbook, air brakes: leak limits in kPa and whole psi.

21 kPa (3 psi) and 28 kPa (4 psi) in a minute; only the units are checked. Tolerance: half the last printed digit.
"""

import pytest
from numpy.testing import assert_allclose

from planner.units.quantity import display, read


@pytest.mark.parametrize(("text", "psi"), [("21 kPa", 3), ("28 kPa", 4)])
def test_kpa_in_whole_psi(text: str, psi: int) -> None:
    assert_allclose(display(read(text, "pressure"), "pressure", "us")[0], psi, rtol=0, atol=0.5)
