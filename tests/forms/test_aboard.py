"""Who is aboard and cargo at places by name, as typed on the Level page: what the work holds then."""

import pytest

from planner.forms import profile_form
from planner.forms.draft import bad_fields, enter_text, fault_of, from_json, text_of, to_json, value_of, with_added
from planner.forms.profile_form import PROFILE_FORM, all_as_weighed, move_row, places_of
from planner.front.session import draft_files
from planner.records import Aboard, Cargo, placed
from planner.units.quantity import Refusal, read

INCH = 0.0254


def aboard(work):
    return [(one.place, one.share if one.weight is None else one.weight.text) for one in work.profile.aboard]


# Who is aboard


def test_a_weight_or_a_share_is_typed_for_a_place(work):
    new = enter_text(enter_text(work, "aboard.passenger", "180", "us"), "aboard.fuel tank", "50 %", "us")
    assert aboard(new) == [("passenger", "180 lb"), ("fuel tank", 0.5)]
    assert new.profile.as_file()["aboard"] == [
        {"place": "passenger", "weight": "180 lb"},
        {"place": "fuel tank", "share": 0.5},
    ]
    assert [text_of(new, f"aboard.{place}", "us") for place in ("passenger", "fuel tank", "driver")] == [
        "180 lb",
        "50 %",
        "",
    ]


def test_another_number_takes_the_place_of_the_first_and_nothing_takes_it_away(work):
    new = enter_text(enter_text(work, "aboard.fuel tank", "50 %", "us"), "aboard.passenger", "180 lb", "us")
    new = enter_text(new, "aboard.fuel tank", "90 lb", "us")
    assert aboard(new) == [("fuel tank", "90 lb"), ("passenger", "180 lb")]
    assert aboard(enter_text(new, "aboard.fuel tank", "", "us")) == [("passenger", "180 lb")]
    assert all_as_weighed(new).profile == work.profile


def test_nobody_is_a_weight_of_nought(work):
    new = enter_text(work, "aboard.driver", "0 lb", "us")
    assert aboard(new) == [("driver", "0 lb")]
    assert value_of(new, "aboard.driver") == 0


@pytest.mark.parametrize(
    ("place", "text", "rule"),
    [
        ("passenger", "heavy", "expected a weight"),
        ("passenger", "50 %", "a share needs to know what"),
        ("fuel tank", "120 %", "must be <= 100 %"),
        ("driver", "-10 lb", "must be >= 0"),
        ("moon", "10 lb", "must be a place of the truck"),
    ],
)
def test_a_bad_text_is_kept_and_marked_where_it_was_typed(work, place, text, rule):
    new = enter_text(work, f"aboard.{place}", text, "us")
    assert new.profile == work.profile
    assert text_of(new, f"aboard.{place}", "us") == text
    assert rule in fault_of(new, f"aboard.{place}", "us").rule
    assert fault_of(new, f"aboard.{place}", "us").remedy
    assert bad_fields(new, "us") == [f"aboard.{place}"]
    assert bad_fields(all_as_weighed(new), "us") == []


def test_a_draft_keeps_who_is_aboard_and_what_is_no_value_yet(work, store):
    new = enter_text(enter_text(work, "aboard.passenger", "180 lb", "us"), "aboard.driver", "heavy", "us")
    new = enter_text(new, "cargo.0.at", "tool box", "us")
    draft_files.write_draft(store.folder, new.slug, to_json(new))
    again = from_json(PROFILE_FORM, store, new.slug, draft_files.read_draft(store.folder, new.slug).content)
    assert again == new


def test_a_place_that_the_truck_does_not_have_is_asked_about_and_marked(work):
    lost = work.with_profile(aboard=(Aboard(place="jump seat", weight="150 lb"),))
    assert "jump seat" in places_of(lost)
    assert "must be a place" in profile_form.place_fault(lost, "jump seat").rule
    assert enter_text(lost, "aboard.jump seat", "", "us").profile == work.profile


# Cargo


def test_cargo_put_at_a_place_leaves_its_numbers_and_takes_them_up_again(work):
    there = enter_text(work, "cargo.0.at", "tool box", "us")
    item, box = there.profile.cargo[0], work.truck.place("tool box")
    assert (item.at, item.x, item.y) == ("tool box", None, None)
    assert item.as_file() == {"name": "Fuel drum", "weight": "420 lb", "at": "tool box"}
    off = enter_text(there, "cargo.0.at", "", "us").profile.cargo[0]
    assert off.at is None
    assert off.x == pytest.approx(box.x, abs=1e-5)
    assert off.x.text.endswith(" in")


def test_cargo_at_a_place_that_the_truck_does_not_have_can_be_taken_from_it(work):
    lost = work.with_profile(cargo=(Cargo(name="Crate", weight="90 lb", at="jump seat"),))
    assert "must be a place" in profile_form.place_fault(lost, "jump seat").rule
    item = enter_text(lost, "cargo.0.at", "", "us").profile.cargo[0]
    assert (item.at, item.x) == (None, 0)


def test_height_and_side_may_be_left_out(work):
    new = enter_text(enter_text(work, "cargo.0.z", "40", "us"), "cargo.0.y", "", "us")
    assert new.profile.cargo[0].z == read("40 in", "length")
    assert new.profile.cargo[0].y is None
    assert text_of(new, "cargo.0.y", "us") == ""
    assert enter_text(new, "cargo.0.z", " ", "us").profile.cargo[0].z is None
    assert "expected a length" in fault_of(enter_text(new, "cargo.0.z", "high", "us"), "cargo.0.z", "us").rule


def test_a_waiting_row_at_a_place_needs_no_numbers_and_drops_those_typed_before(work):
    new = work
    for name, text in (("name", "Winch"), ("weight", "90 lb"), ("x", "far"), ("at", "tool box"), ("z", "30 in")):
        new = enter_text(new, f"added.{name}", text, "us")
    added = with_added(new, "cargo", "us")
    assert added.profile.cargo[-1] == Cargo(name="Winch", weight="90 lb", at="tool box", z="30 in")
    assert added.typed == {}


def test_a_waiting_row_with_neither_place_nor_number_is_refused(work):
    new = enter_text(enter_text(work, "added.name", "Winch", "us"), "added.weight", "90 lb", "us")
    with pytest.raises(Refusal, match="expected a length"):
        with_added(new, "cargo", "us")


def test_what_is_moved_from_a_place_lies_at_numbers_of_its_own(work):
    there = enter_text(work, "cargo.0.at", "tool box", "us")
    item = move_row(there, 0, 0.5, -0.2, "us").profile.cargo[0]
    assert (item.at, item.x.text.split()[1], item.y.text.split()[1]) == (None, "in", "in")
    assert (float(item.x), float(item.y)) == pytest.approx((0.5, -0.2), abs=1e-5)
    lies = placed(there.profile.cargo[0], work.truck)
    across = move_row(there, 0, float(lies.x), -0.2, "metric").profile.cargo[0]
    assert float(across.x) == pytest.approx(float(lies.x), abs=1e-5)
    assert across.y.text == "-200 mm"
