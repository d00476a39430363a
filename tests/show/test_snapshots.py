"""Drawings as they were last looked at and found good; UPDATE_SNAPSHOTS=1 writes them anew, to be looked at again."""

import os
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from planner.plans.answer import Stance
from planner.show.above import from_above
from planner.show.bars import load_bars
from planner.show.cards import card, recall
from planner.show.rear import from_behind
from planner.show.side import from_side

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
from .test_side import FIFTH

KEPT = Path(__file__).parent / "snapshots"
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


DRAWINGS = {
    "above": lambda: from_above(_towing(), make_answer(_towing()), "us"),
    "above-fifth-wheel-dark": lambda: from_above(*_fifth(), "metric", dark=True),
    "bars-over": lambda: load_bars(*_over(), "us"),
    "side": lambda: from_side(_towing(), make_answer(_towing()), "us", before=BEFORE),
    "side-fifth-wheel-dark": lambda: from_side(*_fifth(), "metric", dark=True),
    "rear": lambda: from_behind(_towing(), make_answer(_towing()), "us", before=BEFORE),
    "card": lambda: card(
        "Mill on the hill road",
        "Band mill",
        _pressures(),
        0.4826,
        make_finding(),
        "us",
        coupling="ball",
        trimmed=date(2026, 5, 4),
    ),
    "recall-dark": lambda: recall("Mill on the hill road", _pressures(), 0.4826, "us", coupling="ball", dark=True),
}


@pytest.mark.parametrize("name", DRAWINGS)
def test_a_drawing_is_as_it_was_found_good(name):
    path, drawn = KEPT / f"{name}.svg", DRAWINGS[name]().svg + "\n"
    if os.environ.get("UPDATE_SNAPSHOTS"):
        path.write_text(drawn, "utf-8")
    kept = path.read_text("utf-8")
    assert drawn == kept, "it is drawn otherwise now: look at it, then run with UPDATE_SNAPSHOTS=1"


def test_no_snapshot_is_left_over():
    assert {path.stem for path in KEPT.glob("*.svg")} == set(DRAWINGS)
