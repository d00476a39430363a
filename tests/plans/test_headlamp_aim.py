"""Where a beam meets a screen 25 ft (7.62 m) away: drop = 7.62 m × tan(angle).

0.4° = 53.2 mm (2.1 in), 0.38° = 50.5 mm (2.0 in), 2° = 266.1 mm (10.5 in): common practice in service manuals, and
plain geometry. Tolerance: half the last digit given.
"""

import math
from collections.abc import Callable

import pytest
from numpy.testing import assert_allclose

from planner.plans.level import level
from planner.records import Stance, Truck
from planner.units.quantity import display, quantity, read


def test_the_screen_is_at_25_ft() -> None:
    assert_allclose(read("25 ft", "length"), 7.62, rtol=1e-15)


@pytest.mark.parametrize(
    ("text", "millimetres", "inches"), [("0.4 deg", 53.2, 2.1), ("0.38 deg", 50.5, 2.0), ("2 deg", 266.1, 10.5)]
)
@pytest.mark.parametrize("nose", ["up", "down"])
def test_pitch_moves_the_beam(
    make_truck: Callable[..., Truck], text: str, millimetres: float, inches: float, nose: str
) -> None:
    truck = make_truck({"instruments": {"gauge_step": "1e-7 psi"}})  # what is set is what is asked
    rise = quantity(truck.wheelbase * math.tan(read(text, "angle")), "mm", "length")
    answer = level(truck, stance=Stance(front=rise) if nose == "up" else Stance(rear=rise))
    finding = next(one for one in answer.findings if one.code == "headlamp-aim")
    assert f" {nose} at " in finding.text
    assert_allclose(display(finding.value, "length", "metric")[0], millimetres, rtol=0, atol=0.05)
    assert_allclose(display(finding.value, "length", "us")[0], inches, rtol=0, atol=0.05)
