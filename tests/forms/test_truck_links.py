"""The links on a truck's form: which bars, each end as a text, what hangs on them, and what was typed comes back."""

import pytest

from planner.forms.draft import NEW, Draft, enter_text, fault_of, field_of, from_json, text_of, to_json
from planner.forms.own_values import confirm, is_typical
from planner.forms.truck_form import TRUCK_FORM, typical
from planner.forms.truck_links import KINDS, link_keys, read_place, read_wanted
from planner.forms.truck_questions import questions
from planner.forms.truck_typical import typical_words
from planner.plans.linkage import move_axle
from planner.store import Store
from planner.units.quantity import Refusal

INCH = 0.0254


@pytest.fixture
def draft():
    return Draft(TRUCK_FORM, NEW, None, typical())


def entered(draft, *pairs, system="us"):
    for key, text in pairs:
        draft = enter_text(draft, key, text, system)
    return draft


@pytest.mark.parametrize("kind", KINDS)
def test_bars_are_typical_to_begin_with_and_move_as_bars_do(draft, kind):
    draft = entered(draft, ("rear.links", kind))
    assert text_of(draft, "rear.links", "us") == kind
    assert is_typical(draft, "rear.at.lower.frame")
    assert move_axle(draft.record, [-0.05, 0.0, 0.05]).reached.all()
    assert {key for key in link_keys(draft.record) if "track_bar" in key} == (
        set() if kind == "uppers meet" else {"rear.at.track_bar.frame", "rear.at.track_bar.axle"}
    )


def test_an_end_is_typed_as_three_lengths_and_is_its_owner_s_then(draft):
    draft = entered(draft, ("rear.links", "uppers meet"), ("rear.at.lower.frame", "29, 16.5, 15 in"))
    frame = draft.record.rear.linkage.lower.frame
    assert [one.text for one in (frame.x, frame.y, frame.z)] == ["29 in", "16.5 in", "15 in"]
    assert text_of(draft, "rear.at.lower.frame", "us") == "29 in; 16.5 in; 15 in"
    assert not is_typical(draft, "rear.at.lower.frame")
    assert is_typical(draft, "rear.at.lower.axle")
    assert field_of(draft, "rear.at.lower.frame").label == "Lower bar at the frame"


@pytest.mark.parametrize(("text", "rule"), [("29 in; 16 in", "three lengths"), ("a; b; c", "length"), ("", "a place")])
def test_what_is_no_place_waits_with_its_fault(draft, text, rule):
    draft = entered(draft, ("rear.links", "uppers meet"), ("rear.at.lower.frame", text))
    assert rule in fault_of(draft, "rear.at.lower.frame", "us").rule


def test_a_decimal_comma_is_none_between_lengths():
    assert [float(one) for one in read_place("710; 16,5; 380 mm", "metric")] == pytest.approx([0.71, 0.0165, 0.38])


def test_bars_that_leave_the_axle_free_are_said_at_the_field(draft):
    draft = entered(
        draft,
        ("rear.links", "uppers meet"),
        ("rear.at.upper.frame", "21; 17; 23 in"),
        ("rear.at.upper.axle", "-1; 17; 24 in"),
    )
    assert "must keep the axle" in fault_of(draft, "rear.at.upper.axle", "us").rule


def test_a_part_comes_with_its_first_end_and_goes_with_it(draft):
    draft = entered(draft, ("rear.links", "uppers meet"))
    assert "rear.at.driveshaft.pinion" not in link_keys(draft.record)
    draft = entered(
        draft,
        ("rear.at.driveshaft.front", "86; 1; 22 in"),
        ("rear.linkage.driveshaft.pinion_angle", "3.5"),
        ("rear.at.shock.frame", "-9; 15; 31 in"),
        ("rear.at.hose.frame", "9; 2; 26 in"),
    )
    linkage = draft.record.rear.linkage
    assert linkage.driveshaft.pinion_angle.text == "3.5 deg"
    assert linkage.shock is not None
    assert linkage.hose is not None
    assert is_typical(draft, "rear.at.driveshaft.pinion")
    assert not is_typical(draft, "rear.linkage.driveshaft.pinion_angle")
    draft = entered(draft, ("rear.at.driveshaft.front", ""), ("rear.at.hose.frame", ""))
    linkage = draft.record.rear.linkage
    assert (linkage.driveshaft, linkage.hose) == (None, None)
    assert not [one for one in draft.record.typical if "driveshaft" in one or "hose" in one]


def test_a_carrier_may_be_left_out_again(draft):
    draft = entered(
        draft,
        ("rear.links", "one upper"),
        ("rear.at.driveshaft.front", "86; 1; 22 in"),
        ("rear.at.driveshaft.carrier", "50; 1; 20 in"),
    )
    assert draft.record.rear.linkage.driveshaft.carrier is not None
    draft = entered(draft, ("rear.at.driveshaft.carrier", ""))
    assert draft.record.rear.linkage.driveshaft.carrier is None


def test_links_taken_out_come_back_as_they_were_and_so_after_a_reload(draft, tmp_path):
    draft = entered(draft, ("rear.links", "track bar"), ("rear.at.lower.frame", "29; 16.5; 15 in"))
    before = draft.record.rear.linkage
    draft = entered(draft, ("rear.links", "none"))
    assert draft.record.rear.linkage is None
    assert not [one for one in draft.record.typical if "linkage" in one]
    draft = from_json(TRUCK_FORM, Store(tmp_path), NEW, to_json(draft))
    assert entered(draft, ("rear.links", "track bar")).record.rear.linkage == before


def test_other_bars_keep_the_lower_ones(draft):
    draft = entered(draft, ("rear.links", "track bar"), ("rear.at.lower.frame", "29; 16.5; 15 in"))
    for kind in ("one upper", "uppers meet"):
        draft = entered(draft, ("rear.links", kind))
        assert text_of(draft, "rear.links", "us") == kind
        assert draft.record.rear.linkage.lower.frame.x.text == "29 in"


def test_links_are_asked_of_a_solid_axle_last(draft):
    assert questions(draft.record)[-1].name == "links"
    assert questions(draft.record)[-1].keys == ("rear.links",)
    draft = entered(draft, ("rear.suspension", "independent"))
    assert "links" not in [one.name for one in questions(draft.record)]


def test_a_wish_is_against_what_the_truck_has_now(draft):
    draft = entered(draft, ("rear.links", "uppers meet"), ("rear.at.driveshaft.front", "86; 1; 22 in"))
    draft = entered(draft, ("wanted.pinion_up", "3 deg"), ("wanted.ahead", "0.5"))
    up, ahead = read_wanted(draft, "us")
    assert (up, ahead) == pytest.approx((0.0174533, 0.5 * INCH))
    assert "within 15" in fault_of(entered(draft, ("wanted.pinion_up", "40 deg")), "wanted.pinion_up", "us").rule
    with pytest.raises(Refusal, match="within 6 in"):
        read_wanted(entered(draft, ("wanted.ahead", "8 in")), "us")


def test_a_typical_end_is_told_by_its_name_and_made_one_s_own(draft):
    draft, path = entered(draft, ("rear.links", "uppers meet")), "rear.linkage.upper.axle"
    assert typical_words(draft, path, "us") == f"Upper bar at the axle: {text_of(draft, 'rear.at.upper.axle', 'us')}"
    assert not is_typical(confirm(draft, path), "rear.at.upper.axle")


def test_other_bars_than_there_are_words_for_are_refused_with_those_there_are(draft):
    draft = entered(draft, ("rear.links", "leaves"))
    assert fault_of(draft, "rear.links", "us").rule == "must be one of none, uppers meet, track bar, one upper"
