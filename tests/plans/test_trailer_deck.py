"""The trailer by itself: the record against the arrays, the plan against sums, sliding against its inverse."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.physics import statics
from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.trailer import deck
from planner.plans.trailer_deck import deck_plan, slide_for
from planner.records import BadInput, Trailer, read_record
from planner.store import Store

from .conftest import DEMO

INCH, POUND = 0.0254, 0.45359237
LABELS = {
    "schema": 1,
    "name": "Any trailer",
    "coupling": "ball",
    "coupling_height": "19 in",
    "parked_height": "21 in",
    "axle_distance": "168 in",
    "axle_count": 2,
    "gvwr": "9990 lb",
    "axle_rating": "5200 lb",
    "track": "80 in",
}


def weighed(**changes):
    return read_record(Trailer, LABELS | {"gross_weight": "7200 lb", "tongue_ratio": 0.12} | changes, "trailer")


def loaded(*items, **changes):
    """A trailer of items: weight in lb, inches ahead of the axles and left of centre."""
    table = [
        {"name": f"item {n}", "weight": f"{w} lb", "ahead": f"{a} in", "left": f"{y} in"}
        for n, (w, a, y) in enumerate(items)
    ]
    return read_record(Trailer, LABELS | {"deck": table} | changes, "trailer")


def moved(trailer, place, ahead):
    """The same trailer with one item somewhere else, to the last digit. [m]"""
    items = list(trailer.deck)
    items[place] = items[place].replaced(ahead=f"{round(ahead, 12)!r} m")
    return trailer.replaced(deck=tuple(items))


decks = st.lists(
    st.tuples(st.floats(50, 5000), st.floats(5, 80), st.floats(-16, 16)).map(lambda t: tuple(round(v, 3) for v in t)),
    min_size=1,
    max_size=6,
)


@given(items=decks, own=st.floats(0.45, 0.55))
def test_the_record_and_the_arrays_state_the_same_levers(items, own):
    trailer = loaded(*items, left_share=own)
    weight, ahead, left = np.array(items).T * [[POUND], [INCH], [INCH]]
    stated = deck(weight, ahead, left, 168 * INCH, 80 * INCH)
    assert_allclose(trailer.weight, stated.gross, rtol=1e-12)
    assert_allclose(trailer.tongue_share, stated.tongue_ratio, rtol=1e-9)
    assert_allclose(trailer.side_share, own - 0.5 + stated.left_share, rtol=1e-9)


@given(items=decks)
def test_a_plan_balances_about_any_place(items):
    plan = deck_plan(loaded(*items, axle_count=3, tyres_per_side=2))
    weight, ahead, left = np.array(items).T * [[POUND], [INCH], [INCH]]
    assert_allclose(plan.tongue_load + plan.axle_load, weight.sum() * G, rtol=1e-12)
    about_tail = plan.tongue_load * (168 * INCH + 1.0) + plan.axle_load * 1.0
    assert_allclose(about_tail, (weight * (ahead + 1.0)).sum() * G, rtol=1e-9)
    assert_allclose(3 * plan.one_axle, plan.axle_load)
    assert_allclose(sum(plan.side_load), plan.one_axle)
    assert_allclose(max(plan.side_load), 2 * plan.tyre_load)
    assert plan.side_load[("left", "right").index(plan.heavier)] == max(plan.side_load)
    assert_allclose(
        plan.centre, [(weight * ahead).sum() / weight.sum(), (weight * left).sum() / weight.sum()], atol=1e-9
    )


def test_a_weighed_trailer_has_a_plan_too():
    plan = deck_plan(weighed(left_share=0.52))
    assert_allclose(plan.gross, 7200 * POUND)
    assert_allclose(plan.tongue_load, 864 * POUND * G)
    assert_allclose(plan.one_axle, 3168 * POUND * G)
    assert_allclose(plan.tyre_load, (0.5 * 3168 + 0.02 * 3600) * POUND * G)  # the wheels alone carry what is off centre
    assert_allclose(plan.on_left, 0.5 + 0.02 * 7200 / 6336)
    assert_allclose(np.array(plan.centre) / INCH, [20.16, 1.6])
    assert plan.heavier == "left"
    assert plan.findings == ()


@pytest.mark.parametrize(
    ("changes", "code", "level"),
    [
        ({"tongue_ratio": 0.08}, "tongue-ratio-low", "caution"),
        ({"tongue_ratio": 0.17}, "tongue-ratio-high", "caution"),
        ({"coupling": "gooseneck", "tongue_ratio": 0.14}, "tongue-ratio-low", "caution"),
        ({"gvwr": "7000 lb"}, "trailer-gvwr", "stop"),
        ({"axle_rating": "3100 lb"}, "trailer-axle", "stop"),
        ({"tyre_load_rating": "1600 lb", "left_share": 0.54}, "trailer-tyre", "stop"),
        ({"left_share": 0.64}, "trailer-side", "caution"),
    ],
)
def test_labels_and_good_practice_are_held_against_it(changes, code, level):
    found = deck_plan(weighed(**changes)).findings
    assert [(one.code, one.level) for one in found] == [(code, level)]


def test_findings_are_those_of_the_truck_with_it_and_the_worst_comes_first():
    trailer = Store(DEMO).read_trailer("slab-hauler")
    levels = [one.level for one in deck_plan(trailer).findings]
    assert levels == sorted(levels, key=("stop", "caution", "note").index)
    assert {"trailer-gvwr", "tongue-ratio-high"} <= {one.code for one in deck_plan(trailer).findings}


def test_a_deck_that_would_lift_the_hitch_is_refused_with_its_reason():
    with pytest.raises(BadInput, match=r"deck: must give a tongue load >= 0, got -.* lb .*tail-heavy.*move load forw"):
        loaded((4000, 10, 0), (3000, -60, 0))


def test_the_lever_of_statics_gives_the_same_load_on_the_ball():
    plan = deck_plan(loaded((4000, 30, 0), (3000, 20, 8)))
    by_lever = sum(
        statics.point_load(w * POUND * G, a * INCH, 0.0, 168 * INCH).axle[0] for w, a in ((4000, 30), (3000, 20))
    )
    assert_allclose(plan.tongue_load, by_lever, rtol=1e-12)


# Sliding


def test_sliding_by_hand():
    slid = slide_for(loaded((4000, 30, 0), (3000, 20, 8)), "item 1", 0.18)
    # wanted moment 0.18 · 7000 · 168 = 211,680 lb·in, there are 180,000: 31,680 / 3000 = 10.56 in
    assert_allclose(slid.by / INCH, 10.56)
    assert_allclose(slid.ahead / INCH, 30.56)
    assert slid.possible
    assert (slid.furthest, slid.nearest) == (slid.ahead, 0.18)
    assert (slid.item, slid.place) == ("item 1", 1)


@given(items=decks, which=st.integers(0, 5), ratio=st.floats(0.0, 0.5))
def test_slide_and_ratio_are_each_other_s_way_back(items, which, ratio):
    trailer, place = loaded(*items), which % len(items)
    slid = slide_for(trailer, place, ratio)
    if not slid.possible or not 0.001 < ratio < 0.499:  # so that rounding breaks no rule of the record
        return
    there = moved(trailer, place, slid.ahead)
    assert_allclose(there.tongue_share, ratio, rtol=0, atol=1e-11)
    back = slide_for(there, place, trailer.tongue_share)
    assert_allclose(back.by, -slid.by, rtol=0, atol=1e-9)
    assert_allclose(back.ahead, trailer.deck[place].ahead, rtol=0, atol=1e-9)


def test_an_item_too_light_for_the_wanted_ratio_says_what_can_be_had():
    trailer = loaded((4000, 30, 0), (300, 20, 0))
    slid = slide_for(trailer, 1, 0.30)
    assert not slid.possible
    assert slid.ahead > 168 * INCH
    assert_allclose(slid.furthest, 168 * INCH)
    assert_allclose(slid.nearest, (4000 * 30 + 300 * 168) / 168 / 4300)
    assert_allclose(moved(trailer, 1, slid.furthest).tongue_share, slid.nearest)
    behind = slide_for(trailer, 1, 0.02)
    assert not behind.possible
    assert_allclose(behind.furthest, -168 * INCH)


def test_the_end_of_the_way_is_on_the_way():
    trailer = loaded((4000, 30, 0), (300, 20, 0))
    at_coupling = (4000 * 30 + 300 * 168) / 168 / 4300
    assert slide_for(trailer, 1, at_coupling).possible


@pytest.mark.parametrize(
    ("trailer", "item", "ratio", "words"),
    [
        (weighed(), "item 0", 0.12, "a trailer must have deck items, got only the weight and ratio of Any trailer"),
        (loaded((4000, 30, 0)), "item 7", 0.12, "must be one of item 0, got 'item 7': no such item on the deck"),
        (loaded((4000, 30, 0)), 1, 0.12, "got 1: no such item"),
        (loaded((4000, 30, 0)), 0, 0.6, r"wanted tongue ratio must be in 0 to 0.5, got 0.6"),
        (loaded((4000, 30, 0)), 0, float("nan"), r"wanted tongue ratio must be in 0 to 0.5, got nan"),
    ],
)
def test_what_cannot_be_slid_is_refused(trailer, item, ratio, words):
    with pytest.raises(ValueError, match=words):
        slide_for(trailer, item, ratio)


def test_two_items_of_one_name_are_told_apart_by_place():
    trailer = loaded((400, 30, 0), (300, 20, 0))
    twins = trailer.replaced(deck=tuple(item.replaced(name="Log") for item in trailer.deck))
    with pytest.raises(ValueError, match="2 items of that name"):
        slide_for(twins, "Log", 0.12)
    assert slide_for(twins, 1, 0.12).place == 1


def test_a_side_that_carries_more_than_is_good_practice_is_a_caution():
    even, lopsided = (deck_plan(weighed(left_share=share)) for share in (0.52, 0.64))
    assert "trailer-side" not in [one.code for one in even.findings]
    found = next(one for one in lopsided.findings if one.code == "trailer-side")
    assert found.level == "caution"
    assert found.value == pytest.approx(0.5 + 0.14 / 0.88)  # of what the wheels carry, the tongue taking 12 %
