"""The band of a sum of errors: closed forms and drawn cases."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.physics.error_band import Errors


def test_one_rectangle_two_and_a_normal_law():
    assert Errors((10.0,)).half_width() == pytest.approx(9.5, rel=1e-3)
    assert Errors((10.0, 10.0)).half_width() == pytest.approx(20.0 * (1.0 - np.sqrt(0.05)), rel=2e-3)  # a triangle
    assert Errors((), 3.0).half_width() == pytest.approx(3.0 * 1.959964, rel=1e-3)
    assert Errors().half_width() == 0.0


@given(st.lists(st.floats(0.01, 20.0), max_size=8), st.floats(0.0, 10.0), st.integers(0, 1000))
def test_it_holds_95_of_100_cases(halves, normal, seed):
    law = Errors(tuple(halves), normal)
    draw = np.random.default_rng(seed)
    cases = draw.normal(0.0, normal, 20_000) + sum(draw.uniform(-half, half, 20_000) for half in halves)
    if law.sd > 0:
        assert np.mean(np.abs(cases) <= law.half_width()) == pytest.approx(0.95, abs=0.008)
        assert np.std(cases) == pytest.approx(law.sd, rel=0.03)


@given(st.lists(st.floats(0.01, 20.0), min_size=1, max_size=6), st.floats(0.1, 9.0))
def test_a_band_scales_and_adds(halves, factor):
    law = Errors(tuple(halves), 1.0)
    assert law.times(-factor).half_width() == pytest.approx(factor * law.half_width(), rel=1e-6)
    twice = Errors.together([law, law])
    assert twice.variance == pytest.approx(2.0 * law.variance)
