"""What a truck's links do: bars by hand, the inverse, what is found at a stance and at the stages of hitching."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner import level
from planner.plans.hitching import hitch_up
from planner.plans.linkage import (
    bar_effects,
    bars_for,
    geometry_of,
    link_roll_centre,
    link_roll_centre_spread,
    move_axle,
    travel_of,
)
from planner.plans.linkage_findings import linkage_findings
from planner.plans.load_case import load_case
from planner.plans.saved_state import standing, standings
from planner.plans.setup import Setup, rig_of, roll_axis_heights
from planner.plans.uncertainty.spreads import spreads_of
from planner.records import BadInput, Truck
from planner.show.text.as_csv import line_of
from planner.show.text.card import card_of_state
from planner.store import Store
from planner.store.folder import demo_folder
from tests.linkages import at, make_linkage, make_track_bar

INCH = 0.0254
SHAFT, HOSE, SHOCK = (make_linkage()[name] for name in ("driveshaft", "hose", "shock"))
RIDGE = Store(demo_folder()).read_truck("ridge-truck")


def linked(table=None, **axle) -> Truck:
    """Return the demo's truck with links at its rear axle."""
    return RIDGE.replaced(rear=RIDGE.rear.replaced(linkage=make_linkage() if table is None else table, **axle))


def straight(**changes):
    """Return level bars along the truck, 12 in one over the other, and a track bar that is as good as endless."""
    return make_track_bar(
        lower={"frame": at(28, 20, 12), "axle": at(0, 20, 12)},
        upper={"frame": at(22, 0, 24), "axle": at(0, 0, 24)},
        uppers=1,
        track_bar={"frame": at(0, -1000, 16), "axle": at(0, 18, 16)},
        **changes,
    )


def found(truck, rise, lean=0.0, *, on_road=False):
    """Return the findings at a rise of the body [in] and a lean over the track [in], by code."""
    heights = float(truck.rear.ride_height) + INCH * (rise + np.array([0.5, -0.5]) * lean)
    return {one.code: one for one in linkage_findings(truck, heights, on_road=on_road)}


def test_the_axle_s_centre_is_as_high_as_tyres_at_kerb_weight_hold_it():
    # 3000 lb on two tyres of 2000 lbf/in each: 0.75 in of 16.6 in
    assert geometry_of(linked()).hub == pytest.approx((16.6 - 0.75) * INCH, abs=1e-9)


def test_travel_is_the_linkage_s_own_else_the_bag_s():
    assert travel_of(linked()) == pytest.approx((-3 * INCH, 2 * INCH))  # fitted at 6 in, charted from 3 to 8 in
    assert travel_of(linked(make_linkage(bump_travel="2 in", droop_travel="4 in"))) == pytest.approx(
        (-2 * INCH, 4 * INCH)
    )


def test_an_inch_on_level_bars_turns_the_axle_about_the_other_ones():
    """Bars 12 in over each other: an inch more on top turns the nose up about the lower ends, by a twelfth nearly.

    With the bars' own arcs left out, at which the ends drop less than 0.05 in.
    """
    lower, upper, track = bar_effects(linked(straight()), INCH)
    assert [one.bars for one in (lower, upper, track)] == ["both lower bars", "the upper bar", "the track bar"]
    assert upper.pinion_up == pytest.approx(np.arcsin(1 / 12), rel=0.02)
    assert lower.pinion_up == pytest.approx(-np.arcsin(1 / 12), rel=0.02)
    hub = (16.6 - 0.75) - 12  # in, over the lower ends
    assert upper.ahead == pytest.approx(-hub / 12 * INCH, rel=0.02)
    assert lower.ahead == pytest.approx(-(12 - hub) / 12 * INCH, rel=0.02)
    assert (track.left, track.pinion_up) == pytest.approx((INCH, 0.0), abs=1e-3)


few = settings(max_examples=15, deadline=None)


