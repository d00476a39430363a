"""Words of calibration: what is asked about, what would help most, changes with their sign."""

import pytest

from planner.plans.calibration import Doubt, NextReading, Parameter, Residual
from planner.plans.weighed_truck import Prior
from planner.show.text.calibration import doubt_words, next_words, value_words

SLIP = Residual(1, "pressure", "rear_left", 434e3, 223e3, 9.0, wild=True)


def test_a_slip_is_asked_about_with_both_numbers():
    words = doubt_words(Doubt(SLIP), "us")
    assert words.startswith("Reading 2, rear left: the pressure says 62.9 psi where the other readings have 32.3 psi.")
    assert "left out until you fix it" in words


def test_corners_in_each_others_place_are_both_named():
    words = doubt_words(Doubt(SLIP, ("front_left", "rear_left")), "us")
    assert "front left and rear left look swapped" in words


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ((0.0, 3558.577, 0.0), "one with 800 lb more on the rear"),
        ((1779.3, 0.0, 0.0254), "one with 400 lb more on the front and the body 1 in higher by air"),
        ((0.0, 0.0, -0.0254), "one with the body 1 in lower by air"),
        ((0.0, 0.0, 0.0), "another one as the last was"),
    ],
)
def test_the_next_reading_is_told_in_words(given, words):
    assert next_words(NextReading(*given, "rear.bag.area_scale", 0.2), "us") == words


@pytest.mark.parametrize(
    ("what", "value", "words"),
    [
        ("area_scale", 1.023, "102.3 %"),
        ("area_slope", 0.3, "3 %"),
        ("steel_load", 2224.1, "500 lb"),
        ("tyre_rate", -350253.7, "−2,000 lbf/in"),
    ],
)
def test_values_are_written_in_their_own_units(what, value, words):
    assert value_words(Parameter(Prior(what, 1, 1.0, 0.1), value, 0.1), value, "us") == words
