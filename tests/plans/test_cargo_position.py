"""What if: followed advice gives what it says; the most trailer against a plain search, and on either side of it."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.plans.cargo_position import HITCH_ROOM, best_move, even_move, even_moves
from planner.plans.largest_trailer import POUND, find_headroom, find_largest_trailer, of_weight
from planner.plans.level import level_setup
from planner.plans.setup import Setup
from planner.records import Cargo, Stance, read_record
from planner.show.text.cargo_position import move_words
from planner.store import Store

from .conftest import DEMO

INCH, PSI = 0.0254, 6894.757293168361
SHORT, YARD = (Store(DEMO).read_truck(slug) for slug in ("ridge-truck", "yard-truck"))
FLATBED = {"front": "158 in", "rear": "-40 in", "width": "68 in"}  # from wheel to wheel, so that moments alone decide
RIDGE, YARD = (truck.replaced(bed=FLATBED) for truck in (SHORT, YARD))
MILL, LOGS = (Store(DEMO).read_trailer(slug) for slug in ("band-mill", "log-deck"))
HALF_TRACK = 34.0  # [in] of the ridge truck, the narrower axle


def cargo(weight, x, y, name="Item"):
    """Something on the truck: lb, inches ahead of the rear axle and left of centre."""
    return read_record(Cargo, {"name": name, "weight": f"{weight} lb", "x": f"{x} in", "y": f"{y} in"}, "cargo")


def loaded(*items, truck=RIDGE, **changes):
    """A truck with things on it, each named by its place."""
    return Setup(truck, cargo=tuple(cargo(*item, name=f"item {n}") for n, item in enumerate(items)), **changes)


def towing(trailer=MILL, hitch="receiver", truck=RIDGE, **changes):
    return Setup(truck, trailer, truck.hitch(hitch), **changes)


def put(setup, move, *, y=None):
    """The same setup with an item where the advice says, to the last digit."""
    items = list(setup.cargo)
    place = {"x": at(move.x), "y": at(move.y)} if y is None else {"y": at(y)}
    items[move.place] = items[move.place].replaced(**place)
    return replace(setup, cargo=tuple(items))


def at(place):
    """A place written to a nanometre. [m]"""
    return f"{place:.9f} m"


def test_nothing_is_moved_onto_the_hitch_in_the_bed():
    even = RIDGE.replaced(kerb=RIDGE.kerb.replaced(left_share=0.5))
    hooked = towing(LOGS, "bed ball", even, cargo=(cargo(900, float(even.hitch("bed ball").x) / INCH, 20),))
    move = even_move(hooked, 0)
    assert (move.possible, move.why_not) == (False, "on the hitch")
    assert "but the hitch is there" in move_words(move, "us")
    assert even_move(replace(hooked, trailer=None), 0).possible


@pytest.mark.parametrize("ahead", [0, 4])
def test_nothing_is_moved_straight_across_onto_the_hitch_in_the_bed(ahead):
    even = RIDGE.replaced(kerb=RIDGE.kerb.replaced(left_share=0.5))
    ball = float(even.hitch("bed ball").x)
    things = (cargo(900, ball / INCH + ahead, 20), cargo(60, 60, 8, name="Chest"))
    hooked = towing(LOGS, "bed ball", even, cargo=things)
    free, move = even_move(replace(hooked, trailer=None), 0), even_move(hooked, 0)
    assert abs(free.across) < HITCH_ROOM / 2
    assert np.hypot(float(things[0].x) - ball, move.across) == pytest.approx(HITCH_ROOM)
    assert abs(move.across - free.across) <= abs(float(things[0].y) - free.across)
    assert_allclose(
        level_setup(put(hooked, move, y=move.across)).pressure @ [1.0, -1.0], move.uneven_across, rtol=1e-6, atol=1.0
    )


items = st.lists(
    st.tuples(st.floats(50, 900), st.floats(-40, 158), st.floats(-30, 30)).map(lambda t: tuple(round(v, 2) for v in t)),
    min_size=1,
    max_size=4,
)


# One item


@given(items=items, which=st.integers(0, 3))
def test_a_truck_of_four_lines_is_even_once_the_advice_is_followed(items, which):
    setup, place = loaded(*items), which % len(items)
    move = even_move(setup, place)
    assume(move.possible)
    after = level_setup(put(setup, move))
    assert_allclose(after.pressure[:, 0], after.pressure[:, 1], rtol=0, atol=1.0)
    assert_allclose(after.side_moment, 0.0, atol=1e-3)
    assert_allclose(move.uneven, 0.0, atol=1.0)
    assert abs(after.stance.roll) < 1e-9
    again = even_move(put(setup, move), place)
    assert again.there
    assert again.possible


@given(items=items, which=st.integers(0, 3))
def test_where_it_goes_is_on_the_truck_and_what_is_left_over_is_told_right(items, which):
    setup, place = loaded(*items), which % len(items)
    move, (_, x, y) = even_move(setup, place), items[place]
    assert -max(HALF_TRACK, -y) - 1e-9 <= move.y / INCH <= max(HALF_TRACK, y) + 1e-9
    assert min(x, 0) - 1e-9 <= move.x / INCH <= max(x, 158) + 1e-9
    assert_allclose([move.ahead, move.left], [move.x - x * INCH, move.y - y * INCH], atol=1e-12)
    for there, uneven in ((put(setup, move), move.uneven), (put(setup, move, y=move.across), move.uneven_across)):
        pressure = level_setup(there).pressure
        assert_allclose(pressure[:, 0] - pressure[:, 1], uneven, rtol=1e-6, atol=1.0)


@given(items=items, which=st.integers(0, 3), ahead=st.floats(0, 158), left=st.floats(-HALF_TRACK, HALF_TRACK))
def test_no_other_place_on_the_truck_leaves_less_side_moment(items, which, ahead, left):
    setup, place = loaded(*items), which % len(items)
    move = even_move(setup, place)

    def left_over(x, y):
        changed = list(setup.cargo)
        changed[place] = changed[place].replaced(x=at(x), y=at(y))
        return float(np.hypot(*_least_twist(replace(setup, cargo=tuple(changed)))))

    best = left_over(move.x, move.y)
    rounding = 1e-4  # [N·m] a nanometre of 900 lb at each of three places, and then some
    assert best <= left_over(ahead * INCH, left * INCH) + rounding
    x = float(setup.cargo[place].x)
    assert left_over(x, move.across) <= left_over(x, left * INCH) + rounding
    assert move.possible == (best < rounding)


def _least_twist(setup):
    """Side moment of each axle where the frame is twisted least, by the levers written out. [N·m]"""
    truck, g = setup.truck, 9.80665
    sprung = [float(a) - float(u) for a, u in ((truck.kerb.front_axle, truck.front.unsprung_weight),
                                               (truck.kerb.rear_axle, truck.rear.unsprung_weight))]  # fmt: skip
    weights = (
        float(truck.kerb.front_axle) * float(truck.front.track),
        float(truck.kerb.rear_axle) * float(truck.rear.track),
    )
    kerb = (truck.kerb.left_share - 0.5) * sum(weights) * g
    front = kerb * sprung[0] / sum(sprung)
    rear = kerb - front
    for item in setup.cargo:
        share = min(max(float(item.x) / float(truck.wheelbase), 0.0), 1.0)
        moment = float(item.weight) * g * float(item.y)
        front, rear = front + moment * share, rear + moment * (1 - share)
    return front, rear


def test_a_move_by_hand():
    even_kerb = RIDGE.replaced(kerb=RIDGE.kerb.replaced(left_share=0.5))
    # 300 lb at 20 in left over the rear axle, 100 lb at 40 in left over the front one: 400 lb at 25 in right, and a
    # share of 40 / (40 + 60) of it on the front axle
    setup = loaded((300, 0, 20), (100, 158, 40), (400, 50, 0), truck=even_kerb)
    move = even_move(setup, "item 2")
    assert_allclose([move.x / INCH, move.y / INCH], [0.4 * 158, -25.0])
    assert_allclose([move.ahead / INCH, move.left / INCH], [0.4 * 158 - 50, -25.0])
    assert (move.possible, move.why_not, move.item, move.place) == (True, "", "item 2", 2)


def test_an_item_too_light_would_have_to_lie_off_the_bed_and_says_what_is_had_there():
    even_kerb = RIDGE.replaced(kerb=RIDGE.kerb.replaced(left_share=0.5))
    setup = loaded((900, 79, 30), (100, 79, 0), truck=even_kerb)
    move = even_move(setup, 1)
    assert (move.possible, move.why_not) == (False, "off the bed")
    assert_allclose([move.y / INCH, move.wanted / INCH], [-HALF_TRACK, -270.0])
    assert move.uneven[0] > PSI
    assert move.uneven[1] > PSI


def test_axles_heavier_on_opposite_sides_are_not_made_even_by_one_item():
    even_kerb = RIDGE.replaced(kerb=RIDGE.kerb.replaced(left_share=0.5))
    setup = loaded((500, 0, 25), (400, 158, -25), (100, 79, 0), truck=even_kerb)
    move = even_move(setup, 2)
    assert (move.possible, move.why_not) == (False, "opposite sides")
    assert np.isnan(move.wanted)
    assert move.x == 0.0  # over the rear axle, which is the heavier on its side
    assert move.y < 0
    assert move.uneven[0] < 0 < move.uneven[1]


def test_what_lies_off_the_bed_already_may_stay_there():
    even_kerb = RIDGE.replaced(kerb=RIDGE.kerb.replaced(left_share=0.5))
    move = even_move(loaded((100, 79, 40), (100, 79, -40), truck=even_kerb), 0)
    assert move.possible
    assert move.there


@given(items=items, which=st.integers(0, 3))
def test_where_axles_share_a_line_or_have_steel_the_truck_is_to_be_level_and_no_more(items, which):
    setup, place = loaded(*items, truck=YARD), which % len(items)
    move = even_move(setup, place)
    assume(move.possible)
    assert move.ahead == 0.0
    after = level_setup(put(setup, move))
    assert abs(after.stance.roll) < 1e-8
    assert_allclose(after.side_moment, 0.0, atol=1e-2)
    assert np.isnan(move.uneven[0])
    assert abs(move.lean) < 1e-8


def test_a_lean_that_is_left_over_is_told_where_a_line_is_shared():
    move = even_move(loaded((900, 20, 30), (60, 20, 0), truck=YARD), 1)
    assert (move.possible, move.why_not) == (False, "off the bed")
    after = level_setup(put(loaded((900, 20, 30), (60, 20, 0), truck=YARD), move))
    assert_allclose(move.lean, after.stance.roll * float(YARD.rear.track), rtol=1e-6)
    assert move.lean < -0.001


@given(items=items, which=st.integers(0, 3), width=st.floats(30, 70), front=st.floats(10, 80), rear=st.floats(-60, -10))
def test_nothing_is_moved_off_the_bed_and_nowhere_in_it_is_better(items, which, width, front, rear):
    bed = {"front": f"{front} in", "rear": f"{rear} in", "width": f"{width} in"}
    setup, place = loaded(*items, truck=SHORT.replaced(bed=bed)), which % len(items)
    move, item = even_move(setup, place), setup.cargo[place]
    if not move.there:
        assert rear - 1e-6 <= move.x / INCH <= front + 1e-6
        assert abs(move.y) / INCH <= width / 2 + 1e-6
    in_bed = rear <= item.x / INCH <= front
    if abs(move.across - item.y) > 1e-9:
        assert in_bed
        assert abs(move.across) / INCH <= width / 2 + 1e-6

    def left_over(x, y):
        changed = [*setup.cargo]
        changed[place] = item.replaced(x=at(x), y=at(y))
        return float(np.hypot(*_least_twist(replace(setup, cargo=tuple(changed)))))

    best = left_over(move.x, move.y)
    places = [(x, y) for x in np.linspace(rear, front, 9) for y in np.linspace(-width / 2, width / 2, 9)]
    assert best <= min(left_over(x * INCH, y * INCH) for x, y in places) + 1e-4


def test_the_best_item_is_the_one_with_the_least_move():
    setup = loaded((300, 10, 25), (200, 90, 20), (250, 60, -10))
    moves = even_moves(setup)
    assert moves == tuple(even_move(setup, place) for place in range(3))
    best = best_move(moves)
    assert best.far == min(move.far for move in moves if move.possible)
    assert best_move(even_moves(loaded((900, 79, 30), (100, 79, 0)))[1:]) is None
    assert even_moves(loaded()) == ()


@pytest.mark.parametrize(
    ("setup", "item", "words"),
    [
        (loaded(), 0, "something must lie on the truck"),
        (loaded((100, 0, 0)), "item 7", "must be one of item 0, got 'item 7': no such item on the truck"),
        (replace(loaded((100, 0, 0)), cargo=(cargo(1, 0, 0), cargo(2, 0, 0))), "Item", "2 items of that name"),
        (loaded((100, 0, 0), stance=Stance(lean="1 in")), 0, r"lean wanted must be 0 m .* got 0.0254 m: set"),
    ],
)
def test_what_cannot_be_moved_is_refused(setup, item, words):
    with pytest.raises(ValueError, match=words):
        even_move(setup, item)


# The most trailer


def stops(setup):
    """What is in the way, by code: stops, and a stance that bags should reach and do not."""
    bagged = [name for name, axle in (("front", setup.truck.front), ("rear", setup.truck.rear)) if axle.bag]
    missed = {f"stance-not-reached-{name}" for name in bagged} | {"lean-left-over"}
    return {one.code for one in level_setup(setup).findings if one.level == "stop" or one.code in missed}


def searched(setup, most=12_000):
    """The most weight by going down pound by pound from far too much. [kg]"""
    heavy, light = most, 0
    while heavy - light > 1:  # for the setups here good weights lie together, from nothing up
        middle = (heavy + light) // 2
        heavy, light = (heavy, middle) if not stops(of_weight(setup, middle * POUND)) else (middle, light)
    return light * POUND


SETUPS = {
    "labels of the trailer": (towing(), {"trailer-gvwr"}),
    "label of the hitch": (towing(MILL.replaced(tongue_ratio=0.17)), {"tongue-rating"}),
    "a rear tyre": (towing(cargo=(cargo(1900, -20, 10),)), {"tyre-rear"}),
    "bags at their greatest pressure": (
        towing(cargo=(cargo(900, 0, 30),), stance=Stance(rear="1.6 in")),
        {"stance-not-reached-rear"},
    ),
    "a deck, scaled": (towing(LOGS.replaced(gvwr="19000 lb"), "bed ball"), {"trailer-rating"}),
    "bars": (towing(MILL.replaced(bars=1.0, gvwr="14000 lb", tongue_ratio=0.14)), {"tongue-rating"}),
}


@pytest.mark.parametrize(("setup", "named"), SETUPS.values(), ids=SETUPS)
def test_at_the_most_nothing_stops_and_a_pound_more_does_what_is_named(setup, named):
    most = find_largest_trailer(setup)
    assert stops(of_weight(setup, most.weight)) == set()
    assert stops(of_weight(setup, most.weight + POUND)) == {one.code for one in most.stopped_by} == named
    assert most.now == setup.trailer.weight


@pytest.mark.parametrize(("setup", "named"), SETUPS.values(), ids=SETUPS)
def test_the_most_is_what_a_plain_search_finds(setup, named):
    assert 0 <= find_largest_trailer(setup).weight - searched(setup, 20_000) < 1.001 * POUND


@pytest.mark.no_cover
@given(
    ratio=st.floats(0.08, 0.25),
    load=st.floats(50, 2500),
    x=st.floats(-40, 120),
    y=st.floats(-30, 30),
    rear=st.floats(-2, 2.5),
)
def test_any_most_trailer_is_good_and_a_pound_more_is_not(ratio, load, x, y, rear):
    setup = towing(
        MILL.replaced(tongue_ratio=round(ratio, 3)),
        cargo=(cargo(round(load), round(x), round(y)),),
        stance=Stance(rear=f"{rear:.2f} in"),
    )
    most = find_largest_trailer(setup)
    if most.weight > 0:
        assert stops(of_weight(setup, most.weight)) == set()
    assert {one.code for one in most.stopped_by} <= stops(of_weight(setup, most.weight + POUND)) != set()
    heavier = [most.weight + more * POUND for more in (3, 50, 400, 2000)]
    assert all(stops(of_weight(setup, weight)) for weight in heavier)


def test_good_weights_need_not_begin_at_nothing():
    """With a light trailer the rear bags are at their least pressure; a heavier one lets them come to the height."""
    soft = RIDGE.replaced(rear=RIDGE.rear.replaced(bag=RIDGE.rear.bag.replaced(least_pressure="23.8 psi")))
    setup = towing(truck=soft, stance=Stance(rear="-1 in"))
    assert "stance-not-reached-rear" in stops(of_weight(setup, 100 * POUND))
    most = find_largest_trailer(setup)
    assert most.weight > 4000 * POUND
    assert stops(of_weight(setup, most.weight)) == set()


def test_where_not_even_a_light_one_does_it_says_what_is_in_the_way():
    most = find_largest_trailer(towing(cargo=(cargo(4000, 0, 0),)))
    assert most.weight == 0.0
    assert {"tyre-rear", "gawr-rear"} <= {one.code for one in most.stopped_by}


def test_labels_of_the_trailer_itself_may_be_left_out():
    most = find_largest_trailer(towing(), own_labels=False)
    assert [one.code for one in most.stopped_by] == ["tongue-rating"]
    assert_allclose(most.weight / POUND, 10_000, atol=0.02)
    assert_allclose(find_largest_trailer(towing()).weight / POUND, 9_990, atol=0.02)


def test_a_scaled_deck_keeps_its_ratio_and_its_left_share():
    scaled = of_weight(towing(LOGS, "bed ball"), 4_000.0).trailer
    assert_allclose(
        [scaled.weight, scaled.tongue_share, scaled.side_share], [4_000.0, LOGS.tongue_share, LOGS.side_share]
    )


def test_the_truck_alone_has_no_most_trailer():
    with pytest.raises(ValueError, match="needs a trailer to start from"):
        find_largest_trailer(loaded((100, 0, 0)))


def test_headroom_is_what_is_left_to_each_label_the_nearest_first():
    setup = towing(cargo=(cargo(420, 12, 15),))
    answer = level_setup(setup)
    rooms = {one.code: one for one in find_headroom(setup, answer)}
    assert_allclose(rooms["gvwr"].spare, 11_500 * POUND * 9.80665 - answer.axle_load.sum())
    assert_allclose(rooms["tongue-rating"].spare, (1200 - 864) * POUND * 9.80665)
    assert_allclose(rooms["pressure-low-front-left"].spare, answer.pressure[0, 0] - 10 * PSI)
    assert_allclose(rooms["pressure-high-rear-right"].spare, 100 * PSI - answer.pressure[1, 1])
    shares = [one.spare / one.limit for one in find_headroom(setup, answer)]
    assert shares == sorted(shares)


def test_headroom_under_nought_is_a_finding_that_stops(demo):
    setup = demo("slabs-on-friday")
    answer = level_setup(setup)
    passed = {one.code for one in find_headroom(setup, answer) if one.spare < 0}
    assert passed == {one.code for one in answer.findings if one.level == "stop"}
