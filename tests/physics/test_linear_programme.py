"""Small linear programmes side by side, held to scipy's HiGHS one by one."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import linprog

from planner.physics.linear_programme import blank, least_deviation

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


def test_equations_are_met_from_a_basis_that_has_none_of_them():
    rows, room = programmes(60, seed=3)
    begun = least_deviation(rows, room, WEIGHTS, (0,), before=blank(5, 60)._replace(met=np.ones(60, bool)))
    anew = least_deviation(rows, room, WEIGHTS, (0,))
    assert (begun.met == anew.met).all()
    assert_allclose(begun.coordinates, anew.coordinates, atol=1e-12)


def test_a_programme_begun_with_the_basis_of_another_is_that_solved_anew():
    rows, room = programmes(200, seed=1)
    before = least_deviation(rows, room, WEIGHTS)
    for other_rows, other_room in (
        (rows, room + 1e-6),
        (rows * 1.01, np.roll(room, 1, axis=1)),
        (rows[..., ::-1], room),
        (np.where(np.arange(200) % 3, rows, 0.0), room),  # bases without an inverse
    ):
        anew = least_deviation(other_rows, other_room, WEIGHTS)
        begun = least_deviation(other_rows, other_room, WEIGHTS, before=before)
        assert (begun.met == anew.met).all()
        assert_allclose(begun.coordinates[:, anew.met], anew.coordinates[:, anew.met], atol=1e-9)
