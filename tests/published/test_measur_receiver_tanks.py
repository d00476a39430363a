"""ORNL / U.S. DOE, MEASUR (AMO-Tools-Suite), tests/cpp/CompressedAir.unit.cpp: receiver tanks.

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


@pytest.mark.parametrize(
    ("taken", "drop", "ambient", "printed", "off"),
    [
        (0.5 * 100, 110 - 100, 14.7, 549.78, 0.005),  # dedicated storage: half a minute of 100 cfm
        (0.5 * (900 - 45), 100 - 70, 14.7, 1566.873, 0.0005),  # metered: 45 of 900 cfm go on flowing in
        (150, 3, 14.7, 5497.8, 0.05),  # general: 150 ft³ for 3 psi
        (190, 8, 12.7, 2256.155, 0.0005),  # the same higher up
    ],
)
def test_size_of_a_receiver(compare, taken, drop, ambient, printed, off):
    volume = printed / 7.48 * CUBIC_FOOT
    held = free_air(drop * PSI, volume) * 100e3 / (ambient * PSI) / CUBIC_FOOT
    compare(f"receiver for {taken:g} ft³ and a drop of {drop} psi", printed, held * printed / taken, "gal", off)
