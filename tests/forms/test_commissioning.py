"""The commissioning list: what was looked at when stands in the truck's file, the last time of each on the page."""

from datetime import date

import pytest

from planner.forms.commissioning import COMMISSIONING, last_checks, with_check
from planner.forms.draft import NEW, Draft
from planner.forms.truck_form import TRUCK_FORM, typical
from planner.records import BadInput, Check
from planner.store import Store


@pytest.fixture
def draft():
    return Draft(TRUCK_FORM, NEW, None, typical())


def test_nothing_was_looked_at_on_a_new_truck(draft):
    assert last_checks(draft.record) == dict.fromkeys(COMMISSIONING)


def test_the_last_time_counts_and_all_of_them_are_kept_in_the_file(draft, tmp_path):
    store = Store(tmp_path)
    for day, by in ((date(2026, 5, 4), "Ruth"), (date(2026, 3, 1), ""), (date(2026, 9, 9), "")):
        draft = with_check(draft, "Soap test", day, by)
    draft = with_check(draft, "Wheel nuts", date(2026, 5, 5))
    TRUCK_FORM.save(store, draft, "Checked")
    truck = store.read_truck("checked")
    assert truck.checks == draft.record.checks
    found = last_checks(truck)
    assert found["Soap test"] == Check(name="Soap test", on=date(2026, 9, 9))
    assert found["Wheel nuts"].on == date(2026, 5, 5)
    assert found["Track bar"] is None
    text = (tmp_path / "trucks/checked.toml").read_text("utf-8")
    assert "on = 2026-05-04" in text
    assert 'by = "Ruth"' in text


@pytest.mark.parametrize("on", ["yesterday", "2026-13-01", 20260504, True, "2026-05-04T07:30:00"])
def test_what_is_no_day_is_refused(on):
    with pytest.raises(BadInput, match="must be a date"):
        Check(name="Soap test", on=on)
