"""The map: every point is what the same load says by itself, and settles where it was levelled."""

import itertools
from dataclasses import fields, replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.physics import levelling
from planner.physics.equilibrium import HeldPressure, settle
from planner.physics.levelling import Limit
from planner.physics.statics import Load
from planner.plans.level import level_setup
from planner.plans.load_map import Axis, load_map
from planner.plans.map_inputs import first_two, inputs_of
from planner.plans.setup import rig_of
from planner.plans.stops import BAG_RULES, stopping
from planner.records import Stance
from tests.plans.uncertainty.varied import fine, with_input, with_trailer

from .random_records import random_setup

EVERY = ["mill-on-the-hill-road", "logs-on-the-gooseneck", "saw-crew-all-on-the-left", "slabs-on-friday"]
AXLES = ("front", "rear")


def axis(setup, key, stretch=1.0):
    """Return an input over its range, weights taken further so that bags come to their limits too."""
    found = inputs_of(setup)[key]
    high = found.high * (stretch if found.kind == "weight" else 1.0)
    return Axis(key, found.low, high)


def mapped(setup, keys, size, stretch=1.0):
    return load_map(setup, *(axis(setup, key, stretch) for key in keys), size=size)


def pairs(setup):
    """Return every pair of inputs that lie next to each other, first to last."""
    keys = list(inputs_of(setup))
    return list(itertools.pairwise(keys))


@pytest.mark.no_cover
@pytest.mark.parametrize("slug", EVERY)
def test_a_point_says_what_its_load_says_by_itself(demo, slug):
    """Over every neighbouring pair of inputs, weights to three times their range: 3 x 3 points each."""
    setup = fine(demo(slug))
    kinds = set()
    for keys in pairs(setup):
        found = mapped(setup, keys, (3, 3), stretch=3.0)
        for row, column in np.ndindex(3, 3):
            alone = with_input(setup, keys[0], found.x_values[column])
            alone = with_input(alone, keys[1], found.y_values[row])
            stop = found.stop(int(found.code[row, column]))
            _same(alone, stop, bool(found.levels[row, column]), found.pressure[row, column])
            kinds.add(stop.kind if stop else "none")
    assert {"none", "bag"} <= kinds


def _same(setup, stop, levels, pressure):
    """Hold one point against the answer of its load."""
    answer = level_setup(setup)
    in_the_way = stopping(setup, answer.findings)
    assert (stop is not None and stop.kind != "stance") == bool(in_the_way)
    assert levels == (answer.level and not any(one.code.startswith("bag-load") for one in in_the_way))
    if stop is not None and stop.kind == "bag":
        rule, _, axle = stop.code.rpartition("-")
        assert rule in {BAG_RULES.get(Limit(held)) for held in _held(setup)[AXLES.index(axle)]}
        return
    assert_allclose(pressure, answer.pressure[1].mean(), rtol=1e-4)
    label = in_the_way[0].code if in_the_way else None
    assert label == (stop.code if stop and stop.kind == "label" else None)
    if stop is not None and stop.kind == "stance":
        assert stop.code in {one.code for one in answer.findings}


def _held(setup):
    """Return the limits that the corners are held at, shape (2, 2)."""
    rig = rig_of(setup.truck)
    return levelling.level(rig, setup.load(rig), setup.wanted).held


@pytest.mark.parametrize("slug", EVERY)
def test_every_point_of_the_whole_map_settles_where_it_was_levelled(demo, slug):
    """50 x 50 points of the map an owner sees first: those said to level, settled in one batch as levelled."""
    setup = demo(slug)
    keys = first_two(setup)
    found, rig = mapped(setup, keys, (50, 50)), rig_of(setup.truck)
    assert found.levels.any()
    some = _batch(setup, keys, found).spread(found.levels.shape).take(found.levels.ravel())
    levelled = levelling.level(rig, some, setup.wanted)
    rests = settle(rig, some, HeldPressure(levelled.pressure), np.zeros((len(levelled.held), 4))).state
    assert_allclose(rests[:, :3], levelled.state[:, :3], atol=1e-6)
    off = np.abs(rests[:, :3] - setup.wanted) * np.array([1.0, 1.0, float(setup.truck.rear.track)])
    assert off.max() <= float(setup.truck.instruments.tape_error) + 1e-6


