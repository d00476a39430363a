"""How sure: bands to scale about level, whose doubt it is as bars, and the same in words."""

from contextlib import suppress
from dataclasses import replace

import numpy as np
import pytest

from planner.physics.validation import Array
from planner.plans.level import level_setup
from planner.plans.uncertainty.result import Band, Certainty, Chance, Shares, find_uncertainty
from planner.plans.uncertainty.sensitivity import LoadEffect, Sensitivity, find_sensitivity
from planner.plans.uncertainty.spreads import TYPICAL, Spread, spreads_of
from planner.show.drawings.svg import MARGIN, WIDTH
from planner.show.drawings.uncertainty import HALF, MIDDLE, certainty_view
from planner.show.text.numbers import round_step
from planner.show.text.uncertainty import (
    FINDINGS,
    chance_words,
    finding_words,
    percent,
    sensitivity_lines,
    sentences,
    spread_words,
)
from tests.plans.random_records import random_setup
from tests.show.conftest import INCH, PSI
from tests.show.reading import misplaced, shapes, words

MAIN = (0.45, 0.30, 0.20, 0.045, 0.005)
GROUPS = ("tongue ratio", "gauge", "bag area", "cargo", "tape")


def _band(middle, half) -> Band:
    """Return a band about a middle: 90 % within the half, 50 % within 0.4 of it."""
    middle, half = np.asarray(middle) * INCH, np.asarray(half) * INCH
    return Band(*(middle + part * half for part in (-1.0, -0.4, 0.0, 0.4, 1.0)))


def make_certainty(**changes) -> Certainty:
    """Return a certainty made by hand: half an inch either way in front, an inch behind."""
    level: Array = np.array([[20.0, 20.0], [20.4, 20.4]])
    shares = Shares(GROUPS, np.array(MAIN), np.array(MAIN))
    sure = Certainty(
        spreads={"tongue": Spread("tongue", 0.01, "typical")},
        draws=3584,
        without_rest=0.0,
        ride_height=_band(level + np.array([[0.0, 0.1], [0.0, -0.2]]), [[0.5, 0.5], [1.0, 1.0]]),
        level_height=level * INCH,
        level_wanted=True,
        rise=_band([0.0, 0.0], [0.5, 1.0]),
        lean=_band(0.1, 0.3),
        within=0.9 * INCH,
        out_of_level=0.62,
        tape_error=0.125 * INCH,
        chances=(Chance("gawr-rear", "stop", 0.18, False),),
        share_of={"all": shares, "front": shares, "rear": shares, "lean": shares},
        loose=np.zeros(2),
    )
    return replace(sure, **changes)


def _slopes(**changes) -> Sensitivity:
    found = Sensitivity(
        by_pressure={"front left": np.array([[0.2, 0.1], [0.03, -0.04]]) * INCH / PSI},
        by_load={"bed": LoadEffect(np.array([[0.0, 0.0], [-0.3, -0.3]]) * INCH / 444.82216, None)},
        by_height={"rear": np.array([[np.nan, np.nan], [3.8, 3.2]]) * PSI / INCH},
        by_tape=(),
        roll_by_tape=False,
    )
    return replace(found, **changes)


@pytest.mark.parametrize("system", ["us", "metric"])
def test_the_demo_is_drawn_with_nothing_cut_or_overlapping(demo, system):
    setup, answer = demo
    sure = find_uncertainty(setup, answer, base=64)
    assert misplaced(certainty_view(sure, system)) == []
    assert all(line.endswith(".") for line in sensitivity_lines(find_sensitivity(setup, answer), system))


@pytest.mark.parametrize("seed", range(30))
def test_any_truck_is_drawn(seed):
    setup = random_setup(seed)
    if setup is None:
        return
    answer, system = level_setup(setup), ("us", "metric")[seed % 2]
    sure = find_uncertainty(setup, answer, base=32)
    slopes = []
    with suppress(ArithmeticError):  # springs that fix nothing have no slopes
        slopes = sensitivity_lines(find_sensitivity(setup, answer), system)
    drawn = certainty_view(sure, system)
    assert misplaced(drawn) == []
    for said in (drawn.svg, drawn.alt, *slopes, *map(chance_words, sure.chances)):
        assert "nan" not in said


