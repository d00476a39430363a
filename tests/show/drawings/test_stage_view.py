"""The strip of hitching: to scale, ball and coupler as far apart as they are, pressures and what changes of them."""

from dataclasses import replace

import numpy as np
import pytest

from planner.physics.trailer import Pitched
from planner.plans.hitching import hitch_up
from planner.plans.hitching_stages import STAGES, HitchPlan, JackShare, Stage
from planner.plans.setup import Setup
from planner.show.drawings.jack_curve import STOPS, jack_curve
from planner.show.drawings.stage_view import stage_pressures, stage_view
from planner.store import Store
from tests.plans.random_records import random_setup
from tests.show.conftest import (
    BAGGED,
    COILS,
    DEMO,
    INCH,
    LEAVES,
    PLATE,
    PSI,
    make_answer,
    make_setup,
    make_trailer,
    make_truck,
)
from tests.show.reading import height_of, middle, misplaced, parsed, points, shapes, texts, words

HITCHED = ["mill-on-the-hill-road", "logs-on-the-gooseneck", "slabs-on-friday"]
FIFTH = {"coupling": "fifth_wheel", "coupling_height": "46 in", "parked_height": "47 in", "axle_distance": "276 in"}
HEIGHTS = {
    "clear": 18.84375,
    "meet": 21.0,
    "lift": 22.0,
    "tow": 19.0,
}  # in; parked at 21 in, ball of 2 5/16 in, gap 1 in
PRESSURES = {"clear": (30, 29), "meet": (34, 34), "lift": (53, 50), "tow": (46, 39)}  # rear, psi


def make_plan(setup=None, *, out_of_reach=(), **heights):
    """Return a plan made by hand on the test truck; heights in inches by stage."""
    setup = setup or make_setup(trailer=make_trailer())
    at = HEIGHTS | heights
    stages = []
    for name in STAGES:
        answer = make_answer(setup, coupling_height=at[name] * INCH)
        pressure = answer.set.pressure.copy()
        pressure[1] = np.where(np.isfinite(pressure[1]), np.array(PRESSURES[name]) * PSI, np.nan)
        answer = replace(answer, set=replace(answer.set, pressure=pressure))
        reached = name not in out_of_reach
        target = at[name] if reached else HEIGHTS[name]
        stages.append(Stage(name, answer, target * INCH, reached, "" if reached else "the bag is at its end"))
    share = np.linspace(0.0, 1.0, 21)
    rise = np.array([[-4.0, -4.0], [20.0, 16.0]]) * PSI
    pressure = stages[1].answer.set.pressure + share[:, None, None] * rise
    zero = np.zeros(())
    pitch = Pitched(zero, np.zeros(1), zero)
    return HitchPlan(setup, tuple(stages), 0.0, 0.0, 0.0, pitch, JackShare(share, pressure), None)


def fifth_plan():
    setup = make_setup(make_truck(COILS), trailer=make_trailer(**FIFTH), hitch=PLATE["name"])
    return make_plan(setup, clear=47.5, meet=47.0, lift=47.0, tow=46.0)


def drawn(plan, system="us"):
    """Return everything that is drawn of a plan."""
    for stage in plan.stages:
        yield stage_view(plan, stage, system)
        yield stage_pressures(plan, stage, system)
    yield jack_curve(plan, system)


def scale(drawing):
    """Return the paper's length of an inch, from the wheelbase."""
    front, rear = shapes(drawing, "wheel")
    return (middle(rear)[0] - middle(front)[0]) / 158


def ground(drawing):
    rear = shapes(drawing, "wheel")[1]
    return middle(rear)[1] + float(rear.get("r"))


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("slug", HITCHED)
def test_the_demo_is_drawn_with_nothing_cut_or_overlapping(slug, system):
    outfit = Store(DEMO).read_outfit(slug)
    plan = hitch_up(Setup.of(outfit.profile, outfit.truck, outfit.trailer))
    assert [misplaced(one) for one in drawn(plan, system)] == [[]] * 9


