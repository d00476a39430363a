"""Levelling at a limit beside a scan of all states, and what a bound case takes. Prints one JSON object.

Run: python -m tests.bench.limits [cases of each plumbing pair, default 34]

Times are processor time on one core, medians of several rounds; ratios are to a case that no limit binds.
"""

import os

os.environ |= dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")

import json
import statistics
import sys
import time
from pathlib import Path

import numpy as np

from planner import level_many
from planner.store import Store
from tests.physics.brute_scan import Search, least_departure, least_lean
from tests.physics.rigs import PLUMBING
from tests.physics.test_active_set import TAPE, is_inside, tight_cases

TRUCK = Store(Path(__file__).parents[2] / "profiles").read_outfit("mill-on-the-hill-road").truck


def against_the_scan(count):
    """Return by how much the scan beats levelling, worst of all, in lean and departure [m], over all plumbing pairs."""
    lean_worse, rise_worse, cases, inside = -np.inf, -np.inf, 0, 0
    for pair in PLUMBING[:-1]:
        for rig, load, wanted, state in tight_cases(pair, count, 11):
            cases += 1
            if not is_inside(rig, load, state):
                continue
            inside += 1
            search = Search(rig, load, wanted)
            lean = abs(state[2] - wanted[2]) * rig.track[1]
            if search.steered and (upright := least_lean(search)) is not None:
                lean_worse = max(lean_worse, lean - upright - TAPE)
            nearest = least_departure(search, lean + 1e-6 if search.steered else np.inf)
            if nearest is not None:
                rise_worse = max(rise_worse, np.abs(state[:2] - wanted[:2]).max() - nearest)
    return {"cases": cases, "inside": inside, "lean_worse_mm": 1e3 * lean_worse, "rise_worse_mm": 1e3 * rise_worse}


def seconds(given):
    """Return what levelling takes, median of five. [s]"""
    times = []
    for _ in range(5):
        start = time.process_time()
        level_many(TRUCK, hitch="receiver", **given)
        times.append(time.process_time() - start)
    return statistics.median(times)


def bound_case(count=60_000):
    """Return what a case takes that a limit binds, and one that none does. [µs]"""
    rng = np.random.default_rng(3)
    given = {
        "hitch_load": rng.uniform(500, 14000, count),
        "cargo_load": rng.uniform(0, 18000, count),
        "cargo_x": rng.uniform(-0.5, 1.0, count),
        "cargo_y": rng.uniform(-0.5, 0.5, count),
    }
    bound = (level_many(TRUCK, hitch="receiver", **given).limit > 0).any(axis=(1, 2))
    parts = [{name: value[some] for name, value in given.items()} for some in (bound, ~bound)]
    tight, free = (1e6 * seconds(part) / len(part["hitch_load"]) for part in parts)
    return {"bound_us": tight, "free_us": free, "bound_over_free": tight / free, "bound_cases": int(bound.sum())}


def main():
    """Measure both."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 34
    print(json.dumps(against_the_scan(count) | bound_case(), indent=1))


if __name__ == "__main__":
    main()
