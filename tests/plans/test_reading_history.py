"""A corner that keeps asking for more air than the others: against the binomial by hand, and against chance."""

from datetime import datetime, timedelta

import numpy as np
import pytest
from scipy.stats import binomtest

from planner.plans.reading_history import RARE, ReadingHistory, find_low_corner
from planner.plans.saved_state import standing
from planner.store import Store

from .conftest import DEMO

PLAN = np.full((2, 2), 250e3)


def history(short):
    """Return a history of readings that are short of their plan by so much, shape (n, 2, 2). [Pa]"""
    start = datetime(2026, 5, 1)
    at = tuple(start + timedelta(days=n) for n in range(len(short)))
    return ReadingHistory(at, PLAN - short, PLAN, short * np.nan, short * np.nan)


def test_the_odds_are_those_of_the_binomial_by_hand():
    short = np.tile([[1e3, 2e3], [3e3, 0.0]], (6, 1, 1))
    short[:, 1, 1] = 9e3
    found = find_low_corner(history(short))
    assert (found.corner, found.times, found.readings) == ("rear_right", 6, 6)
    assert found.chance == pytest.approx(4 * 0.25**6)
    assert found.chance == pytest.approx(4 * binomtest(6, 6, 0.25, alternative="greater").pvalue)
    assert found.shortfall == pytest.approx(9e3 - 2e3)


def test_cold_that_moves_all_corners_points_to_none():
    rng = np.random.default_rng(3)
    short = rng.uniform(0, 50e3, (40, 1, 1)) + rng.normal(0, 5e3, (40, 2, 2))
    assert find_low_corner(history(short)) is None


def test_few_readings_ties_and_gaps_make_no_claim():
    assert find_low_corner(history(np.zeros((0, 2, 2)))) is None
    assert find_low_corner(history(np.zeros((9, 2, 2)))) is None
    some = np.full((9, 2, 2), np.nan)
    some[:, 0, 0] = 9e3
    assert find_low_corner(history(some)) is None
    one = np.zeros((1, 2, 2))
    one[0, 1, 0] = 9e3
    assert find_low_corner(history(one)) is None


@pytest.mark.no_cover
def test_where_all_corners_are_alike_it_speaks_no_more_often_than_stated():
    rng = np.random.default_rng(8)
    told = sum(find_low_corner(history(rng.normal(0, 5e3, (12, 2, 2)))) is not None for _ in range(400))
    assert told / 400 < RARE + 3 * np.sqrt(RARE / 400)


def test_readings_of_a_profile_stand_beside_its_saved_pressures():
    mill = Store(DEMO).read_outfit("mill-bed-empty")
    saved = {"front_left": "36 psi", "front_right": "34 psi", "rear_left": "37 psi", "rear_right": "36 psi"}
    readings = [{"at": f"2026-05-0{day}T07:00:00", "rear_left": {"pressure": "30 psi"}} for day in (1, 2)]
    profile = mill.profile.replaced(pressures=saved, readings=readings)
    found = standing(profile, mill.truck, mill.trailer).history
    assert found.short[:, 1, 0] == pytest.approx(7 * 6894.757, rel=1e-6)
    assert np.isnan(found.short[:, 0, 0]).all()
