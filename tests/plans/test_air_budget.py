"""The air budget: sums, what the tank cannot feed, altitude, other users, water."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner import open_folder
from planner.plans.air_budget import Use, air_budget, compare_supplies
from planner.plans.air_supply import Supply
from planner.plans.changeover import change_over
from planner.plans.saved_state import standing
from planner.plans.setup import Setup
from planner.plans.typical_air import with_typical_air
from planner.records import Air, read_record

FOLDER = open_folder("profiles")
OUTFIT = FOLDER.read_outfit("mill-on-the-hill-road")
GALLON = 3.785411784e-3


def make_setup(**changes):
    """Return the mill with its air supply changed."""
    air = read_record(Air, OUTFIT.truck.air.as_file() | changes, "truck")
    return Setup.of(OUTFIT.profile, OUTFIT.truck.replaced(air=air), OUTFIT.trailer)


@pytest.fixture(scope="module")
def budget():
    return air_budget(make_setup())


def test_the_tank_loses_what_the_bags_gain(budget):
    tank = budget.supply.cut_out
    for move in budget.moves:
        tank -= np.nansum(move.free_air) * 100e3 / budget.supply.volume
        assert_allclose(move.tank_pressure, tank, rtol=1e-9)


def test_a_cycle_ends_with_as_much_air_in_each_bag_as_it_began_with(budget):
    change = sum(move.free_air - move.vented for move in budget.moves)
    assert_allclose(change, 0.0, atol=1e-4)  # m³; what no gauge shows is not aired


def test_cycles_are_what_the_tank_gives_above_cut_in(budget):
    each = sum(np.nansum(move.free_air) for move in budget.moves)
    assert budget.cycles == int((145 - 110) * 6894.757 * budget.supply.volume / 100e3 / each) == 2
    assert budget.cycles_with_compressor >= budget.cycles
    assert budget.cycle_interval > 60.0


def test_the_compressor_puts_back_what_a_cycle_took(budget):
    run = budget.supply.pump_up_time(budget.moves[-1].tank_pressure, budget.supply.cut_out)
    assert_allclose(sum(move.compressor_time for move in budget.moves), run, rtol=1e-6)


def test_two_small_tanks_are_one_of_their_size_and_a_larger_one_gives_more_cycles(budget):
    larger = air_budget(make_setup(tank_volume="20 gal"))
    assert larger.cycles > budget.cycles
    assert_allclose(larger.pump_up_time, 2.0 * budget.pump_up_time)


def test_supplies_beside_each_other_are_what_each_of_them_is_alone(budget):
    found = compare_supplies(make_setup(), Use(), {"is": {}, "tanks": {"tank_volume": 2.0}, "pump": {"delivery": 3.0}})
    alone = [budget, air_budget(make_setup(tank_volume="20 gal"))]
    for one, other in zip(found.values(), alone, strict=False):
        assert one.cycles == other.cycles
        assert_allclose([m.tank_pressure for m in one.moves], [m.tank_pressure for m in other.moves], rtol=1e-6)
        assert_allclose(one.pump_up_time, other.pump_up_time, rtol=1e-6)
    assert_allclose(found["pump"].pump_up_time, budget.pump_up_time / 3.0)


def test_what_is_typical_widens_times_and_the_middle_is_that_of_the_same_numbers_sure():
    guessed = with_typical_air(make_setup().truck.replaced(air=None))
    setup = replace(make_setup(), truck=guessed)
    sure = replace(setup, truck=guessed.replaced(typical=()))
    wide, narrow = air_budget(setup), air_budget(sure)
    assert not narrow.band
    assert all(move.band is None for move in narrow.moves)
    for move, same in zip(wide.moves, narrow.moves, strict=True):
        assert_allclose(move.time, same.time)
        assert move.band.low < move.longest < move.band.high
    low, high = wide.band["first_pump_up_time"]
    assert low < narrow.first_pump_up_time < high
    assert "air-typical" in {one.code for one in wide.findings}
    half = replace(setup, truck=guessed.replaced(typical=("air.tank_volume",)))
    assert high > air_budget(half).band["first_pump_up_time"].high > narrow.first_pump_up_time


def test_the_band_of_pumping_up_is_that_of_many_trucks_drawn_by_chance():
    setup = replace(make_setup(), truck=with_typical_air(make_setup().truck.replaced(air=None)))
    low, high = air_budget(setup).band["first_pump_up_time"]
    supply, rng = Supply.of(setup.truck), np.random.default_rng(1)
    part = {"tank_volume": 0.3, "cut_out": 5 / 145, "delivery": 0.25}
    drawn = {name: np.exp(rng.normal(0.0, -np.log1p(-one), 4000)) for name, one in part.items()}
    times = supply.pump_up_time(0.0, supply.cut_out) * drawn["tank_volume"] * drawn["cut_out"] / drawn["delivery"]
    assert_allclose(np.quantile(times, [0.025, 0.975]), [low, high], rtol=0.12)  # delivery falls with pressure too


def test_a_small_tank_stalls_and_says_where_and_how_long_to_wait():
    found = air_budget(make_setup(tank_volume="0.5 gal"))
    stalls = [one for one in found.findings if one.code == "lift-stalls"]
    assert [one.level for one in stalls] == ["caution"]
    assert "the rear stalls at" in stalls[0].text
    assert "for the compressor" in stalls[0].text
    assert found.cycles == 0
    assert found.cycles_with_compressor == 0
    assert "cycle-below-cut-in" in {one.code for one in found.findings}


def test_a_switch_below_the_bags_is_a_stop():
    found = air_budget(make_setup(cut_in="40 psi", cut_out="48 psi"))
    worst = found.findings[0]
    assert (worst.level, worst.code) == ("stop", "lift-stalls")
    assert "cannot be fed" in worst.text
    assert next(move for move in found.moves if move.name == "lift").longest == np.inf


def test_duty_asks_for_rest():
    found = air_budget(make_setup(duty=0.25))
    assert_allclose(found.rest, 3.0 * found.pump_up_time)


def test_in_the_mountains_it_takes_longer(budget):
    high = air_budget(make_setup(), Use(altitude=2400.0))
    assert_allclose(high.pump_up_time / budget.pump_up_time, 101_325 / high.supply.ambient, rtol=1e-9)
    assert high.moves[2].fillings[0].air_in[1, 0] > 0


def test_other_users_of_the_tank():
    horn, gun = (
        {"name": "horn", "flow": "4 ft**3/min", "time": "5 s"},
        {"name": "impact {gun}", "flow": "8 ft**3/min", "time": "5 min"},
    )
    found = air_budget(make_setup(demands=[horn, gun]))
    assert_allclose(found.demands[0].free_air, 4 * 0.0283168 / 12, rtol=1e-4)
    assert found.demands[0].tank_pressure < found.supply.cut_out
    assert found.demands[0].compressor_time < 60.0
    assert found.demands[1].compressor_time == np.inf
    assert not found.demands[1].kept_up
    (dry,) = (one for one in found.findings if one.code == "demand-runs-dry")
    assert dry.text.startswith("impact {gun} takes more in one go than the tank holds")


def test_a_tank_above_what_tubing_is_made_for_is_a_caution():
    pressures = ["0 psi", "100 psi", "200 psi"]
    found = air_budget(make_setup(cut_out="175 psi", delivery_pressure=pressures))
    assert "cut-out-over-tubing" in {one.code for one in found.findings}


def test_water_grows_with_humidity_and_use_and_shortens_the_interval(budget):
    wet = air_budget(make_setup(), Use(humidity=0.95, temperature=303.15, cycles=100.0))
    assert wet.water.per_week > 50.0 * budget.water.per_week > 0.0
    assert wet.water.drain_every < budget.water.drain_every == 7 * 86_400.0
    assert air_budget(make_setup(), Use(cycles=0.0)).water.per_day == 0.0


def test_a_change_over_from_another_profile():
    outfits = [FOLDER.read_outfit(slug) for slug in ("mill-bed-empty", "mill-on-the-hill-road")]
    change = change_over(*(standing(one.profile, one.truck, one.trailer) for one in outfits))
    found = air_budget(make_setup(), change=change).change_over
    assert found.name == "change over"
    assert np.nansum(found.free_air) > 0


def test_a_truck_alone_has_a_levelling_and_no_cycle():
    setup = make_setup().without_trailer()
    found = air_budget(setup)
    assert found.moves == ()
    assert found.cycles is found.cycle_interval is None
    assert np.nansum(found.levelling.free_air) > 0
