"""Saved pressures are out of date once what they level has changed by more than the gauge shows."""

import numpy as np
import pytest

from planner.plans.answer import CORNERS
from planner.plans.level import level_setup
from planner.plans.saved_state import standing
from planner.plans.setup import Setup
from planner.records import BadInput, Cargo, Pressures
from planner.store import Store
from planner.units.quantity import in_unit_of, read
from tests.plans.conftest import DEMO

SLUG = "mill-on-the-hill-road"


@pytest.fixture
def saved():
    """A profile saved on what levels it, with its truck and trailer."""
    outfit = Store(DEMO).read_outfit(SLUG)
    return _saved(outfit.profile, outfit.truck, outfit.trailer)


def _saved(profile, truck, trailer):
    step = truck.instruments.gauge_step
    pressure = level_setup(Setup.of(profile.replaced(pressures=None), truck, trailer)).set.pressure.ravel()
    given = {
        corner: read(in_unit_of(float(value), step), "pressure")
        for corner, value in zip(CORNERS, pressure, strict=True)
        if not np.isnan(value)
    }
    return profile.replaced(pressures=Pressures(**given)), truck, trailer


def test_what_has_just_been_saved_is_up_to_date(saved):
    assert standing(*saved).find_outdated() is None


def test_what_was_never_saved_cannot_be_out_of_date(saved):
    profile, truck, trailer = saved
    assert standing(profile.replaced(pressures=None), truck, trailer).find_outdated() is None


@pytest.mark.parametrize("what", ["truck", "trailer", "cargo"])
def test_a_change_of_truck_trailer_or_cargo_asks_for_levelling(saved, what):
    profile, truck, trailer = saved
    if what == "truck":
        truck = truck.replaced(kerb=truck.kerb.replaced(rear_axle="4000 lb"))
    elif what == "trailer":
        trailer = trailer.replaced(tongue_ratio=trailer.tongue_ratio + 0.02)
    else:
        profile = profile.replaced(cargo=(*profile.cargo, Cargo(name="Log", weight="600 lb", x="10 in", y="20 in")))
    found = standing(profile, truck, trailer).find_outdated()
    assert found is not None
    np.testing.assert_array_equal(found.new, level_setup(Setup.of(profile, truck, trailer)).set.pressure)
    assert found.old.ravel().tolist() == [float(getattr(profile.pressures, corner)) for corner in CORNERS]
    step = float(truck.instruments.gauge_step)
    far = np.abs(found.new - found.old).ravel() > step * 1.5
    assert {corner for corner, is_far in zip(CORNERS, far, strict=True) if is_far} <= set(found.corners)
    assert standing(*_saved(profile, truck, trailer)).find_outdated() is None


def test_one_step_of_the_gauge_is_no_change_and_two_are(saved):
    profile, truck, trailer = saved
    step = truck.instruments.gauge_step

    def moved(steps):
        text = in_unit_of(float(profile.pressures.rear_left) + steps * float(step), step)
        return profile.replaced(pressures=profile.pressures.replaced(rear_left=text))

    assert standing(moved(1), truck, trailer).find_outdated() is None
    assert standing(moved(-1), truck, trailer).find_outdated() is None
    for steps in (2, -2):
        found = standing(moved(steps), truck, trailer).find_outdated()
        assert found.corners == ("rear_left",)


def test_once_one_is_out_of_date_all_that_differ_are_set_anew(saved):
    profile, truck, trailer = saved
    step = truck.instruments.gauge_step
    old = {
        corner: in_unit_of(float(getattr(profile.pressures, corner)) + steps * float(step), step)
        for corner, steps in (("rear_left", -2), ("rear_right", -1))
    }
    found = standing(profile.replaced(pressures=profile.pressures.replaced(**old)), truck, trailer).find_outdated()
    assert found.corners == ("rear_left", "rear_right")


def test_a_bag_with_no_pressure_saved_asks_for_levelling(saved):
    profile, truck, trailer = saved
    found = standing(
        profile.replaced(pressures=profile.pressures.replaced(front_right=None)), truck, trailer
    ).find_outdated()
    assert found.corners == ("front_right",)
    assert np.isnan(found.old[0, 1])
    assert not np.isnan(found.new[0, 1])


def test_parts_that_do_not_fit_are_told(saved):
    profile, truck, _ = saved
    with pytest.raises(BadInput, match="trailer"):
        standing(profile, truck, None).find_outdated()
