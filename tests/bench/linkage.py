"""How fast an axle is posed on its links, beside a general solver one case at a time: python tests/bench/linkage.py.

Processor time, the libraries beneath numpy kept to one thread; both in one run, medians of several rounds.
"""

import os

os.environ |= dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")

import json
import statistics
import time

import numpy as np
from scipy.optimize import root
from scipy.spatial.transform import Rotation

from planner.physics.linkage import AxleLinks, pose_axle
from tests.physics.links import INCH, four_bars

RISES = np.linspace(-4, 4, 200) * INCH
ROLL = 0.03
ROUNDS = 9
TRACK_BAR = (np.array([[-0.12, -0.45, 0.05]]), np.array([[-0.12, 0.45, 0.02]]))


def by_root(links, rise):
    """Return the pose of one case from the general solver."""

    def left_over(q):
        turn = Rotation.from_euler("ZXY", [q[3], -ROLL, q[2]])
        ends = turn.apply(links.axle) + np.array([q[0], q[1], -rise])
        return np.linalg.norm(ends - links.frame, axis=1) - links.length

    found = root(left_over, np.zeros(4), tol=1e-11)
    assert found.success
    return found.x


def median(what):
    """Return the median of the processor time that something takes. [s]"""
    what()
    times = []
    for _ in range(ROUNDS):
        start = time.process_time()
        what()
        times.append(time.process_time() - start)
    return statistics.median(times)


def main():
    """Time 200 heights, of four bars and of five."""
    four = four_bars()
    five = AxleLinks(*(np.vstack(both) for both in zip((four.frame, four.axle), TRACK_BAR, strict=True)))
    pose = pose_axle(four, RISES, ROLL)
    assert pose.reached.all()
    loop = [by_root(four, rise) for rise in RISES]
    found = np.stack([pose.x, pose.y, pose.pitch, pose.yaw], axis=-1)
    np.testing.assert_allclose(found, loop, rtol=0, atol=1e-9)
    batch, single = median(lambda: pose_axle(four, RISES, ROLL)), median(lambda: [by_root(four, r) for r in RISES])
    figures = {
        "heights": RISES.size,
        "four_bars_ms": 1e3 * batch,
        "four_bars_and_a_track_bar_ms": 1e3 * median(lambda: pose_axle(five, RISES, ROLL)),
        "scipy_root_one_by_one_ms": 1e3 * single,
        "root_over_batch": single / batch,
    }
    print(json.dumps({name: float(f"{value:.3g}") for name, value in figures.items()}, indent=1))


main()
