"""A bag whose area answers height otherwise than its chart says."""

import numpy as np
from numpy.testing import assert_allclose

from planner import read_truck
from planner.physics.area_tilt import TiltedPressure
from planner.physics.equilibrium import HeldPressure, settle
from planner.plans.setup import rig_of

RIG = rig_of(read_truck("profiles/trucks/ridge-truck.toml"))
GAUGE = np.array([[37.0, 36.0], [24.0, 23.0]]) * 6894.757


def test_without_a_tilt_it_is_held_pressure():
    tilted = settle(RIG, RIG.kerb, TiltedPressure(GAUGE, np.zeros(2)), np.zeros(4))
    held = settle(RIG, RIG.kerb, HeldPressure(GAUGE), np.zeros(4))
    assert_allclose(tilted.state, held.state, atol=1e-9)


def test_its_slope_is_that_of_its_force():
    air, height, step = TiltedPressure(GAUGE, np.array([1.5, -2.0])), RIG.design_height + 0.01, 1e-6

    def force(at):
        return air.pressure(RIG, at) * RIG.area(at)

    own, across = air.slopes(RIG, height, RIG.springs(height), air.pressure(RIG, height))
    assert_allclose(own, (force(height + step) - force(height - step)) / (2 * step), rtol=1e-5)
    assert not across.any()


def test_what_rests_carries_its_load_on_the_tilted_area():
    tilt = np.array([2.0, -2.0])
    rest = settle(RIG, RIG.kerb, TiltedPressure(GAUGE, tilt), np.zeros(4))
    height, force = RIG.corners(RIG.kerb, rest.state)
    area = RIG.area(height) * (1 + tilt[:, None] * (height - RIG.design_height))
    assert rest.converged
    assert_allclose(GAUGE * area + RIG.steel_force(height), force, rtol=1e-6)
