"""How quickly every truck is judged with every trailer, in how much memory, and what of random pairs differs: JSON.

Run: python tests/bench/fleet.py [trucks, default 1000] [trailers, default 1000] [pairs checked, default 1000]

Pairs a second are of processor time on one core, with all checks of labels: of the whole fleet, and of each layout of
bags by itself on up to 20 of its trucks. The heaviest trailer of each kind is a search of its own, and timed on the
first trucks. Each random pair is held to a `level` call of it alone.
"""

import os

os.environ |= dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")

import json
import resource
import sys
import time

import numpy as np

from planner.plans.fleet import judge_fleet
from tests.plans.any_fleet import differences, some_trailers, some_trucks

FEW = 20  # trucks of a layout, or for the search


def a_second(trucks, trailers, *, heaviest=False):
    """Return the fleet, and how many pairs of it are judged a second of the processor's."""
    start = time.process_time()
    fleet = judge_fleet(trucks, trailers, heaviest=heaviest)
    return fleet, round(len(trucks) * len(trailers) / (time.process_time() - start))


def layout(truck):
    """Return how a truck's bags are plumbed, front and rear."""
    return " / ".join(axle.plumbing if axle.bag else "steel" for axle in (truck.front, truck.rear))


def main():
    """Measure, and print."""
    counts = [int(text) for text in sys.argv[1:4]]
    truck_count, trailer_count, checked = [*counts, *(1000, 1000, 1000)[len(counts) :]]
    trucks, trailers = some_trucks(truck_count), some_trailers(trailer_count)
    by_layout = {}
    for truck in trucks:
        by_layout.setdefault(layout(truck), []).append(truck)
    layouts = {name: a_second(some[:FEW], trailers)[1] for name, some in sorted(by_layout.items())}
    search = a_second(trucks[:FEW], trailers[:100], heaviest=True)[1]
    fleet, whole = a_second(trucks, trailers)
    rng = np.random.default_rng(5)
    pairs = list(zip(rng.integers(0, truck_count, checked), rng.integers(0, trailer_count, checked), strict=True))
    wrong = [found for i, j in pairs if (found := differences(fleet, i, j))]
    print(
        json.dumps(
            {
                "pairs": fleet.code.size,
                "pairs_a_second": whole,
                "by_layout": layouts,
                "with_heaviest": search,
                "taken": round(float(fleet.takes.mean()), 3),
                "peak_memory_MB": round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024),
                "checked": checked,
                "differ": len(wrong),
                "first": wrong[:1],
            }
        )
    )


if __name__ == "__main__":
    main()
