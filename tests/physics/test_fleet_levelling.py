"""Trucks of one layout levelled as one: each as it is levelled alone, whatever it weighs and however it is plumbed."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.physics.fleet_levelling import level_trucks
from planner.physics.levelling import level

from .rigs import random_loads, random_rig

CASES = 12


@pytest.mark.parametrize("seed", range(1, 5))
def test_each_of_trucks_that_weigh_other_is_as_it_is_alone(seed):
    rng = np.random.default_rng(seed)
    rigs = [random_rig(rng)]
    for by in (0.9, 1.1):  # the same truck with more or less of itself, above and below its springs
        kerb = replace(rigs[0].kerb, axle=by * rigs[0].kerb.axle * rng.uniform(0.95, 1.05, 2))
        rigs.append(replace(rigs[0], kerb=kerb, unsprung_load=rigs[0].unsprung_load * by))
    rigs.insert(1, random_rig(rng))  # and another between them
    loads = [random_loads(rng, rig, CASES, 0.4) for rig in rigs]
    wanted = [np.zeros(3), np.array([0.01, -0.01, 0.0]), rng.uniform(-0.02, 0.02, (CASES, 3)), np.zeros(3)]
    for one, rig, load, stance in zip(level_trucks(rigs, loads, wanted), rigs, loads, wanted, strict=True):
        alone = level(rig, load, stance)
        assert np.array_equal(one.converged, alone.converged)
        assert_allclose(one.state[..., :3], alone.state[..., :3], rtol=0, atol=1e-6)  # [m, m, rad]
        assert_allclose(one.pressure, alone.pressure, rtol=0, atol=1.0)  # [Pa] what the stops of a search leave
        assert np.array_equal(one.held, alone.held)


def test_a_truck_without_its_like_is_levelled_as_if_alone_to_the_bit():
    rng = np.random.default_rng(1)
    rigs = [random_rig(rng) for _ in range(3)]
    loads = [random_loads(rng, rig, CASES, 0.4) for rig in rigs]
    for one, rig, load in zip(level_trucks(rigs, loads, [np.zeros(3)] * 3), rigs, loads, strict=True):
        alone = level(rig, load, np.zeros(3))
        assert all(np.array_equal(part, other) for part, other in zip(one, alone, strict=True))
