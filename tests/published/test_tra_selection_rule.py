"""Tire and Rim Association, selection of tyres: the highest wheel load of an axle decides, not half the axle's.

"Selection of size and load range on each axle shall be based upon the highest individual wheel load", read where it is
quoted. Tyres LT245/75R16 E, 3042 lb at 80 psi (three trade pages agree).
"""

from collections.abc import Callable

import pytest
from numpy.testing import assert_allclose

from planner.plans.answer import Answer
from planner.plans.level import level
from planner.records import Cargo, Truck
from planner.units.quantity import display, read

RATING = 3042.0  # [lb]


@pytest.fixture
def loaded(make_truck: Callable[..., Truck]) -> Callable[[float], Answer]:
    """Return a maker of answers: 6000 lb on the rear axle, the 3000 lb of cargo so many inches left of centre."""

    def load(left: float) -> Answer:
        truck = make_truck({"rear.tyres.load_rating": "3042 lb", "rear.tyres.cold_pressure": "80 psi"})
        place = {"x": read("0 in", "length"), "y": read(f"{left} in", "length")}
        return level(truck, cargo=[Cargo(name="cargo", weight=read("3000 lb", "weight"), **place)])

    return load


@pytest.mark.parametrize(("left", "over"), [(0, False), (0.97, False), (0.99, True), (-0.97, False), (-0.99, True)])
def test_the_heavier_wheel_is_held_against_the_tyre(loaded: Callable[[float], Answer], left: float, over: bool) -> None:
    # on a track of 70 in, 3000 lb at 0.98 in put 42 lb more on one wheel: 3000 + 3000 × 0.98 / 70 = 3042
    answer = loaded(left)
    half_axle = display(float(answer.axle_load[1]) / 2, "load", "us")[0]
    assert half_axle < RATING
    assert ("tyre-rear" in {one.code for one in answer.findings}) == over


@pytest.mark.parametrize(("left", "side"), [(7, 0), (-7, 1)])
def test_the_finding_is_of_the_highest_wheel_load(loaded: Callable[[float], Answer], left: float, side: int) -> None:
    answer = loaded(left)
    finding = next(one for one in answer.findings if one.code == "tyre-rear")
    assert f"rear {('left', 'right')[side]} tyre" in finding.text
    assert_allclose(finding.value, answer.tyre_load[1].max(), rtol=1e-12)
    assert answer.tyre_load[1].argmax() == side
