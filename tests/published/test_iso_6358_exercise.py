"""ISO 6358-1: the choked flow of an open list of exercises for equation solvers, with its printed CHECK value.

700 kPa absolute at 293.15 K to 100 kPa, C = 1e-8 m³/(s·Pa), b = 0.35: 0.008295 kg/s, to the last printed digit.
"""

from planner.physics.air_flow import FREE_AIR_DENSITY, flow


def test_choked_flow(compare):
    passed = FREE_AIR_DENSITY * flow(700e3, 100e3, 1e-8, 0.35, 293.15)
    compare("choked flow from 700 kPa absolute", 0.008295, passed, "kg/s", 5e-7)
