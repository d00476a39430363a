"""Bars: lengths to one scale, ratings in line, what is over hatched and said."""

from dataclasses import replace

import numpy as np
import pytest

from planner.show.drawings.rating_bars import FULL, load_bars
from planner.show.drawings.svg import MARGIN, WIDTH
from planner.show.text.rating_rows import Rated, rating_rows
from tests.show.conftest import (
    COILS,
    DUALS_JOINED,
    PLATE,
    POUND,
    PSI,
    make_answer,
    make_setup,
    make_trailer,
    make_truck,
)
from tests.show.reading import misplaced, shapes, words


def _drawn(setup, system="us", **changes):
    return load_bars(setup, make_answer(setup, **changes), system)


def _rows(setup, **changes):
    return {row.label: row for group in rating_rows(setup, make_answer(setup, **changes)) for row in group.rows}


@pytest.mark.parametrize("system", ["us", "metric"])
def test_the_demo_is_drawn_with_nothing_cut_or_overlapping(demo, system):
    setup, answer = demo
    assert misplaced(load_bars(setup, answer, system)) == []


def test_everything_with_a_rating_has_a_row():
    rows = _rows(make_setup(trailer=make_trailer()))
    assert {label: (row.value / POUND, row.limit / POUND) for label, row in rows.items() if row.kind == "load"} == {
        "front axle (GAWR)": pytest.approx((4035, 6000)),
        "rear axle (GAWR)": pytest.approx((4664, 6000)),
        "truck (GVWR)": pytest.approx((8699, 11500)),
        "truck and trailer (GCWR)": pytest.approx((15035, 26000)),
        "front left tyre": pytest.approx((2047, 3195)),
        "rear left tyre": pytest.approx((2449, 3195)),
        "front left bag": pytest.approx((1754, 5000)),
        "rear left bag": pytest.approx((2142, 5000)),
        "tongue on the hitch": pytest.approx((864, 1200)),
        "trailer on the hitch": pytest.approx((7200, 12000)),
        "trailer (GVWR)": pytest.approx((7200, 9990)),
        "trailer axles, each": pytest.approx((3168, 5200)),
        "trailer left tyres, each": pytest.approx((1584, 2540)),
    }
    bag = rows["rear left"]
    assert (bag.least, bag.value, bag.limit) == pytest.approx((10 * PSI, 46 * PSI, 100 * PSI))  # as set, not 46.2


def test_what_a_truck_has_not_has_no_row():
    rows = _rows(make_setup(make_truck(front=COILS)))
    assert "front left" not in rows
    assert "front left bag" not in rows
    assert not any("trailer" in label for label in rows)


def test_pairs_and_single_axles_are_counted():
    one_axle = make_trailer(coupling="fifth_wheel", axle_count=1, tyre_load_rating=None)
    rows = _rows(make_setup(make_truck(rear=DUALS_JOINED), trailer=one_axle, hitch=PLATE["name"]))
    assert rows["rear left tyres, each"].value == pytest.approx(2449 * POUND / 2)
    assert rows["trailer axle"].value == pytest.approx(6336 * POUND)
    assert not any("trailer" in label and "tyre" in label for label in rows)


def test_a_lopsided_trailer_shows_on_its_heavier_tyres():
    rows = _rows(make_setup(trailer=make_trailer(left_share=0.45)))
    assert rows["trailer right tyres, each"].value == pytest.approx((3168 * 0.5 + 3600 * 0.05) * POUND)


@pytest.mark.parametrize(
    ("value", "over", "under"), [(100.0, 0.0, 0.0), (100.00001, 0.0, 0.0), (101.0, 1.0, 0.0), (9.0, 0.0, 1.0)]
)
def test_a_row_knows_what_it_is_over_or_under(value, over, under):
    row = Rated("any", value, 100.0, "load", 10.0)
    assert (row.over, row.under) == (over, under)
    assert Rated("any", value, 100.0, "load").under == 0.0


def test_bars_are_shares_of_their_ratings_to_one_scale():
    drawing = _drawn(make_setup(trailer=make_trailer()))
    setup = make_setup(trailer=make_trailer())
    rows = [row for group in rating_rows(setup, make_answer(setup)) for row in group.rows]
    for row, full, bar in zip(rows, shapes(drawing, "rating"), shapes(drawing, "carried"), strict=True):
        assert float(bar.get("width")) / float(full.get("width")) == pytest.approx(row.value / row.limit, abs=1e-4)
        assert float(full.get("width")) == pytest.approx((WIDTH - 2 * MARGIN) / FULL, abs=0.01)
    assert shapes(drawing, "over") == []


def test_over_the_rating_is_hatched_and_said():
    drawing = _drawn(make_setup(), axle_load=np.array([4000.0, 6600.0]) * POUND)
    (over,) = shapes(drawing, "over")
    full = float(shapes(drawing, "rating")[0].get("width"))
    assert over.get("fill").startswith("url(#")
    assert float(over.get("width")) / full == pytest.approx(0.1, abs=1e-3)
    assert "■ over by 600 lb" in words(drawing)
    assert drawing.alt.startswith("Past its limit: rear axle (GAWR) over by 600 lb.")
    assert misplaced(drawing) == []


def test_a_bar_too_long_for_the_paper_says_that_it_is_cut():
    drawing = _drawn(make_setup(), axle_load=np.array([4000.0, 60000.0]) * POUND)
    assert "■ over by 54,000 lb, bar cut short" in words(drawing)
    ends = [float(bar.get("x")) + float(bar.get("width")) for bar in shapes(drawing, "over")]
    assert max(ends) == pytest.approx(WIDTH - MARGIN)
    assert misplaced(drawing) == []


def test_under_the_least_pressure_is_said():
    setting = replace(make_answer(make_setup()).set, pressure=np.array([[38.0, 37.0], [8.0, 39.0]]) * PSI)
    drawing = _drawn(make_setup(), set=setting)
    assert "■ under its least, 10 psi" in words(drawing)
    assert "rear left under its least, 10 psi" in drawing.alt


def test_nothing_over_is_said_too():
    assert _drawn(make_setup()).alt.startswith("Nothing is over its rating.")


@pytest.mark.parametrize("system", ["us", "metric"])
def test_ratings_of_many_digits_fit(system):
    truck = make_truck(gvwr="100 t", gcwr="100 t", front=COILS | {"gawr": "100 t"})
    heavy = np.array([4035.0, 99_999.0]) * 9.80665
    assert misplaced(_drawn(make_setup(truck, trailer=make_trailer()), system, axle_load=heavy)) == []


def test_a_load_below_nought_has_no_bar():
    drawing = _drawn(make_setup(), axle_load=np.array([-100.0, 5000.0]))
    assert float(shapes(drawing, "carried")[0].get("width")) == 0.0
