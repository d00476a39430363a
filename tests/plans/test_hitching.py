"""Hitching: stages in order, advice that holds when followed, and the way back."""

import json
import re
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.physics.constants import STANDARD_GRAVITY as G
from planner.plans.hitching import hitch_up
from planner.plans.level import level_setup
from planner.plans.setup import Setup
from planner.records import BadInput, Profile, read_record
from planner.show.drawings.side_view import from_side
from planner.show.drawings.stage_view import stage_view
from planner.show.text.as_json import hitch_object
from planner.show.text.hitching import change_words, hitch_lines, trailer_lines, unreached_words
from planner.show.text.numbers import say, sentence
from planner.show.text.words import pitch_words
from planner.store import Store

from .conftest import DEMO

INCH, POUND = 0.0254, 0.45359237
HITCHED = ["mill-on-the-hill-road", "mill-bed-empty", "logs-on-the-gooseneck", "slabs-on-friday"]


def parts(slug="mill-bed-empty"):
    outfit = Store(DEMO).read_outfit(slug)
    return outfit.profile, outfit.truck, outfit.trailer


def planned(slug="mill-bed-empty", *, trailer=None, hitch=None, truck=None):
    """Return the plan of a demo profile with some fields of its records changed."""
    profile, its_truck, its_trailer = parts(slug)
    hitches = tuple(one.replaced(**(hitch or {})) if one.name == profile.hitch else one for one in its_truck.hitches)
    changed = its_truck.replaced(hitches=hitches, **(truck or {}))
    return hitch_up(Setup.of(profile, changed, its_trailer.replaced(**(trailer or {}))))


def fine(slug):
    """Return a change of a demo profile's truck: a gauge so fine that what it shows levels to the last digit."""
    return {"instruments": parts(slug)[1].instruments.replaced(gauge_step="0.0001 psi")}


def codes(plan):
    return [finding.code for finding in plan.findings]


@pytest.mark.parametrize("slug", HITCHED)
def test_every_demo_trailer_is_reached_and_its_stages_are_in_order(slug):
    plan = planned(slug)
    clear, meet, lift, tow = plan.stages
    assert [stage.name for stage in plan.stages] == ["clear", "meet", "lift", "tow"]
    assert clear.reachable
    assert meet.reachable
    assert lift.reachable
    assert clear.height < meet.height <= lift.height + 1e-9
    assert clear.answer.hitch_load == meet.answer.hitch_load == 0
    assert_allclose(meet.answer.axle_load, clear.answer.axle_load)
    tongue = plan.setup.trailer.weight * plan.setup.trailer.tongue_share * G
    assert_allclose(lift.answer.axle_load.sum() - meet.answer.axle_load.sum(), tongue)
    assert_allclose(tow.answer.pressure, level_setup(plan.setup).pressure)


def test_heights_are_those_of_ball_gap_and_stow():
    slug = "mill-on-the-hill-road"
    clear, meet, lift, tow = (stage.height / INCH for stage in planned(slug, truck=fine(slug)).stages)
    assert clear == pytest.approx(20 - 2.3125 / 2 - 1)
    assert meet == pytest.approx(20)
    assert lift == pytest.approx(21)
    assert tow == pytest.approx(19, abs=1e-4)


def fifth_wheel(**trailer):
    return planned(
        "logs-on-the-gooseneck",
        trailer={"coupling": "fifth_wheel"} | trailer,
        hitch={"coupling": "fifth_wheel", "ball_diameter": None},
    )


def test_a_fifth_wheel_goes_under_half_an_inch_high_so_that_it_lifts_the_trailer():
    plan = fifth_wheel()
    assert plan.stages[0].height / INCH == pytest.approx(43.5)
    assert plan.stages[1].height / INCH == pytest.approx(43)


@pytest.mark.parametrize(("parked", "severity"), [(60, "stop"), (None, "caution")])
def test_a_plate_that_stays_low_is_a_high_hitch_and_the_trailer_comes_down_to_it(parked, severity):
    highest = fifth_wheel(parked_height="60 in").stages[0].height / INCH
    parked = parked or highest - 0.25  # the plate comes up to the trailer's, not the half inch above it that lifts it
    plan = fifth_wheel(parked_height=f"{parked} in")
    clear = plan.stages[0]
    assert not clear.reachable
    assert plan.jack_up / INCH == pytest.approx(highest - parked - 0.5)  # down
    told = next(one for one in plan.findings if one.code in ("plate-too-low", "dip-out-of-reach"))
    assert told.level == severity
    assert told.amounts["jack"][0] == pytest.approx(-plan.jack_up)
    assert "Bring the trailer down" in told.text
    assert ("ride over the jaws" in told.text) is (severity == "stop")
    followed = fifth_wheel(parked_height=f"{parked + plan.jack_up / INCH} in")
    assert followed.stages[0].reachable
    assert followed.jack_up == 0
    assert followed.stages[1].reachable


