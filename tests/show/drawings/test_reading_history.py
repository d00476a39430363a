"""Readings over time: every dot where its number is, who asks for air named, words for those who cannot see."""

from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np
import pytest

from planner.plans.reading_history import LowCorner, ReadingHistory
from planner.show.drawings.palette import LIGHT
from planner.show.drawings.reading_history import history_view
from tests.show.reading import SVG, misplaced, parsed

PSI = 6894.757293168361
RARE = LowCorner("rear_left", 6, 6, 7 * PSI, 1e-3)


def make_history(count=6, *, steel=False):
    """Return readings whose rear left bag is short by 1, 2, … psi, and whose corners stand 0.1 in low."""
    planned = np.array([[36.0, 34.0], [45.0, 38.0]]) * PSI
    short = np.zeros((count, 2, 2))
    short[:, 1, 0] = PSI * np.arange(1, count + 1)
    pressure = planned - short
    if steel:
        planned[0] = pressure[:, 0] = np.nan
    expected = np.full((count, 2, 2), 0.508)
    at = tuple(datetime(2026, 5, 4, 7) + timedelta(days=7 * n) for n in range(count))
    return ReadingHistory(at, pressure, planned, expected - 0.00254, expected)


def dots(drawing, fill):
    """Return the places of dots of a colour."""
    circles = [one for one in parsed(drawing).iter(f"{SVG}circle") if one.get("fill") == fill]
    return [(float(one.get("cx")), float(one.get("cy"))) for one in circles]


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("history", [make_history(), make_history(1), make_history(steel=True)])
def test_nothing_is_cut_or_overlaps(history, system):
    drawing = history_view(history, system, low_corner=RARE)
    assert misplaced(drawing) == []
    assert "nan" not in drawing.svg


def test_dots_go_down_evenly_with_an_even_leak_and_along_with_time():
    found = dots(history_view(make_history(), "us", low_corner=RARE), LIGHT.ochre)
    x, y = np.array(found).T
    assert len(found) == 6
    assert np.allclose(np.diff(x), np.diff(x)[0])
    assert np.allclose(np.diff(y), np.diff(y)[0], atol=0.011)  # as written
    assert np.diff(y)[0] > 0


def test_the_corner_that_asks_for_air_is_named_and_no_other():
    svg = history_view(make_history(), "us", low_corner=RARE).svg
    assert svg.count("needs air") == 1
    assert "needs air" not in history_view(make_history(), "us").svg


def test_it_is_told_in_words():
    alt = history_view(make_history(), "us").alt
    assert alt.startswith("6 readings.")
    assert "rear left: gauge 39, plan 45 psi; tape last 0.1 in low" in alt


def test_steel_and_what_was_not_read_are_said():
    history = make_history(steel=True)
    height = history.ride_height.copy()
    height[:, 1, 1] = np.nan
    alt = history_view(replace(history, ride_height=height), "metric").alt
    assert "front left: gauge no bag" in alt
    assert "rear right: gauge 2.62, plan 2.62 bar; tape not read" in alt


def test_one_reading_stands_in_the_middle():
    drawing = history_view(make_history(1), "us")
    assert "2026-05-04. Above" in drawing.svg
