"""The bags as a scale: round trips without noise, and bands that hold the truth."""

from datetime import datetime

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner import open_folder
from planner.physics.statics import Load, point_load
from planner.plans.bag_scale import bags_as_scale, weigh_pairs
from planner.plans.level import level_setup, settle_setup
from planner.plans.setup import Setup
from planner.plans.uncertainty.trim_pressures import NINETY_FIVE
from tests.plans.measured_trucks import measured, on_stops, settled
from tests.plans.test_trim import reading_of

NAMES = ("mill-on-the-hill-road", "logs-on-the-gooseneck")
AT = datetime(2026, 5, 4)


def setup_of(name=NAMES[0]):
    outfit = open_folder("profiles").read_outfit(name)
    return Setup.of(outfit.profile, outfit.truck, outfit.trailer)


def read_without_noise(setup):
    """Return a setup's truck levelled as planned, and its reading."""
    planned = level_setup(setup)
    pressures = zip(("front_left", "front_right", "rear_left", "rear_right"), planned.pressure.ravel(), strict=True)
    sits = settle_setup(setup, {corner: f"{p:.9g} Pa" for corner, p in pressures})
    return sits, reading_of(sits.set.pressure, sits.ride_height)


@pytest.mark.parametrize("name", NAMES)
def test_hooking_on_is_read_as_the_hitch_load(name):
    setup = setup_of(name)
    before, first = read_without_noise(setup.without_trailer())
    after, then = read_without_noise(setup)
    found = bags_as_scale(setup, then, first, hooked=True)
    assert found.hitch_load.value == pytest.approx(after.hitch_load, rel=0.02)
    assert_allclose([one.value for one in found.axle_load], after.axle_load, rtol=0.01)
    gained = after.axle_load - before.axle_load
    assert_allclose([one.value for one in found.added_axle_load], gained, atol=0.02 * abs(gained).max())
    assert abs(found.hitch_side.value) < found.hitch_side.half_width


def test_the_difference_is_surer_than_one_reading_alone():
    setup = setup_of()
    _, first = read_without_noise(setup.without_trailer())
    _, then = read_without_noise(setup)
    both, one = bags_as_scale(setup, then, first), bags_as_scale(setup, then)
    assert both.added_load.half_width < one.added_load.half_width
    assert bags_as_scale(setup, then, first, hooked=True).hitch_load.half_width < both.added_load.half_width


def test_bands_hold_the_truth():
    setup = setup_of()
    alone = setup.without_trailer()
    before = measured(alone, 300, seed=11, free=(0.0, 0.0, 0.0))
    rng = np.random.default_rng(12)
    load, side = setup.hitched().hitch_load * rng.uniform(0.75, 1.25, 300), rng.normal(0.0, 150.0, 300)
    on = point_load(load, np.asarray(float(setup.hitch.x)), np.zeros(()), before.unknowns.plain.wheelbase)
    on = Load(on.axle, side, on.least_twist, on.overturning, on.overturning_front)
    heavier = before.trucks._replace(load=before.trucks.load + on)
    after = settled(before.unknowns, heavier, rng, level_setup(setup).set.pressure)
    rows, spread, _ = weigh_pairs(setup, before.readings, after.readings, hooked=True)
    total = after.trucks.load
    truth = np.column_stack([total.axle, total.side_moment, on.axle, side, load])
    inside = np.abs(rows[:, :7] - truth) <= NINETY_FIVE * spread[:, :7]
    free = ~on_stops(before.trucks) & ~on_stops(after.trucks)
    assert 0.93 <= inside[free].mean() <= 0.97
