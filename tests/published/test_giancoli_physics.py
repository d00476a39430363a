"""D. C. Giancoli, Physics: Principles with Applications, 7th ed., problem 21 with Fig. 9-61.

A 2500-kg trailer on a truck: centre 2.5 m ahead of its wheels A and 5.5 m behind the support B; g = 9.8 m/s².
Read on a page that works the problem. Tolerance: half the last printed digit.
"""

from planner.physics import statics

from .comparison import Compare


def test_support_and_wheels_of_a_trailer(compare: Compare) -> None:
    loads = statics.point_load(2500 * 9.8, 2.5, 0.0, 5.5 + 2.5)
    compare.all(["load on the support", "load on the wheels"], [7656, 16844], loads.axle, "N", 0.5)
    hitched = statics.hitched_loads(2500 * 9.8, loads.axle[0], 1.0, 8.0, 0.0)
    compare("load on the wheels, as of a hitched trailer", 16844, hitched.trailer_axle_load, "N", 0.5)