def _batch(setup, keys, found):
    """Return the load at every point, each built by itself."""
    rig = rig_of(setup.truck)
    corner = [
        [
            with_input(with_input(setup, keys[0], x), keys[1], y).load(rig)
            for x in (found.x_values[0], found.x_values[-1])
        ]
        for y in (found.y_values[0], found.y_values[-1])
    ]
    across = np.linspace(0.0, 1.0, found.x_values.size)
    up = np.linspace(0.0, 1.0, found.y_values.size)[:, None]

    def between(name):
        """Loads are linear in either input alone, so four corners give all."""
        (a, b), (c, d) = ((np.asarray(getattr(load, name), float) for load in row) for row in corner)
        extra = a.ndim

        def wide(part):
            return np.broadcast_to(part, (up.size, across.size)).reshape((up.size, across.size) + (1,) * extra)

        return (
            wide((1 - up) * (1 - across)) * a
            + wide((1 - up) * across) * b
            + wide(up * (1 - across)) * c
            + wide(up * across) * d
        )

    return Load(*(between(field.name) for field in fields(Load)))


def test_a_stopped_load_is_told_so_and_where_less_of_it_is_not(demo):
    setup = with_trailer(demo("mill-on-the-hill-road"), tongue_ratio=0.3)
    found = mapped(setup, ("weight", "tongue"), (20, 20))
    assert found.stop(found.here).code == "tongue-rating"
    rating = setup.hitch.tongue_rating / 0.3
    assert found.more is None
    assert found.less.value == pytest.approx(rating, abs=0.01)
    assert found.less.value <= rating


def test_areas_are_those_of_the_ratings(demo):
    """The trailer's own label stops at its weight; the hitch's tongue rating along weight x ratio."""
    setup = demo("mill-on-the-hill-road")
    found = mapped(setup, ("weight", "tongue"), (60, 50))
    weight, ratio = np.meshgrid(found.x_values, found.y_values)
    over = {
        "trailer-gvwr": weight / setup.trailer.gvwr,
        "tongue-rating": weight * ratio / setup.hitch.tongue_rating,
    }
    codes = {stop.code: n + 1 for n, stop in enumerate(found.stops)}
    for name, past in over.items():
        assert (past[found.code == codes[name]] > 1).all()
        assert (found.code == codes[name]).any()
    assert (np.maximum(*over.values())[found.code == 0] <= 1).all()
    assert (found.code[np.maximum(*over.values()) > 1] > 0).all()


def test_the_pressure_is_of_the_rear_else_of_the_front_else_none():
    axles = {"": 0, "front": 0, "rear": 0}
    for seed in range(18):
        setup = random_setup(seed)
        if setup is None:
            continue
        setup = replace(setup.without_trailer(), cargo=(), aboard=(), stance=Stance())  # the axle is the truck's alone
        found = mapped(setup, first_two(setup), (3, 3))
        has = setup.truck.front.bag is not None, setup.truck.rear.bag is not None
        assert found.pressure_axle == ("rear" if has[1] else "front" if has[0] else "")
        assert (found.pressure is None) == (not any(has))
        axles[found.pressure_axle] += 1
    assert all(axles.values())


@pytest.mark.parametrize("slug", EVERY)
def test_ranges_have_this_load_inside_and_stay_within_what_may_be(demo, slug):
    for one in inputs_of(demo(slug)).values():
        assert one.low <= one.value <= one.high
        assert one.low < one.high
        assert one.least <= one.low
        assert one.high <= one.greatest


def test_a_truck_with_nothing_on_it_is_asked_about_a_load_to_come(demo):
    setup = demo("mill-bed-empty").without_trailer()
    assert first_two(setup) == ("more.weight", "more.x")
    found = mapped(setup, first_two(setup), (30, 30))
    spare = setup.truck.gvwr - setup.truck.kerb.front_axle - setup.truck.kerb.rear_axle
    assert found.here == 0
    assert found.code[:, -1].all() == (found.x_values[-1] > spare)


def test_two_items_of_one_name_are_told_apart(demo):
    setup = demo("saw-crew-all-on-the-left")
    twice = replace(setup, cargo=(setup.cargo[0], setup.cargo[0]))
    labels = [one.label for one in inputs_of(twice).values()]
    assert len(set(labels)) == len(labels)


@pytest.mark.parametrize(
    ("x", "y", "match"),
    [
        (Axis("weight", 0, 1), Axis("weight", 0, 1), "must differ"),
        (Axis("colour", 0, 1), Axis("weight", 0, 1), "must be one of weight, tongue"),
        (Axis("weight", 1, 1), Axis("tongue", 0, 1), "must grow"),
    ],
)
def test_axes_that_make_no_map_are_refused(demo, x, y, match):
    with pytest.raises(ValueError, match=match):
        load_map(demo("mill-on-the-hill-road"), x, y)
