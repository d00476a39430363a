"""An answer as lines: pressures first, findings last, all of it plain text."""

import re
from dataclasses import replace

import numpy as np
import pytest

from planner.plans.answer import CORNERS, Stance
from planner.plans.level import level_setup, settle_setup
from planner.plans.setup import Setup
from planner.records import PointMass
from planner.show.drawings.rating_bars import load_bars
from planner.show.drawings.top_view import from_above
from planner.show.text.numbers import say, sentence
from planner.show.text.report import LINE, answer_lines, exact_rows
from planner.show.text.words import height_words, lean_words, pitch_words
from planner.store import Store
from tests.show.conftest import COILS, DEMO, PSI, make_answer, make_finding, make_setup, make_trailer, make_truck


def _lines(setup, system="us", **changes):
    return answer_lines("Hill road", setup, make_answer(setup, **changes), system)


def test_pressures_come_first_as_the_truck_stands():
    lines = _lines(make_setup(trailer=make_trailer()))
    assert lines[0] == "Hill road"
    assert lines[1] == "Test truck with Band mill on its receiver"
    front, rear = lines[5:7]
    assert front.split() == ["front", "38", "psi", "37", "psi"]
    assert rear.split() == ["rear", "46", "psi", "39", "psi"]
    assert lines[4].split() == ["left", "right"]


def test_exact_numbers_stand_beside_what_a_gauge_shows():
    setup = make_setup(trailer=make_trailer())
    rows = list(exact_rows(setup, make_answer(setup), "us"))
    assert rows[0][:3] == ("Front left", "38 psi", "38.3 psi")
    assert rows[3][:3] == ("Rear right", "39 psi", "39.4 psi")
    assert rows[4][0] == "Ball"
    assert all(fine.startswith(height[:2]) for *_, height, fine in rows)


def test_steel_is_a_word_and_no_trailer_is_said():
    lines = _lines(make_setup(make_truck(front=COILS)))
    assert lines[1] == "Test truck, no trailer"
    assert lines[5].split() == ["front", "steel", "steel"]


def test_loads_stand_beside_their_ratings():
    text = "\n".join(_lines(make_setup(trailer=make_trailer())))
    for line in (
        "rear axle (GAWR)             4,664 lb of 6,000 lb",
        "tongue on the hitch            864 lb of 1,200 lb",
        "rear left                      46 psi of 10 to 100 psi",
        "2,449 lb     2,215 lb   left side heavier",
        "864 lb on the ball, ball 19 in above ground.",
        "Bounces at 2.0 Hz in front, 1.8 Hz behind.",
        "Stands front and rear level, no lean.",
        "No findings.",
    ):
        assert line in text


def test_over_and_under_are_said():
    setting = replace(make_answer(make_setup()).set, pressure=np.array([[38.0, 37.0], [8.0, 39.0]]) * PSI)
    lines = _lines(make_setup(), axle_load=np.array([20_000.0, 30_000.0]), set=setting)
    assert any(line.endswith("of 6,000 lb, over by 744 lb") for line in lines)
    assert any(line.endswith("of 10 to 100 psi, under by 2 psi") for line in lines)


def test_the_stance_is_that_of_the_pressures_to_set():
    setup = make_setup()
    answer = make_answer(setup)
    setting = replace(answer.set, stance=Stance(0.004, -0.003, 0.0))
    lines = answer_lines("Any", setup, replace(answer, set=setting), "metric")
    assert "Stands front 4 mm high, rear 3 mm low, no lean." in lines


def test_findings_come_last_with_word_and_mark_within_the_terminal():
    findings = (
        make_finding(template="A long sentence that goes on. " * 6),
        make_finding("caution"),
        make_finding("note"),
    )
    lines = _lines(make_setup(), findings=findings)
    start = next(i for i, line in enumerate(lines) if line.startswith("Stop ■"))
    assert [line.split("  ")[0] for line in lines[start:] if not line.startswith(" ")] == [
        "Stop ■",
        "Caution ▲",
        "Note ○",
    ]
    assert all(len(line) <= LINE for line in lines)


def test_names_cannot_write_to_the_terminal():
    setup = make_setup(trailer=make_trailer().model_copy(update={"name": "\x1b[31mred\x07"}))
    lines = answer_lines("\x1b]0;title\x07", setup, make_answer(setup), "us")
    assert not any(ord(c) < 32 for line in lines for c in line)


@pytest.mark.parametrize("system", ["us", "metric"])
def test_the_demo_is_told(demo, system):
    setup, answer = demo
    lines = answer_lines("Demo", setup, answer, system)
    assert all(len(line) <= LINE + 10 for line in lines)
    assert not any("nan" in line.lower().split() for line in lines)


@pytest.mark.parametrize(
    ("said", "words"),
    [
        (height_words(0.0001, "us"), "level"),
        (height_words(0.0254, "us"), "1 in high"),
        (height_words(-0.0254, "metric"), "25 mm low"),
        (lean_words(Stance(0, 0, 0.01), 1.7, "metric"), "left side 17 mm higher"),
        (lean_words(Stance(0, 0, -0.01), 1.7, "metric"), "right side 17 mm higher"),
        (lean_words(Stance(0, 0, 0.0), 1.7, "us"), "no lean"),
        (pitch_words(0.01, "us"), "0.6° nose up"),
        (pitch_words(-0.01, "us"), "0.6° nose down"),
        (pitch_words(0.0, "us"), "level"),
    ],
)
def test_stances_are_said_in_words(said, words):
    assert said == words


def test_who_is_aboard_is_said_where_it_is_not_as_weighed():
    setup = make_setup(trailer=make_trailer())
    assert not any("Aboard" in line for line in _lines(setup))
    more, less = PointMass("passenger", 81.6466, 2.4, -0.4, 1.0), PointMass("fuel\ntank", -54.4311, 1.3, 0.2, 0.6)
    setup = replace(setup, aboard=(more, less))
    assert _lines(setup)[2] == "Aboard, against the weighing: passenger +180 lb, fuel tank −120 lb."
    drawing = from_above(setup, make_answer(setup), "metric")
    assert "Aboard, against the weighing: passenger +82 kg, fuel tank −54 kg" in drawing.svg
    assert "passenger +82 kg" in drawing.alt


@pytest.mark.parametrize("system", ["us", "metric"])
def test_every_place_says_a_pressure_as_the_gauge_shows_it(system):
    outfit = Store(DEMO).read_outfit("mill-on-the-hill-road")
    truck = outfit.truck.replaced(instruments=outfit.truck.instruments.replaced(gauge_step="0.5 psi"))
    setup = Setup.of(outfit.profile, truck, outfit.trailer)
    planned = level_setup(setup)
    step = float(truck.instruments.gauge_step)
    halves = [say(float(p), "pressure", system, step=step) for p in planned.set.pressure.ravel()]
    assert system == "metric" or "36.5 psi" in halves
    lines, bars = answer_lines("Mill", setup, planned, system), load_bars(setup, planned, system).alt
    for corner, shown in zip(CORNERS, halves, strict=True):
        assert f"{corner.replace('_', ' ')} {shown} of" in bars
        assert any(re.match(rf"  {corner.replace('_', ' ')} +{re.escape(shown)} of", line) for line in lines)
    low = settle_setup(setup, {"rear_right": "20 psi"})
    told = next(finding for finding in low.findings if finding.code == "lean-left-over")
    assert f"air the rear right up to {halves[3]}" in sentence(told, system)
