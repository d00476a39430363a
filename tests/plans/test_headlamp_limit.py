"""SAE J599, lighting inspection: aim is checked at 25 ft, within 4 in (100 mm). From memory: no hard oracle.

4 in at 25 ft are 1.33 % or 0.76°.
"""

import math
from collections.abc import Callable

import pytest
from numpy.testing import assert_allclose

from planner.plans.level import level
from planner.records import Stance, Truck
from planner.units.quantity import display, quantity, read


@pytest.mark.parametrize(("degrees", "severity"), [(0.75, "note"), (0.77, "caution")])
def test_past_4_in_the_aim_is_a_caution(make_truck: Callable[..., Truck], degrees: float, severity: str) -> None:
    truck = make_truck({"instruments": {"gauge_step": "1e-7 psi"}})  # what is set is what is asked
    rise = quantity(truck.wheelbase * math.tan(read(f"{degrees} deg", "angle")), "mm", "length")
    finding = next(one for one in level(truck, stance=Stance(front=rise)).findings if one.code == "headlamp-aim")
    assert finding.level == severity
    assert_allclose(display(finding.limit, "length", "us")[0], 4, rtol=1e-9)
    assert_allclose(finding.limit / finding.amounts["screen"][0], 0.0133, rtol=0, atol=0.00005)
