"""Leak against cold on nights that are made up: false alarms and leaks missed. Prints one JSON object.

Run: python -m tests.bench.drift [nights, default 1000]

Each night has its own temperatures at evening and morning; four gauges are read twice, each reading off by the stated
error. Leaks are told by how far the leaking corner's own gauge fell for them.
"""

import os

os.environ |= dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")

import json
import sys
import time
from pathlib import Path

import numpy as np

from planner.plans.answer import CORNERS
from planner.plans.drift import find_drift
from planner.plans.leaks import FALSE_ALARM
from planner.plans.setup import Setup
from planner.store import Store
from tests.plans.nights import PSI, make_night

PROFILES = Path(__file__).parents[2] / "profiles"
PARTS = (0.1, 0.2, 0.3, 0.45, 0.6)  # of the corner's air
ERRORS = (2 * PSI, 0.5 * PSI)


def demo_setups():
    """Return setups of the demo truck that has four bags on a line each, so that each corner may leak."""
    store = Store(PROFILES)
    outfits = [store.read_outfit(slug) for slug in ("mill-bed-empty", "mill-on-the-hill-road")]
    return [Setup.of(outfit.profile, outfit.truck, outfit.trailer) for outfit in outfits]


def tight_nights(setups, rng, nights, error):
    """Return the share of sound nights on which a leak is called. [-]"""
    found = [
        np.isfinite(
            find_drift(setups[n % len(setups)], make_night(setups[n % len(setups)], rng, gauge_error=error).test).leak
        )
        for n in range(nights)
    ]
    return float(np.mean([leak.any() for leak in found]))


def leaking_nights(setups, rng, nights, error, part):
    """Return how leaks of one part of the air of one corner are told: fall [psi], missed, wrong corner blamed too."""
    falls, missed, blamed = [], 0, 0
    for n in range(nights):
        setup, place = setups[n % len(setups)], int(rng.integers(4))
        night = make_night(setup, rng, part=part, corners=[CORNERS[place]], gauge_error=error)
        drift = find_drift(setup, night.test)
        leaking = np.isfinite(drift.leak.ravel())
        falls.append((night.before - night.after).ravel()[place] - drift.expected.ravel()[place])
        missed += not leaking[place]
        blamed += bool(np.delete(leaking, place).any())
    return {
        "part_of_air": part,
        "gauge_fell_psi": round(float(np.median(falls)) / PSI, 2),
        "missed": missed / nights,
        "another_corner_blamed": blamed / nights,
    }


def figures(nights, errors=ERRORS):
    """Return the figures of leak against cold, for some errors of the gauge, each by its own draws."""
    setups, start, found = demo_setups(), time.process_time(), {}
    for error in errors:
        rng = np.random.default_rng(7)
        found[f"gauge_error_{error / PSI:g}_psi"] = {
            "false_alarms": tight_nights(setups, rng, nights, error),
            "leaks": [leaking_nights(setups, rng, nights // len(PARTS), error, part) for part in PARTS],
        }
    seconds = round(time.process_time() - start, 1)
    return {"nights": nights, "stated_false_alarms": FALSE_ALARM, **found, "processor_seconds": seconds}


if __name__ == "__main__":
    print(json.dumps(figures(int((sys.argv[1:] or ["1000"])[0])), indent=1))
