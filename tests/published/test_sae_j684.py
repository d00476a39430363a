"""SAE J684, classes of trailers by gross weight: 2000, 3500, 5000 and 10,000 lb, printed also in kilograms.

Read where others copy it; only the units are checked. Tolerance: half the last printed digit.
"""

import pytest
from numpy.testing import assert_allclose

from planner.units.quantity import display, read


@pytest.mark.parametrize(("pounds", "kilograms"), [(2000, 907), (3500, 1588), (5000, 2268), (10_000, 4536)])
def test_class_limits(pounds: int, kilograms: int) -> None:
    assert_allclose(display(read(f"{pounds} lb", "weight"), "weight", "metric")[0], kilograms, rtol=0, atol=0.5)
    assert_allclose(read(f"{pounds} lb", "weight"), kilograms, rtol=0, atol=0.5)