def test_which_way_the_front_tips_a_hitch_is_told_as_its_arm_has_it():
    """A plate ahead of the axle comes up as the front does; "it tips the hitch down" was said of it too."""
    tipped = {}
    for parked in ("52 in", "38 in"):
        plan = planned(
            "logs-on-the-gooseneck",
            trailer={"coupling": "fifth_wheel", "parked_height": parked},
            hitch={"coupling": "fifth_wheel", "ball_diameter": None},
        )
        assert plan.setup.hitch.x > 0
        (told,) = [one.text for one in plan.findings if one.code == "front-helps-the-dip"]
        tipped[told.split()[0]] = told.rsplit(maxsplit=1)[1]
        assert "in the mount" not in " ".join(hitch_lines("Logs", plan, "us"))
    assert tipped == {"Raise": "up.", "Lower": "down."}


def test_raising_the_front_buys_a_dip_that_the_rear_alone_does_not_reach():
    low = planned(trailer={"parked_height": "18.3 in"})
    plain = 18.3 - 2.3125 / 2 - 1
    assert low.front_raise == 0.0
    assert low.stages[0].height / INCH == pytest.approx(plain)
    lower = planned(trailer={"parked_height": "17 in"})
    assert lower.stages[0].reachable
    assert lower.front_raise > 0
    assert lower.jack_up == 0
    assert "front-helps-the-dip" in codes(lower)


def test_a_dip_out_of_reach_is_reached_when_the_advice_is_followed():
    short = planned(trailer={"parked_height": "12 in"})
    clear = short.stages[0]
    assert not clear.reachable
    assert short.jack_up > 0
    assert "lowest height" in clear.stopped_by
    assert "dip-out-of-reach" in codes(short)
    followed = planned(trailer={"parked_height": f"{12 + short.jack_up / INCH} in"})
    assert followed.stages[0].reachable
    assert followed.jack_up == 0


def test_a_hitch_that_would_touch_the_ground_stops_the_dip():
    plan = planned(hitch={"lowest_height": "18.5 in"})
    assert not plan.stages[0].reachable
    assert "ground" in plan.stages[0].stopped_by
    assert plan.jack_up / INCH == pytest.approx(18.5 - (20 - 2.3125 / 2 - 1))


def test_a_coupler_above_all_reach_is_told_at_meet_and_lift():
    plan = planned(trailer={"parked_height": "26 in"})
    assert {"meet-out-of-reach", "lift-out-of-reach"} <= set(codes(plan))


def test_jack_share_runs_from_meet_to_lift():
    plan = planned()
    assert_allclose(plan.jack_share.pressure[0], plan.stages[1].answer.pressure)
    assert_allclose(plan.jack_share.pressure[-1], plan.stages[2].answer.pressure)
    assert np.all(np.diff(plan.jack_share.pressure[:, 1], axis=0) > 0)


def test_mount_drop_levels_the_trailer_and_pitch_is_nose_down_positive():
    exact = fine("mill-bed-empty")
    plan = planned(trailer={"coupling_height": "17 in"}, truck=exact)  # tows with its nose 2 in up
    assert plan.ball_mount_drop / INCH == pytest.approx(2, abs=1e-4)
    assert plan.trailer_pitch == pytest.approx(-2 / 168, abs=1e-6)
    assert "trailer-nose-up" in codes(plan)
    lowered = planned(trailer={"coupling_height": "17 in"}, hitch={"height": "17 in"}, truck=exact)
    assert lowered.ball_mount_drop == pytest.approx(0, abs=1e-5)
    assert "trailer-nose-down" in codes(planned(trailer={"coupling_height": "22 in"}))


def test_axles_that_are_not_equalised_share_by_pitch():
    spread = {"coupling_height": "22 in", "axle_spacing": "34 in", "axle_rate": "8000 lbf/in"}
    plan = planned(trailer=spread)  # 3 in nose down
    front, rear = plan.pitch.axle_change
    assert front > 0 > rear
    assert_allclose(front + rear + plan.pitch.tongue_change, 0, atol=1e-6)
    assert "front to rear" in "\n".join(hitch_lines("Mill", plan, "us"))


