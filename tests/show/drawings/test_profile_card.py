"""Cards: pressures where the corners are, names cut to fit, the worst finding in words."""

from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest

from planner.plans.saved_state import Standing
from planner.records import Profile, Reading
from planner.show.drawings.corner_labels import corner_rows
from planner.show.drawings.profile_card import NOTHING_FOUND, draw_card
from planner.show.drawings.svg import WIDTH
from tests.show.conftest import PSI, make_answer, make_finding, make_setup, make_trailer
from tests.show.drawings.test_side_view import FIFTH
from tests.show.drawings.test_top_view import HOSTILE
from tests.show.reading import misplaced, texts, words

FOUR = np.array([[38, 37], [46, 39]]) * PSI
ON_BALL = make_trailer()
STEEL_IN_FRONT = np.array([[np.nan, np.nan], [65, 65]]) * PSI


def test_rows_are_the_pressures_as_the_truck_stands():
    assert [[str(one) for one in row] for row in corner_rows(FOUR, "us")] == [
        ["38 psi", "37 psi"],
        ["46 psi", "39 psi"],
    ]
    assert corner_rows(STEEL_IN_FRONT, "us")[0] == [None, None]
    assert str(corner_rows(FOUR, "metric")[0][0]) == "2.62 bar"
    assert str(corner_rows(FOUR + 0.5 * PSI, "us", 0.5 * PSI)[0][0]) == "38.5 psi"


def make_standing(name="Hill road", pressure=FOUR, height=0.4826, *, worst=None, trimmed=None, trailer=ON_BALL):
    """Return a profile as it stands, made by hand; a fifth wheel where the trailer hangs on one."""
    setup = make_setup(trailer=trailer, hitch="plate" if trailer and trailer.coupling == "fifth_wheel" else None)
    answer = make_answer(setup, findings=(worst,) if worst else ())
    setting = replace(answer.set, pressure=pressure, coupling_height=height)
    read = () if trimmed is None else (Reading(at=trimmed, rear_left={"pressure": "40 psi"}),)
    profile = Profile(name="plain", truck="test-truck").model_copy(update={"name": name, "readings": read})
    return Standing(profile, setup, replace(answer, set=setting), saved=True)


def _card(stands, system, **options):
    return draw_card(stands, system, stands.answer.findings, **options)


def test_pressures_are_at_their_corners():
    drawing = _card(make_standing(), "us")
    drawn = {text.words: text for text in texts(drawing)}
    assert drawn["38 psi"].right < WIDTH / 2 < drawn["37 psi"].left
    assert drawn["38 psi"].bottom < drawn["46 psi"].top
    assert drawn["46 psi"].right < WIDTH / 2 < drawn["39 psi"].left
    assert "ball 19 in above ground" in drawn
    assert misplaced(drawing) == []
    assert "front left 38 psi, front right 37 psi, rear left 46 psi, rear right 39 psi" in drawing.alt


def test_a_card_names_profile_trailer_and_when_it_was_trimmed():
    drawing = _card(make_standing(height=0.5, trimmed=datetime(2026, 5, 4, 7)), "us")  # as on a watch
    assert {"Hill road", "Band mill", "trimmed 2026-05-04", NOTHING_FOUND, "ball 19.7 in above ground"} <= set(
        words(drawing)
    )
    assert drawing.alt.startswith("Hill road with Band mill: ")


def test_without_trailer_or_hitch_the_card_says_so():
    drawing = _card(make_standing(height=None, trailer=None), "us")
    assert "no trailer" in words(drawing)
    assert not any("above ground" in one for one in words(drawing))


@pytest.mark.parametrize(("level", "start"), [("stop", "■ Stop: "), ("caution", "▲ Caution: "), ("note", "○ Note: ")])
def test_the_worst_finding_is_there_with_mark_and_word(level, start):
    drawing = _card(make_standing(worst=make_finding(level)), "us")
    assert any(one.startswith(f"{start}The rear axle carries") for one in words(drawing))
    assert "The rear axle carries 6,744 lb, over its 5,845 lb" in drawing.alt


def test_a_sentence_that_is_cut_and_findings_left_out_say_where_the_rest_is():
    stands, long = make_standing(), replace(make_finding(), template="Take load off. " * 20)
    assert "The rest: under Set these." in words(draw_card(stands, "us", [long]))
    assert "The rest and 1 more: under Set these." in words(draw_card(stands, "us", [long, make_finding("note")]))
    assert "1 more under Set these." in words(draw_card(stands, "us", [make_finding(), make_finding("note")]))
    assert not any("Set these" in one for one in words(draw_card(stands, "us", [make_finding()])))


def test_steel_is_a_word():
    drawing = _card(make_standing("A", STEEL_IN_FRONT), "us")
    assert words(drawing).count("steel") == 2
    assert misplaced(drawing) == []


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("pressure", [0.0, 7.0, 148.0, 435.0])
def test_any_pressure_fits(system, pressure):
    four, on_plate = np.full((2, 2), pressure * PSI), make_trailer(**FIFTH)
    assert misplaced(_card(make_standing("A", four, 1.2, worst=make_finding(), trailer=on_plate), system)) == []


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_do_no_harm(name):
    trailer = ON_BALL.model_copy(update={"name": name})
    long_date = datetime(2026, 12, 28, 7)  # as on a watch
    drawing = _card(make_standing(name, worst=make_finding(), trimmed=long_date, trailer=trailer), "us")
    assert misplaced(drawing) == []
    assert "<b>" not in drawing.svg
