"""Small linear programmes side by side, held to scipy's HiGHS one by one."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import linprog

from planner.physics.linear_programme import least_deviation, same_basis

WEIGHTS = np.array([1.0, 1e-3, 1e-3, 1e-5, 1e-2])


def by_highs(rows, room, weights, equal):
    """The least cost of one programme; None where nothing meets all rows."""
    free = [i for i in range(len(rows)) if i not in equal]
    both = np.hstack([rows, -rows])  # x = up - down, both >= 0
    found = linprog(
        np.concatenate([weights, weights]),
        A_ub=both[free],
        b_ub=room[free],
        A_eq=both[list(equal)] if equal else None,
        b_eq=room[list(equal)] if equal else None,
        bounds=(0, None),
    )
    return found.fun if found.status == 0 else None


def programmes(count, seed=0):
    rng = np.random.default_rng(seed)
    return rng.normal(size=(14, 5, count)), rng.uniform(-0.3, 1.0, (14, count))


@pytest.mark.parametrize("equal", [(), (0,), (3, 7)])
def test_each_programme_is_that_of_a_general_solver(equal):
    rows, room = programmes(120)
    found = least_deviation(rows, room, WEIGHTS, equal)
    met = 0
    for j in range(120):
        cost = by_highs(rows[:, :, j], room[:, j], WEIGHTS, equal)
        assert found.met[j] == (cost is not None)
        if cost is None:
            continue
        met += 1
        left = room[:, j] - rows[:, :, j] @ found.coordinates[:, j]
        assert left.min() > -1e-9
        assert_allclose(left[list(equal)], 0.0, atol=1e-9)
        assert_allclose(WEIGHTS @ np.abs(found.coordinates[:, j]), cost, rtol=1e-9, atol=1e-12)
    assert 20 < met < 120


def test_a_batch_is_its_programmes_one_by_one():
    rows, room = programmes(40, seed=4)
    batch = least_deviation(rows, room, WEIGHTS)
    for j in range(40):
        alone = least_deviation(rows[:, :, [j]], room[:, [j]], WEIGHTS)
        assert alone.met[0] == batch.met[j]
        assert_allclose(alone.coordinates[:, 0], batch.coordinates[:, j], atol=1e-12)


def test_a_basis_is_kept_while_it_is_the_best_and_only_then():
    rows, room = programmes(200, seed=1)
    before = least_deviation(rows, room, WEIGHTS)
    near, far = room + 1e-6, np.roll(room, 1, axis=1)
    for other in (near, far):
        anew = least_deviation(rows, other, WEIGHTS)
        kept, best = same_basis(rows, other, WEIGHTS, (), before.basis)
        best &= before.met
        assert_allclose(kept[:, best], anew.coordinates[:, best], atol=1e-9)
    assert same_basis(rows, near, WEIGHTS, (), before.basis)[1][before.met].mean() > 0.9
    assert same_basis(rows, far, WEIGHTS, (), before.basis)[1].mean() < 0.9
