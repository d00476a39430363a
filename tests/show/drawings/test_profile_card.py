"""Cards: pressures where the corners are, names cut to fit, the worst finding in words."""

from datetime import date

import numpy as np
import pytest

from planner.show.drawings.corner_labels import corner_rows
from planner.show.drawings.profile_card import NOTHING_FOUND, draw_card, draw_recall
from planner.show.drawings.svg import WIDTH
from tests.show.conftest import PSI, make_finding
from tests.show.drawings.test_top_view import HOSTILE
from tests.show.reading import misplaced, texts, words

FOUR = np.array([[38, 37], [46, 39]]) * PSI
STEEL_IN_FRONT = np.array([[np.nan, np.nan], [65, 65]]) * PSI


def test_rows_are_the_pressures_as_the_truck_stands():
    assert [[str(one) for one in row] for row in corner_rows(FOUR, "us")] == [
        ["38 psi", "37 psi"],
        ["46 psi", "39 psi"],
    ]
    assert corner_rows(STEEL_IN_FRONT, "us")[0] == [None, None]
    assert str(corner_rows(FOUR, "metric")[0][0]) == "2.62 bar"
    assert str(corner_rows(FOUR + 0.5 * PSI, "us", 0.5 * PSI)[0][0]) == "38.5 psi"


@pytest.mark.parametrize("draw", [draw_card, draw_recall])
@pytest.mark.parametrize("dark", [False, True])
def test_pressures_are_at_their_corners(draw, dark):
    common = {"coupling": "ball", "dark": dark}
    if draw is draw_card:
        drawing = draw_card("Hill road", "Band mill", FOUR, 0.4826, None, "us", **common)
    else:
        drawing = draw_recall("Hill road", FOUR, 0.4826, "us", **common)
    drawn = {text.words: text for text in texts(drawing)}
    assert drawn["38 psi"].right < WIDTH / 2 < drawn["37 psi"].left
    assert drawn["38 psi"].bottom < drawn["46 psi"].top
    assert drawn["46 psi"].right < WIDTH / 2 < drawn["39 psi"].left
    assert "ball 19 in above ground" in drawn
    assert misplaced(drawing) == []
    assert "front left 38 psi, front right 37 psi, rear left 46 psi, rear right 39 psi" in drawing.alt


def test_a_card_names_profile_trailer_and_when_it_was_trimmed():
    drawing = draw_card("Hill road", "Band mill", FOUR, 0.5, None, "us", trimmed=date(2026, 5, 4))
    assert {"Hill road", "Band mill", "trimmed 2026-05-04", NOTHING_FOUND, "hitch 19.7 in above ground"} <= set(
        words(drawing)
    )
    assert drawing.alt.startswith("Hill road with Band mill: ")


def test_without_trailer_or_hitch_the_card_says_so():
    drawing = draw_card("Alone", None, FOUR, None, None, "us")
    assert "no trailer" in words(drawing)
    assert not any("above ground" in one for one in words(drawing))


@pytest.mark.parametrize(("level", "start"), [("stop", "■ Stop: "), ("caution", "▲ Caution: "), ("note", "○ Note: ")])
def test_the_worst_finding_is_there_with_mark_and_word(level, start):
    drawing = draw_card("Hill road", None, FOUR, None, make_finding(level), "us")
    assert any(one.startswith(f"{start}The rear axle carries") for one in words(drawing))
    assert "The rear axle carries 6,744 lb, over its 5,845 lb" in drawing.alt


def test_steel_is_a_word():
    for drawing in (
        draw_card("A", None, STEEL_IN_FRONT, None, None, "us"),
        draw_recall("A", STEEL_IN_FRONT, None, "us"),
    ):
        assert words(drawing).count("steel") == 2
        assert misplaced(drawing) == []


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("pressure", [0.0, 7.0, 148.0, 435.0])
def test_any_pressure_fits(system, pressure):
    four = np.full((2, 2), pressure * PSI)
    assert misplaced(draw_card("A", "B", four, 1.2, make_finding(), system, coupling="fifth_wheel")) == []
    assert misplaced(draw_recall("A", four, 1.2, system, coupling="fifth_wheel")) == []


def test_recall_is_the_largest_type_there_is():
    size = {text.words: text.bottom - text.top for text in texts(draw_recall("A", FOUR, None, "us"))}
    small = {text.words: text.bottom - text.top for text in texts(draw_card("A", None, FOUR, None, None, "us"))}
    assert size["46 psi"] > 2 * small["46 psi"]


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_do_no_harm(name):
    long_date = date(2026, 12, 28)
    for drawing in (
        draw_card(name, name, FOUR, 0.5, make_finding(), "us", trimmed=long_date),
        draw_recall(name, FOUR, 0.5, "us"),
    ):
        assert misplaced(drawing) == []
        assert "<b>" not in drawing.svg