@pytest.mark.parametrize("seed", range(60))
def test_any_trailer_is_drawn(seed):
    setup = random_setup(seed)
    if setup is None or setup.trailer is None:
        return
    plan = hitch_up(setup)
    for one in drawn(plan, ("us", "metric")[seed % 2]):
        assert misplaced(one) == []
        assert "nan" not in one.svg


@pytest.mark.parametrize("plan", [make_plan(), fifth_plan()], ids=["ball", "fifth wheel"])
def test_all_stages_have_one_scale_and_one_ground(plan):
    views = [stage_view(plan, stage, "us") for stage in plan.stages]
    assert len({round(scale(one), 3) for one in views}) == 1
    assert [ground(one) for one in views] == pytest.approx([ground(views[0])] * 4, abs=0.02)
    assert len({height_of(one) for one in views}) == 1


@pytest.mark.parametrize("name", STAGES)
def test_the_coupling_is_at_its_height_and_behind_the_axle_by_its_overhang(name):
    plan = make_plan()
    view = stage_view(plan, plan.stages[STAGES.index(name)], "us")
    (hitch,), rear = shapes(view, "hitch"), shapes(view, "wheel")[1]
    assert (ground(view) - middle(hitch)[1]) / scale(view) == pytest.approx(HEIGHTS[name], abs=0.05)
    assert (middle(hitch)[0] - middle(rear)[0]) / scale(view) == pytest.approx(52, abs=0.05)
    assert f"ball {HEIGHTS[name]:.1f} in above ground".replace(".0 in", " in") in view.alt


@pytest.mark.parametrize(("name", "above"), [("clear", 0.0), ("meet", 0.0), ("lift", 1.0)])
def test_the_jack_stands_until_the_load_is_on_the_truck_and_is_then_as_free_as_it_is(name, above):
    plan = make_plan()
    view = stage_view(plan, plan.stages[STAGES.index(name)], "us")
    (foot,) = shapes(view, "jack")
    assert (ground(view) - middle(foot)[1]) / scale(view) == pytest.approx(above, abs=0.05)


def test_the_jack_is_folded_for_the_road():
    plan = make_plan()
    view = stage_view(plan, plan.stages[3], "us")
    (foot,) = shapes(view, "jack")
    assert (ground(view) - middle(foot)[1]) / scale(view) > 8


def _lens(view):
    """Return the ball's radius and centre and the height of the coupler's lip, on the paper."""
    (ball,), (cup,) = shapes(view, "lens-ball"), shapes(view, "lens-cup")
    lip = float(cup.get("d").split("A")[0].split(" ")[1])
    return float(ball.get("r")), middle(ball)[1], lip


def test_in_the_circle_ball_and_coupler_are_apart_by_the_gap_and_touch_at_meet():
    plan = make_plan()
    radius, centre, lip = _lens(stage_view(plan, plan.stages[0], "us"))
    assert (centre - radius - lip) / radius == pytest.approx(1.0 / (2.3125 / 2), abs=0.01)
    for stage in plan.stages[1:]:
        radius, centre, lip = _lens(stage_view(plan, stage, "us"))
        assert centre == pytest.approx(lip, abs=0.02)


def test_the_circle_has_one_scale_at_all_stages_and_says_which():
    plan = make_plan()
    views = [stage_view(plan, stage, "us") for stage in plan.stages]
    sizes = [_lens(view)[0] for view in views]
    assert sizes == pytest.approx([sizes[0]] * 4)
    times = sizes[0] / (2.3125 / 2 * scale(views[0]))
    for view in views:
        assert f"{times:.0f} times larger" in " ".join(words(view))


@pytest.mark.parametrize(
    ("name", "said"), [("clear", "gap 1 in"), ("meet", "they meet"), ("lift", "latched"), ("tow", "latched")]
)
def test_words_beside_the_circle_say_how_they_stand(name, said):
    plan = make_plan()
    view = stage_view(plan, plan.stages[STAGES.index(name)], "us")
    assert said in words(view)
    assert said in view.alt


