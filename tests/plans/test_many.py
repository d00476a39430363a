"""The array form: the same answers as one call a case, in the shape that was asked, and clear refusals."""

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from planner import Cargo, Limit, level_many
from planner.physics.array_layout import BLOCK
from planner.physics.constants import STANDARD_GRAVITY as G
from planner.plans.level import level_setup
from planner.plans.setup import Setup
from planner.records import Stance
from planner.store import Store

from .conftest import DEMO

TRUCK = Store(DEMO).read_truck("ridge-truck")
YARD = Store(DEMO).read_truck("yard-truck")


def cases(count, seed=1, heaviest=6000.0):
    """Random loads and stances, some of them past what the bags can hold."""
    rng = np.random.default_rng(seed)
    return {
        "cargo_load": rng.uniform(0, heaviest, count),
        "cargo_x": rng.uniform(-0.8, 1.5, count),
        "cargo_y": rng.uniform(-0.6, 0.6, count),
        "stance": rng.uniform(-0.05, 0.05, (count, 3)) * [1, 1, 0.3],
    }


def one_by_one(truck, given, case, hitch_load=0.0, hitch=None):
    """The same case by the public call for one, its hitch load as cargo at the hitch."""
    load, x, y = (float(given[name][case]) for name in ("cargo_load", "cargo_x", "cargo_y"))
    front, rear, roll = given["stance"][case]
    items = [("cargo", load, x, y, truck.mass_height)]
    if hitch is not None:
        items.append(("hitch", hitch_load, float(hitch.x), float(hitch.y), float(hitch.height)))
    cargo = tuple(
        Cargo(name=name, weight=f"{weight / G!r} kg", x=f"{a!r} m", y=f"{b!r} m", z=f"{c!r} m")
        for name, weight, a, b, c in items
        if weight
    )
    lean = float(roll) * float(truck.rear.track)
    stance = Stance(front=f"{float(front)!r} m", rear=f"{float(rear)!r} m", lean=f"{lean!r} m")
    return level_setup(Setup(truck, cargo=cargo, stance=stance))


@pytest.mark.parametrize("truck", [TRUCK, YARD], ids=["four bags", "no bags in front"])
def test_each_case_is_that_of_one_call(truck):
    given = cases(60)
    many = level_many(truck, **given)
    for case in range(60):
        one = one_by_one(truck, given, case)
        assert_allclose(many.pressure[case], one.pressure, rtol=1e-6, atol=1.0)
        stance = [one.stance.front, one.stance.rear, one.stance.roll]
        assert_allclose(many.stance[case], stance, atol=1e-7)


@pytest.mark.parametrize("shape", [(), (3,), (2 * BLOCK + 1,), (4, 5)])
def test_an_earlier_answer_is_written_over(shape):
    heavy, light = (level_many(TRUCK, cargo_load=np.full(shape, load)) for load in (4000.0, 500.0))
    again = level_many(TRUCK, cargo_load=np.full(shape, 500.0), into=heavy)
    for here, before, wanted in zip(again, heavy, light, strict=True):
        assert np.shares_memory(here, before)
        assert_array_equal(here, wanted)


def test_an_answer_of_another_shape_is_not_written_over():
    with pytest.raises(ValueError, match=r"into must be an answer of shape \(4,\), got one of \(3,\)"):
        level_many(TRUCK, cargo_load=np.ones(4), into=level_many(TRUCK, cargo_load=np.ones(3)))


def test_a_hitch_load_is_a_load_at_the_hitch():
    given = cases(20, heaviest=1500.0)
    on_hitch = np.linspace(100, 4000, 20)
    many = level_many(TRUCK, hitch="receiver", hitch_load=on_hitch, **given)
    for case in range(20):
        one = one_by_one(TRUCK, given, case, float(on_hitch[case]), TRUCK.hitch("receiver"))
        assert_allclose(many.pressure[case], one.pressure, rtol=1e-6, atol=1.0)


def test_limits_are_told_where_they_hold():
    given = cases(3 * BLOCK + 5, seed=3, heaviest=20_000.0)
    many = level_many(TRUCK, **given)
    bag = TRUCK.rear.bag
    assert set(np.unique(many.limit)) > {0, 1}
    free = (many.limit == Limit.NONE).all(axis=(1, 2))
    assert_allclose(many.stance[free], given["stance"][free], atol=1e-12)
    assert many.pressure[:, 1].max() <= bag.greatest_pressure * (1 + 1e-9)
    assert many.pressure[:, 1].min() >= bag.least_pressure * (1 - 1e-9)
    low = many.limit[:, 1] == Limit.LEAST_PRESSURE
    assert_allclose(many.pressure[:, 1][low], bag.least_pressure, rtol=1e-6)


def test_shapes_broadcast_and_blocks_leave_no_seam():
    many = level_many(TRUCK, hitch="receiver", hitch_load=np.linspace(0, 3e3, 120)[:, None], cargo_load=np.zeros(100))
    assert many.pressure.shape == (120, 100, 2, 2)
    assert many.stance.shape == (120, 100, 3)
    assert many.limit.shape == (120, 100, 2, 2)
    assert_allclose(many.pressure, np.broadcast_to(many.pressure[:, :1], many.pressure.shape), rtol=1e-12)
    assert np.all(np.diff(many.pressure[:, 0, 1], axis=0) > 0)
    assert level_many(TRUCK).pressure.shape == (2, 2)
    assert level_many(TRUCK, cargo_load=np.zeros(0)).pressure.shape == (0, 2, 2)


def test_a_corner_without_a_bag_has_no_pressure():
    many = level_many(YARD, cargo_load=np.ones(3))
    bags = [YARD.front.bag is not None, YARD.rear.bag is not None]
    assert_array_equal(np.isfinite(many.pressure).all(axis=(0, 2)), bags)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"hitch_load": 1.0, "hitch": "rope"}, "hitch must be one of"),
        ({"hitch_load": 1.0}, "hitch must be one of"),
        ({"cargo_load": np.nan}, "cargo_load: must be a finite number"),
        ({"cargo_load": 1.0, "cargo_y": np.inf}, "cargo_y: must be a finite number"),
        ({"stance": np.zeros(2)}, "stance must have shape"),
        ({"stance": [0.0, np.nan, 0.0]}, "stance must be a finite number"),
        ({"cargo_load": np.zeros(3), "cargo_x": np.zeros(4)}, "shape"),
    ],
)
def test_what_makes_no_sense_is_refused(given, words):
    with pytest.raises(ValueError, match=words):
        level_many(TRUCK, **given)
