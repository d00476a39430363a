"""Frequency from static deflection, f = √(g / δ) / 2π, after a motoring magazine (AutoSpeed, article 112279).

Its example, 250 kg on 1 kg/mm, goes down 250 mm (about 10 in) and bounces about once a second; the further digits were
worked out by hand. A calculator page has 0.5615 / √δ: that is a beam's, not a mass's on a spring, which has 0.4985.
Tolerance: half the last digit given.
"""

import pytest
from numpy.testing import assert_allclose

from planner.physics.constants import STANDARD_GRAVITY
from planner.physics.ride import bounce_frequency
from planner.units.quantity import read


def test_250_kg_on_1_kg_per_mm() -> None:
    frequency = bounce_frequency(read("1 kg/mm", "spring rate"), read("250 kg", "weight"))
    assert_allclose(frequency, 0.997, rtol=0, atol=0.0005)


@pytest.mark.parametrize(
    ("deflection", "frequency", "half_digit"), [("10 in", 0.989, 0.0005), ("248 mm", 1.0008, 0.00005)]
)
@pytest.mark.parametrize("mass", [100.0, 1000.0])
def test_frequency_from_static_deflection(deflection: str, frequency: float, half_digit: float, mass: float) -> None:
    rate = mass * STANDARD_GRAVITY / read(deflection, "length")
    assert_allclose(bounce_frequency(rate, mass), frequency, rtol=0, atol=half_digit)
