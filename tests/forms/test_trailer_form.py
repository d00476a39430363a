"""Fields of a trailer, by themselves and together: what is typed waits until it fits, and nothing of it is lost."""

import json

import pytest
from pydantic import ValidationError

from planner.forms import trailer_form
from planner.forms.draft import (
    NEW,
    bad_fields,
    enter_text,
    fault_of,
    from_json,
    text_of,
    to_json,
    with_added,
    without_row,
)
from planner.forms.own_values import confirm, is_typical
from planner.forms.profile_form import open_profile
from planner.forms.trailer_form import TRAILER_FORM, open_trailer, to_deck, to_weighed, typical
from planner.units.quantity import Refusal, read

INCH = 0.0254


@pytest.fixture
def mill(store):
    """Given by weight and ratio."""
    return open_trailer(store, "band-mill")


@pytest.fixture
def logs(store):
    """Given by three deck items."""
    return open_trailer(store, "log-deck")


@pytest.mark.parametrize(
    ("key", "text", "field", "value"),
    [
        ("gross_weight", "7400", "gross_weight", read("7400 lb", "weight")),
        ("tongue_ratio", "13 %", "tongue_ratio", 0.13),
        ("left_share", "0.51", "left_share", 0.51),
        ("bars", "60 %", "bars", 0.6),
        ("axle_count", "3", "axle_count", 3),
        ("tyres_per_side", "2", "tyres_per_side", 2),
        ("coupling", "pintle", "coupling", "pintle"),
        ("axle_distance", "4,3 m", "axle_distance", read("4,3 m", "length")),
        ("tyre_load_rating", "", "tyre_load_rating", None),
        ("axle_rate", "2400 lbf/in", "axle_rate", read("2400 lbf/in", "spring rate")),
    ],
)
def test_a_text_that_reads_goes_in_as_it_was_typed(mill, key, text, field, value):
    new = enter_text(mill, key, text, "us")
    assert getattr(new.record, field) == value
    assert new.typed == {}
    assert new.changed
    assert not mill.changed


@pytest.mark.parametrize(
    ("key", "text", "rule"),
    [
        ("gross_weight", "heavy", "expected a weight"),
        ("gross_weight", "", "expected a weight"),
        ("gvwr", "0 lb", "must be > 0"),
        ("tongue_ratio", "60 %", "must be <= 50 %"),
        ("axle_count", "two", "must be a whole number"),
        ("axle_count", "9", "must be <= 4"),
        ("bars", "400 %", "must be <= 300 %"),
        ("coupling_height", "19 psi", "expected a length"),
    ],
)
def test_a_text_that_is_no_value_is_kept_with_its_fault_and_the_good_value_stays(mill, key, text, rule):
    new = enter_text(mill, key, text, "us")
    assert new.record == mill.record
    assert text_of(new, key, "us") == text
    assert rule in fault_of(new, key, "us").rule
    assert bad_fields(new, "us") == [key]
    mended = enter_text(new, key, text_of(mill, key, "us"), "us")
    assert mended.typed == {}
    assert fault_of(mended, key, "us") is None


def test_a_place_that_would_lift_the_hitch_waits_with_its_reason_until_another_makes_it_fit(logs):
    one = enter_text(logs, "deck.1.ahead", "-60 in", "us")
    assert one.record == logs.record
    assert "must give a tongue load >= 0" in fault_of(one, "deck.1.ahead", "us").rule
    assert "tail-heavy" in fault_of(one, "deck.1.ahead", "us").remedy
    two = enter_text(one, "deck.0.left", "2 in", "us")  # fits by itself and need not wait
    assert float(two.record.deck[0].left) / INCH == pytest.approx(2)
    assert bad_fields(two, "us") == ["deck.1.ahead"]
    both = enter_text(two, "deck.0.ahead", "200 in", "us")
    assert both.typed == {}
    assert [float(item.ahead) / INCH for item in both.record.deck] == pytest.approx([200, -60, 30])


def test_items_are_added_and_taken_off_and_texts_move_up_with_their_rows(logs):
    work = logs
    for name, text in {"name": "Winch", "weight": "90", "ahead": "200 in"}.items():
        work = enter_text(work, f"added.{name}", text, "us")
    assert not work.changed
    assert fault_of(work, "added.weight", "us") is None
    work = with_added(work, "deck", "us")
    assert [item.name for item in work.record.deck][-1] == "Winch"
    assert work.typed == {}
    work = enter_text(work, "deck.3.weight", "heavy", "us")
    less = without_row(work, "deck", 2, "us")
    assert [item.name for item in less.record.deck] == ["Empty trailer", "Oak logs", "Winch"]
    assert less.typed == {"deck.2.weight": "heavy"}
    assert "deck.3.weight" not in without_row(work, "deck", 3, "us").typed


def test_an_incomplete_item_is_not_added(logs):
    with pytest.raises(ValidationError):
        with_added(enter_text(logs, "added.weight", "90 lb", "us").with_typed("added.ahead", "1 in"), "deck", "us")
    with pytest.raises(Refusal, match="expected a weight"):
        with_added(enter_text(logs, "added.name", "Winch", "us"), "deck", "us")
    assert "expected a length" in fault_of(enter_text(logs, "added.left", "x", "us"), "added.left", "us").rule


