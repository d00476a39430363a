"""Levers: what loads, hitch and bars add to the axles, from moments taken about places the code does not use."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.errors import Refusal
from planner.physics import statics

number = st.floats(-50, 50)
length = st.floats(1.0, 10.0)


@given(load=st.floats(-1e4, 1e5), x=number, y=number, wheelbase=length, about=number)
def test_a_point_load_is_balanced_about_any_place(load, x, y, wheelbase, about):
    added = statics.point_load(load, x, y, wheelbase)
    front, rear = added.axle
    scale = abs(load) * (abs(x) + abs(about) + wheelbase) + 1
    assert_allclose(front + rear, load, atol=1e-12 * scale)
    assert_allclose(front * (wheelbase - about) + rear * (0 - about), load * (x - about), atol=1e-10 * scale)
    assert_allclose(added.side_moment, load * y, rtol=1e-12)
    assert abs(added.least_twist) <= abs(added.side_moment)


@given(
    gross=st.floats(1e3, 1e5), tongue=st.floats(0.0, 0.3), d=st.floats(0.1, 3), lt=length, r=st.floats(0, 1), wb=length
)
def test_truck_and_trailer_with_bars_balance_as_two_bodies(gross, tongue, d, lt, r, wb):
    t = tongue * gross
    h = statics.hitched_loads(gross, t, d, lt, r)
    onto_truck = statics.point_load(h.hitch_load, -d, 0.0, wb) + statics.pitch_moment(h.bar_moment, wb)
    slack = statics.point_load(t, -d, 0.0, wb)
    # the whole: forces, and moments about the hitch (truck wheels ahead of it, trailer axle behind, mass behind)
    assert_allclose(onto_truck.axle.sum() + h.trailer_axle_load, gross, rtol=1e-12)
    mass_behind = lt * (1 - tongue)
    moment = onto_truck.axle[0] * (wb + d) + onto_truck.axle[1] * d - h.trailer_axle_load * lt
    assert_allclose(moment, -gross * mass_behind, rtol=1e-11, atol=1e-9 * gross)
    # the trailer alone about its axle: hitch, its mass, the bars nose up
    assert_allclose(h.hitch_load * lt + h.bar_moment, t * lt, rtol=1e-11, atol=1e-9 * gross)
    # restoration: the part put back of what the front axle lost
    assert_allclose(onto_truck.axle[0], (1 - r) * slack.axle[0], rtol=1e-9, atol=1e-9 * gross)


def test_slack_bars_work_at_any_hitch():
    h = statics.hitched_loads(30e3, 3e3, np.array([1.2, 0.0, -0.3]), 5.0, 0.0)
    assert_allclose(h.hitch_load, 3e3)
    assert_allclose(h.bar_moment, 0.0)


@pytest.mark.parametrize("overhang", [0.0, -0.3])
def test_bars_at_a_hitch_over_the_bed_are_refused(overhang):
    with pytest.raises(
        Refusal, match=r"bars need a hitch behind the rear axle \(overhang > 0 m\), got .* m: set the restoration"
    ):
        statics.hitched_loads(30e3, 3e3, overhang, 5.0, 0.5)


def test_lengths_that_are_none_are_refused():
    with pytest.raises(ValueError, match=r"distance from coupling to trailer axle must be > 0 m, got 0 m"):
        statics.hitched_loads(30e3, 3e3, 1.2, 0.0, 0.0)
    with pytest.raises(ValueError, match=r"wheelbase must be > 0 m, got -1 m"):
        statics.point_load(100.0, 1.0, 0.0, -1.0)


@pytest.mark.parametrize(
    ("arguments", "words"), [((np.inf, 1, 0), "load"), ((1, np.nan, 0), "place"), ((1, 1, np.inf), "place to the left")]
)
def test_a_load_that_is_no_number_is_refused(arguments, words):
    with pytest.raises(ValueError, match=f"{words} must be a finite number"):
        statics.point_load(*arguments, 4.0)


def test_kerb_side_moment_is_that_of_the_wheel_loads():
    axle, track = np.array([20e3, 14e3]), np.array([1.74, 1.70])
    k = statics.kerb_load(axle, axle - 3e3, 0.53, track)
    wheels = axle[:, None] * np.array([0.53, 0.47])
    assert_allclose(k.side_moment, ((wheels[:, 0] - wheels[:, 1]) * track / 2).sum(), rtol=1e-12)
    assert_allclose(k.least_twist, k.side_moment * 17 / 28, rtol=1e-12)


@given(ratio=st.floats(0.0, 1.0), moment=st.floats(-5e3, 5e3))
def test_least_twist_is_least_for_a_uniform_shaft(ratio, moment):
    """Twist energy of a uniform shaft with end reactions, by quadrature: ∫ T² dx is least at the split stated."""
    place, x = ratio * 4.0, np.linspace(0, 4, 4001)
    stated = float(statics.point_load(1.0, place, moment, 4.0).least_twist)

    def energy(front):
        return np.trapezoid(np.where(x < place, moment - front, front) ** 2, x)  # rear part carries the rest

    # the quadrature blurs the step by one part in 4000: the vertex of its parabola is met to that
    low, middle, high = energy(stated - 100.0), energy(stated), energy(stated + 100.0)
    vertex = stated + 50.0 * (low - high) / (low - 2 * middle + high)
    assert_allclose(vertex, stated, atol=abs(moment) / 4000 * 1.1 + 1e-6)


def test_loads_add_and_broadcast():
    many = statics.point_load(np.ones((3, 1)), np.ones(5), 0.5, 4.0)
    assert many.axle.shape == (3, 5, 2)
    both = many + statics.point_load(2.0, 0.0, 0.0, 4.0)
    assert_allclose(both.axle.sum(axis=-1), 3.0)
    assert both.spread((3, 5)).axle.shape == (15, 2)
    assert both.spread((3, 5)).take(np.arange(15) < 4).side_moment.shape == (4,)


@given(
    gross=st.floats(1e3, 1e5), tongue=st.floats(0.05, 0.3), d=st.floats(0.3, 3), lt=length, r=st.floats(0, 1.5),
    wb=length, front=st.floats(1e3, 5e4),
)  # fmt: skip
def test_a_restoration_comes_back_from_the_weighings_it_gives(gross, tongue, d, lt, r, wb, front):
    def front_axle(wanted):
        h = statics.hitched_loads(gross, tongue * gross, d, lt, wanted)
        added = statics.point_load(h.hitch_load, -d, 0.0, wb) + statics.pitch_moment(h.bar_moment, wb)
        return front + added.axle[0]

    found = statics.restoration(front, front_axle(0.0), front_axle(r))
    lost = front - front_axle(0.0)
    assert_allclose(found, r, rtol=0, atol=1e-14 * (front + gross) / lost + 1e-12)
    again = statics.hitched_loads(gross, tongue * gross, d, lt, found)
    assert_allclose(
        again.bar_moment, statics.hitched_loads(gross, tongue * gross, d, lt, r).bar_moment, atol=1e-8 * gross
    )


def test_restorations_of_three_weighings():
    assert_allclose(statics.restoration(4300.0, 3900.0, [3900.0, 4100.0, 4300.0, 4340.0]), [0.0, 0.5, 1.0, 1.1])


@pytest.mark.parametrize(
    ("weighed", "words"),
    [
        (
            (4300.0, 4300.0, 4300.0),
            r"front axle alone must be > front axle hitched, got 0 N more: .*which slip is which",
        ),
        ((3900.0, 4300.0, 4100.0), r"got -400 N more"),
        ((np.nan, 3900.0, 4100.0), r"front axle alone must be a finite number"),
        ((4300.0, 3900.0, np.inf), r"front axle hitched with bars must be a finite number"),
    ],
)
def test_weighings_that_show_no_restoration_are_refused(weighed, words):
    with pytest.raises(ValueError, match=words):
        statics.restoration(*weighed)
