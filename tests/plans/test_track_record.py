"""The record of trust: planned against measured, trip by trip, and what is claimed of it."""

import numpy as np
import pytest

from planner.plans.answer import CORNERS
from planner.plans.level import settle_setup
from planner.plans.saved_state import standing
from planner.plans.track_record import track_record as record_of
from planner.show.text.track_record import trust_words
from planner.store import Store

from .conftest import DEMO

MILL = Store(DEMO).read_outfit("mill-bed-empty")
SAVED = {"front_left": "36 psi", "front_right": "34 psi", "rear_left": "37 psi", "rear_right": "36 psi"}
IN = 0.0254


def track_record(stands):
    return record_of(stands.history)


def stands(*readings):
    profile = MILL.profile.replaced(pressures=SAVED, readings=readings)
    return standing(profile, MILL.truck, MILL.trailer)


def reading(day, off, pressures=None, hour=7):
    """Return a reading whose heights are off by so much from where the truck settles, by corner. [in]"""
    set_to = {corner: float(text.split()[0]) * 6894.757293168361 for corner, text in (pressures or SAVED).items()}
    setup = stands().setup
    heights = settle_setup(setup, set_to).ride_height.ravel()
    corners = {
        corner: {"ride_height": f"{height + one * IN} m"} | ({"pressure": pressures[corner]} if pressures else {})
        for corner, height, one in zip(CORNERS, heights, np.broadcast_to(off, 4), strict=True)
        if np.isfinite(one)
    }
    return {"at": f"2026-05-{day:02d}T{hour:02d}:00:00"} | corners


def test_no_reading_no_claim():
    assert trust_words(track_record(stands()), "us") == ""
    only_gauges = {"at": "2026-05-01T07:00:00", "rear_left": {"pressure": "37 psi"}}
    assert trust_words(track_record(stands(only_gauges)), "us") == ""


def test_six_trips_running_within_a_quarter_inch():
    record = track_record(stands(reading(1, 0.6), *(reading(day, 0.2) for day in range(2, 8))))
    assert record.running_within() == 6
    assert trust_words(record, "us") == "within ¼ in, six trips running"
    assert trust_words(record, "metric") == "within 6 mm, six trips running"
    assert record.typical_error(record.trips[1:]) == pytest.approx(0.2 * IN, rel=1e-3)
    assert record.typical_error() > 0.2 * IN


def test_the_last_trip_breaks_the_run_and_says_by_how_much():
    record = track_record(stands(reading(1, 0.1), reading(2, [0.1, 0.1, 0.1, -0.5])))
    assert record.running_within() == 0
    assert trust_words(record, "us") == "0.5 in off at one corner on the last trip"


def test_one_trip_is_one_trip_and_the_last_reading_of_a_day_counts():
    record = track_record(stands(reading(1, 0.7), reading(1, 0.1, hour=9)))
    assert len(record.trips) == 1
    assert trust_words(record, "us") == "within ¼ in on the last trip"


def test_a_bag_aired_otherwise_is_no_fault_of_the_plan():
    aired = SAVED | {"rear_left": "42 psi"}
    record = track_record(stands(reading(1, 0.0, aired)))
    assert record.trips[0].worst == pytest.approx(0.0, abs=1e-5)


def test_errors_stand_by_corner_and_a_corner_not_measured_is_no_error():
    record = track_record(stands(reading(1, [np.nan, 0.1, 0.2, 0.3]), reading(2, [np.nan, 0.1, 0.2, 0.1])))
    bias = record.corner_bias / IN
    assert np.isnan(bias[0, 0])
    assert bias.ravel()[1:] == pytest.approx([0.1, 0.2, 0.2], rel=1e-3)
