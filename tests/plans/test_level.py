"""Levelling and settling by records: what an owner asks, end to end."""

import numpy as np
import pint
import pytest
from numpy.testing import assert_allclose

from planner import level, settle
from planner.physics.constants import STANDARD_GRAVITY as G
from planner.plans.answer import CORNERS
from planner.plans.level import Shut, level_setup, settle_setup
from planner.records import BadInput, Cargo, Stance
from planner.units.quantity import read

PSI, INCH, POUND = 6894.757293168361, 0.0254, 0.45359237
SEPARATE = ["mill-on-the-hill-road", "mill-bed-empty", "logs-on-the-gooseneck", "saw-crew-all-on-the-left"]
EVERY = [*SEPARATE, "slabs-on-friday"]


@pytest.fixture(params=EVERY)
def setup(request, demo):
    return demo(request.param)


def test_the_ground_carries_all_the_weight_and_every_moment(setup):
    answer = level_setup(setup)
    on_it = (*setup.cargo, *setup.aboard)
    weight = (setup.truck.kerb.front_axle + setup.truck.kerb.rear_axle + sum(i.weight for i in on_it)) * G
    trailer = setup.trailer.weight * G if setup.trailer else 0.0
    assert_allclose(answer.axle_load.sum() + answer.trailer_axle_load, weight + trailer, rtol=1e-12)
    assert_allclose(answer.tyre_load.sum(axis=1), answer.axle_load, rtol=1e-12)
    track = np.array([setup.truck.front.track, setup.truck.rear.track])
    assert_allclose(
        (answer.tyre_load[:, 0] - answer.tyre_load[:, 1]) * track / 2, answer.side_moment, rtol=1e-9, atol=1e-6
    )
    unsprung = np.array([setup.truck.front.unsprung_weight, setup.truck.rear.unsprung_weight]) * G
    assert_allclose(answer.spring_load.sum(axis=1), answer.axle_load - unsprung, rtol=1e-12)


def test_every_bag_carries_what_steel_leaves(setup):
    answer = level_setup(setup)
    for k, axle in enumerate((setup.truck.front, setup.truck.rear)):
        if axle.bag is None:
            assert np.isnan(answer.pressure[k]).all()
            continue
        steel = axle.steel_load - axle.steel_rate * (answer.bag_height[k] - axle.bag.fitted_height)
        assert_allclose(answer.bag_load[k] + steel, answer.spring_load[k] / axle.motion_ratio, rtol=1e-9)


@pytest.mark.parametrize("slug", SEPARATE)
def test_four_separate_bags_reach_level_with_least_twist(demo, slug):
    answer = level_setup(demo(slug))
    assert answer.level
    assert (answer.stance.front, answer.stance.rear, answer.stance.roll) == (0.0, 0.0, 0.0)
    assert abs(answer.frame_twist) < 1e-9


def test_levelled_pressures_settle_at_the_wanted_stance(setup):
    planned = level_setup(setup)
    sits = settle_setup(setup, {})
    assert_allclose(
        [sits.stance.front, sits.stance.rear, sits.stance.roll],
        [planned.stance.front, planned.stance.rear, planned.stance.roll],
        atol=1e-9,
    )


def test_the_set_pressures_are_whole_steps_and_their_stance_is_what_they_give(setup):
    planned = level_setup(setup)
    there = ~np.isnan(planned.pressure)
    steps = planned.set.pressure[there] / setup.truck.instruments.gauge_step
    assert_allclose(steps, steps.round(), atol=1e-9)
    assert np.abs(planned.set.pressure - planned.pressure)[there].max() <= 1.5 * setup.truck.instruments.gauge_step
    given = dict(zip(CORNERS, planned.set.pressure.ravel(), strict=True))
    sits = settle_setup(setup, {corner: value for corner, value in given.items() if not np.isnan(value)})
    assert_allclose(
        [sits.stance.front, sits.stance.rear, sits.stance.roll],
        [planned.set.stance.front, planned.set.stance.rear, planned.set.stance.roll],
        atol=1e-9,
    )
    assert sits.coupling_height == pytest.approx(planned.set.coupling_height)


