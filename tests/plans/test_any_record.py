"""4,000 random loads of 1,000 random trucks: nothing crashes, is NaN or leaves its limits, and everything balances."""

import json

import numpy as np
import pytest

from planner.physics.constants import STANDARD_GRAVITY as G
from planner.plans.batch import answers_of
from planner.plans.level import Shut, level_setup, settle_setup
from planner.show.text.as_json import answer_object

from .random_records import other_loads, random_setup

PARTS = 8  # so that all cores share them
TRUCKS = 1_000  # each with a load of its own
MORE = 24  # further loads of every eighth truck, answered together


def _all_numbers(thing):
    if isinstance(thing, dict):
        return [number for value in thing.values() for number in _all_numbers(value)]
    if isinstance(thing, list):
        return [number for value in thing for number in _all_numbers(value)]
    return [thing] if isinstance(thing, float) else []


def _check(setup, answer):
    text = json.dumps(answer_object("any", answer, "us"), allow_nan=False)
    assert np.all(np.isfinite(_all_numbers(json.loads(text))))
    weight = (setup.truck.kerb_weight + sum(item.weight for item in (*setup.cargo, *setup.aboard))) * G
    trailer = setup.trailer.weight * G if setup.trailer else 0.0
    assert answer.tyre_load.sum() + answer.trailer_axle_load == pytest.approx(weight + trailer, rel=1e-9)
    for k, axle in enumerate((setup.truck.front, setup.truck.rear)):
        there = [None, None] if axle.bag is None else [answer.pressure[k], answer.set.pressure[k]]
        for pressure in there:
            if pressure is not None:
                assert np.all(pressure >= axle.bag.least_pressure - 1.0)
                assert np.all(pressure <= axle.bag.greatest_pressure + 1.0)
        if axle.bag is not None:
            assert np.all(answer.bag_height[k] > axle.bag.height[0] - 0.02)
            assert np.all(answer.bag_height[k] < axle.bag.height[-1] + 0.02)


@pytest.mark.no_cover  # the lines are those of other tests, thousands of times
@pytest.mark.parametrize("part", range(PARTS))
def test_any_valid_record_is_levelled_and_told(part):
    setups = {seed: random_setup(seed) for seed in range(part, TRUCKS, PARTS)}
    sound = {seed: setup for seed, setup in setups.items() if setup is not None}
    assert len(sound) > 0.9 * len(setups)  # else the draws break the records' rules and test nothing
    for setup in sound.values():
        _check(setup, level_setup(setup))
    for seed in list(sound)[::8]:
        loads = other_loads(sound[seed], seed, MORE)
        for setup, answer in zip(loads, answers_of(loads, [{}] * MORE), strict=True):
            _check(setup, answer)


@pytest.mark.parametrize("seed", range(9 * 20))
def test_any_valid_record_settles_with_its_valves_shut(seed):
    setup = random_setup(seed)
    if setup is None:
        return
    cold = settle_setup(setup, {}, setup.without_trailer(), Shut(temperature=258.15, altitude=1500.0))
    assert np.all(np.isfinite(_all_numbers(answer_object("any", cold, "metric"))))
