"""SAE J2807, front axle load restoration: FALR = (with bars - bars slack) / (no trailer - bars slack).

"100% means that the front axle weight is brought back, via weight distribution, to a weight equal to its 'no trailer'
condition": letter of an SAE hitch-committee expert, Trailer/Body Builders, October 2009. Tolerance: rounding.
"""

from collections.abc import Callable

import pytest
from numpy.testing import assert_allclose

from planner.plans.level import level
from planner.records import Trailer, Truck


@pytest.mark.parametrize("falr", [0.0, 0.25, 0.5, 1.0])
def test_restoration_of_the_front_axle(
    make_truck: Callable[..., Truck], make_trailer: Callable[..., Trailer], falr: float
) -> None:
    truck = make_truck()
    alone = level(truck).axle_load[0]
    slack, bars = (level(truck, trailer=make_trailer(bars=r), hitch="receiver").axle_load[0] for r in (0.0, falr))
    assert slack < alone
    assert_allclose((bars - slack) / (alone - slack), falr, rtol=1e-9, atol=1e-9)
