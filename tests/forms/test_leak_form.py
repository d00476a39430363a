"""A leak test as it is typed: what it becomes, what is lacking, what is refused, where last night comes from."""

from datetime import datetime, timedelta

import pytest

from planner.forms.draft import enter_text, fault_of, from_json, to_json
from planner.forms.leak_form import (
    HOURS,
    STOOD,
    last_gauges,
    leak_key,
    typed_leak_test,
    with_last_reading,
    without_leak_test,
)
from planner.forms.profile_form import PROFILE_FORM, open_profile
from planner.store import Store

CORNERS = ("front_left", "front_right", "rear_left", "rear_right")


def typed(work, system="us", **more):
    """Return the draft with a whole test typed."""
    texts = {leak_key(when, corner): "40" for when in ("before", "after") for corner in CORNERS}
    texts |= {leak_key("before", "temperature"): "50", leak_key("after", "temperature"): "20", HOURS: "12"}
    for key, text in (texts | more).items():
        work = enter_text(work, key, text, system)
    return work


def test_a_whole_test_is_read_in_the_units_shown(work):
    test = typed_leak_test(typed(work), "us").test
    assert test.before.rear_left.pressure.text == "40 psi"
    assert float(test.after.temperature) == pytest.approx((20 - 32) / 1.8 + 273.15)
    assert test.after.at - test.before.at == timedelta(hours=12)
    assert test.before.altitude is None


def test_a_bare_altitude_is_in_feet_or_in_metres(work):
    moved = {leak_key("after", "altitude"): "5200"}
    assert float(typed_leak_test(typed(work, **moved), "us").test.after.altitude) == pytest.approx(5200 * 0.3048)
    assert typed(work, **moved).typed[leak_key("after", "altitude")] == "5200 ft"
    metric = enter_text(work, leak_key("after", "altitude"), "1600", "metric")
    assert metric.typed[leak_key("after", "altitude")] == "1600 m"


def test_what_is_lacking_is_said_and_altitude_is_not(work):
    found = typed_leak_test(enter_text(typed(work), leak_key("after", "rear_left"), "", "us"), "us")
    assert found.test is None
    assert found.lacking == ("rear left this morning",)


def test_a_bad_altitude_keeps_the_test_waiting(work):
    bad = typed(work, **{leak_key("after", "altitude"): "99999 ft"})
    assert fault_of(bad, leak_key("after", "altitude"), "us") is not None
    assert typed_leak_test(bad, "us").test is None


@pytest.mark.parametrize(
    ("key", "text"),
    [
        (leak_key("before", "front_left"), "-3"),
        (leak_key("before", "front_left"), "3 in"),
        (leak_key("before", "temperature"), "400"),
        (HOURS, "0"),
        (HOURS, "soon"),
        (STOOD, "half"),
    ],
)
def test_what_cannot_be_is_refused_where_it_was_typed(work, key, text):
    assert fault_of(enter_text(work, key, text, "us"), key, "us") is not None


def test_it_stood_without_its_load_where_that_is_said(work):
    assert typed_leak_test(typed(work), "us").setup.trailer is not None
    assert typed_leak_test(typed(work, **{STOOD: "unhitched"}), "us").setup.trailer is None
    empty = typed_leak_test(typed(work, **{STOOD: "empty"}), "us").setup
    assert (empty.trailer, empty.cargo) == (None, ())


def test_last_night_may_be_the_last_reading(folder):
    work = open_profile(Store(folder), "weekly-mill-run")
    reading = last_gauges(work)
    taken = with_last_reading(work, (reading.at + timedelta(hours=9)).astimezone())
    assert taken.typed[leak_key("before", "rear_left")] == reading.rear_left.pressure.text
    assert taken.typed[HOURS] == "9"
    late = with_last_reading(work, (reading.at + timedelta(days=900)).astimezone())
    assert HOURS not in late.typed


def test_it_is_kept_with_the_draft_and_cleared(work, folder):
    whole = typed(work, **{STOOD: "unhitched"})
    again = from_json(PROFILE_FORM, Store(folder), work.slug, to_json(whole))
    assert again.typed == whole.typed
    assert not without_leak_test(again).typed


def test_without_a_reading_there_is_no_last_night(work):
    assert last_gauges(work) is None
    with pytest.raises(ValueError, match="needs a reading with pressures"):
        with_last_reading(work, datetime.now().astimezone())
