"""The fleet: every pair is what `level` says of it alone, however many are judged together."""

import numpy as np
import pytest

from planner.plans.fleet import NO_BARS, NO_HITCH, Fleet, judge_fleet, judged
from planner.plans.largest_trailer import POUND, find_largest_trailer
from planner.plans.setup import Setup

from .any_fleet import differences, some_trailers, some_trucks


@pytest.fixture(scope="module")
def yard():
    """Return 12 trucks with 8 trailers."""
    return judge_fleet(some_trucks(12), some_trailers(8))


@pytest.mark.no_cover
def test_random_pairs_are_what_level_says_of_each_alone():
    fleet, rng = judge_fleet(some_trucks(40), some_trailers(60), heaviest=False), np.random.default_rng(20260117)
    pairs = zip(rng.integers(0, 40, 60), rng.integers(0, 60, 60), strict=True)
    told = {(i, j): found for i, j in pairs if (found := differences(fleet, i, j))}
    assert told == {}
    assert 0.2 < fleet.takes.mean() < 0.8  # both are tried


def test_a_trailer_of_a_kind_the_truck_lacks_is_told_as_such(yard):
    kinds = {(one.name, hitch.coupling) for one in yard.trucks for hitch in one.hitches}
    for i, truck in enumerate(yard.trucks):
        for j, trailer in enumerate(yard.trailers):
            lacks = (truck.name, trailer.coupling) not in kinds
            assert (yard.stop(i, j) == NO_HITCH) == lacks == bool(yard.hitch[i, j] < 0)
            assert not (lacks and yard.takes[i, j])
    assert np.isnan(yard.heaviest[yard.hitch < 0]).all()
    assert np.isnan(yard.pressure[yard.hitch < 0]).all()


def test_bars_need_a_hitch_behind_the_axle():
    truck, trailer = some_trucks(1)[0], next(one for one in some_trailers(8) if one.coupling == "gooseneck")
    fleet = judge_fleet([truck], [trailer.replaced(bars=0.5)])
    over = all(hitch.x >= 0 for hitch in truck.hitches if hitch.coupling == "gooseneck")
    assert over
    assert fleet.stop(0, 0) == NO_BARS
    assert not fleet.takes.any()


def test_the_heaviest_is_that_of_the_largest_trailer_alone(yard):
    """To half a kilogram below: the search for one goes on to a thousandth of a pound."""
    rng = np.random.default_rng(3)
    for i, j in rng.permutation(np.argwhere(yard.hitch >= 0))[:6]:
        truck, trailer = yard.trucks[i], yard.trailers[j]
        hitch = truck.hitches[yard.hitch[i, j]]
        most = find_largest_trailer(Setup(truck, trailer, hitch), own_labels=False).weight
        assert most - 0.5 - POUND < yard.heaviest[i, j] <= most + 1e-3 * POUND, (truck.name, trailer.name)


def test_what_is_done_stays_when_it_is_stopped_and_can_go_on(yard):
    fleet = Fleet(yard.trucks, yard.trailers)
    work = judged(fleet, heaviest=False)
    assert [next(work), next(work)] == [1, 2]
    work.close()
    assert np.array_equal(fleet.takes[:2], yard.takes[:2])
    assert not fleet.takes[2:].any()
    assert list(judged(fleet, heaviest=False)) == list(range(3, 13))
    assert np.array_equal(fleet.takes, yard.takes)
    assert np.array_equal(fleet.pressure, yard.pressure, equal_nan=True)


def test_a_yard_without_trailers_or_trucks_is_no_error():
    assert judge_fleet([], some_trailers(2)).takes.shape == (0, 2)
    assert judge_fleet(some_trucks(2), []).takes.shape == (2, 0)
