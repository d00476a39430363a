"""Invented links for tests, from the axle's centre [m]."""

import numpy as np

from planner.physics.linkage import AxleLinks

INCH = 0.0254
MIRROR = np.array([1.0, -1.0, 1.0])


def four_bars(rng=None):
    """Return four bars, the upper ones meeting; with a generator, others of their kind."""
    lower, upper = np.array([[28, 16, -1], [0, 20, -3.0]]), np.array([[21, 17, 6], [-1, 4, 8.0]])
    if rng is not None:
        lower, upper = lower + rng.uniform(-2, 2, (2, 3)), upper + rng.uniform(-2, 2, (2, 3))
    ends = np.array([lower, lower * MIRROR, upper, upper * MIRROR]) * INCH
    return AxleLinks(ends[:, 0], ends[:, 1])


def three_bars_and_track_bar(slope=0.0, length=0.9):
    """Return two lower bars, one upper one and a track bar, all level but for a slope of those along the truck."""
    axle = np.array([[0, 0.5, -0.1], [0, -0.5, -0.1], [0, 0, 0.2], [-0.1, 0.45, 0.0]])
    along = np.array([0.7, 0.0, 0.7 * slope])
    frame = axle + np.array([along, along, along, [0.0, -length, 0.0]])
    return AxleLinks(frame, axle)
