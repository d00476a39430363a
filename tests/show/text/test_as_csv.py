"""The table of all profiles: RFC 4180, units in the header, no cell that a spreadsheet would run."""

import csv
import io
import math
from dataclasses import replace
from datetime import date

import pytest

from planner.plans.hitching import hitch_up
from planner.show.text.as_csv import Line, guarded, header, line_of, table
from planner.show.text.numbers import sentence
from planner.units.quantity import display, read
from tests.show.carrying import MILL, NAMES, SLABS, named_card, stands
from tests.show.conftest import DEMO_PROFILES

SAVED = date(2026, 5, 4)
HEAD = [
    "Profile",
    "Truck",
    "Trailer",
    "Hitch",
    "Front left [psi]",
    "Front right [psi]",
    "Rear left [psi]",
    "Rear right [psi]",
    "Pressures are",
    "Hitching height [in]",
    "Coupling height at tow [in]",
    "Worst finding",
    "Date",
]


def told(stands, on=None):
    """Return the line of a profile."""
    return line_of(stands, stands.hitching(), on)


def rows(lines, system="us", **how):
    """Return a table as a spreadsheet reads it."""
    text = table(lines, system, **how).decode("utf-8-sig")
    return list(csv.reader(io.StringIO(text, newline=""), strict=True))


def test_units_stand_in_the_header_and_nowhere_else():
    assert rows([]) == [HEAD]
    assert [one.partition("[")[2] for one in header("metric") if "[" in one] == ["bar]"] * 4 + ["mm]"] * 2
    for system in ("us", "metric"):
        for row in rows([told(stands(slug), SAVED) for slug in DEMO_PROFILES], system)[1:]:
            for cell in (*row[4:8], *row[9:11]):
                assert cell in ("", "steel") or math.isfinite(float(cell))


@pytest.mark.parametrize("slug", DEMO_PROFILES)
@pytest.mark.parametrize("system", ["us", "metric"])
def test_its_numbers_are_the_planner_s(slug, system):
    one = stands(slug)
    head, row = rows([told(one, SAVED)], system)
    cells = dict(zip(head, row, strict=True))
    setup, answer = one.setup, one.answer
    for cell, pressure in zip(row[4:8], answer.set.pressure.ravel(), strict=True):
        if math.isnan(pressure):
            assert cell == "steel"
        else:
            half = 0.5 if system == "us" else 0.005
            assert float(cell) == pytest.approx(display(float(pressure), "pressure", system)[0], abs=half)
    assert (cells["Profile"], cells["Truck"]) == (one.profile.name, setup.truck.name)
    assert (cells["Pressures are"], cells["Date"]) == ("saved" if one.saved else "planned", "2026-05-04")
    if setup.trailer is None:
        assert row[2] == row[3] == row[9] == row[10] == ""
    else:
        assert row[2:4] == [setup.trailer.name, setup.hitch.name]
        plan, half = hitch_up(setup), 0.05 if system == "us" else 0.5
        for cell, height in zip(row[9:11], (plan.stages[0].height, answer.set.coupling_height), strict=True):
            assert float(cell) == pytest.approx(display(height, "length", system)[0], abs=half)
    worst = told(one).worst
    assert worst is None or cells["Worst finding"].endswith(sentence(worst, system))


def test_saved_pressures_are_said_to_be_and_the_worst_finding_has_its_word():
    line = told(stands(MILL), SAVED)
    assert rows([replace(line, saved=True)])[1][8] == "saved"
    assert rows([told(stands(SLABS))])[1][11].startswith("Stop: ")
    assert rows([told(stands(SLABS))])[1][12] == ""


def test_it_is_as_rfc_4180_has_it():
    odd = Line('a "b", c', truck="x;y")
    raw = table([odd, Line("two")], "us", marked=False)
    assert raw.startswith(b"Profile,Truck,")
    assert raw.count(b"\r\n") == 3
    assert raw.endswith(b"\r\n")
    assert b"\n" not in raw.replace(b"\r\n", b"")
    assert b'"a ""b"", c",x;y,' in raw
    assert table([odd, Line("two")], "us") == b"\xef\xbb\xbf" + raw
    assert {len(row) for row in rows([odd, Line("two")])} == {len(HEAD)}


FORMULAS = [
    "=1+1",
    "+1",
    "-1+1",
    "@SUM(A1)",
    "\t=1",
    "\r=1",
    "\n=1",
    " =1",
    "\u00a0=1",
    "\u200d=1",
    "\u2060=1",
    "\uff1d1",
    "\uff0b1",
    "\ufe63=1",
    '=HYPERLINK("http://stranger.example","x")',
    "=cmd|' /C calc'!A0",
    "\ttab first",
    "\rreturn first",
]


@pytest.mark.parametrize("name", FORMULAS)
def test_no_text_is_taken_for_a_formula(name):
    assert guarded(name) == f"'{name}"
    row = rows([Line(name, truck=name, trailer=name, hitch=name, wrong=name)])[1]
    for cell in row[:4]:
        assert cell.startswith("'") or name[0] in "\t\r\n"
        assert cell[0] not in "=+-@\t\r\n "
    assert row[11].startswith("cannot be used: ")


@pytest.mark.parametrize("name", ["Mill - two", "a=b", "3 + 4", "", "'quoted", "−1", "мельница"])
def test_other_texts_stay_as_they_are(name):
    assert guarded(name) == name


@pytest.mark.parametrize("name", NAMES)
def test_hostile_names_are_one_cell(name):
    assert named_card(name)  # it is a name that records refuse and a screen may still meet
    line = replace(told(stands(MILL), SAVED), profile=name, truck=name)
    head, row = rows([line])
    assert len(row) == len(head)
    assert "\n" not in row[0]
    assert "\x00" not in row[0]


def test_a_profile_that_cannot_be_used_has_its_line_and_its_reason():
    row = rows([Line("torn", on=SAVED, wrong="torn.toml: is not valid TOML")])[1]
    assert row == ["torn", *[""] * 10, "cannot be used: torn.toml: is not valid TOML", "2026-05-04"]


def test_a_finer_gauge_shows_its_steps():
    psi = float(read("1 psi", "pressure"))
    pressures = (40.25 * psi, math.nan, 0.0, 9.5 * psi)
    line = replace(told(stands(MILL)), pressures=pressures, step=psi / 4)
    assert rows([line])[1][4:8] == ["40.25", "steel", "0.00", "9.50"]
    assert rows([line], "metric")[1][4:8] == ["2.78", "steel", "0.00", "0.66"]
