"""A day's warmth with the valves shut: against settling the same truck so, and in size against Boyle and Charles."""

from dataclasses import replace

import numpy as np
import pytest

from planner.physics.air_flow import FREE_AIR_PRESSURE
from planner.physics.atmosphere import standard_pressure
from planner.physics.constants import REFERENCE_TEMPERATURE, STANDARD_PRESSURE
from planner.physics.equilibrium import SealedAir, enclosed_volume, settle
from planner.plans.answer import CORNERS
from planner.plans.level import Shut, level_setup, settle_setup
from planner.plans.setup import rig_of
from planner.plans.temperature import A_DAY, rise_when_warmer, sealed_change
from planner.show.text.numbers import write
from planner.show.text.words import warm_words

from .conftest import DEMO
from .random_records import random_setup

PROFILES = sorted(path.stem for path in DEMO.glob("*.toml"))


def settled_warm(setup, answer, by):
    """Return the rises that `settle --sealed` finds on the pressures that are set, the air warmer by so much."""
    given = {name: float(p) for name, p in zip(CORNERS, answer.set.pressure.ravel(), strict=True) if np.isfinite(p)}
    now, warm = (
        settle_setup(setup, given, shut=Shut(temperature=REFERENCE_TEMPERATURE + more)).stance for more in (0, by)
    )
    return warm.front - now.front, warm.rear - now.rear


@pytest.mark.parametrize("slug", PROFILES)
@pytest.mark.parametrize("by", [A_DAY, -A_DAY])
def test_it_is_what_settling_with_the_valves_shut_finds(demo, slug, by):
    setup = demo(slug)
    answer = level_setup(setup)
    assert rise_when_warmer(setup, answer, by) == pytest.approx(settled_warm(setup, answer, by), abs=1e-7)


@pytest.mark.parametrize("seed", range(0, 40, 4))
def test_random_trucks_rise_where_they_have_bags_and_no_more_than_their_air_grows(seed):
    setup = random_setup(seed)
    if setup is None:
        return
    answer = level_setup(setup)
    if not answer.converged:
        return
    rig, rises = rig_of(setup.truck), rise_when_warmer(setup, answer)
    gas = rig.gas_volume(np.where(rig.has_bag[:, None], answer.set.bag_height, rig.design_height))
    for k, rise in enumerate(rises):
        if not rig.has_bag[k]:
            assert abs(rise) < 1e-3  # what lifts one end tips the other on its steel by next to nothing
            continue
        assert rise > -1e-6
        free = gas[k].max() * A_DAY / REFERENCE_TEMPERATURE / rig.area(answer.set.bag_height)[k].min()
        assert rise <= 1.5 * free / float(rig.motion_ratio[k])  # Charles: at one pressure the gas grows by dT / T


def test_a_bag_at_one_pressure_grows_by_its_gas_over_its_area(demo):
    """The demo's rear: V dT / T / A where the load stays, less what leaf and the bag's own rate hold back."""
    setup = demo("mill-bed-empty")
    answer, rig = level_setup(setup), rig_of(setup.truck)
    height = answer.set.bag_height
    area, slope = (part[1].mean() for part in rig.springs(height)[:2])
    gas, gauge = rig.gas_volume(height)[1].mean(), answer.set.pressure[1].mean()
    absolute = gauge + STANDARD_PRESSURE
    rate = absolute * area**2 / gas - gauge * slope + float(rig.steel_rate[1])
    expected = absolute * area * A_DAY / REFERENCE_TEMPERATURE / rate / float(rig.motion_ratio[1])
    assert rise_when_warmer(setup, answer)[1] == pytest.approx(expected, rel=0.05)


def test_the_line_says_it_in_both_units_and_says_nothing_of_steel_or_of_valves_shut(demo):
    setup = demo("mill-on-the-hill-road")
    answer = level_setup(setup)
    front, rear = (write(rise, "length", "us") for rise in rise_when_warmer(setup, answer))
    assert warm_words(setup, answer, "us") == (
        f"Air 27 °F warmer lifts the front about {front} and the rear about {rear} with the valves shut, "
        "and as much colder lets it down."
    )
    assert warm_words(setup, answer, "metric").startswith("Air 15 °C warmer lifts the front about ")
    assert warm_words(setup, settle_setup(setup, {}, shut=Shut()), "us") == ""
    steel_front = demo("slabs-on-friday")
    assert "front" not in warm_words(steel_front, level_setup(steel_front), "us")


@pytest.mark.parametrize("slug", ["mill-on-the-hill-road", "logs-on-the-gooseneck", "slabs-on-friday"])
@pytest.mark.parametrize(
    "shut", [Shut(temperature="20 degF"), Shut(altitude="3000 m"), Shut("0 degC", "2400 m", "35 degC", "200 m")]
)
def test_the_air_that_puts_it_back_puts_it_back(demo, slug, shut):
    setup = demo(slug)
    answer = level_setup(setup)
    found = sealed_change(setup, answer, shut)
    rig, ambient = rig_of(setup.truck), np.asarray(standard_pressure(shut.altitude))
    load = setup.load(rig)
    start = np.array([*vars(found.now.stance).values(), found.now.side_moment[0]])
    height = rig.corners(load, start).spring_height
    held = (np.nan_to_num(found.now.pressure) + ambient) * enclosed_volume(rig, height)
    more = FREE_AIR_PRESSURE * np.nan_to_num(found.free_air) * shut.temperature / REFERENCE_TEMPERATURE
    more = np.where(np.asarray(rig.joined)[:, None], more.sum(axis=1, keepdims=True), more)
    back = settle(rig, load, SealedAir(held + more, ambient), start).state
    assert back[:3] == pytest.approx([*vars(found.then.stance).values()], abs=2e-5)


def test_cold_sinks_height_lifts_and_nothing_is_left_alone(demo):
    setup = demo("mill-on-the-hill-road")
    answer = level_setup(setup)
    cold, high, same = (sealed_change(setup, answer, one) for one in (Shut("20 degF"), Shut(altitude="3000 m"), Shut()))
    assert (cold.rise < 0).all()
    assert (high.rise > 0).all()
    codes = [[one.code for one in found.findings] for found in (cold, high, same)]
    assert codes == [["sealed-sinks"], ["sealed-rises"], ["sealed-leave"]]
    assert same.free_air == pytest.approx(np.zeros((2, 2)), abs=1e-9)


def test_a_bag_near_its_least_pressure_is_told_of_in_the_cold(demo):
    setup = demo("mill-bed-empty").without_trailer().without_cargo()
    bag = setup.truck.rear.bag.replaced(least_pressure="23.9 psi")
    low = replace(setup, truck=setup.truck.replaced(rear=setup.truck.rear.replaced(bag=bag)))
    found = sealed_change(low, level_setup(low), Shut("0 degF"))
    assert "sealed-under-least-rear" in {one.code for one in found.findings}