def test_boxes_are_half_the_draws_to_one_scale_about_level():
    drawn = certainty_view(make_certainty(), "us")
    boxes = shapes(drawn, "half")
    widths = [float(box.get("width")) for box in boxes]
    assert widths[2] / widths[0] == pytest.approx(2.0, rel=2e-3)
    assert widths[4] / widths[0] == pytest.approx(0.6, rel=2e-3)
    scale = HALF / (1.08 * 1.2)  # px an inch: the longest band ends 1.2 in off level
    centres = [float(box.get("x")) + float(box.get("width")) / 2 for box in boxes]
    assert [(centre - MIDDLE) / scale for centre in centres] == pytest.approx([0.0, 0.1, 0.0, -0.2, 0.1], abs=2e-3)
    (strip,) = shapes(drawn, "tape")
    assert float(strip.get("width")) / scale == pytest.approx(0.25, abs=1e-3)
    assert strip.get("fill") == "url(#tape)"


def test_shares_are_bars_of_one_whole_most_first_and_small_ones_named_together():
    drawn = certainty_view(make_certainty(), "us")
    whole = float(shapes(drawn, "whole")[0].get("width"))
    assert [float(bar.get("width")) / whole for bar in shapes(drawn, "share")] == pytest.approx(MAIN[:4], abs=1e-3)
    said = words(drawn)
    assert said.index("tongue ratio") < said.index("gauge") < said.index("bag area") < said.index("cargo")
    assert "Less than 1 % each: tape." in said
    assert {"45 %", "30 %", "20 %"} <= set(said)
    assert whole == pytest.approx(WIDTH - MARGIN - float(shapes(drawn, "whole")[0].get("x")))


def test_words_beside_each_band_say_the_middle_and_nine_in_ten():
    said = words(certainty_view(make_certainty(), "us"))
    assert "20.1 in, 19.6 to 20.6 in" in said
    assert "20.2 in, 19.2 to 21.2 in" in said
    assert "off by −0.2 to 0.4 in" in said


def test_the_picture_has_its_words():
    drawn = certainty_view(make_certainty(), "us")
    assert drawn.alt.startswith(
        "Within 0.9 in of level at every corner, 9 times in 10; what you know least is the tongue"
    )
    assert "rear right 20.2 in, 19.2 to 21.2 in" in drawn.alt
    assert "tongue ratio 45 %, gauge 30 %, bag area 20 %, cargo 4 %; less than 1 % each: tape." in drawn.alt


def test_the_sentence_says_how_near_how_often_and_what_is_known_least():
    first, second = sentences(make_certainty(), "us")
    near, known_least = first.split("; ")
    assert near == "Within 0.9 in of level at every corner, 9 times in 10"
    assert known_least == "what you know least is the tongue ratio: 45 % of the spread comes from it."
    assert second == "By gauge alone you will see a difference with a tape 62 % of the time."
    assert sentences(make_certainty(), "metric")[0].startswith("Within 23 mm of level")
    wanted = sentences(make_certainty(level_wanted=False), "us")
    assert wanted[0].startswith("Within 0.9 in of the wanted stance")
    assert "the wanted stance" in words(certainty_view(make_certainty(level_wanted=False), "us"))


def test_what_pressure_does_not_fix_comes_first():
    said = sentences(make_certainty(loose=np.array([0.0, 0.9])), "us")
    assert said[0] == "Pressure alone does not fix the rear height: set it by tape, not by gauge."


def test_draws_that_find_no_rest_are_told_as_a_share():
    some = sentences(make_certainty(without_rest=0.02), "us")
    assert some[-1] == "In 2 % of cases the truck does not settle; those are left out of all this."
    assert sentences(make_certainty(without_rest=0.002), "us")[-1].startswith("In less than 1 % of cases the truck")
    (none,) = sentences(make_certainty(without_rest=1.0), "us")
    assert none == "With inputs off by as much as this the truck does not settle: make the spreads smaller."


def test_where_all_is_exact_nothing_is_doubted():
    nothing = Shares((), np.zeros(0), np.zeros(0))
    sure = make_certainty(share_of={"all": nothing}, within=0.0)
    assert sentences(sure, "us") == ["Every input is taken as exact: every corner is within 0.00 in of level."]
    drawn = certainty_view(sure, "us")
    assert "None: all is taken as exact." in words(drawn)
    assert misplaced(drawn) == []
    assert "What makes it uncertain: nothing." in drawn.alt


@pytest.mark.parametrize(
    ("share", "said"),
    [(0.0, "less than 1 %"), (0.004, "less than 1 %"), (0.18, "18 %"), (0.999, "nearly 100 %"), (1.0, "100 %")],
)
def test_a_share_is_said_as_a_chance_is(share, said):
    assert percent(share) == said


