"""Least squares with a prior against the closed form of a linear problem (scipy's and numpy's own)."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.physics.least_squares import fit_with_prior


@given(st.integers(0, 10_000), st.integers(1, 6), st.integers(1, 6))
def test_a_linear_problem_is_the_normal_equations(seed, numbers, measured):
    rng = np.random.default_rng(seed)
    matrix, wanted = rng.normal(size=(measured, numbers)), rng.normal(size=measured)
    found = fit_with_prior(lambda u, cases: u @ matrix.T - wanted, np.zeros((1, numbers)))
    inverse = np.linalg.inv(matrix.T @ matrix + np.eye(numbers))
    assert found.converged.all()
    assert_allclose(found.value[0], inverse @ matrix.T @ wanted, atol=1e-6)
    assert_allclose(found.covariance_of(np.eye(numbers)[None])[0], inverse, atol=1e-6)


def test_a_number_nobody_measured_stays_as_sure_as_it_was():
    found = fit_with_prior(lambda u, cases: 10.0 * (u[..., :1] - 1.0), np.zeros((1, 2)))
    covariance = found.covariance_of(np.eye(2)[None])[0]
    assert_allclose(covariance, [[1 / 101, 0], [0, 1]], atol=1e-6)


def test_a_curved_problem_is_found_where_its_gradient_vanishes():
    found = fit_with_prior(lambda u, cases: 5.0 * (np.exp(u) - 2.0), np.zeros((3, 1)))
    u = found.value[:, 0]
    assert_allclose(u + 25.0 * (np.exp(u) - 2.0) * np.exp(u), 0.0, atol=0.05)
