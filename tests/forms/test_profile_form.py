import pytest

from planner.forms.draft import (
    bad_fields,
    enter_text,
    fault_of,
    field_of,
    step_field,
    text_of,
    value_of,
    with_added,
    without_row,
)
from planner.forms.profile_draft import BED
from planner.records import Cargo
from planner.units.quantity import Refusal, read

INCH = 0.0254


def test_a_weight_typed_becomes_a_number_to_try_and_leaves_the_file_s_alone(work):
    new = enter_text(work, "weight", "7400 lb", "us")
    assert new.towed.gross_weight == read("7400 lb", "weight")
    assert new.trailer.gross_weight == read("7200 lb", "weight")
    assert new.changed
    assert not work.changed


def test_the_example_of_a_weighed_front_axle_is_one(work):
    assert field_of(work, "weighed.alone").hint("us") == "such as 4300 lb"


def test_a_fault_of_the_trailer_is_not_called_by_a_field_of_the_profile(work):
    fault = fault_of(enter_text(work, "side", "100 %", "us"), "side", "us")
    assert fault.rule == "must keep the left share at 6 % to 94 %, or the wheels on one side lift"
    assert fault.got == "100 %"
    below = enter_text(work, "left", "-5 %", "us")
    assert (fault_of(below, "left", "us").rule, fault_of(below, "left", "us").got) == ("must be >= 0 %", "-5 %")


def test_the_file_s_own_number_is_no_what_if(work):
    new = enter_text(enter_text(work, "weight", "7400 lb", "us"), "weight", "7200 lb", "us")
    assert new.what_if == {}
    assert not new.changed


def test_numbers_tried_are_kept_for_each_trailer(work):
    new = enter_text(enter_text(work, "weight", "7400 lb", "us"), "tongue", "13 %", "us")
    assert new.other_numbers == {"gross_weight": "7400 lb", "tongue_ratio": 0.13}
    assert new.without_numbers().other_numbers == {}


@pytest.mark.parametrize(
    ("key", "text", "rule"),
    [
        ("weight", "heavy", "expected a weight"),
        ("weight", "0 lb", "must be > 0"),
        ("weight", "62 psi", "expected a weight"),
        ("tongue", "60 %", "must be <= 50 %"),
        ("tongue", "", "expected a share"),
        ("left", "120 %", "must be <= 100 %"),
        ("stance.front", "13 in", "must be <="),
        ("bed.weight", "-50 lb", "must be > 0"),
        ("bed.x", "1000 ft", "must be <="),
        ("cargo.0.name", "  ", "must be 1 to"),
        ("cargo.0.weight", "nan lb", "expected a weight"),
        ("cargo.0.y", "1e999 in", "expected a length"),
    ],
)
def test_a_bad_text_is_kept_and_the_records_stay_at_the_last_good_value(work, key, text, rule):
    new = enter_text(work, key, text, "us")
    assert new.profile == work.profile
    assert new.what_if == {}
    assert text_of(new, key, "us") == text
    assert rule in fault_of(new, key, "us").rule
    assert fault_of(new, key, "us").remedy
    assert bad_fields(new, "us") == [key]


def test_a_good_text_mends_a_bad_one(work):
    new = enter_text(enter_text(work, "left", "120 %", "us"), "left", "60 %", "us")
    assert new.profile.left_share == 0.6
    assert new.typed == {}
    assert fault_of(new, "left", "us") is None


def test_a_bed_load_is_a_cargo_item_that_moves_with_the_side_bias(work):
    new = enter_text(enter_text(work, "bed.x", "30 in", "us"), "bed.weight", "800 lb", "us")
    assert (new.bed_load.name, new.bed_load.y) == (BED, 0.0)
    assert new.bed_load.x == read("30 in", "length")
    biased = enter_text(new, "left", "60 %", "us")
    assert float(biased.bed_load.y) == pytest.approx(0.1 * 68 * INCH, abs=1e-9)  # a tenth of the 68 in rear track
    assert biased.bed_load.y.text == "6.8 in"
    assert len(biased.profile.cargo) == 2


def test_no_weight_takes_the_bed_load_off_and_its_place_is_remembered(work):
    loaded = enter_text(enter_text(work, "bed.weight", "800", "us"), "bed.x", "30 in", "us")
    empty = enter_text(loaded, "bed.weight", "", "us")
    assert empty.bed_load is None
    assert text_of(empty, "bed.x", "us") == "30 in"
    assert enter_text(empty, "bed.weight", "500 lb", "us").bed_load.x == read("30 in", "length")


def test_a_place_of_the_bed_load_that_is_taken_out_again_is_over_the_rear_axle(work):
    emptied = enter_text(enter_text(work, "bed.x", "20 in", "us"), "bed.x", " ", "us")
    assert bad_fields(emptied, "us") == []
    assert emptied.is_same(work)
    loaded = enter_text(enter_text(work, "bed.weight", "800 lb", "us"), "bed.x", "20 in", "us")
    assert float(enter_text(loaded, "bed.x", "", "us").bed_load.x) == 0.0


