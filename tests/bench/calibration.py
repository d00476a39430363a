"""Calibration against trucks whose truth is hidden: how often its 95 % band holds it. Prints one JSON object.

Run: python -m tests.bench.calibration [truths, default 1000] [readings of each, default 4]

Each truth is drawn from the spreads of the truck's numbers; readings are made by settling it, with gauge, tape,
friction and scale as they err. In a second round of a fifth as many, one pressure is written 20 psi wrong.
"""

import os

os.environ |= dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")

import json
import sys
import time
from pathlib import Path

import numpy as np

from planner.plans.answer import CORNERS
from planner.plans.calibration import calibrate
from planner.store import Store
from tests.plans.weighings import PSI, draw_truth, make_readings

STORE = Store(Path(__file__).parents[2] / "profiles")


def bands(truck, rng, truths, count):
    """Return by parameter how often the band holds the truth, and how much narrower it is than before."""
    inside, narrower, doubts = {}, {}, 0
    for _ in range(truths):
        truth = draw_truth(truck, rng)
        found = calibrate(truck, make_readings(truck, truth, rng, count))
        doubts += bool(found.doubts)
        for one in found.parameters:
            inside.setdefault(one.path, []).append(abs(one.value - truth.parameters[one.path]) < 1.96 * one.sd)
            narrower.setdefault(one.path, []).append(one.sd / one.prior.sd)
    whole = float(np.mean(np.concatenate(list(inside.values()))))
    each = {
        path: {"inside": float(np.mean(inside[path])), "sd_of_prior": round(float(np.median(narrower[path])), 3)}
        for path in inside
    }
    return {"inside_all": round(whole, 4), "sound_called_wild": doubts / truths, "parameters": each}


def slips(truck, rng, truths, count):
    """Return how often a pressure 20 psi wrong is asked about, and another number instead."""
    found_it, another = 0, 0
    for _ in range(truths):
        readings = make_readings(truck, draw_truth(truck, rng), rng, count)
        n, corner = int(rng.integers(count)), str(rng.choice(CORNERS))
        one = getattr(readings[n], corner)
        wrong = f"{float(one.pressure) + 20 * PSI} Pa"
        readings[n] = readings[n].replaced(**{corner: one.replaced(pressure=wrong)})
        doubts = [(doubt.residual.reading, doubt.residual.corner) for doubt in calibrate(truck, readings).doubts]
        found_it += (n, corner) in doubts
        another += any(doubt != (n, corner) for doubt in doubts)
    return {"asked_about": found_it / truths, "another_asked_about": another / truths}


ROUNDS = {
    "ridge_truck": lambda rng, truths, count: bands(STORE.read_truck("ridge-truck"), rng, truths, count),
    "yard_truck": lambda rng, truths, count: bands(STORE.read_truck("yard-truck"), rng, truths, count),
    "slip_of_20_psi": lambda rng, truths, count: slips(STORE.read_truck("ridge-truck"), rng, truths // 5 or 1, count),
}


def figures(truths, count, rounds=tuple(ROUNDS)):
    """Return the figures of some rounds, each by its own draws."""
    start = time.process_time()
    found = {name: ROUNDS[name](np.random.default_rng(5), truths, count) for name in rounds}
    return found | {"truths": truths, "readings": count, "processor_seconds": round(time.process_time() - start, 1)}


if __name__ == "__main__":
    given = [int(one) for one in sys.argv[1:3]]
    print(json.dumps(figures(*given, *(1000, 4)[len(given) :]), indent=1))
