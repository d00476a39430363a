"""Weighted least squares against statsmodels, and what it says it cannot tell."""

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.physics.weighted_least_squares import estimate


@given(st.integers(0, 10_000), st.integers(2, 5), st.integers(0, 6))
def test_values_and_standard_errors_are_those_of_statsmodels(seed, unknowns, spare):
    draw = np.random.default_rng(seed)
    design = draw.normal(size=(unknowns + spare, unknowns)) + np.eye(unknowns + spare, unknowns)
    variance, reading = draw.uniform(0.1, 4.0, len(design)), draw.normal(size=len(design))
    found = estimate(design, reading, variance)
    judge = sm.WLS(reading, design, weights=1.0 / variance)
    covariance = judge.fit().normalized_cov_params  # of variances that are known, not of a scale fitted to residuals
    scale = float(np.abs(covariance).max())
    assert_allclose(found.value, judge.fit().params, rtol=1e-6, atol=1e-8 * np.sqrt(scale))
    assert_allclose(found.covariance, covariance, rtol=1e-5, atol=1e-8 * scale)
    assert found.spare == spare


def test_a_weighted_mean():
    found = estimate(np.ones((3, 1)), [862.0, 900.0, 850.0], [100.0, 900.0, 400.0])
    judge = sm.WLS([862.0, 900.0, 850.0], np.ones(3), weights=[1 / 100, 1 / 900, 1 / 400]).fit()
    assert_allclose(found.value, judge.params)
    assert_allclose(found.covariance[0, 0], 1.0 / (1 / 100 + 1 / 900 + 1 / 400))


def test_what_is_not_fixed_is_said():
    found = estimate([[1.0, 1.0, 0.0], [0.0, 0.0, 1.0]], [7.0, 2.0], [1.0, 1.0])
    assert found.tells([2.0, 2.0, 0.0])
    assert found.tells([1.0, 1.0, -3.0])
    assert not found.tells([1.0, 0.0, 0.0])
    assert found.total([1.0, 1.0, 1.0]) == pytest.approx((9.0, np.sqrt(2.0)))


def test_ratio_has_the_uncertainty_of_the_uncertainties_package():
    from uncertainties import correlated_values

    found = estimate([[1.0, 0.0], [0.0, 1.0], [1.0, 1.0]], [860.0, 6340.0, 7210.0], [150.0, 300.0, 90.0])
    top, bottom = correlated_values(found.value, found.covariance)
    judge = top / (top + bottom)
    assert found.ratio([1.0, 0.0], [1.0, 1.0]) == pytest.approx((judge.nominal_value, judge.std_dev), rel=1e-9)


@pytest.mark.parametrize(
    ("reading", "variance", "words"),
    [([1.0], [1.0], "row for each"), ([1.0, 2.0], [1.0, 0.0], "> 0"), ([1.0, np.nan], [1.0, 1.0], "finite")],
)
def test_what_makes_no_sense_is_refused(reading, variance, words):
    with pytest.raises(ValueError, match=words):
        estimate([[1.0], [1.0]], reading, variance)
