"""A bag charted at one height: its slope is typical, and how sure the truck stands says so."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.plans.level import level_setup
from planner.plans.setup import rig_of
from planner.plans.uncertainty.result import find_uncertainty
from planner.plans.uncertainty.samples import batch, columns, sample_deviations
from planner.plans.uncertainty.spreads import SLOPE_OVER, TYPICAL, spreads_of
from planner.records.bag import TYPICAL_SLOPE

EXACT = dict.fromkeys(TYPICAL, 0.0)
MILL = "mill-on-the-hill-road"
ONE = {"height": ["6 in"], "area": ["48 in**2"]}


@pytest.fixture
def one_height(demo):
    """The mill's truck, both bags charted at one height."""
    setup = demo(MILL)
    axles = {n: getattr(setup.truck, n) for n in ("front", "rear")}
    truck = setup.truck.replaced(**{n: axle.replaced(bag=axle.bag.replaced(**ONE)) for n, axle in axles.items()})
    return replace(setup, truck=truck)


def test_only_a_chart_of_one_height_has_it(demo, one_height):
    assert not {"slope.front", "slope.rear"} & set(spreads_of(demo(MILL)))
    found = spreads_of(one_height)
    assert found["slope.rear"].value == 0.15
    assert found["slope.rear"].origin == "typical"
    assert "from memory" in found["slope.rear"].source


def test_each_draw_is_a_truck_of_another_slope(one_height):
    answer = level_setup(one_height)
    drawn = columns(one_height, answer, spreads_of(one_height, EXACT | {"slope.front": 0.15, "slope.rear": 0.15}))
    off = sample_deviations(drawn, 8)
    many = batch(one_height, answer, drawn, off)
    by_key = {column.key: off[:, i] for i, column in enumerate(drawn)}
    height = np.full((len(off), 2, 2), 0.17) + np.array([[0.0, 0.001], [-0.05, 0.02]])
    area = many.rig.area(height)
    for k, name in enumerate(("front", "rear")):
        slope = TYPICAL_SLOPE + by_key[f"slope.{name}"] / SLOPE_OVER
        charted = 48 * 0.0254**2
        assert_allclose(area[:, k], charted * (1 + slope[:, None] * (height[:, k] - 6 * 0.0254)), rtol=1e-12)
    step = 1e-6
    read = (many.rig.area(height + step) - many.rig.area(height - step)) / (2 * step)
    assert_allclose(many.rig.springs(height).area_slope, read, rtol=1e-5)


def test_no_draw_turns_an_area_round(one_height):
    answer = level_setup(one_height)
    drawn = columns(one_height, answer, spreads_of(one_height, {"slope.front": 3.0, "slope.rear": 3.0}))
    many = batch(one_height, answer, drawn, sample_deviations(drawn, 64))
    for end in rig_of(one_height.truck).travel.T:
        assert many.rig.area(np.broadcast_to(end[:, None], (len(many.pressure), 2, 2))).min() > 0


def test_an_unsure_slope_widens_the_band_of_a_truck_that_stands_off_the_charted_height(one_height):
    """And a sure one leaves what a full chart leaves."""
    raised = replace(one_height, stance=one_height.stance.replaced(rear="1 in"))
    answer = level_setup(raised)
    found, sure = (
        find_uncertainty(raised, answer),
        find_uncertainty(raised, answer, {"slope.front": 0.0, "slope.rear": 0.0}),
    )
    rear = found.share_of["rear"]
    assert rear.total[rear.groups.index("bag area's slope")] > 0.02
    assert "bag area's slope" not in sure.share_of["rear"].groups
