"""Cards and the change-over on a page of their own, without a browser."""

import os
import re
import shutil
from datetime import datetime
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from planner import export
from planner.front.shell import environment
from planner.store import Store
from planner.store.folder import demo_folder

MILL, EMPTY, SLABS = "mill-on-the-hill-road", "mill-bed-empty", "slabs-on-friday"


@pytest.fixture
def store(tmp_path, monkeypatch):
    folder = Path(shutil.copytree(demo_folder(), tmp_path / "profiles"))
    monkeypatch.setenv(environment.PROFILES, str(folder))
    monkeypatch.delenv(environment.UNITS, raising=False)
    return Store(folder)


def shown(module, *arguments):
    """Return a page on which one piece is drawn."""
    script = f"from planner.front.profiles import {module}\n{module}.draw_{module}(*{arguments!r})\n"
    page = AppTest.from_string(script, default_timeout=300).run()
    assert not page.exception
    return page


def said(page):
    return " ".join([*(str(one.value) for one in page.markdown), *(one.proto.body for one in page.get("html"))])


def pictures(page):
    return re.findall(r'<img [^>]*alt="(.*?)"', said(page))


def test_there_are_two_buttons_and_none_for_no_profile(store):
    assert [one.proto.label for one in shown("export_buttons", (MILL, EMPTY)).get("download_button")] == [
        "Cards for the cab (PDF)",
        "Page for the phone",
    ]
    assert not shown("export_buttons", ()).get("download_button")


def test_what_the_buttons_make_is_of_the_profiles_in_the_units(store):
    assert export.pdf_of(store, (MILL,), "us").startswith(b"%PDF-")
    page = export.page_of(store, (MILL, EMPTY), "metric").decode()
    assert page.count('<details name="profile"') == 2
    assert " bar<" in page


def test_a_damaged_profile_is_told_of_in_the_file_and_the_others_are_there(store):
    (store.folder / "broken.toml").write_text("schema = 1\nname = ", "utf-8")
    heavy = store.folder / f"{EMPTY}.toml"
    heavy.write_text(heavy.read_text("utf-8").replace('"receiver"', '"tow hook"'), "utf-8")
    page = export.page_of(store, (MILL, "broken", EMPTY, "gone"), "us").decode()
    assert page.count('<details name="profile"') == 1
    for name in ("broken.toml", f"{EMPTY}.toml", "gone"):
        assert name in page
    assert export.pdf_of(store, ("broken",), "us").startswith(b"%PDF-")


def test_numbers_that_no_truck_has_leave_their_profile_out(store, monkeypatch):
    def no_rest(*records):
        raise ArithmeticError("no rest found for 1 of 1 cases: check the truck's numbers")

    monkeypatch.setattr(export, "standing", no_rest)
    assert f"{MILL}.toml: no rest found" in export.page_of(store, (MILL,), "us").decode()


def test_the_day_its_file_was_written_is_on_a_saved_card(store):
    file = store.folder / f"{MILL}.toml"
    saved = (
        '\n[pressures]\nfront_left = "37 psi"\nfront_right = "34 psi"\nrear_left = "45 psi"\nrear_right = "38 psi"\n'
    )
    file.write_text(file.read_text("utf-8") + saved, "utf-8")
    os.utime(file, (1777900000, 1777900000))
    day = datetime.fromtimestamp(1777900000).date().isoformat()  # the day on the owner's own clock
    assert f"Saved {day}." in export.page_of(store, (MILL,), "us").decode()
    assert export.card_of(store.read_outfit(MILL), "us", store.folder / "gone.toml").status == "As saved."


def test_the_change_over_is_drawn_said_and_ordered(store):
    page = shown("changeover", EMPTY, MILL)
    assert pictures(page)[0].startswith("To Mill on the hill road, as the truck stands seen from above: ")
    words = said(page)
    assert words.index("Gauges now read") < words.index("Rear left: 41 → 45 psi.")
    assert "Air needed:" in words
    assert "▲ Caution" in words


def test_a_change_over_to_itself_says_that_nothing_changes(store):
    assert "No valve to open" in said(shown("changeover", MILL, MILL))


def test_a_change_over_of_two_trucks_says_why_there_is_none(store):
    page = shown("changeover", MILL, SLABS)
    assert "both profiles must be of the same truck" in page.error[0].value
    assert not pictures(page)


def test_a_page_for_a_phone_says_how_long_the_air_of_each_stage_takes(store):
    page = export.page_of(store, [MILL], "us").decode()
    assert "<p>Air: none needed, 0.9 s to let it out; tank then at 145 psi" in page
    assert re.search(r"<p>Air: [\d.]+ ft³ of free air in 0.4 s; tank then at \d+ psi", page)
    assert page.count("<p>Air: ") == 5  # four stages, and the way off


def test_of_a_truck_whose_air_is_not_known_it_says_typical_times_from_and_to(store):
    page = export.page_of(store, ["slabs-on-friday"], "metric").decode()
    assert page.count("<p>Air (typical): ") == 5
    assert re.search(r"of free air in [\d.]+–[\d.]+ s; tank then at [\d.]+ bar", page)