def test_coupling_height_follows_the_wanted_stance(demo):
    setup = demo("mill-on-the-hill-road")
    raised = level(
        setup.truck,
        trailer=setup.trailer,
        hitch="receiver",
        cargo=setup.cargo,
        stance=Stance(front="1 in", rear="-0.5 in", lean="0.25 in"),
    )
    # ball 52 in behind the axle of a 158 in wheelbase: the 1.5 in of nose-up pitch lowers it by 1.5 * 52 / 158
    assert raised.coupling_height / INCH == pytest.approx(19 - 0.5 - 1.5 * 52 / 158)
    assert raised.stance.roll == pytest.approx(0.25 / 68)


def test_the_only_fitting_hitch_need_not_be_named_but_two_must_be(demo):
    setup = demo("mill-on-the-hill-road")
    assert level(setup.truck, trailer=setup.trailer).hitch_load == pytest.approx(7200 * POUND * G * 0.12)
    receiver = setup.truck.hitches[0]
    other = receiver.model_copy(update={"name": "second receiver"})
    two = setup.truck.model_copy(update={"hitches": (receiver, other)})
    with pytest.raises(BadInput, match="hitch"):
        level(two, trailer=setup.trailer)


def test_a_rigid_coupling_passes_the_bias_and_a_ball_does_not(demo):
    setup = demo("logs-on-the-gooseneck")
    hitch = next(h for h in setup.truck.hitches if h.name == "bed ball")
    even = level(setup.truck, trailer=setup.trailer, hitch="bed ball", left_share=0.5)
    on_ball = level(setup.truck, trailer=setup.trailer, hitch="bed ball", left_share=0.6)
    rigid = setup.truck.model_copy(update={"hitches": (hitch.model_copy(update={"roll_coupling": 1.0}),)})
    passed = level(rigid, trailer=setup.trailer, hitch="bed ball", left_share=0.6)
    assert_allclose(on_ball.pressure, even.pressure)
    assert "side-bias-on-ball" in [finding.code for finding in on_ball.findings]
    assert "side-bias-on-ball" not in [finding.code for finding in passed.findings]
    # y = (0.6 - 0.5) * track
    gain = passed.side_moment.sum() - even.side_moment.sum()
    assert gain == pytest.approx(passed.hitch_load * 0.1 * setup.truck.rear.track)


def test_bars_move_load_from_the_rear_axle_to_the_front_and_to_the_trailer(demo):
    setup = demo("mill-bed-empty")
    slack = level(setup.truck, trailer=setup.trailer, hitch="receiver")
    full = level(setup.truck, trailer=setup.trailer.model_copy(update={"bars": 1.0}), hitch="receiver")
    kerb = setup.truck.kerb.front_axle * G
    assert slack.axle_load[0] < kerb
    assert full.axle_load[0] == pytest.approx(kerb)
    assert full.axle_load[1] < slack.axle_load[1]
    assert full.trailer_axle_load > slack.trailer_axle_load


def test_an_overload_is_held_at_the_greatest_pressure_and_says_so(demo):
    setup = demo("mill-bed-empty")
    answer = level(setup.truck, cargo=[Cargo(name="Stone", weight="7500 lb", x="0 in")])
    assert answer.pressure[1] == pytest.approx(100 * PSI)
    assert not answer.level
    assert answer.stance.rear < 0
    told = next(finding for finding in answer.findings if finding.code == "sits-low-rear")
    assert told.level == "stop"
    assert told.value == pytest.approx(-answer.stance.rear)
    assert "the rear left and rear right bags hold all the air or load allowed" in told.text
    assert "stance-not-reached-rear" not in [finding.code for finding in answer.findings]
    assert answer.stopped


def test_one_corner_at_its_limit_moves_the_split_and_costs_twist_not_level(demo):
    setup = demo("mill-bed-empty")
    lopsided = [Cargo(name="Slab", weight="2600 lb", x="0 in", y="40 in")]
    free = level(setup.truck, cargo=lopsided)
    assert free.level
    assert free.pressure[1, 0] == pytest.approx(100 * PSI)  # the heavy corner is held at its greatest pressure
    assert abs(free.frame_twist) > 100
    assert "frame-twist" in [finding.code for finding in free.findings]


