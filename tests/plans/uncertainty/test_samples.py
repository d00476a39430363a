"""Draws: numbers that were learnt together are drawn together, each as far out as it is alone."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal

from planner.plans.level import level_setup
from planner.plans.setup import Setup
from planner.plans.uncertainty.measure_next import next_measurement
from planner.plans.uncertainty.result import find_uncertainty
from planner.plans.uncertainty.samples import columns, groups, sample_deviations
from planner.plans.uncertainty.spreads import spreads_of
from planner.store import Store
from tests.plans.conftest import DEMO

FIELDS = ("front.steel_load", "rear.bag.area", "rear.steel_load", "rear.steel_rate")
KEYS = ("steel_load.front", "area.rear", "steel_load.rear", "steel_rate.rear")
SPREAD = dict(zip(FIELDS, ("60 lbf", "0.8 in**2", "40 lbf", "30 lbf/in"), strict=True))


def setup_with(matrix, **spread):
    """Return the demo's truck of leaves and bags, with these spreads and this correlation of them; None: none."""
    outfit = Store(DEMO).read_outfit("weekly-mill-run")
    table = None if matrix is None else {"fields": FIELDS, "matrix": np.asarray(matrix).tolist()}
    truck = outfit.truck.replaced(spread=SPREAD | spread, correlation=table)
    return Setup.of(outfit.profile, truck, outfit.trailer)


def any_correlation(seed):
    """Return a correlation of the fields, positive definite, to three decimals."""
    parts = np.random.default_rng(seed).normal(size=(4, 7))
    matrix = parts @ parts.T
    scale = np.sqrt(np.diag(matrix))
    return np.round(matrix / np.outer(scale, scale), 3)


def draws_of(setup, base=512):
    """Return the columns and their draws, in deviations, of both samples."""
    drawn = columns(setup, level_setup(setup), spreads_of(setup))
    deviation = np.array([column.deviation for column in drawn])
    return drawn, sample_deviations(drawn, base, by_group=False) / np.where(deviation > 0, deviation, 1.0)


@given(st.integers(0, 2**32 - 1))
@settings(max_examples=5, deadline=None)
def test_draws_have_the_correlation_of_the_file_and_no_number_goes_further_than_alone(seed):
    matrix = any_correlation(seed)
    drawn, found = draws_of(setup_with(matrix))
    alone, by_itself = draws_of(setup_with(None))
    places = [next(n for n, column in enumerate(drawn) if column.key == key) for key in KEYS]
    assert [replace(column, correlated=()) for column in drawn] == alone
    assert_allclose(np.corrcoef(found[:, places].T), matrix, atol=0.05)  # 1,024 draws, and tails cut off at 3
    assert np.abs(found).max() <= 3.0
    assert_allclose(np.sort(found[:, places], axis=0), np.sort(by_itself[:, places], axis=0), atol=0.6)  # in the tails
    assert_allclose(found[:, places].std(axis=0), by_itself[:, places].std(axis=0), rtol=0.05)
    rest = np.delete(np.arange(len(drawn)), places)
    assert_array_equal(found[:, rest], by_itself[:, rest])


def test_correlations_of_nought_draw_as_none_do():
    _, found = draws_of(setup_with(np.eye(4)))
    _, by_itself = draws_of(setup_with(None))
    assert_array_equal(found, by_itself)


def test_groups_that_were_learnt_together_are_told_of_as_one():
    tied = np.eye(4)
    tied[1, 2] = tied[2, 1] = -0.8
    setup = setup_with(tied)
    drawn = columns(setup, level_setup(setup), spreads_of(setup))
    found = groups(drawn)
    assert {"area.rear", "steel_load.rear", "steel_load.front"} < set(found["bag area and steel"])
    assert not {"bag area", "steel"} & set(found)
    sure = find_uncertainty(setup, level_setup(setup), base=256)
    assert sure.shares.groups == tuple(found)
    assert 0.85 < sure.shares.first.sum() < 1.15  # of 256 points


def test_what_is_learnt_together_makes_an_answer_surer_where_one_makes_up_for_the_other():
    tied = np.eye(4)
    tied[1, 2] = tied[2, 1] = -0.9  # a smaller bag with more steel beside it carries the same
    together, apart = (
        find_uncertainty(setup, level_setup(setup), base=256) for setup in map(setup_with, (tied, np.eye(4)))
    )
    rear, rear_apart = (sure.rise.high[1] - sure.rise.low[1] for sure in (together, apart))
    assert rear < 0.95 * rear_apart


def test_what_to_find_out_next_knows_the_groups_learnt_together_be_one_of_them_exact_or_not():
    tied = np.eye(4)
    tied[1, 2] = tied[2, 1] = -0.8
    for setup in (setup_with(tied, **{"rear.steel_load": "400 lbf"}), setup_with(tied, **{"rear.bag.area": "0 in**2"})):
        answer = level_setup(setup)
        sure = find_uncertainty(setup, answer, base=64)
        found = next_measurement(setup, answer, sure)
        assert found is None or found.group in sure.shares.groups


def test_a_spread_typed_here_stands_by_itself():
    tied = np.eye(4)
    tied[1, 2] = tied[2, 1] = -0.8
    found = spreads_of(setup_with(tied), {"area.rear": 0.05})
    assert found["area.rear"].correlated == ()
    assert found["steel_load.rear"].correlated == ()


@pytest.mark.parametrize("slug", ["mill-on-the-hill-road", "logs-on-the-gooseneck"])
def test_trucks_without_a_correlation_have_the_groups_they_had(demo, slug):
    setup = demo(slug)
    drawn = columns(setup, level_setup(setup), spreads_of(setup))
    assert "bag area" in groups(drawn)
    assert not any(column.correlated for column in drawn)
