"""How fast the model levels and settles, beside a general solver and the bare arithmetic. Prints one JSON object.

Run: python tests/bench/levelling.py [rounds] [most cases, default 10000000]

On one core: the libraries beneath numpy are kept to one thread. Every figure is a median of several rounds, and all of
them come from one run, so that a slow machine slows all alike.
"""

import os

os.environ |= dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")

import json
import statistics
import sys
import time
import tracemalloc
from pathlib import Path

import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.optimize import root

from planner import level, level_many
from planner.physics.array_layout import BLOCK
from planner.physics.bag_limits import Limit
from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.equilibrium import HeldPressure, settle
from planner.plans.level import level_setup
from planner.plans.load_case import point_load_on
from planner.plans.load_map import load_map
from planner.plans.map_inputs import first_two, inputs_of
from planner.plans.setup import Setup, rig_of, roll_axis_heights
from planner.plans.uncertainty.result import find_uncertainty
from planner.show.drawings.axes import axis_of
from planner.store import Store

ROOT = Path(__file__).parents[2]
OUTFIT = Store(ROOT / "profiles").read_outfit("mill-on-the-hill-road")
TRUCK = OUTFIT.truck
MAPPED = ("mill-on-the-hill-road", "logs-on-the-gooseneck", "slabs-on-friday")
RIG = rig_of(TRUCK)
ROLL_AXIS = roll_axis_heights(TRUCK).tolist()
HITCH = TRUCK.hitch("receiver")


def median(what, rounds):
    """Return the median of how long something takes. [s]"""
    what()
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        what()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def cases(count):
    """Return random loads and stances that the demo's truck can level."""
    rng = np.random.default_rng(7)
    return {
        "hitch_load": rng.uniform(500, 4500, count),
        "cargo_load": rng.uniform(0, 3000, count),
        "cargo_x": rng.uniform(-0.5, 1.0, count),
        "cargo_y": rng.uniform(-0.3, 0.3, count),
        "stance": rng.uniform(-0.01, 0.01, (3, count)).T * np.array([1.0, 1.0, 0.3]),
    }


def loaded(given):
    """Return the load of cases."""
    hitch, cargo, x, y = (np.asarray(given[name]) for name in ("hitch_load", "cargo_load", "cargo_x", "cargo_y"))
    on_hitch = point_load_on(
        TRUCK, RIG, hitch, *(np.asarray(float(value)) for value in (HITCH.x, HITCH.y, HITCH.height))
    )
    return RIG.kerb + on_hitch + point_load_on(TRUCK, RIG, cargo, x, y)


def bare(given):
    """Return the pressures of many cases by the same formulas, no limits asked, in plain numpy in one function."""
    r, x_h = RIG, float(HITCH.x)
    length, (front, rear, roll) = float(r.wheelbase), given["stance"].T
    hitch, cargo, x, y = (given[name] for name in ("hitch_load", "cargo_load", "cargo_x", "cargo_y"))
    share = x / length
    side = cargo * y
    axle = (
        r.kerb.axle[0] + hitch * (x_h / length) + cargo * share,
        r.kerb.axle[1] + hitch * (1 - x_h / length) + cargo * (1 - share),
    )
    front_axis, rear_axis = ROLL_AXIS
    out = cargo * (float(TRUCK.mass_height) - rear_axis - (front_axis - rear_axis) * share)
    swings = hitch * (float(HITCH.height) - rear_axis - (front_axis - rear_axis) * (x_h / length))
    part = np.minimum(np.maximum(share, 0.0), 1.0)
    first = r.kerb.least_twist + side * part
    first -= roll * (r.kerb.overturning_front + out * part + swings * min(max(x_h / length, 0.0), 1.0))
    moments = (first, r.kerb.side_moment + side - roll * (r.kerb.overturning + out + swings) - first)
    pressure = np.empty((2, 2, len(hitch)))
    for k, (rise, load, moment) in enumerate(zip((front, rear), axle, moments, strict=True)):
        bag, m, a, tyre = r.bags[k], r.motion_ratio[k], r.half_spacing[k], r.tyre_rate[k]
        lean = roll + moment / (0.5 * tyre * r.track[k] ** 2)
        lift = bag.fitted_height + m * (rise + (load - r.kerb.axle[k]) / (2 * tyre))
        mean = (load - r.unsprung_load[k]) / (2 * m)
        more = (moment + r.anti_roll_rate[k] * lean) / (2 * a * m)
        curve = PchipInterpolator(bag.heights, bag.areas)
        for i, sign in enumerate((1.0, -1.0)):
            height = lift + sign * m * a * lean
            steel = r.steel_load[k] - r.steel_rate[k] * (height - bag.fitted_height)
            pressure[k, i] = (mean + sign * more - steel) / curve(height)
    return pressure


def seven_balances(given, case):
    """Return the balances of one case as a function of four pressures, two axle rolls and the front's side moment."""
    r = RIG
    load = loaded({name: value[case] for name, value in given.items()})
    rise, roll = given["stance"][case, :2], given["stance"][case, 2]
    curves = [PchipInterpolator(bag.heights, bag.areas) for bag in r.bags]
    axle, side, least = load.axle.tolist(), float(load.moment_at(roll)), float(load.least_twist_at(roll))
    numbers = [
        (bag, *(float(getattr(r, name)[k]) for name in ("motion_ratio", "half_spacing", "tyre_rate", "track",
         "anti_roll_rate", "steel_load", "steel_rate", "unsprung_load")), float(r.kerb.axle[k]))
        for k, bag in enumerate(r.bags)
    ]  # fmt: skip

    def left_over(unknown):
        scaled = unknown * np.array([1e5, 1e5, 1e5, 1e5, 1e-2, 1e-2, 1e3])
        first, out = scaled[6], [(scaled[6] - least) / 1e3]
        for k, moment in enumerate((first, side - first)):
            bag, m, a, tyre, track, bar, steel, rate, unsprung, kerb = numbers[k]
            tilt, forces = scaled[4 + k], []
            squash = (axle[k] - kerb) / (2 * tyre)
            for i, sign in enumerate((1, -1)):
                travel = m * (rise[k] + squash + sign * a * (roll - tilt))
                area = float(curves[k](bag.fitted_height + travel))
                forces.append(m * (scaled[2 * k + i] * area + steel - rate * travel))
            out.append((forces[0] + forces[1] - (axle[k] - unsprung)) / 1e4)
            out.append(((forces[0] - forces[1]) * a - bar * (roll - tilt) - moment) / 1e3)
            out.append((0.5 * tyre * track**2 * tilt + moment) / 1e3)
        return out

    return left_over