@few
@given(st.floats(-0.06, 0.06), st.floats(-0.03, 0.03), st.booleans())
def test_bars_that_were_asked_for_bring_pinion_and_axle_where_they_were_wanted(up, ahead, track_bar):
    truck = linked(make_track_bar() if track_bar else None)
    longer = bars_for(truck, up, ahead)
    moved = move_axle(truck, 0.0, longer=list(longer.values()))
    assert moved.pinion_up == pytest.approx(up, abs=1e-9)
    assert moved.pose.x == pytest.approx(ahead, abs=1e-9)
    assert moved.pose.yaw == pytest.approx(0.0, abs=1e-9)


def test_joint_angles_are_those_of_shafts_on_paper():
    """Output and pinion 2° to the rear; the shaft falls 4.5 in over 75 in, 3.434°, on the truck's own line."""
    moved = move_axle(linked(), 0.0)
    off = np.degrees(np.arctan(4.5 / 75)) - 2.0
    assert np.degrees(moved.joint_angles) == pytest.approx([off, off], abs=1e-6)
    assert moved.residual == pytest.approx(0.0, abs=1e-9)
    assert moved.plunge == pytest.approx(0.0, abs=1e-12)


def test_a_carrier_adds_a_joint():
    shaft = SHAFT | {"carrier": at(50, 1, 20)}
    assert move_axle(linked(make_linkage(driveshaft=shaft)), [0.0, 0.02]).joint_angles.shape == (2, 3)


def test_shock_and_hose_are_as_long_as_their_ends_are_apart():
    moved = move_axle(linked(), 0.0)
    assert moved.shock_length == pytest.approx([INCH * np.hypot(np.hypot(5, 4), 18)] * 2)
    assert moved.hose_reach == pytest.approx(INCH * np.hypot(np.hypot(8, 2), 6))


def test_the_links_roll_centre_is_the_model_s_roll_axis_unless_the_file_has_one():
    truck = linked()
    height = link_roll_centre(truck)
    assert roll_axis_heights(truck)[1] == height
    assert roll_axis_heights(linked(roll_axis_height="10 in"))[1] == pytest.approx(10 * INCH)
    assert roll_axis_heights(RIDGE)[1] == pytest.approx(16.6 * INCH)
    swings = [load_case(Setup(one), rig_of(one)).load.overturning for one in (RIDGE, truck)]
    sprung = (3000 - 700) * 0.45359237 * 9.80665
    assert swings[0] - swings[1] == pytest.approx(sprung * (height - 16.6 * INCH))


def test_a_track_bar_s_roll_centre_is_where_it_crosses_the_centre_line():
    table = make_track_bar(uppers=1, track_bar={"frame": at(0, -18, 19), "axle": at(0, 18, 17)})
    assert link_roll_centre(linked(table)) == pytest.approx(18 * INCH, abs=0.01 * INCH)


def test_the_roll_centre_is_as_sure_as_the_tape_at_the_bars_ends():
    """Level bars along the truck leave it to a level track bar: the mean of its ends' heights, each off by a tape."""
    table = straight() | {"track_bar": {"frame": at(0, -18, 16), "axle": at(0, 18, 16)}}
    table["lower"] = {"frame": at(28, 20, 12), "axle": at(0, 20, 12)}
    truck = linked(table)
    tape = float(truck.instruments.tape_error)
    assert link_roll_centre_spread(truck) == pytest.approx(tape / np.sqrt(2), rel=0.02)
    known, typical = (spreads_of(Setup(one))["roll_axis.rear"] for one in (truck, RIDGE))
    assert (known.value, known.origin) == (link_roll_centre_spread(truck), "file")
    assert typical.origin == "typical"
    assert spreads_of(Setup(linked(roll_axis_height="10 in")))["roll_axis.rear"] == typical  # the file's own height


def test_within_its_travel_nothing_is_found():
    assert found(linked(), 0.0, on_road=True) == {}
    assert found(linked(), -1.5, lean=1.0) == {}


