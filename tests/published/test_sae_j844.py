"""SAE J844 (1998), nonmetallic air brake tubing, as copied: 1030 kPa (150 psi), -40 °C (-40 °F) to 93 °C (200 °F).

29 CFR 1917.155: a drain at the lowest point, no valve between tank and safety valve.
"""

import pytest
from numpy.testing import assert_allclose

from planner.forms.commissioning import COMMISSIONING
from planner.plans.air_supply import TUBE_COLDEST, TUBE_HOTTEST, TUBE_LIMIT, TUBE_PSI
from planner.units.quantity import read


def test_working_pressure_in_both_units(compare):
    assert TUBE_LIMIT == 1030e3
    kilopascal = read(f"{TUBE_PSI} psi", "pressure") / 1e3
    compare("working pressure of tubing, from psi", 1030, kilopascal, "kPa", 5.0)  # printed to 10 kPa


def test_temperatures_in_both_units():
    cold = [float(read(f"{TUBE_COLDEST} {unit}", "temperature")) for unit in ("degC", "degF")]
    assert_allclose(*cold, rtol=0, atol=1e-6)
    hot = [
        float(read(f"{one} {unit}", "temperature")) for one, unit in zip(TUBE_HOTTEST, ("degF", "degC"), strict=True)
    ]
    assert_allclose(*hot, rtol=0, atol=0.5)  # printed to 1 °C


@pytest.mark.parametrize(
    ("check", "words"),
    [
        ("Tubing", "150 psi (1030 kPa)"),
        ("Tubing", "-40 to 200 °F (-40 to 93 °C)"),
        ("Tubing", "battery acid"),
        ("Tank", "drain at its lowest point"),
        ("Air lines clear of the exhaust", "6 to 8 in"),
        ("Soap test", "no bubble grows"),
    ],
)
def test_the_list_says_them(check, words):
    assert words in COMMISSIONING[check]
