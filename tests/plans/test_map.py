"""The map: every point is what the same load says by itself, and settles where it was levelled."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.physics import levelling
from planner.physics.settling import HeldPressure, settle
from planner.plans.inputs import first_two, inputs_of
from planner.plans.level import level_setup
from planner.plans.map import ALONG, ROUNDS, Axis, load_map
from planner.plans.setup import rig_of

from .random_records import random_setup
from .varied import with_input, with_trailer

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


@pytest.mark.parametrize("slug", EVERY)
def test_a_point_says_what_its_load_says_by_itself(demo, slug):
    """Over every neighbouring pair of inputs, weights to three times their range: 3 x 3 points each."""
    setup = demo(slug)
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
    rig, answer = rig_of(setup.truck), level_setup(setup)
    load = setup.load(rig)
    held = levelling.level(rig, load, setup.wanted).held
    assert levels == (answer.level and not held.any())
    assert (stop is not None and stop.kind == "bag") == bool(held.any())
    if stop is None or stop.kind != "bag":
        assert_allclose(pressure, answer.pressure[1].mean(), rtol=1e-9)
        stops = [one for one in answer.findings if one.level == "stop"]
        assert (stops[0].code if stops else None) == (stop.code if stop and stop.kind == "label" else None)
        off = {one.code for one in answer.findings if one.code.startswith(("stance-not", "lean-left"))}
        assert bool(off) == (not levels)
        if stop is not None and stop.kind == "stance":
            assert stop.code in off
    else:
        assert _asked_for(setup, rig, load) & {stop.code}


def _asked_for(setup, rig, load):
    """Return the limits that the wanted stance passes, from the records: height, pressure and load of each bag."""
    state = levelling.ask(rig, load, setup.wanted).state
    height, force = rig.corners(load, state)
    found = set()
    for k, axle in enumerate((setup.truck.front, setup.truck.rear)):
        if axle.bag is None:
            continue
        bag = axle.bag
        steel = axle.steel_load - axle.steel_rate * (height[k] - bag.fitted_height)
        on_chart = (height[k] >= bag.height[0]) & (height[k] <= bag.height[-1])
        pressure = np.where(on_chart, (force[k] - steel) / rig.area(height)[k], np.nan)
        rating = np.inf if bag.load_rating is None else bag.load_rating
        limits = {
            "pressure-low": pressure < bag.least_pressure,
            "pressure-high": pressure > bag.greatest_pressure,
            "bag-load": force[k] - steel > rating,
            "bag-height-low": height[k] < bag.height[0],
            "bag-height-high": height[k] > bag.height[-1],
        }
        found |= {f"{rule}-{AXLES[k]}" for rule, there in limits.items() if there.any()}
    return found


@pytest.mark.parametrize("slug", EVERY)
def test_every_point_of_the_whole_map_settles_where_it_was_levelled(demo, slug):
    """All 150 x 150 points of the map an owner sees first, settled in one batch at the pressures asked."""
    setup = demo(slug)
    keys = first_two(setup)
    found, rig = mapped(setup, keys, (150, 150)), rig_of(setup.truck)
    load = _batch(setup, keys, found)
    asked = levelling.ask(rig, load, setup.wanted)
    inside = found.levels & (asked.pressure >= 0).all(axis=(-1, -2))
    assert inside.any()
    some = load.spread(found.levels.shape).take(inside.ravel())
    start = np.zeros((int(inside.sum()), 4))
    rests = settle(rig, some, HeldPressure(asked.pressure[inside]), start).state
    assert_allclose(rests[:, :3], asked.state[inside][:, :3], atol=1e-7)
    off = np.abs(rests[:, :3] - setup.wanted) * np.array([1.0, 1.0, float(setup.truck.rear.track)])
    assert off.max() <= float(setup.truck.instruments.tape_error) + 1e-7


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

    return type(corner[0][0])(between("axle"), between("side_moment"), between("least_twist"))


@pytest.mark.parametrize("seed", range(0, 240, 4))
def test_any_truck_has_a_map_and_stops_where_levelling_holds_a_limit(seed):
    setup = random_setup(seed)
    if setup is None:
        return
    keys = first_two(setup)
    if keys[0].startswith("more"):
        found = load_map(setup, *(axis(setup, key) for key in keys), size=(4, 3))
        assert found.code.shape == (3, 4)
        return
    found = mapped(setup, keys, (4, 3))
    for row, column in np.ndindex(3, 4):
        alone = with_input(with_input(setup, keys[0], found.x_values[column]), keys[1], found.y_values[row])
        rig = rig_of(alone.truck)
        held = levelling.level(rig, alone.load(rig), alone.wanted).held
        stop = found.stop(int(found.code[row, column]))
        if stop is None or stop.kind != "bag":
            assert not held.any()


@pytest.mark.parametrize("slug", EVERY)
def test_the_first_stop_is_the_edge_of_what_is_good(demo, slug):
    setup = demo(slug)
    keys = first_two(setup)
    found = mapped(setup, keys, (3, 3), stretch=4.0)
    turn = found.less if found.here and found.stop(found.here).kind != "stance" else found.more
    assert turn is not None
    step = 1.01 * (found.x_values[-1] - found.x_values[0]) / (ALONG - 1) ** ROUNDS
    more = turn is found.more
    at, near = (
        with_input(setup, keys[0], value) for value in (turn.value, turn.value - step if more else turn.value + step)
    )
    assert (_stopped(at), _stopped(near)) == (more, not more)
    if more:
        stop = found.stop(turn.code)
        rig = rig_of(at.truck)
        assert stop.code in {one.code for one in level_setup(at).findings} | _asked_for(at, rig, at.load(rig))


def _stopped(setup):
    """Tell whether a load by itself is stopped."""
    return _held(setup) or any(one.level == "stop" for one in level_setup(setup).findings)


def _held(setup):
    rig = rig_of(setup.truck)
    return bool(levelling.level(rig, setup.load(rig), setup.wanted).held.any())


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
