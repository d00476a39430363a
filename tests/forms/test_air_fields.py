"""The air supply in a truck's form: typical until it is answered, and never worse off for what is typed."""

import shutil

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.forms.air_fields import read_delivery
from planner.forms.draft import enter_text, fault_of, from_json, text_of, to_json
from planner.forms.own_values import is_typical
from planner.forms.truck_form import TRUCK_FORM, open_truck
from planner.forms.truck_questions import AIR_CHART, AIR_DEMANDS, AIR_KEYS
from planner.store import Store
from planner.store.folder import demo_folder
from planner.units.quantity import Refusal

FOLDER = demo_folder()


@pytest.fixture
def draft():
    return open_truck(Store(FOLDER), "yard-truck")


def test_a_truck_without_air_is_not_changed_by_being_asked(draft):
    assert draft.record.air is None
    assert not draft.changed
    assert all(is_typical(draft, key) and text_of(draft, key, "us") for key in AIR_KEYS if key != AIR_DEMANDS)
    assert text_of(draft, AIR_DEMANDS, "us") == ""


def test_the_first_answer_is_the_owners_and_the_rest_stays_typical(draft):
    new = enter_text(draft, "air.tank_volume", "8 gal", "us")
    assert new.record.air.tank_volume.text == "8 gal"
    assert [key for key in AIR_KEYS if not is_typical(new, key)] == ["air.tank_volume", AIR_DEMANDS]
    assert from_json(TRUCK_FORM, Store(FOLDER), "yard-truck", to_json(new)).record == new.record


def test_a_typical_cut_in_goes_with_the_cut_out_and_one_that_was_given_does_not(draft):
    new = enter_text(draft, "air.cut_out", "100 psi", "us")
    assert new.record.air.cut_in.text == "65 psi"
    assert is_typical(new, "air.cut_in")
    new = enter_text(enter_text(new, "air.cut_in", "80 psi", "us"), "air.cut_out", "70 psi", "us")
    assert new.record.air.cut_in.text == "80 psi"
    assert "must be < cut_out" in fault_of(new, "air.cut_out", "us").rule or "air.cut_out" in new.typed


def test_a_compressors_chart_is_read_line_by_line(draft):
    new = enter_text(draft, AIR_CHART, "150 psi: 0.8\n0 psi 1.8 cfm\n7 bar; 31 L/min", "us")
    assert [one.text for one in new.record.air.delivery] == ["1.8 cfm", "31 L/min", "0.8 ft**3/min"]
    assert not is_typical(new, AIR_CHART)
    short = enter_text(new, AIR_CHART, "0 1.8\n90 1.1", "us")
    assert "must be >= cut_out" in fault_of(short, AIR_CHART, "us").rule
    assert "line 2" in fault_of(enter_text(new, AIR_CHART, "0 1.8\n90 psi", "us"), AIR_CHART, "us").rule


def test_other_users_are_written_a_line_each_and_kept_in_the_trucks_file(tmp_path):
    store = Store(shutil.copytree(FOLDER, tmp_path / "profiles"))
    draft = enter_text(
        open_truck(store, "yard-truck"), AIR_DEMANDS, "horn: 4 cfm, 5 s\nimpact gun; 0,5 L/s; 2 min", "us"
    )
    assert "line 2" in fault_of(draft, AIR_DEMANDS, "us").rule
    draft = enter_text(draft, AIR_DEMANDS, "horn: 4 cfm, 5 s / tire, rear: 0,5 L/s; 4 min", "us")
    TRUCK_FORM.save(store, draft, None)
    kept = store.read_truck("yard-truck").air.demands
    assert [(one.name, one.flow.text, one.time.text) for one in kept] == [
        ("horn", "4 cfm", "5 s"),
        ("tire, rear", "0,5 L/s", "4 min"),
    ]
    again = open_truck(store, "yard-truck")
    assert text_of(again, AIR_DEMANDS, "us") == "horn: 4 cfm, 5 s\ntire, rear: 0,5 L/s, 4 min"
    assert enter_text(again, AIR_DEMANDS, "", "us").record.air.demands == ()
    assert fault_of(enter_text(again, AIR_DEMANDS, "horn: 0 cfm, 5 s", "us"), AIR_DEMANDS, "us") is not None


@settings(max_examples=40, deadline=None)
@given(st.text(max_size=40))
def test_any_text_is_a_chart_or_is_refused(text):
    try:
        points = read_delivery(text, "metric")
    except Refusal:
        return
    assert all(pressure.dimension == "pressure" and flow.dimension == "free-air flow" for pressure, flow in points)
