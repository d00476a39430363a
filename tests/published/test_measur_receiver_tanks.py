"""ORNL / U.S. DOE, MEASUR (AMO-Tools-Suite), tests/cpp/CompressedAir.unit.cpp: usable capacity of a receiver tank.

All printed digits are held: 7.48 gal/ft³ and 14.7 psi are theirs.
"""

import pytest

from planner.physics.air_flow import free_air, receiver_pressure

PSI = 6894.757293168361
CUBIC_FOOT = 0.028316846592
ROWS = [
    (660, 110, 100, 60.0240096038),
    (760, 110, 100, 69.1185565135),
    (760, 150, 100, 345.5927825676),
    (760, 150, 130, 138.237113027),
]


@pytest.mark.parametrize(("gallons", "full", "least", "printed"), ROWS)
def test_usable_capacity(compare, gallons, full, least, printed):
    volume = gallons / 7.48 * CUBIC_FOOT
    usable = free_air((full - least) * PSI, volume) * 100e3 / (14.7 * PSI) / CUBIC_FOOT
    compare(f"air from {full} to {least} psi out of {gallons} gal", printed, usable, "ft³", 1e-10 * printed)


@pytest.mark.parametrize(("gallons", "full", "least", "printed"), ROWS)
def test_a_receiver_that_gave_it_is_at_the_least_pressure(compare, gallons, full, least, printed):
    taken = printed * CUBIC_FOOT * (14.7 * PSI) / 100e3
    left = receiver_pressure((full + 14.7) * PSI, gallons / 7.48 * CUBIC_FOOT, taken)
    held = least + 14.7
    compare(f"pressure left in {gallons} gal, absolute, from {full} psi", held, left / PSI, "psi", 1e-10 * held)