def test_a_dip_out_of_reach_shows_the_height_wanted():
    short = make_plan(out_of_reach=("clear",), clear=20.5)
    view = stage_view(short, short.stages[0], "us")
    assert "▲ wanted 18.8 in" in words(view)
    assert "in the way by 0.7 in" in words(view)
    assert "18.8 in wanted" in view.alt
    reached = make_plan()
    assert not any("wanted" in one for one in words(stage_view(reached, reached.stages[0], "us")))
    assert view.svg.count("stroke-dasharray") == stage_view(reached, reached.stages[0], "us").svg.count(
        "stroke-dasharray"
    ) + len(shapes(view, "lens-ball"))
    assert misplaced(view) == []


@pytest.mark.parametrize(("height", "said"), [(22.0, "1 in too high"), (20.0, "1 in too low")])
def test_a_meeting_missed_says_by_how_much_and_which_way(height, said):
    plan = make_plan(out_of_reach=("meet",), meet=height)
    assert said in words(stage_view(plan, plan.stages[1], "us"))


def test_a_gap_that_is_less_than_wanted_is_told_as_it_is():
    plan = make_plan(out_of_reach=("clear",), clear=21 - 2.3125 / 2 - 0.5)
    assert "gap 0.5 in" in words(stage_view(plan, plan.stages[0], "us"))
    touching = make_plan(out_of_reach=("clear",), clear=21 - 2.3125 / 2)
    assert "no gap" in words(stage_view(touching, touching.stages[0], "us"))


def test_a_plate_goes_under_higher_from_ahead_of_the_trailer():
    plan = fifth_plan()
    clear, meet = (stage_view(plan, stage, "us") for stage in plan.stages[:2])
    assert "plate 0.5 in higher" in words(clear)
    assert "Trailer behind the truck, on its jack" in clear.alt
    ahead, under = (min(x for x, _ in points(shapes(one, "trailer")[0])) for one in (clear, meet))
    assert ahead - under == pytest.approx(0.6 / INCH * scale(clear), abs=0.1)
    low = replace(plan.stages[0], answer=replace(plan.stages[0].answer, coupling_height=46 * INCH), reachable=False)
    plan = replace(plan, stages=(low, *plan.stages[1:]))
    assert "plate 1 in too low" in words(stage_view(plan, low, "us"))


def test_a_hook_ducks_under_its_eye():
    truck = make_truck(hitches=[{**make_truck().hitches[0].model_dump(mode="json"), "coupling": "pintle"}])
    plan = make_plan(make_setup(truck, trailer=make_trailer(coupling="pintle")), clear=20.0)
    view = stage_view(plan, plan.stages[0], "us")
    assert "hook above ground" in words(view)
    assert "gap 1 in" in words(view)
    assert misplaced(view) == []


# Pressures


def test_pressures_stand_at_their_corners_in_the_largest_type_with_what_changed():
    plan = make_plan()
    said = {one.words: one for one in texts(stage_pressures(plan, plan.stages[2], "us"))}
    assert {"38 psi", "37 psi", "53 psi", "50 psi", "up 19 psi", "up 16 psi"} <= set(said)
    assert said["38 psi"].right < said["37 psi"].left
    assert said["38 psi"].bottom < said["53 psi"].top
    assert said["53 psi"].bottom - said["53 psi"].top > 2.5 * (said["up 19 psi"].bottom - said["up 19 psi"].top)
    drawn_again = words(stage_pressures(plan, plan.stages[3], "us"))
    assert {"down 7 psi", "down 11 psi"} <= set(drawn_again)
    assert drawn_again.count("as before") == 2


def test_the_first_stage_has_no_stage_before():
    plan = make_plan()
    said = words(stage_pressures(plan, plan.stages[0], "us"))
    assert not any(one.startswith(("up", "down", "as")) for one in said)
    assert sorted(said) == sorted(["38 psi", "37 psi", "30 psi", "29 psi"])


