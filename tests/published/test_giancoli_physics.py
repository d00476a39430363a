"""D. C. Giancoli, Physics: Principles with Applications, 7th ed., problem 21 with Fig. 9-61.

A 2500-kg trailer on a truck: centre 2.5 m ahead of its wheels A and 5.5 m behind the support B; g = 9.8 m/s².
Read on a page that works the problem. Tolerance: half the last printed digit.
"""

from numpy.testing import assert_allclose

from planner.physics import statics


def test_support_and_wheels_of_a_trailer() -> None:
    loads = statics.point_load(2500 * 9.8, 2.5, 0.0, 5.5 + 2.5)
    assert_allclose(loads.axle, [7656, 16844], rtol=0, atol=0.5)
    assert_allclose(statics.hitched_loads(2500 * 9.8, loads.axle[0], 1.0, 8.0, 0.0).trailer_axle_load, 16844, atol=0.5)
