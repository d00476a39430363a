"""49 CFR 571.3, definitions of GAWR and GVWR, read where they are quoted word for word.

GAWR is the capacity of an axle "as measured at the tire-ground interfaces": the ground load counts, unsprung weight and
all, not the load on the springs. GVWR is "the loaded weight of a single vehicle": both axles, the trailer's not.
"""

from collections.abc import Callable

import pytest
from numpy.testing import assert_allclose

from planner.plans.answer import Answer
from planner.plans.level import level
from planner.records import Cargo, Trailer, Truck
from planner.units.quantity import display, read

TruckMaker = Callable[..., Truck]


def codes(answer: Answer) -> set[str]:
    """Return the codes of an answer's findings."""
    return {finding.code for finding in answer.findings}


def over_the_rear_axle(pounds: float) -> list[Cargo]:
    """Return cargo that only the rear axle carries."""
    return [Cargo(name="cargo", weight=read(f"{pounds} lb", "weight"), x=read("0 in", "length"))]


@pytest.mark.parametrize(("pounds", "over"), [(999, False), (1000, False), (1001, True)])
def test_the_ground_load_is_held_against_gawr(make_truck: TruckMaker, pounds: float, over: bool) -> None:
    # 3000 lb at kerb, of which 500 lb are unsprung; the springs carry 3501 lb at most here
    answer = level(make_truck({"rear.gawr": "4000 lb"}), cargo=over_the_rear_axle(pounds))
    assert answer.spring_load[1].sum() < read("3501.1 lb", "load")
    assert ("gawr-rear" in codes(answer)) == over


def test_the_finding_says_the_ground_load(make_truck: TruckMaker) -> None:
    answer = level(make_truck({"rear.gawr": "4000 lb"}), cargo=over_the_rear_axle(1100))
    finding = next(one for one in answer.findings if one.code == "gawr-rear")
    assert finding.level == "stop"
    assert "571.3" in finding.source
    assert_allclose(display(finding.value, "load", "us")[0], 4100, rtol=1e-9)
    assert_allclose(display(finding.limit, "load", "us")[0], 4000, rtol=1e-9)


@pytest.mark.parametrize(("pounds", "over"), [(1000, False), (1001, True)])
def test_both_axles_are_held_against_gvwr(make_truck: TruckMaker, pounds: float, over: bool) -> None:
    answer = level(make_truck({"gvwr": "8000 lb"}), cargo=over_the_rear_axle(pounds))
    assert ("gvwr" in codes(answer)) == over


@pytest.mark.parametrize(("tongue_ratio", "over"), [(0.1, False), (0.1001, True)])
def test_of_a_trailer_only_its_tongue_counts_for_gvwr(
    make_truck: TruckMaker, make_trailer: Callable[..., Trailer], tongue_ratio: float, over: bool
) -> None:
    trailer = make_trailer(gross_weight="10000 lb", tongue_ratio=tongue_ratio)
    answer = level(make_truck({"gvwr": "8000 lb"}), trailer=trailer, hitch="receiver")
    assert ("gvwr" in codes(answer)) == over