@pytest.mark.parametrize(
    ("least", "step"), [(0.3, 0.5), (0.5, 0.5), (0.51, 1.0), (7.0, 10.0), (13.0, 20.0), (0.09, 0.1)]
)
def test_ticks_are_round(least, step):
    assert round_step(least) == pytest.approx(step)


def test_chances_are_said_with_their_finding():
    assert chance_words(Chance("gawr-rear", "stop", 0.18, False)) == "18 %: the rear axle is over its GAWR."
    low = Chance("pressure-low-front-left", "stop", 1.0, True)
    assert chance_words(low) == "100 %: the front left bag is under its least pressure (the plan has it already)."
    assert finding_words("sits-low-rear") == "the rear sits low with all the air that may go in"
    assert finding_words("tongue-ratio-low") == "the tongue is too light"
    assert finding_words("trailer-axle") == FINDINGS["trailer-axle"]
    assert finding_words("stance-not-reached-rear") == "the rear is off its height by more than a tape can tell"


@pytest.mark.parametrize("seed", range(60))
def test_every_finding_of_the_truck_has_words(seed):
    setup = random_setup(seed)
    if setup is None:
        return
    for finding in level_setup(setup).findings:
        assert "{" not in finding_words(finding.code)


def test_spreads_are_said_in_the_units_of_the_reader(demo):
    setup, _ = demo
    for spread in spreads_of(setup).values():
        assert spread_words(spread, "us").startswith("± ")
        assert spread_words(spread, "us") != "± 0 in"
    assert spread_words(Spread("weight", 98.0, "typed"), "us") == "± 216 lb"
    assert spread_words(Spread("weight", 98.0, "typed"), "metric") == "± 98 kg"
    assert spread_words(Spread("tyre.rear", 52_500.0, "file"), "metric") == "± 52.5 N/mm"
    assert spread_words(Spread("tyre.rear", 300_000.0, "file"), "us") == "± 1,713 lb/in"
    assert spread_words(Spread("area.rear", 0.03, "typical"), "us") == "± 3 % of its own"
    assert spread_words(Spread("bars", 0.25, "typical"), "us") == "± 25 % of its own"
    assert spread_words(Spread("side_slope", 0.005, "typical"), "us") == "± 0.5 %"
    assert spread_words(Spread("steel_load.rear", 500.0, "typical"), "us") == "± 112 lb"
    assert spread_words(Spread("steel_load.rear", 500.0, "typical"), "metric") == "± 51 kg"
    assert spread_words(Spread("gauge", 0.5 * PSI, "typed"), "us") == "± 0.5 psi"
    assert spread_words(Spread("tape", 0.0625 * INCH, "typed"), "us") == "± 0.06 in"
    assert spread_words(Spread("tape", 0.0, "typed"), "us") == "± 0 in"


def test_each_typical_spread_has_a_label_and_where_it_comes_from():
    assert all(one.label and ("practice" in one.source or "memory" in one.source) for one in TYPICAL.values())


def test_a_little_more_is_said_corner_by_corner():
    air, load, height = sensitivity_lines(_slopes(), "us")
    what, corners = air.removesuffix(".").split(": ")
    assert what == "1 psi more in the front left"
    assert corners.split(", ") == [
        "front left up 0.20 in",
        "front right up 0.10 in",
        "rear left up 0.03 in",
        "rear right down 0.04 in",
    ]
    assert load == "100 lb more in the bed over the rear axle: rear down 0.30 in, front as before."
    assert height == "1 in higher at the rear: rear left up 3.8 psi, rear right up 3.2 psi, front as before."
    assert sensitivity_lines(_slopes(), "metric")[0].startswith("0.1 bar more in the front left: front left up 7.4 mm")


def test_what_a_load_asks_of_the_pressures_is_said():
    effect = LoadEffect(np.full((2, 2), -0.1) * INCH / 444.82216, np.full((2, 2), 1.5) * PSI / 444.82216)
    (_, said, _) = sensitivity_lines(_slopes(by_load={"hitch": effect}), "us")
    assert said == (
        "100 lb more on the hitch: front and rear down 0.10 in; to stand as before, front and rear up 1.5 psi."
    )


def test_an_axle_to_set_by_tape_says_so():
    lines = sensitivity_lines(_slopes(by_tape=("front",)), "us")
    assert lines[0] == "Pressure does not fix the front height: set this axle by tape, not by gauge."
    lines = sensitivity_lines(_slopes(by_tape=("front", "rear"), roll_by_tape=True), "us")
    assert len(lines) == 3
    assert lines[-1] == "Nor does it fix how the truck leans: set all corners by tape."
