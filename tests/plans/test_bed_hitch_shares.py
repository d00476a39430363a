"""Rules of the trade that have no public source: common practice, so no hard oracle.

A gooseneck or a fifth wheel carries 15 to 25 percent of the trailer. A gooseneck trailer of 12,000 lb at 20 to 25
percent loads the bed with 2400 to 3000 lb. A fifth wheel sits over the rear axle or a little ahead of it, and then
takes nothing off the front axle.
"""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.plans.level import level
from planner.records import Trailer, Truck
from planner.units.quantity import display

TruckMaker, TrailerMaker = Callable[..., Truck], Callable[..., Trailer]


@pytest.mark.parametrize("coupling", ["gooseneck", "fifth_wheel"])
@pytest.mark.parametrize(
    ("ratio", "expected"),
    [(0.1499, {"tongue-ratio-low"}), (0.15, set()), (0.20, set()), (0.25, set()), (0.2501, {"tongue-ratio-high"})],
)
def test_share_on_a_bed_hitch(
    make_truck: TruckMaker, make_trailer: TrailerMaker, coupling: str, ratio: float, expected: set[str]
) -> None:
    answer = level(make_truck(), trailer=make_trailer(coupling=coupling, tongue_ratio=ratio))
    assert {one.code for one in answer.findings if one.code.startswith("tongue-ratio")} == expected


@pytest.mark.parametrize(("ratio", "pounds"), [(0.20, 2400), (0.25, 3000)])
def test_12_000_lb_on_a_gooseneck(
    make_truck: TruckMaker, make_trailer: TrailerMaker, ratio: float, pounds: float
) -> None:
    trailer = make_trailer(coupling="gooseneck", gross_weight="12000 lb", tongue_ratio=ratio)
    answer = level(make_truck(), trailer=trailer)
    assert_allclose(display(answer.hitch_load, "load", "us")[0], pounds, rtol=1e-12)


@pytest.mark.parametrize(("x", "front_gains"), [("-2 in", -1), ("0 in", 0), ("2 in", 1)])
def test_a_fifth_wheel_over_the_axle_leaves_the_front_alone(
    make_truck: TruckMaker, make_trailer: TrailerMaker, x: str, front_gains: int
) -> None:
    plate = {"name": "plate", "coupling": "fifth_wheel", "x": x, "height": "48 in"}
    ratings = {"tongue_rating": "6000 lb", "trailer_rating": "30000 lb"}
    truck = make_truck({"hitches": [plate | ratings]})
    trailer = make_trailer(coupling="fifth_wheel", tongue_ratio=0.2)
    gain = level(truck, trailer=trailer).axle_load[0] - level(truck).axle_load[0]
    assert np.sign(np.round(gain, 6)) == front_gains  # a micronewton is rounding
