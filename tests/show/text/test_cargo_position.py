"""What if in words: distances and sides as a tape reads them, limits by their names, no number that reads as nought."""

from dataclasses import replace

import numpy as np
import pytest

from planner.plans.cargo_position import even_move
from planner.plans.largest_trailer import POUND, MostTrailer, find_headroom, find_largest_trailer
from planner.plans.level import level_setup
from planner.show.text.cargo_position import (
    LIMITS,
    across_words,
    can_be_tried,
    is_own,
    most_words,
    move_words,
    room_words,
    round_weight,
    stronger_words,
)
from tests.show.conftest import DUALS_JOINED, make_cargo, make_finding, make_setup, make_trailer, make_truck

EVEN = make_truck(
    kerb={"front_axle": "4300 lb", "rear_axle": "3000 lb", "left_share": 0.5},
    bed={"front": "158 in", "rear": "-40 in", "width": "68.4 in"},
)
DRUM = make_cargo("Fuel drum", "400 lb", "50 in", "0 in")
BEHIND = make_cargo("Chest", "300 lb", "0 in", "20 in")
AHEAD = make_cargo("Winch", "100 lb", "158 in", "40 in")


def moved(*cargo, item=0, truck=EVEN):
    return even_move(make_setup(truck, cargo=cargo), item)


def test_a_move_is_told_by_side_and_distance_and_by_its_place():
    move = moved(DRUM, BEHIND, AHEAD)
    assert move_words(move, "us") == (
        "Move Fuel drum 25 in right and 13.2 in ahead, to 25 in right of centre, 63.2 in ahead of the rear axle: "
        "level, and even left and right."
    )
    assert "635 mm right and 335 mm ahead" in move_words(move, "metric")


def test_a_move_straight_across_says_what_it_leaves_uneven():
    words = across_words(moved(DRUM, BEHIND, AHEAD), "us")
    assert words.startswith("Straight across only, 23.6 in right to 23.6 in right of centre: ")
    assert words.endswith("the front left bag holds 1 psi more than the right.")
    assert across_words(moved(BEHIND), "us") == ""  # that is the whole move


def test_nothing_to_gain_straight_across():
    there = moved(DRUM, BEHIND, AHEAD).across
    placed = DRUM.replaced(y=f"{there:.6f} m")
    assert across_words(moved(placed, BEHIND, AHEAD), "us").startswith("Straight across there is nothing to gain: the ")


def test_what_lies_right_stays():
    assert move_words(moved(DRUM), "us") == "Fuel drum is where it should be: level, and even left and right."


def test_what_would_have_to_lie_off_the_bed_says_where_and_what_is_had_at_its_side():
    words = move_words(
        moved(make_cargo("Winch", "100 lb", "79 in", "0 in"), make_cargo("Logs", "900 lb", "79 in", "30 in")), "us"
    )
    assert words.startswith(
        "Moving Winch alone does not make it even: it would have to be 22.5 ft right of centre, off the bed."
    )
    assert "At 34.2 in right of centre, 79 in ahead of the rear axle the front left bag holds" in words
    assert words.endswith("Move something heavier, or more than one.")


def test_axles_heavier_on_opposite_sides_are_told():
    words = move_words(
        moved(make_cargo("Box", "100 lb", "79 in", "0 in"), BEHIND, make_cargo("Jack", "400 lb", "158 in", "-25 in")),
        "us",
    )
    assert "the axles are heavier on opposite sides" in words
    assert "the front right bag holds" in words


def test_where_lines_are_shared_the_lean_is_told():
    truck = make_truck(DUALS_JOINED, DUALS_JOINED)
    words = move_words(
        moved(make_cargo("Box", "60 lb", "20 in", "0 in"), make_cargo("Logs", "900 lb", "20 in", "30 in"), truck=truck),
        "us",
    )
    assert "the left side still stands" not in words
    assert "the right side still stands" in words


@pytest.mark.parametrize("y", [1e-9, -0.0, -1e-7])
def test_the_centre_line_has_no_side(y):
    move = replace(moved(BEHIND), y=y)
    assert "to the centre line, 0 in ahead of the rear axle" in move_words(move, "us")


def test_a_name_is_shown_as_a_name():
    assert "\u202e" not in move_words(moved(make_cargo("\u202eFuel", "400 lb", "50 in", "10 in")), "us")


# The most trailer


def most(pounds, now=7200, *stopped):
    return MostTrailer(pounds * POUND, now * POUND, stopped)


@pytest.fixture
def towing():
    return make_setup(EVEN, trailer=make_trailer())


def test_the_most_trailer_is_told_against_now_and_by_the_label_that_stops_it(towing):
    found = find_largest_trailer(towing)
    assert most_words(found, "us") == (
        "Room to grow: up to 9,990 lb, 2,790 lb more than now. "
        "What stops a heavier one: the trailer's own GVWR, 9,990 lb."
    )
    assert most_words(found, "metric").startswith("Room to grow: up to 4,531 kg, 1,265 kg more than now.")
    assert is_own(found)
    assert stronger_words(find_largest_trailer(towing, own_labels=False), "us") == (
        "A stronger trailer of the same tongue ratio could weigh 10,000 lb; "
        "then it is the hitch's tongue rating, 1,200 lb."
    )


def test_less_than_now_and_as_now_are_told():
    assert "Up to 5,882 lb, 1,318 lb less than now." in most_words(most(5882.9, 7200, make_finding()), "us")
    assert "Up to 7,200 lb, as now." in most_words(most(7200.4, 7200, make_finding()), "us")


def test_a_whole_weight_is_never_more_than_the_most():
    assert round_weight(9990.9 * POUND, "us").text == "9990 lb"
    assert round_weight(4531.99, "metric").text == "4531 kg"


def test_no_trailer_at_all_is_told_with_what_is_in_the_way():
    found = most(0.0, 7200, make_finding(code="gawr-rear"), make_finding(code="tyre-rear"))
    assert not can_be_tried(found, "us")
    assert most_words(found, "us").startswith(
        "However light the trailer is loaded, something stops it: the GAWR of the rear axle, 5,845 lb and the rating"
    )


def test_a_stance_that_is_not_reached_is_told_in_its_own_words():
    found = most(5000, 7200, make_finding(code="stance-not-reached-rear", template="The rear stays {value} low."))
    assert most_words(found, "us").endswith("What stops a heavier one: The rear stays 6,744 lb low.")
    assert not is_own(found)


def test_the_nearest_label_is_told_with_what_is_to_spare():
    setup = make_setup(EVEN, trailer=make_trailer(gross_weight="9900 lb"))
    assert room_words(find_headroom(setup, level_setup(setup)), "us") == (
        "Nearest to its limit as it stands: the trailer's own GVWR, 9,900 lb of 9,990 lb, 90 lb to spare."
    )


def test_every_label_that_can_stop_has_a_name(demo):
    setup, answer = demo
    for room in find_headroom(setup, answer):
        words = room_words((room,), "us")
        assert room.code not in words
        assert not any(mark in words for mark in "{}")
    assert len(set(LIMITS.values())) == len(LIMITS)


def test_labels_that_are_passed_are_counted():
    setup = make_setup(EVEN, trailer=make_trailer(gross_weight="11400 lb"))
    words = room_words(find_headroom(setup, level_setup(setup)), "us")
    assert words.startswith("Over as it stands: ")
    assert words.endswith(" passed.")
    assert np.isfinite(find_headroom(setup, level_setup(setup))[0].spare)
