"""Drawings as they were last looked at and found good; UPDATE_SNAPSHOTS=1 writes them anew, to be looked at again."""

import os
import re
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest

from planner.plans.answer import Stance
from planner.plans.fleet import judge_fleet
from planner.plans.trailer_deck import deck_plan
from planner.records import Lever, Slip
from planner.show.drawings.air import tank_curve, tanks_beside
from planner.show.drawings.airing import airing_view
from planner.show.drawings.bag_chart import bag_chart
from planner.show.drawings.fleet_matrix import fleet_matrix
from planner.show.drawings.jack_curve import jack_curve
from planner.show.drawings.linkage import linkage_from_behind, linkage_from_side
from planner.show.drawings.load_map import map_view
from planner.show.drawings.palette import DARK, LIGHT
from planner.show.drawings.profile_card import draw_card
from planner.show.drawings.rating_bars import load_bars
from planner.show.drawings.reading_history import history_view
from planner.show.drawings.rear_view import from_behind
from planner.show.drawings.side_view import from_side
from planner.show.drawings.stage_view import stage_pressures, stage_view
from planner.show.drawings.svg import Drawing
from planner.show.drawings.top_view import from_above
from planner.show.drawings.trailer_side import deck_side
from planner.show.drawings.trailer_top import deck_above
from planner.show.drawings.trim import trim_view
from planner.show.drawings.uncertainty import certainty_view
from planner.show.drawings.weighing import draw_lever, draw_weighing
from tests.plans.any_fleet import some_trailers, some_trucks
from tests.show.drawings.test_air import make_budget
from tests.show.drawings.test_bag_chart import FAMILY, ONE_HEIGHT
from tests.show.drawings.test_linkage import TABLES, linked
from tests.show.drawings.test_load_map import all_stops, make_map
from tests.show.drawings.test_profile_card import make_standing
from tests.show.drawings.test_reading_history import RARE, make_history
from tests.show.drawings.test_side_view import FIFTH
from tests.show.drawings.test_stage_view import fifth_plan, make_plan
from tests.show.drawings.test_trailer_side import LOADED
from tests.show.drawings.test_trim import make_trim
from tests.show.drawings.test_uncertainty import make_certainty

from .conftest import (
    COILS,
    DUALS_JOINED,
    PLATE,
    POUND,
    make_answer,
    make_cargo,
    make_finding,
    make_setup,
    make_trailer,
    make_truck,
)

KEPT = Path(__file__).parent / "snapshots"
SLIP = Slip(
    name="Quarry",
    alone={"front_axle": "4300 lb", "rear_axle": "3000 lb"},
    hitched={"front_axle": "4020 lb", "rear_axle": "4140 lb", "trailer_axles": "6340 lb"},
    hitched_with_bars={"front_axle": "4160 lb", "rear_axle": "3868 lb", "trailer_axles": "6472 lb"},
    trailer_alone={"gross": "7220 lb", "jack": "880 lb"},
)
BEFORE = Stance(0.01, -0.06, 0.025)


def _towing():
    return make_setup(trailer=make_trailer(), cargo=[make_cargo(), make_cargo("Chest", x="-20 in", y="-18 in")])


def _over():
    setup = _towing()
    return setup, make_answer(setup, axle_load=np.array([4035.0, 6420.0]) * POUND)


def _fifth():
    setup = make_setup(make_truck(COILS, DUALS_JOINED), trailer=make_trailer(**FIFTH), hitch=PLATE["name"])
    return setup, make_answer(setup)


def _pressures():
    return make_answer(_towing()).set.pressure


def _yard():
    return judge_fleet(some_trucks(12), some_trailers(8), heaviest=False), range(12), range(8)


def _stage(plan, place):
    return plan, plan.stages[place]