def test_the_weight_of_a_bed_load_is_changed_in_place(work):
    new = enter_text(enter_text(work, "bed.weight", "800 lb", "us"), "bed.weight", "900 lb", "us")
    assert [(item.name, item.weight) for item in new.profile.cargo[1:]] == [(BED, read("900 lb", "weight"))]


def test_a_bed_load_moved_by_hand_is_cargo_like_any_other(work):
    loaded = enter_text(work, "bed.weight", "800 lb", "us")
    place = loaded.bed_place
    moved = enter_text(loaded, f"cargo.{place}.y", "10 in", "us")
    assert moved.bed_load is None
    assert enter_text(moved, "left", "60 %", "us").profile.cargo[place].y == read("10 in", "length")


def test_cargo_fields_are_typed_in_place(work):
    new = enter_text(work, "cargo.0.weight", "450 lb", "us")
    new = enter_text(new, "cargo.0.x", "-20", "us")
    new = enter_text(new, "cargo.0.name", "Two drums", "us")
    assert new.profile.cargo[0] == Cargo(name="Two drums", weight="450 lb", x="-20 in", y="15 in")


def test_a_waiting_row_is_cargo_once_it_is_added(work):
    new = work
    for name, text in (("name", "Winch"), ("weight", "90 lb"), ("x", "-40 in")):
        new = enter_text(new, f"added.{name}", text, "us")
    assert new.profile == work.profile
    added = with_added(new, "cargo", "us")
    assert added.profile.cargo[-1] == Cargo(name="Winch", weight="90 lb", x="-40 in")
    assert added.typed == {}


def test_a_waiting_row_that_is_not_complete_is_refused_and_does_not_grey_the_answer(work):
    new = enter_text(enter_text(work, "added.name", "Winch", "us"), "added.weight", "heavy", "us")
    assert bad_fields(new, "us") == []
    assert "expected a weight" in fault_of(new, "added.weight", "us").rule
    with pytest.raises(Refusal, match="expected a weight"):
        with_added(new, "cargo", "us")


def test_an_emptied_field_of_the_waiting_row_is_nothing_typed(work):
    assert enter_text(enter_text(work, "added.name", "Winch", "us"), "added.name", " ", "us").typed == {}


def test_bad_texts_move_up_with_their_rows(work):
    new = work
    for name in ("A", "B", "C"):
        for key, text in (("name", name), ("weight", "1 lb"), ("x", "0 in")):
            new = enter_text(new, f"added.{key}", text, "us")
        new = with_added(new, "cargo", "us")
    new = enter_text(enter_text(new, "cargo.1.weight", "one", "us"), "cargo.3.weight", "three", "us")
    less = without_row(new, "cargo", 1, "us")
    assert [item.name for item in less.profile.cargo] == ["Fuel drum", "B", "C"]
    assert less.typed == {"cargo.2.weight": "three"}


@pytest.mark.parametrize(
    ("key", "system", "up", "text"),
    [
        ("weight", "us", True, "7300 lb"),
        ("weight", "us", False, "7100 lb"),
        ("weight", "metric", True, "3300 kg"),  # from 3266 kg to the next whole step
        ("weight", "metric", False, "3250 kg"),
        ("tongue", "us", True, "12.5 %"),
        ("left", "us", False, "49 %"),
        ("stance.front", "us", True, "0.25 in"),
        ("stance.lean", "metric", False, "-5 mm"),
        ("bed.weight", "us", True, "50 lb"),
    ],
)
def test_a_step_goes_to_the_next_whole_step(work, key, system, up, text):
    assert text_of(step_field(work, key, up, system), key, system) == text


def test_steps_add_up_to_the_last_digit(work):
    for _ in range(20):
        work = step_field(work, "weight", True, "us")
    assert text_of(work, "weight", "us") == "9200 lb"


def test_a_step_from_a_bad_text_goes_on_from_the_last_good_value(work):
    bad = enter_text(work, "weight", "heavy", "us")
    assert step_field(bad, "weight", True, "us").towed.gross_weight == read("7300 lb", "weight")


def test_a_step_past_what_can_be_is_marked(work):
    full = enter_text(work, "left", "100 %", "us")
    past = step_field(full, "left", True, "us")
    assert text_of(past, "left", "us") == "101 %"
    assert past.profile.left_share == 1.0
    assert fault_of(past, "left", "us") is not None


def test_every_field_with_steps_has_a_value_to_step_from(work):
    keys = {"weight", "tongue", "left", "bed.weight", "bed.x", "hitching.gap", "hitching.stow_lift"}
    keys |= {"stance.front", "stance.rear", "stance.lean"}
    assert all(field_of(work, key).step for key in keys)
    assert {key for key in keys if value_of(work, key) is None} == {"bed.weight", "bed.x"}


def test_a_good_text_that_waits_for_a_weight_is_no_fault(work):
    new = enter_text(work, "bed.x", "30 in", "us")
    assert new.typed == {"bed.x": "30 in"}
    assert fault_of(new, "bed.x", "us") is None
    assert bad_fields(new, "us") == []


def test_what_is_asked_when_saving_is_never_a_fault(work):
    new = enter_text(work, "saving.name", "![x](y)", "us")
    assert fault_of(new, "saving.name", "us") is None
    assert bad_fields(new, "us") == []