def test_steel_is_said_where_there_is_no_bag():
    plan = make_plan(make_setup(make_truck(COILS), trailer=make_trailer()))
    picture = stage_pressures(plan, plan.stages[1], "us")
    assert words(picture).count("steel") == 2
    assert "front left steel" in picture.alt


# From the jack to the truck


def _numbers(picture):
    """Return the table under the curve: by name, five numbers."""
    all_texts = texts(picture)
    foot = next(one.bottom for one in all_texts if one.words == "100 %")
    names = {"front left", "front right", "rear left", "rear right", "front", "rear"}
    rows = [one for one in all_texts if one.words in names and one.top > foot]
    return {
        row.words: [
            one.words for one in sorted(all_texts, key=lambda t: t.left) if one.bottom == row.bottom and one is not row
        ]
        for row in rows
    }


def test_each_bag_has_a_line_named_at_its_end_and_its_pressures_at_five_stops():
    plan = make_plan()
    picture = jack_curve(plan, "us")
    assert len(shapes(picture, "pressure")) == 4
    assert len(shapes(picture, "stop")) == 4 * len(STOPS)
    assert {"0 %", "25 %", "50 %", "75 %", "100 %"} <= set(words(picture))
    assert _numbers(picture) == {
        "front left": ["38", "37", "36", "35", "34"],
        "front right": ["37", "36", "35", "34", "33"],
        "rear left": ["34", "39", "44", "49", "54"],
        "rear right": ["34", "38", "42", "46", "50"],
    }
    assert "rear left reads 44 psi" in picture.alt
    assert misplaced(picture) == []


def test_the_curve_is_to_scale_from_nought():
    plan = make_plan()
    picture = jack_curve(plan, "us")
    rear_left = points(shapes(picture, "pressure")[2])
    nought = next(one for one in texts(picture) if one.words == "0").bottom - 5.7
    start, end = rear_left[0], rear_left[-1]
    assert (nought - end[1]) / (nought - start[1]) == pytest.approx(54 / 34, rel=0.02)
    assert rear_left[10][0] == pytest.approx((start[0] + end[0]) / 2)


def test_an_axle_whose_sides_are_alike_has_one_line_and_one_without_bags_none():
    plan = make_plan(make_setup(make_truck(COILS), trailer=make_trailer()))
    even = plan.jack_share.pressure.copy()
    even[:, 1, 1] = even[:, 1, 0]
    picture = jack_curve(replace(plan, jack_share=JackShare(plan.jack_share.share, even)), "metric")
    assert list(_numbers(picture)) == ["rear"]
    assert "bar" in words(picture)


def test_a_truck_without_bags_has_words_only():
    plan = make_plan(make_setup(make_truck(COILS, LEAVES), trailer=make_trailer()))
    picture = jack_curve(plan, "us")
    assert shapes(picture, "pressure") == []
    assert "No bags" in picture.alt
    assert misplaced(picture) == []


@pytest.mark.parametrize("pressure", [3.0, 12.0, 30.0, 99.0, 300.0])
@pytest.mark.parametrize("system", ["us", "metric"])
def test_any_pressure_has_a_few_round_ticks(pressure, system):
    plan = make_plan()
    share = JackShare(plan.jack_share.share, np.full((21, 2, 2), pressure * PSI))
    picture = jack_curve(replace(plan, jack_share=share), system)
    left = [one.words for one in texts(picture) if one.right < 36 and one.words[0].isdigit()]
    assert 4 <= len(left) <= 12
    assert misplaced(picture) == []


def test_names_from_files_cannot_break_the_drawing():
    trailer = make_trailer(name="<b>&\"'")
    plan = make_plan(make_setup(make_truck(BAGGED, name="a]]>"), trailer=trailer))
    for one in drawn(plan):
        parsed(one)
