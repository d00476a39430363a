"""R. L. Norton, Design of Machinery, 5th ed., McGraw-Hill, 2012, Example 4-1: position of a fourbar linkage, open.

Ground 100, crank 40, coupler 120, rocker 80 mm, crank at 40°: coupler at 20.298°, rocker at 57.325° (from memory; both
close the loop to their last digit, as the first test shows). Here crank and rocker are the lower and the upper bars of
an axle, the coupler is the axle; it comes from a crank at 60°, so that it has to travel. Half the last printed digit.
"""

import numpy as np

from planner.physics.linkage import AxleLinks, pose_axle

GROUND, CRANK, COUPLER, ROCKER = 1.00, 0.40, 1.20, 0.80
PRINTED = [20.298, 57.325]  # [deg]
HALF_A_DIGIT = 0.0005  # [deg]


def _on(angle, length):
    return length * np.exp(1j * angle)


def _assembled(crank):
    """Return the coupler's two ends, the rocker's above: where two circles meet."""
    a, pivot = _on(crank, CRANK), complex(GROUND)
    apart = abs(pivot - a)
    along = (COUPLER**2 - ROCKER**2 + apart**2) / (2 * apart)
    unit = (pivot - a) / apart
    return a, a + unit * (along + 1j * np.sqrt(COUPLER**2 - along**2))


def test_the_printed_angles_close_the_loop():
    coupler, rocker = np.radians(PRINTED)
    gap = _on(np.radians(40), CRANK) + _on(coupler, COUPLER) - _on(rocker, ROCKER) - GROUND
    assert abs(gap) < 2 * COUPLER * np.radians(HALF_A_DIGIT)


def test_coupler_and_rocker(compare):
    a, b = _assembled(np.radians(60))

    def place(point, y=0.0):
        return np.array([point.real - a.real, y, point.imag - a.imag])

    axle = np.array([place(a, 0.3), place(a, -0.3), place(b), place(a, 0.3)])
    frame = np.array([place(0j, 0.3), place(0j, -0.3), place(complex(GROUND)), place(a, -1e5)])
    pose = pose_axle(AxleLinks(frame, axle), a.imag - CRANK * np.sin(np.radians(40)))
    assert pose.reached
    coupler = np.angle(b - a) - pose.pitch
    end = pose.at(axle[2]) - frame[2]
    angles = np.degrees([coupler, np.arctan2(end[2], end[0])])
    compare.all(["angle of the coupler", "angle of the rocker"], PRINTED, angles, "°", HALF_A_DIGIT)
