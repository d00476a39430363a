"""Words of a leak test: amounts in the owner's units, and no more said than was found."""

import pytest

from planner.plans.answer import Finding
from planner.plans.reading_history import LowCorner
from planner.show.text.calibration import next_words
from planner.show.text.drift import drift_sentence, low_corner_words, time_words


@pytest.mark.parametrize(
    ("days", "words"),
    [(5 / 1440, "5 minutes"), (0.5, "12 hours"), (1.0, "24 hours"), (3.0, "3 days"), (10.5, "10.5 days")],
)
def test_times_are_told_as_people_do(days, words):
    assert time_words(days) == words


def test_pressures_have_one_decimal_more_than_a_gauge_shows():
    finding = Finding(
        "note", "x", "{value} of {lost}", "", {"value": (10342.0, "pressure"), "lost": (41368.0, "pressure")}
    )
    assert drift_sentence(finding, "us") == "1.5 psi of 6.0 psi"
    assert drift_sentence(finding, "metric") == "0.103 bar of 0.414 bar"


def test_a_corner_that_asks_for_air_is_named_with_its_odds():
    words = low_corner_words(LowCorner("rear_right", 6, 6, 7e3, 4 * 0.25**6), "us")
    assert "rear right corner keeps asking for more air" in words
    assert "in 6 of 6 readings, by 1 psi on average" in words
    assert "once in 1,024 times" in words


def test_no_next_reading_is_no_words():
    assert next_words(None, "us") == ""