@pytest.mark.parametrize(
    ("change", "rise", "code", "severity"),
    [
        ({"hose": HOSE | {"length": "11.5 in"}}, 1.0, "linkage-hose", "caution"),
        ({"hose": HOSE | {"length": "11 in"}}, 2.0, "linkage-hose", "stop"),
        ({"shock": SHOCK | {"shortest": "17 in"}}, -2.5, "linkage-shock-closed", "stop"),
        ({"shock": SHOCK | {"longest": "20.9 in"}}, 1.5, "linkage-shock-open", "caution"),
        ({"joint_limit": "3 deg"}, -3.0, "linkage-bar-joint", "stop"),
        ({"driveshaft": SHAFT | {"joint_limit": "1.5 deg"}}, -3.0, "linkage-driveshaft-joint", "stop"),
        ({}, 40.0, "linkage-out-of-reach", "stop"),
    ],
)  # fmt: skip
def test_what_ends_is_found(change, rise, code, severity):
    finding = found(linked(make_linkage(**change)), rise)[code]
    assert finding.level == severity
    assert finding.value is not None


def test_how_the_driveshaft_runs_counts_on_the_road_only():
    shaft = SHAFT | {"output_angle": "3.2 deg", "pinion_angle": "-2 deg"}
    truck = linked(make_linkage(driveshaft=shaft))
    assert {"driveline-angle", "driveline-uneven", "driveline-straight"} <= set(found(truck, 0.0, on_road=True))
    assert found(truck, 0.0) == {}


def test_a_track_bar_that_pulls_the_axle_aside_is_told():
    table = make_track_bar(uppers=1, track_bar={"frame": at(-5, -6, 22), "axle": at(-5, 18, 15)})
    assert found(linked(table), -2.5, on_road=True)["driveline-axle-aside"].level == "note"


def test_bars_that_do_not_fit_each_other_are_told():
    table = make_track_bar(upper={"frame": at(9, 7, 20), "axle": at(-1, 17, 24)})
    assert found(linked(table), 1.5, lean=6.0)["linkage-binds"].level == "note"


def test_hitching_tells_it_at_the_stage_where_the_truck_squats():
    outfit = Store(demo_folder()).read_outfit("mill-on-the-hill-road")
    truck = linked(make_linkage(shock=SHOCK | {"shortest": "18.2 in"}))
    plan = hitch_up(Setup.of(outfit.profile, truck, outfit.trailer))
    codes = {one.code: one for one in plan.findings}
    assert plan.stages[0].answer.ride_height[1].max() < plan.stages[3].answer.ride_height[1].min()
    assert codes["clear-linkage-shock-closed"].text.startswith("At clear: Rear shock")
    assert not [code for code in codes if code.startswith("tow-") or code == "linkage-shock-closed"]


def test_cards_and_tables_tell_it_as_the_hitching_page_does():
    """Their quicker way to the trailer, one by one and for a whole table, finds the same with the same severity."""
    outfit = Store(demo_folder()).read_outfit("mill-on-the-hill-road")
    truck = linked(make_linkage(shock=SHOCK | {"shortest": "19 in"}, hose=HOSE | {"length": "10.2 in"}))
    stands = standing(outfit.profile, truck, outfit.trailer)
    (of_table, way), *_ = standings([(outfit.profile, truck, outfit.trailer)] * 2)
    of_page, *others = (
        {one.code: (one.level, one.text) for one in findings if "-linkage-" in one.code}
        for findings in (stands.hitching().findings, stands.findings(stands.way()), of_table.findings(way))
    )
    assert others == [of_page, of_page]
    assert of_page["clear-linkage-shock-closed"][0] == "stop"
    assert of_page["clear-linkage-hose"][0] == "caution"
    assert line_of(of_table, way).worst.level == "stop"
    card = card_of_state(stands, "us")  # on paper, on a phone and as the profile alone on the screen
    assert {(level, words.split(":")[0]) for level, words in card.findings} >= {("stop", "At clear")}


def test_level_tells_it_too():
    truck = linked(make_linkage(hose=HOSE | {"length": "10.5 in"}))
    assert "linkage-hose" in {one.code for one in level(truck).findings}


def test_a_truck_without_links_has_none_to_move():
    assert found(RIDGE, 0.0) == {}
    with pytest.raises(BadInput, match=r"rear\.linkage"):
        move_axle(RIDGE, 0.0)