def test_what_holds_the_tongue_down_is_not_taken_off_and_a_deck_keeps_an_item(logs):
    work = enter_text(enter_text(logs, "deck.2.ahead", "-100 in", "us"), "deck.0.ahead", "-10 in", "us")
    assert work.typed == {}
    with pytest.raises(Refusal, match="must give a tongue load >= 0"):
        without_row(work, "deck", 1, "us")
    one = without_row(without_row(logs, "deck", 2, "us"), "deck", 1, "us")
    with pytest.raises(Refusal, match="a deck needs an item"):
        without_row(one, "deck", 0, "us")


# Two ways to say what it weighs


def test_a_weighed_trailer_becomes_one_item_that_presses_the_same(mill):
    new = to_deck(mill)
    assert len(new.record.deck) == 1
    assert new.record.weight == pytest.approx(mill.record.weight)
    assert new.record.tongue_share == pytest.approx(0.12, abs=1e-6)
    assert new.record.side_share == pytest.approx(0.52)
    assert not to_weighed(new).changed


def test_a_deck_becomes_its_sums_and_comes_back_as_it_was(logs):
    weighed = to_weighed(enter_text(logs, "deck.0.ahead", "60 in", "us").with_typed("deck.1.left", "far"))
    assert weighed.record.deck == ()
    assert weighed.record.tongue_share == pytest.approx((60 * 4300 + 52 * 7600 + 30 * 1400) / 276 / 13300, abs=1e-6)
    assert weighed.record.side_share == pytest.approx(0.5 + (7600 - 6 * 1400) / 82 / 13300, abs=1e-6)
    assert weighed.typed == {}
    back = to_deck(weighed)
    assert [item.name for item in back.record.deck] == ["Empty trailer", "Oak logs", "Loader arm"]
    assert back.record.left_share == logs.record.left_share
    assert back.record.gross_weight is None


def test_a_deck_laid_aside_that_no_longer_fits_gives_way_to_one_item(logs):
    weighed = enter_text(to_weighed(logs), "axle_distance", "60 in", "us")
    assert [item.name for item in to_deck(weighed).record.deck] == ["Trailer as weighed"]


# Slide


def test_sliding_puts_the_item_where_its_owner_s_unit_says(logs):
    new = trailer_form.slide_item(logs, 1, 0.2, "us")
    assert new.record.deck[1].ahead.text.endswith(" in")
    assert new.record.tongue_share == pytest.approx(0.2, abs=1e-6)
    back = trailer_form.slide_item(new, 1, logs.record.tongue_share, "us")
    assert float(back.record.deck[1].ahead) == pytest.approx(float(logs.record.deck[1].ahead), abs=1e-5)


def test_the_item_and_the_ratio_to_slide_for(logs):
    assert trailer_form.slide_place(logs) == 1  # the heaviest that is not the first
    assert trailer_form.slide_place(enter_text(logs, "slide.item", "2", "us")) == 2
    assert trailer_form.slide_place(enter_text(logs, "slide.item", "9", "us")) == 1
    assert trailer_form.wanted_ratio(logs, 0.2) == 0.2
    assert trailer_form.wanted_ratio(enter_text(logs, "slide.ratio", "18", "us"), 0.2) == 0.18
    far = enter_text(logs, "slide.ratio", "70 %", "us")
    assert "must be in 0 to 50 %" in fault_of(far, "slide.ratio", "us").rule
    assert bad_fields(far, "us") == []  # it is no field of the trailer


# A new one, drafts


def test_a_new_trailer_is_typical_until_its_owner_says_otherwise():
    work = open_trailer(None, NEW)
    assert work.record == typical()
    assert not work.changed
    assert is_typical(work, "gvwr")
    own = enter_text(work, "gvwr", "7700 lb", "us")
    assert not is_typical(own, "gvwr")
    assert is_typical(own, "track")
    assert own.changed


@pytest.mark.parametrize("laid_aside", [False, True])
def test_a_draft_gives_the_work_back(store, logs, laid_aside):
    work = enter_text(enter_text(logs, "deck.0.ahead", "60 in", "us"), "gvwr", "heavy", "us").with_typed(
        "added.name", "W"
    )
    work = to_weighed(work) if laid_aside else work
    again = from_json(TRAILER_FORM, store, "log-deck", json.loads(json.dumps(to_json(work))))
    assert again == work
    assert to_json(again) == to_json(work)


# On Level


def test_numbers_tried_for_a_trailer_end_when_its_deck_says_them(store):
    work = open_profile(store, "mill-bed-empty")
    tried = work.with_numbers(gross_weight="8000 lb").with_typed("weight", "x")
    store.write(to_deck(open_trailer(store, "band-mill")).record, "band-mill")
    now = tried.form.refresh(store, tried)
    assert now.what_if == {}
    assert now.typed == {}
    assert now.towed.deck


def test_a_typical_value_is_confirmed_as_it_stands(store):
    store.write(store.read_trailer("band-mill").replaced(typical=("tongue_ratio",)), "band-mill")
    draft = open_trailer(store, "band-mill")
    assert is_typical(draft, "tongue_ratio")
    own = confirm(draft, "tongue_ratio")
    assert not is_typical(own, "tongue_ratio")
    assert own.record.tongue_ratio == draft.record.tongue_ratio