def test_bars_over_the_whole_restoration_are_told():
    assert "bars-over-restored" in codes(planned(trailer={"bars": 1.2}))
    assert "bars-over-restored" not in codes(planned(trailer={"bars": 1.0}))


def test_the_label_of_a_tested_coupling_is_held_against_truck_and_trailer():
    plan = planned(hitch={"d_value": "10 kN"})
    (found,) = [finding for finding in plan.findings if finding.code == "d-value"]
    assert found in plan.stages[-1].answer.findings  # which are Level's
    assert "22.16 kN, over the 10.00 kN on its label" in sentence(found, "us") == sentence(found, "metric")
    assert all("d-value" not in [one.code for one in stage.answer.findings] for stage in plan.stages[:3])
    assert "d-value" not in codes(planned(hitch={"d_value": "40 kN"}))
    wheel = {"coupling": "fifth_wheel", "ball_diameter": None, "d_value": "1 kN"}
    plan = planned("logs-on-the-gooseneck", trailer={"coupling": "fifth_wheel"}, hitch=wheel)
    assert "d-value" in codes(plan)


def test_room_over_the_bed_is_the_least_of_all_stages():
    bed = {"bed": {"rail_height": "56 in", "end": "-40 in"}} | fine("logs-on-the-gooseneck")
    roomy = planned("logs-on-the-gooseneck", trailer={"underside": "24 in"}, truck=bed)
    tight = planned("logs-on-the-gooseneck", trailer={"underside": "18 in"}, truck=bed)
    through = planned("logs-on-the-gooseneck", trailer={"underside": "10 in"}, truck=bed)
    assert roomy.bed_clearance[3] / INCH == pytest.approx(42 + 24 - 56, abs=1e-4)
    assert "bed-clearance" not in codes(roomy)
    assert "bed-clearance" in codes(tight)
    assert next(finding for finding in through.findings if finding.code == "bed-clearance").level == "stop"
    assert planned().bed_clearance is None


@pytest.mark.parametrize("slug", HITCHED)
@pytest.mark.parametrize("system", ["us", "metric"])
def test_the_plan_is_told_in_lines_and_as_an_object(slug, system):
    plan = planned(slug)
    lines = hitch_lines("Any", plan, system)
    assert all(len(line) <= 120 for line in lines)
    assert (
        sum(
            line.startswith(f"{count}. {stage.name.upper()}")
            for count, stage in enumerate(plan.stages, 1)
            for line in lines
        )
        == 4
    )
    thing = json.loads(json.dumps(hitch_object(slug, plan, system), allow_nan=False))
    assert [stage["name"] for stage in thing["stages"]] == ["clear", "meet", "lift", "tow"]
    assert {"jack_up", "ball_mount_drop", "trailer_pitch", "findings"} <= set(thing)
    assert {"coupling_height", "pressure", "bag_height", "reachable"} <= set(thing["stages"][0])


def test_a_stage_out_of_reach_says_why_in_the_lines():
    said = "\n".join(hitch_lines("Mill", planned(trailer={"parked_height": "12 in"}), "us"))
    assert "9.8 in is wanted and not reached: the rear left and right bag" in said
    assert "front axle" in said


def test_a_profile_without_a_trailer_has_nothing_to_hitch():
    profile, truck, _ = parts("saw-crew-all-on-the-left")
    with pytest.raises(BadInput, match="trailer"):
        hitch_up(Setup.of(profile, truck))


def test_bars_need_a_hitch_behind_the_axle():
    profile, truck, trailer = parts("logs-on-the-gooseneck")
    with pytest.raises(BadInput, match="weight-distribution bars"):
        Setup.of(profile, truck, trailer.replaced(bars=0.5))


def test_the_height_band_of_cars_is_told_for_comparison_only():
    said = "\n".join(hitch_lines("Mill", planned(), "metric"))
    assert "cars keep a ball at 350 mm to 420 mm, loaded (UN R55); pickups are exempt" in said
    assert "UN R55" not in "\n".join(hitch_lines("Logs", planned("logs-on-the-gooseneck"), "metric"))


