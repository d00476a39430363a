"""The lever rule of haulage: moment about the front axle over wheelbase is the rear axle's load, the rest the front's.

The rule was read in a course for freight brokers ("Steps in calculating weight distribution"); the example, 100 lb
133 in behind the front axle on a wheelbase of 214 in, is common practice in body builders' manuals. One of them prints
62.14 lb and 38.86 lb. Those do not sum to 100: the second is a misprint (37.85), the first cut off from 62.1495.
Tolerance: the whole last digit of what was cut off.
"""

from numpy.testing import assert_allclose

from planner.physics import statics
from planner.units.quantity import read

from .comparison import Compare


def test_100_lb_at_133_in_of_214_in(compare: Compare) -> None:
    wheelbase, behind_front = read("214 in", "length"), read("133 in", "length")
    front, rear = statics.point_load(100.0, wheelbase - behind_front, 0.0, wheelbase).axle
    compare("rear axle, for 100 lb", 62.14, rear, "lb", 0.01)
    assert_allclose(front, 100.0 - rear, rtol=1e-12)  # "total less rear"
