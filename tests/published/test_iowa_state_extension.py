"""Iowa State University Extension, 28 June 2017, hauling livestock: 10 to 15 percent of the weight on the tongue.

"The majority of the weight (85 to 90 percent) should be carried over the axles so that only 10 to 15 percent of the
weight is carried on the tongue". Both edges are inside.
"""

from collections.abc import Callable

import pytest

from planner.plans.level import level
from planner.records import Trailer, Truck

from .comparison import Compare


@pytest.mark.parametrize(
    ("ratio", "expected"),
    [
        (0.0999, {"tongue-ratio-low"}),
        (0.10, set()),
        (0.125, set()),
        (0.15, set()),
        (0.1501, {"tongue-ratio-high"}),
    ],
)
def test_share_on_the_tongue(
    make_truck: Callable[..., Truck], make_trailer: Callable[..., Trailer], ratio: float, expected: set[str]
) -> None:
    answer = level(make_truck(), trailer=make_trailer(tongue_ratio=ratio), hitch="receiver")
    found = {one.code: one for one in answer.findings if one.code.startswith("tongue-ratio")}
    assert set(found) == expected
    assert all("Iowa State University Extension" in one.source for one in found.values())


def test_the_rest_is_on_the_axles(
    compare: Compare, make_truck: Callable[..., Truck], make_trailer: Callable[..., Trailer]
) -> None:
    for ratio, on_axles in [(0.10, 0.90), (0.15, 0.85)]:
        trailer = make_trailer(tongue_ratio=ratio)
        answer = level(make_truck(), trailer=trailer, hitch="receiver")
        whole = answer.hitch_load + answer.trailer_axle_load
        percent, printed = 100 * answer.trailer_axle_load / whole, round(100 * on_axles)
        compare(f"on the axles, with {ratio:.0%} on the tongue", printed, percent, "%", 1e-12 * printed)
