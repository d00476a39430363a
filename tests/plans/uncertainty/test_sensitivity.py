"""What a little more does, against answering anew with a little more of it."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.physics.constants import STANDARD_GRAVITY as G
from planner.plans.answer import AXLES, CORNERS
from planner.plans.level import level_setup, settle_setup
from planner.plans.uncertainty.sensitivity import find_sensitivity
from planner.records import Cargo, Stance

PSI, INCH = 6894.757293168361, 0.0254
MILL, SLABS, LOGS = "mill-on-the-hill-road", "slabs-on-friday", "logs-on-the-gooseneck"
EVERY = [MILL, SLABS, LOGS, "saw-crew-all-on-the-left"]


def _given(answer):
    return {corner: float(p) for corner, p in zip(CORNERS, answer.set.pressure.ravel(), strict=True) if p == p}


@pytest.mark.parametrize("slug", EVERY)
def test_a_little_more_air_moves_the_corners_by_as_much(demo, slug):
    setup = demo(slug)
    answer = level_setup(setup)
    found, step = find_sensitivity(setup, answer), 0.01 * PSI
    for line, slope in found.by_pressure.items():
        axle, _, side = line.partition(" ")
        corners = [f"{axle}_{side}"] if side else [f"{axle}_left", f"{axle}_right"]
        up, down = (
            settle_setup(setup, {c: p + sign * step * (c in corners) for c, p in _given(answer).items()}).ride_height
            for sign in (1, -1)
        )
        assert_allclose(slope, (up - down) / (2 * step), rtol=1e-3, atol=1e-10)
    assert (len(found.by_pressure) == 1) == (slug == SLABS)


@pytest.mark.parametrize("slug", EVERY)
def test_a_little_more_load_in_the_bed_moves_heights_and_pressures_by_as_much(demo, slug):
    setup = demo(slug)
    answer = level_setup(setup)
    found = find_sensitivity(setup, answer).by_load["bed"]
    weights = [0.5, 1.5]  # kg: about a small load, as there is no load below nought
    light = Cargo(name="Speck", weight="1 kg", x="0 in")
    loaded = [
        replace(
            setup, cargo=(*setup.cargo, light.model_copy(update={"weight": type(light.weight).of(w, "kg", "weight")}))
        )
        for w in weights
    ]
    heights = [settle_setup(one, _given(answer)).ride_height for one in loaded]
    assert_allclose(found.ride_height, (heights[1] - heights[0]) / G, rtol=2e-3, atol=1e-9)
    pressures = [level_setup(one).pressure for one in loaded]
    # the plan's exact pressures differ from the set ones by half a step, over which the slope changes a little
    assert_allclose(found.pressure, (pressures[1] - pressures[0]) / G, rtol=0.03, atol=2e-3 * np.nanmax(found.pressure))


@pytest.mark.parametrize("slug", [MILL, LOGS])
def test_a_load_on_the_hitch_acts_at_the_hitch(demo, slug):
    setup = demo(slug)
    found = find_sensitivity(setup, level_setup(setup)).by_load
    trailer = setup.trailer
    numbers = {"deck": (), "gross_weight": trailer.weight, "tongue_ratio": trailer.tongue_share + 1e-4}
    heavier = replace(setup, trailer=trailer.model_copy(update=numbers))
    more = level_setup(heavier).hitch_load - level_setup(setup).hitch_load
    given = _given(level_setup(setup))
    heights = settle_setup(heavier, given).ride_height - settle_setup(setup, given).ride_height
    assert_allclose(found["hitch"].ride_height, heights / more, rtol=1e-2, atol=1e-8)
    behind = setup.hitch.x < 0
    assert (found["hitch"].ride_height[0] > 0).all() == behind


@pytest.mark.parametrize("slug", EVERY)
def test_a_wish_to_stand_higher_asks_for_as_much_air(demo, slug):
    setup = demo(slug)
    found, step = find_sensitivity(setup, level_setup(setup)).by_height, 0.02 * INCH
    for axle, slope in found.items():
        up, down = (
            level_setup(replace(setup, stance=Stance(**{axle: f"{sign * step} m"}))).pressure for sign in (1, -1)
        )
        k = AXLES.index(axle)
        assert_allclose(slope[k], ((up - down) / (2 * step))[k], rtol=0.03)
    assert set(found) == {axle for axle in AXLES if getattr(setup.truck, axle).bag is not None}


def test_a_trailer_is_needed_for_a_load_on_the_hitch(demo):
    setup = demo("saw-crew-all-on-the-left")
    assert set(find_sensitivity(setup, level_setup(setup)).by_load) == {"bed"}


def test_where_a_limit_holds_the_pressures_do_not_follow_a_wish(demo):
    setup = replace(demo(MILL), stance=Stance(rear="8 in"))
    answer = level_setup(setup)
    assert any(
        finding.code.startswith(("bag-height-high-rear", "stance-not-reached-rear")) for finding in answer.findings
    )
    found = find_sensitivity(setup, answer)
    assert found.by_height == {}
    assert all(effect.pressure is None for effect in found.by_load.values())


def _flat(truck):
    """Return the truck with bags whose area is the same at every height."""
    axle = truck.rear
    flat = axle.bag.model_copy(update={"area": (axle.bag.areas[3],) * len(axle.bag.height)})
    return truck.model_copy(update={"rear": axle.model_copy(update={"bag": flat})})


def test_what_pressure_does_not_fix_is_to_be_set_by_tape(demo):
    setup = demo(MILL)
    setup = replace(setup, truck=_flat(setup.truck))
    exact = level_setup(setup)
    answer = replace(exact, set=replace(exact.set, pressure=exact.pressure, stance=exact.stance))
    found = find_sensitivity(setup, answer)
    assert found.by_tape == ("rear",)
    assert not found.roll_by_tape
    assert np.isnan(found.by_pressure["rear left"][1]).all()
    assert np.isfinite(found.by_pressure["front left"][0]).all()
