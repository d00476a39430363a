"""NHTSA, interpretation aiam0583: the tyres of an axle may be its lowest rating.

8.25-20, 10-ply, dual 3550 lb at 75 psi: "4 tires on the rear axle ... load rating of 14,200 pounds, lower than the
17,500 pounds at which the axle is rated". Single 4050 lb at 85 psi, so 8100 lb for two.
"""

from collections.abc import Callable

import pytest

from planner.plans.answer import Answer
from planner.plans.level import level
from planner.records import Cargo, Truck
from planner.units.quantity import display, read

from .comparison import Compare

TruckMaker = Callable[..., Truck]


def on_the_rear_axle(truck: Truck, pounds: float) -> Answer:
    """Return the answer with a ground load of so much on the rear axle."""
    weight = read(f"{pounds - 3000} lb", "weight")  # 3000 lb at kerb
    return level(truck, cargo=[Cargo(name="cargo", weight=weight, x=read("0 in", "length"))])


def truck_with(make_truck: TruckMaker, per_side: int, rating: str, pressure: str) -> Truck:
    """Return a truck with a rear axle rated 17,500 lb on such tyres."""
    tyres = {"per_side": per_side, "load_rating": rating, "cold_pressure": pressure}
    return make_truck({"rear.gawr": "17500 lb"} | {f"rear.tyres.{name}": value for name, value in tyres.items()})


@pytest.mark.parametrize(
    ("pounds", "expected"),
    [
        (14_200, set()),
        (14_201, {"tyre-rear"}),
        (17_500, {"tyre-rear"}),
        (17_501, {"tyre-rear", "gawr-rear"}),
    ],
)
def test_four_tyres_carry_less_than_the_axle_may(make_truck: TruckMaker, pounds: float, expected: set[str]) -> None:
    answer = on_the_rear_axle(truck_with(make_truck, 2, "3550 lb", "75 psi"), pounds)
    assert {one.code for one in answer.findings} & {"tyre-rear", "gawr-rear"} == expected


def test_the_finding_names_one_tyre(compare: Compare, make_truck: TruckMaker) -> None:
    answer = on_the_rear_axle(truck_with(make_truck, 2, "3550 lb", "75 psi"), 17_500)
    finding = next(one for one in answer.findings if one.code == "tyre-rear")
    assert finding.level == "stop"
    limit, value = (display(load, "load", "us")[0] for load in (finding.limit, finding.value))
    compare("four tyres of the rear axle may carry", 14_200, 4 * limit, "lb", 14_200 * 1e-9)
    compare("four tyres carry, with the axle at its rating", 17_500, 4 * value, "lb", 17_500 * 1e-9)


@pytest.mark.parametrize(("pounds", "over"), [(8100, False), (8101, True)])
def test_two_single_tyres(make_truck: TruckMaker, pounds: float, over: bool) -> None:
    answer = on_the_rear_axle(truck_with(make_truck, 1, "4050 lb", "85 psi"), pounds)
    assert ("tyre-rear" in {one.code for one in answer.findings}) == over
