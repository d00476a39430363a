"""Readings on a scale as they are typed beside a truck: what they become, where from, and what they teach written."""

from datetime import date

import pytest

from planner.forms.calibration_form import (
    count_asked,
    find_axles,
    find_corners,
    learn_key,
    take_back_learnt,
    typed_readings,
    use_learnt,
    with_source,
    without_reading,
)
from planner.forms.draft import enter_text, fault_of
from planner.forms.truck_form import open_truck
from planner.plans.calibration import calibrate
from planner.records import BadInput
from planner.store import ConflictError, Store

TODAY = date(2026, 11, 26)
READING = {
    "front_axle": "4300",
    "rear_axle": "3900",
    "front_left.pressure": "19",
    "front_left.height": "20.1",
    "rear_left.pressure": "30",
    "rear_left.height": "20",
}


@pytest.fixture
def draft(folder):
    """The draft of a skid truck whose steel was not learnt yet."""
    store = Store(folder)
    store.write(store.read_truck("skid-truck").replaced(spread={}, correlation=None, weighings=()), "skid-truck")
    return open_truck(store, "skid-truck")


def typed(draft, place=0, **more):
    for what, text in (READING | more).items():
        draft = enter_text(draft, learn_key(place, what), text, "us")
    return draft


def test_a_whole_reading_is_read_in_the_units_shown(draft):
    found = typed_readings(typed(draft), "us", TODAY)
    (reading,) = found.readings
    assert (reading.front_axle.text, reading.rear_left.ride_height.text) == ("4300 lb", "20 in")
    assert reading.at.date() == TODAY
    assert not found.lacking


def test_what_a_reading_lacks_is_said_and_it_waits(draft):
    found = typed_readings(typed(draft, rear_axle=""), "us", TODAY)
    assert (found.readings, found.lacking) == ((), {0: "rear axle"})
    assert typed_readings(draft, "us", TODAY).lacking == {}


def test_there_is_always_one_more_to_type_and_one_taken_out_closes_up(draft):
    assert count_asked(draft) == 1
    two = typed(typed(draft), 1, front_axle="4400")
    assert count_asked(two) == 3
    assert without_reading(two, 0).typed[learn_key(0, "front_axle")] == "4400 lb"


@pytest.mark.parametrize(
    ("what", "text"),
    [("front_axle", "0 lb"), ("rear_left.height", "40 psi"), ("rear_left.pressure", "-1"), ("on", "soon")],
)
def test_what_cannot_be_is_marked_and_the_reading_waits(draft, what, text):
    bad = typed(draft, **{what: text})
    assert fault_of(bad, learn_key(0, what), "us") is not None
    assert typed_readings(bad, "us", TODAY).lacking == {0: "fix the marked field"}


def test_numbers_are_taken_from_profiles_and_slips(folder):
    store = Store(folder)
    sources = find_corners(store, "skid-truck")
    assert len(sources) == 26
    last = store.read_profile("weekly-mill-run").readings[-1]
    taken = with_source(open_truck(store, "skid-truck"), 0, sources[0])
    assert taken.typed[learn_key(0, "rear_left.pressure")] == last.rear_left.pressure.text
    names = [one.name for one in find_axles(store, "ridge-truck")]
    assert names == ["Band mill at the quarry, alone", "Band mill at the quarry, hitched"]


def test_what_was_learnt_is_written_with_what_stood_there_and_taken_back(draft, folder):
    store, before = Store(folder), draft.record
    whole = typed(draft, **{"front_right.pressure": "21", "front_left.pressure": "21", "front_right.height": "20"})
    found = calibrate(before, typed_readings(whole, "us", TODAY).readings)
    now = use_learnt(store, whole, found)
    kept = store.read_truck("skid-truck")
    assert kept != before
    assert (kept.weighings[-1].on, kept.weighings[-1].source) == (TODAY, "1 reading on a scale")
    assert not now.typed
    again = take_back_learnt(store, whole, now)
    assert store.read_truck("skid-truck") == before
    assert again.typed == whole.typed


def test_nothing_is_written_over_another_s_change_or_beside_one_not_saved(draft, folder):
    store, whole = Store(folder), typed(draft)
    found = calibrate(draft.record, typed_readings(whole, "us", TODAY).readings)
    with pytest.raises(BadInput, match="not saved"):
        use_learnt(store, enter_text(whole, "gvwr", "10900 lb", "us"), found)
    store.write(draft.record.replaced(gvwr="10950 lb"), "skid-truck")
    with pytest.raises(ConflictError):
        use_learnt(store, whole, found)
