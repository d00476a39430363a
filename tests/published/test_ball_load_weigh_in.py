"""A magazine's weigh-in of a station wagon ("Towball leverage explained", What's Up Downunder, buyers' guide).

Rear axle 1233 kg alone, 1650 kg with 270 kg on the ball: 417 kg = 270 kg + 147 kg taken off the front axle.
Tolerance: half a kilogram, the last printed digit.
"""

from scipy.optimize import brentq

from planner.physics import statics

from .comparison import Compare

ALONE, HITCHED, BALL = 1233.0, 1650.0, 270.0  # [kg]


def test_what_the_rear_gains_beyond_the_ball_load_the_front_loses(compare: Compare) -> None:
    def left_over(overhang: float) -> float:
        """Return by how much the rear gain is off, for an overhang as a part of the wheelbase."""
        return float(statics.point_load(BALL, -overhang, 0.0, 1.0).axle[1]) - (HITCHED - ALONE)

    overhang = brentq(left_over, 0.0, 2.0)
    gains = statics.point_load(BALL, -overhang, 0.0, 1.0).axle
    compare.all(
        ["front axle, for 270 kg on the ball", "rear axle, for 270 kg on the ball"], [-147, 417], gains, "kg", 0.5
    )