MILL = "Mill on the hill road"
DRAWINGS = {
    "above": lambda: from_above(_towing(), make_answer(_towing()), "us"),
    "above-fifth-wheel": lambda: from_above(*_fifth(), "metric"),
    "bars-over": lambda: load_bars(*_over(), "us"),
    "side": lambda: from_side(_towing(), make_answer(_towing()), "us", before=BEFORE),
    "side-fifth-wheel": lambda: from_side(*_fifth(), "metric"),
    "rear": lambda: from_behind(_towing(), make_answer(_towing()), "us", before=BEFORE),
    "card": lambda: draw_card(
        make_standing(MILL, _pressures(), worst=make_finding(), trimmed=datetime(2026, 5, 4, 7)),
        "us",
        [make_finding()],
    ),
    "deck-above": lambda: deck_above(deck_plan(LOADED), "us"),
    "deck-side": lambda: deck_side(deck_plan(LOADED), "us"),
    "deck-side-fifth-wheel": lambda: deck_side(deck_plan(make_trailer(**FIFTH)), "metric"),
    "strip-clear": lambda: stage_view(*_stage(make_plan(), 0), "us"),
    "strip-out-of-reach": lambda: stage_view(*_stage(make_plan(out_of_reach=("clear",), clear=20.5), 0), "us"),
    "strip-fifth-wheel": lambda: stage_view(*_stage(fifth_plan(), 0), "metric"),
    "strip-set": lambda: stage_pressures(*_stage(make_plan(), 2), "us"),
    "jack": lambda: jack_curve(make_plan(), "us"),
    "bag-chart": lambda: bag_chart(FAMILY, "us", fitted_height=0.1524),
    "bag-chart-area": lambda: bag_chart(FAMILY, "metric", of="area", fitted_height=0.1524),
    "bag-chart-one-height": lambda: bag_chart(ONE_HEIGHT, "us"),
    "tank": lambda: tank_curve(make_budget(), "us"),
    "airing": lambda: airing_view(make_budget().moves[2], 1.7, "us"),
    "airing-small-tank": lambda: airing_view(make_budget("0.5 gal").moves[-1], 1.7, "metric"),
    "tanks": lambda: tanks_beside({"as it is": make_budget(), "small": make_budget("0.5 gal")}, "us"),
    "tank-short": lambda: tank_curve(make_budget("0.5 gal"), "metric"),
    "map": lambda: map_view(make_map(), "us"),
    "map-stripes": lambda: map_view(all_stops(), "metric"),
    "fleet": lambda: fleet_matrix(*_yard()),
    "sure": lambda: certainty_view(make_certainty(), "us"),
    "sure-not-level": lambda: certainty_view(make_certainty(level_wanted=False), "metric"),
    "readings": lambda: history_view(make_history(), "us", low_corner=RARE),
    "readings-steel": lambda: history_view(make_history(steel=True), "metric"),
    "trim": lambda: trim_view(make_trim(), "us"),
    "trim-steel": lambda: trim_view(make_trim("slabs-on-friday"), "metric"),
    "weighing": lambda: draw_weighing(SLIP, _towing().truck, make_trailer(), _towing().hitch, "us"),
    "weighing-typical": lambda: draw_weighing(
        SLIP, make_truck(), make_trailer(), make_truck().hitches[0], "metric", typical=True
    ),
    "links-side": lambda: linkage_from_side(linked(), -0.05, 0.0, "us"),
    "links-rear": lambda: linkage_from_behind(linked(TABLES["track bar"]), 0.03, 0.03, "metric"),
    "lever": lambda: draw_lever(Lever(reading="310 lb", tongue_arm="12 in", scale_arm="36 in"), "us"),
}


@pytest.mark.parametrize("name", DRAWINGS)
def test_a_drawing_is_as_it_was_found_good(name):
    path, drawn = KEPT / f"{name}.svg", DRAWINGS[name]().svg + "\n"
    if os.environ.get("UPDATE_SNAPSHOTS"):
        path.write_text(drawn, "utf-8")
    kept = path.read_text("utf-8")
    assert drawn == kept, "it is drawn otherwise now: look at it, then run with UPDATE_SNAPSHOTS=1"


@pytest.mark.parametrize("name", DRAWINGS)
def test_on_dark_paper_each_colour_is_the_dark_one_s_and_all_else_the_same(name):
    drawing = Drawing((KEPT / f"{name}.svg").read_text("utf-8"), "", 0.0)
    inks = {getattr(LIGHT, ink): getattr(DARK, ink) for ink in vars(LIGHT)}
    light, dark = (re.split('="(#.*?)"', svg) for svg in (drawing.svg, drawing.on_dark()))
    assert dark[::2] == light[::2]
    assert dark[1::2] == [inks[colour] for colour in light[1::2]]


def test_no_snapshot_is_left_over():
    assert {path.stem for path in KEPT.glob("*.svg")} == set(DRAWINGS)
