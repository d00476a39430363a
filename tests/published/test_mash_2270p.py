"""AASHTO Manual for Assessing Safety Hardware, table 4: test pickup 2270P. From memory: no hard oracle.

2270 kg, wheelbase 3760 mm, centre of gravity 1575 mm behind the front axle; the front then carries 58 %.
Tolerance: half the last digit.
"""

from numpy.testing import assert_allclose

from planner.physics import statics


def test_front_share_of_the_test_pickup() -> None:
    load = statics.point_load(2270.0, 3.760 - 1.575, 0.0, 3.760)
    assert_allclose(load.axle[0] / load.axle.sum(), 0.58, rtol=0, atol=0.005)
