"""UK MOT test from 24 March 2016 (Matters of Testing, GOV.UK): a dipped beam must not rise above 0.5 % down.

From an initial 1 % down to the limit is 0.5 %: a pitch of 0.29°, worked out here. Tolerance: half the last digit given.
"""

import math
from collections.abc import Callable

from numpy.testing import assert_allclose

from planner.plans.level import level
from planner.records import Stance, Truck
from planner.units.quantity import display, quantity


def test_half_a_per_cent_is_0_29_degrees_of_pitch(make_truck: Callable[..., Truck]) -> None:
    truck = make_truck({"instruments": {"gauge_step": "1e-7 psi"}})  # what is set is what is asked
    answer = level(truck, stance=Stance(front=quantity(0.005 * truck.wheelbase, "mm", "length")))
    pitch = math.atan((answer.stance.front - answer.stance.rear) / truck.wheelbase)
    assert_allclose(display(pitch, "angle", "metric")[0], 0.29, rtol=0, atol=0.005)
    finding = next(one for one in answer.findings if one.code == "headlamp-aim")
    assert_allclose(finding.value / finding.amounts["screen"][0], 0.005, rtol=1e-6)