def by_root(given, case):
    """Return the pressures of one case from the general solver."""
    found = root(seven_balances(given, case), np.array([3.0, 3.0, 3.0, 3.0, 0.0, 0.0, 0.0]), tol=1e-10)
    assert found.success
    return found.x[:4].reshape(2, 2) * 1e5


def memory(count):
    """Return the most memory beside arguments and answer that the array form takes. [MB]"""
    given = cases(count)
    tracemalloc.start()
    many = level_many(TRUCK, hitch="receiver", **given)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return (peak - sum(part.nbytes for part in many)) / 1e6


def per_case(count):
    """Return what a case takes among so many, written over an earlier answer, and into fresh memory. [ns]"""
    given = cases(count)
    room = level_many(TRUCK, hitch="receiver", **given)
    over = median(lambda: level_many(TRUCK, hitch="receiver", **given, into=room), 3)
    return 1e9 * over / count, 1e9 * median(lambda: level_many(TRUCK, hitch="receiver", **given), 3) / count


def draws(count):
    """Return what settling many cases at one set of pressures takes."""
    given = cases(count)
    load = loaded(given)
    planned = level_many(TRUCK, hitch="receiver", hitch_load=2500.0, cargo_load=1500.0)
    return load, HeldPressure(planned.pressure), np.zeros(4)


def mapping(slug, rounds):
    """Return how long the map over a profile's first two inputs takes, limits and labels asked at every point. [s]"""
    setup = setup_of(slug)
    x, y = (axis_of(inputs_of(setup)[key], "us") for key in first_two(setup))
    return median(lambda: load_map(setup, x, y), rounds)


def doubt(slug, rounds):
    """Return how long it takes to say how sure an answer is: some 5,000 draws, settled, with their shares. [s]"""
    setup = setup_of(slug)
    answer = level_setup(setup)
    return median(lambda: find_uncertainty(setup, answer), rounds)


def setup_of(slug):
    """Return a demo profile's setup."""
    outfit = Store(ROOT / "profiles").read_outfit(slug)
    return Setup.of(outfit.profile, outfit.truck, outfit.trailer)


def main():
    """Time all of it in turn."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 7
    most = int(float(sys.argv[2])) if len(sys.argv) > 2 else 10_000_000
    given = cases(200_000)
    many = level_many(TRUCK, hitch="receiver", **given)
    free = (many.limit == Limit.NONE).all(axis=(1, 2))
    np.testing.assert_allclose(many.pressure[free], bare(given).transpose(2, 0, 1)[free], rtol=1e-9)
    np.testing.assert_allclose(many.pressure[free][0], by_root(given, int(np.flatnonzero(free)[0])), rtol=1e-6)
    array = median(lambda: level_many(TRUCK, hitch="receiver", **given), rounds) / 200_000
    plain = median(lambda: bare(given), rounds) / 200_000
    blocks = [{name: value[n : n + BLOCK] for name, value in given.items()} for n in range(0, 196_608, BLOCK)]
    plain_blocks = median(lambda: [bare(one) for one in blocks], rounds) / 196_608
    solver = median(lambda: [by_root(given, case) for case in range(10)], rounds) / 10
    single = {"trailer": OUTFIT.trailer, "hitch": "receiver", "cargo": OUTFIT.profile.cargo}
    load, air, start = draws(200_000)
    one = median(lambda: level(TRUCK, **single), 50 * rounds)
    growth = {f"1e{power}": per_case(10**power) for power in range(3, 8) if 10**power <= most}
    figures = {
        "rounds": rounds,
        "one_level_ms": 1e3 * one,
        "one_level_over_root": one / solver,
        "levelled_within_limits": float(free.mean()),
        "array_level_million_per_s": 1e-6 / array,
        "root_over_array": solver / array,
        "array_over_bare_numpy": array / plain,
        "array_over_bare_numpy_in_blocks": array / plain_blocks,
        "settle_thousand_per_s": 1e-3 * 200_000 / median(lambda: settle(RIG, load, air, start), rounds),
        "map_150_by_150_with_checks_ms": {slug: 1e3 * mapping(slug, rounds) for slug in MAPPED},
        "certainty_with_shares_ms": {slug: 1e3 * doubt(slug, rounds) for slug in MAPPED},
        "ns_per_case": {name: over for name, (over, _) in growth.items()},
        "ns_per_case_in_fresh_memory": {name: fresh for name, (_, fresh) in growth.items()},
        "memory_beside_answer_MB": {f"{n:.0e}": memory(n) for n in (100_000, 1_000_000)},
        "kerb_weight_kg": float(RIG.kerb.axle.sum()) / G,
    }
    print(json.dumps(_rounded(figures), indent=1))


def _rounded(value):
    if isinstance(value, dict):
        return {name: _rounded(one) for name, one in value.items()}
    return float(f"{value:.4g}") if isinstance(value, float) else value


main()
