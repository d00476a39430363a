"""What the Air page asks beside the truck: where, how often, and another supply to try."""

import pytest

from planner.forms.air_use import BOTH, COMPRESSOR, TANK, read_other, read_shut, read_use

GALLON = 3.785411784e-3


@pytest.mark.parametrize(
    ("text", "gallons"), [("2 x 5 gal", 10), ("5 gal + 5 gal", 10), ("10", 10), ("2x3 gal+1 gal", 7), ("", 20)]
)
def test_tanks_add_up(text, gallons):
    found, wrong = read_other({"other_tank": text}, "us", 10 * GALLON, 1e-3)
    assert not wrong
    assert found[TANK]["tank_volume"] == pytest.approx(gallons / 10)
    assert found[BOTH] == found[TANK] | found[COMPRESSOR]


@pytest.mark.parametrize("text", ["2 x", "x", "5 psi", "0 gal", "+", "9999999 gal"])
def test_what_is_no_tank_is_refused_and_twice_the_tank_stands_in(text):
    found, wrong = read_other({"other_tank": text}, "us", 10 * GALLON, 1e-3)
    assert "other_tank" in wrong
    assert found[TANK]["tank_volume"] == 2.0


def test_a_compressor_is_told_by_its_free_air():
    found, wrong = read_other({"other_compressor": "60 L/min"}, "us", 0.04, 0.5e-3)
    assert found[COMPRESSOR]["delivery"] == pytest.approx(2.0)
    assert read_other({"other_compressor": "0"}, "us", 0.04, 0.5e-3)[1]
    assert not wrong


def test_nothing_typed_is_the_usual_day_and_a_cold_morning():
    assert read_use({}, "us")[0].cycles == 2.0
    assert read_shut({}, "us")[0].temperature == pytest.approx(266.48, abs=0.01)