def test_beer_and_johnston_6_96_through_the_whole_plan():
    """Beer & Johnston, Vector Mechanics: Statics, problem 6.96 (statement read; distances and answers from memory).

    Pickup 2900 lb, 9 ft wheelbase, centre of mass 5 ft ahead of the rear axle; trailer 2400 lb, its centre of mass
    2 ft ahead of its axle, 11 ft from axle to ball, ball 3 ft behind the rear axle. Bars so that all four truck wheels
    gain the same: 64.86 lb each; wheel loads trailer 1070, rear 709, front 870 lb.
    """
    profile, truck, trailer = parts()
    front, rear = 2900 * 5 / 9, 2900 * 4 / 9
    kerb = {"front_axle": f"{front} lb", "rear_axle": f"{rear} lb", "left_share": 0.5}
    receiver = truck.hitches[0].replaced(x="-3 ft")
    light = truck.rear.replaced(bag=truck.rear.bag.replaced(least_pressure="5 psi"))  # for a truck this light behind
    pickup = truck.replaced(wheelbase="9 ft", kerb=kerb, hitches=(receiver,), rear=light)
    tongue = 2400 * 2 / 11
    restoration = (64.86486 * 2 + tongue * 3 / 9) / (tongue * 3 / 9)  # front gains 2 * 64.86 past its kerb load
    towed = trailer.replaced(
        gross_weight="2400 lb", tongue_ratio=tongue / 2400, axle_distance="11 ft", axle_count=1, bars=restoration
    )
    bare = read_record(Profile, profile.as_file() | {"schema": 1}, "profile")
    tow = hitch_up(Setup.of(bare, pickup, towed)).stages[3].answer
    pounds = POUND * G
    assert_allclose(tow.axle_load / 2 / pounds, [870.42, 709.31], atol=0.005)
    assert tow.trailer_axle_load / 2 / pounds == pytest.approx(1070.27, abs=0.005)


def test_coupling_values_are_asked_at_the_weights_that_the_labels_permit():
    """UN R55 by hand: C = 16000 lb less 12 % on two axles of 5200 lb each; V = 1.8 C on an air-sprung truck."""
    trailer = {"gvwr": "16000 lb", "axle_rating": "5200 lb"}
    pounds = 0.45359237
    t, c = 11500 * pounds, 2 * 5200 * pounds
    needed = 9.80665 * t * c / (t + c)
    for factor, stopped in ((0.999, True), (1.001, False)):
        plan = planned(trailer=trailer, hitch={"d_value": f"{factor * needed} N", "v_value": f"{factor * 1.8 * c} N"})
        assert ("d-value" in codes(plan), "v-value" in codes(plan)) == (stopped, stopped)


def test_the_height_to_tow_is_told_as_the_gauge_sets_it():
    plan = planned()
    clear, tow = plan.stages[0], plan.stages[-1]
    assert tow.height == tow.answer.set.coupling_height != tow.answer.coupling_height
    assert clear.height == clear.answer.coupling_height
    level = float(plan.setup.trailer.coupling_height)
    assert plan.ball_mount_drop == pytest.approx(tow.height - level)
    assert plan.trailer_pitch == pytest.approx((level - tow.height) / float(plan.setup.trailer.axle_distance))


@pytest.mark.parametrize("slug", HITCHED)
@pytest.mark.parametrize("system", ["us", "metric"])
def test_hitch_up_and_level_say_the_same_heights_and_the_same_pitch(slug, system):
    plan = planned(slug)
    tow, before = plan.stages[-1], plan.stages[-2]
    seen, staged = from_side(plan.setup, tow.answer, system).alt, stage_view(plan, tow, system).alt
    (ball,) = re.findall(r"[Bb]all ([\d.]+ \w+) above ground", seen)
    assert re.findall(r"ball ([\d.]+ \w+) above ground", staged) == [ball]
    pitch = pitch_words(-plan.trailer_pitch, system)
    assert f"trailer {pitch}." in seen
    assert f"its jack folded; {pitch}." in staged
    assert any(line.startswith(f"The trailer tows {pitch}") for line in trailer_lines(plan, system))
    down = say(before.height - tow.height, "length", system)
    assert change_words(plan, before, tow, system).startswith(f"ball down {down}")


def test_a_truck_that_leans_with_its_hitch_where_it_is_wanted_is_said_not_to_come_level():
    one = planned()
    slack = replace(one.stages[-1], target=one.stages[-1].height, reachable=False, stopped_by="a bag is full")
    assert unreached_words(slack, "us") == "The truck does not come level: a bag is full."
    assert unreached_words(replace(slack, target=0.5), "us") == "19.7 in is wanted and not reached: a bag is full."
