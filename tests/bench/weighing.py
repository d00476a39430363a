"""How often the stated 95 % band of a weigh-in holds the truth: python -m tests.bench.weighing [cases]."""

import json
import sys

import numpy as np

from planner.plans.weighing import weigh
from planner.records import Slip, read_record
from tests.plans.test_weighing import synthetic

PARTS = {
    "alone, hitched": ("alone", "hitched"),
    "three passes": ("alone", "hitched", "hitched_with_bars"),
    "three passes, trailer": ("alone", "hitched", "hitched_with_bars", "trailer_alone"),
}


def held(parts, tolerance, cases):
    """Return the share of cases in which each band holds the truth."""
    draw, found = np.random.default_rng(2026), {}
    extra = {} if tolerance is None else {"tolerance": f"{tolerance} lb"}
    for _ in range(cases):
        truth, table = synthetic(draw, tolerance)
        given = {"schema": 1, "name": "slip", **{name: table[name] for name in parts}, **extra}
        for name, told in weigh(read_record(Slip, given, "slip")).told.items():
            if name in truth:
                found.setdefault(name, []).append(told.band[0] <= truth[name] <= told.band[1])
    return {name: np.mean(one) for name, one in found.items()}


def figures(count):
    """Return how often each band holds the truth, by what was weighed and how the scale errs."""
    laws = ((None, "rounding and Handbook 44"), (0, "rounding alone"))
    return {
        f"{words}, {law}": {name: round(float(share), 4) for name, share in held(parts, tolerance, count).items()}
        for words, parts in PARTS.items()
        for tolerance, law in laws
    }


if __name__ == "__main__":
    print(json.dumps(figures(int(sys.argv[1]) if len(sys.argv) > 1 else 1000), indent=1))