def test_a_cold_morning_lets_a_sealed_truck_down_and_warmth_brings_it_back(demo):
    setup = demo("mill-on-the-hill-road")
    cold = settle_setup(setup, {}, shut=Shut(temperature=268.15))
    same = settle_setup(setup, {}, shut=Shut())
    assert cold.stance.rear < -0.004
    assert cold.pressure[1, 0] == pytest.approx(same.pressure[1, 0], rel=0.05)  # it sinks until the load is carried
    assert_allclose([same.stance.front, same.stance.rear, same.stance.roll], 0, atol=1e-9)


def test_altitude_lifts_a_sealed_truck(demo):
    setup = demo("mill-on-the-hill-road")
    assert settle_setup(setup, {}, shut=Shut(altitude=2400.0)).stance.rear > 0.002


def test_unhitching_with_valves_shut_raises_the_rear(demo):
    setup = demo("mill-on-the-hill-road")
    free = settle_setup(setup, {}, setup.without_trailer(), Shut())
    held = settle_setup(setup, {}, setup.without_trailer())
    assert free.stance.rear > 0.01
    assert held.stance.rear > free.stance.rear  # held pressure gives way more than shut-in air
    assert free.hitch_load == 0.0


def test_settle_by_records_is_settle_by_setup(demo):
    setup = demo("mill-on-the-hill-road")
    one = settle(setup.truck, {"rear_left": 50 * PSI}, trailer=setup.trailer, hitch="receiver", cargo=setup.cargo)
    assert one.pressure[1, 0] == pytest.approx(50 * PSI)
    assert one.stance.roll > 0


@pytest.mark.parametrize(
    ("slug", "pressure", "message"),
    [
        ("slabs-on-friday", {"front_left": 1e5}, "front_left: the front axle has no bag"),
        ("slabs-on-friday", {"rear_left": 1e5, "rear_right": 2e5}, "share one line"),
        ("mill-bed-empty", {"rear_left": -1.0}, "must be a gauge pressure >= 0, got -1 Pa"),
        ("mill-bed-empty", {"rear_left": float("nan")}, "rear_left: must be a finite number, got nan"),
    ],
)
def test_pressures_that_cannot_be_are_refused(demo, slug, pressure, message):
    with pytest.raises(ValueError, match=message):
        settle_setup(demo(slug), pressure)


def test_one_pressure_of_a_joined_pair_sets_both(demo):
    answer = settle_setup(demo("slabs-on-friday"), {"rear_left": 60 * PSI})
    assert answer.pressure[1] == pytest.approx(60 * PSI)


def test_bounce_is_in_the_range_of_road_vehicles(setup):
    # passenger vehicles 1 to 2 Hz (Gillespie, from memory); a loaded truck's axle is not far off
    assert np.all((level_setup(setup).bounce_frequency > 0.8) & (level_setup(setup).bounce_frequency < 2.5))


def test_every_wrong_pressure_is_told_of_at_once_with_its_corner(demo):
    wrong = {"left_rear": 1e5, "rear_right": "5 ft", "front_left": "lots"}
    with pytest.raises(BadInput) as caught:
        settle_setup(demo("mill-bed-empty"), wrong)
    lines = str(caught.value).splitlines()
    assert lines[0] == (
        "pressure: a corner must be one of front_left, front_right, rear_left, rear_right, "
        'got "left_rear": did you mean rear_left?'
    )
    assert [line.partition(":")[0] for line in lines[1:]] == ["rear_right", "front_left"]


def test_a_pressure_may_be_a_number_a_text_or_pint_s(demo):
    setup = demo("mill-bed-empty")
    given = [{"rear_left": one} for one in (40 * PSI, "40 psi", read("40 psi", "pressure"), pint.Quantity(40.0, "psi"))]
    heights = [settle_setup(setup, one).bag_height for one in given]
    for height in heights[1:]:
        np.testing.assert_allclose(height, heights[0], rtol=1e-6)
