"""U.S. Navy, MO-209, Maintenance of Steam, Hot Water and Compressed Air Distribution Systems, tables 5-3 and 5-4.

Pressure of a system that leaks, read against time, and the losses worked out from it; its volume is on a page not read
and is taken as the 629 ft³ that all seven rows agree on. Losses are printed to 1 scfm.
"""

from itertools import pairwise

import numpy as np
import pytest

from planner.physics.air_flow import free_air

READINGS = [(90, 0.0), (80, 10.70), (70, 23.28), (60, 38.57), (50, 58.93), (40, 87.47), (30, 135.02), (20, 277.67)]
LOSSES = [40, 34, 28, 21, 15, 9, 3]  # scfm
PSI = 6894.757


@pytest.mark.parametrize(("readings", "printed"), [*zip(pairwise(READINGS), LOSSES, strict=True)])
def test_loss_between_two_readings(compare, readings, printed):
    before, after = readings
    lost = free_air((before[0] - after[0]) * PSI, 629.0) * 100e3 / (14.7 * PSI)  # ft³ of their free air
    loss = lost / (after[1] - before[1])
    compare(f"air lost between {before[0]} and {after[0]} psi", printed, loss, "scfm", 0.5)


def test_the_line_through_all_losses(compare):
    # printed: Q = 0.62 P - 12.75 of the mean pressure, and 47 scfm at 96 psig
    means, lost = [], []
    for before, after in pairwise(READINGS):
        means.append((before[0] + after[0]) / 2)
        gone = free_air((before[0] - after[0]) * PSI, 629.0) * 100e3 / (14.7 * PSI)
        lost.append(round(float(gone) / (after[1] - before[1])))
    slope, start = np.polyfit(means, lost, 1)
    for what, printed, found, unit in (
        ("slope of the line through all losses", 0.62, slope, "scfm/psi"),
        ("loss where that line starts", -12.75, start, "scfm"),
        ("loss at 96 psi on that line", 47, slope * 96 + start, "scfm"),
    ):
        compare(what, printed, found, unit, 0.008 * abs(printed))
