"""The air of a hitching cycle beside a plain solve that settles the truck at every step. Prints one JSON object.

Run: python -m tests.bench.air

Times are processor time on one core, medians of several rounds.
"""

import os

os.environ |= dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")

import json
import statistics
import time

import numpy as np
from scipy.integrate import solve_ivp

from planner import open_folder
from planner.physics.air_flow import FREE_AIR_PRESSURE, flow
from planner.physics.equilibrium import SealedAir, settle
from planner.plans.air_budget import air_budget
from planner.plans.air_supply import Supply
from planner.plans.fill_time import air_at_rest, fill_time
from planner.plans.hitching import hitch_up
from planner.plans.setup import Setup, rig_of

OUTFIT = open_folder("profiles").read_outfit("mill-on-the-hill-road")
SETUP = Setup.of(OUTFIT.profile, OUTFIT.truck, OUTFIT.trailer)
RIG, SUPPLY = rig_of(OUTFIT.truck), Supply.of(OUTFIT.truck)


def seconds(work, rounds=5):
    """Return what some work takes, median of some rounds. [s]"""
    times = []
    for _ in range(rounds):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return statistics.median(times)


def one_filling():
    """Return two states of the truck alone, the bags of the second with more air."""
    gauges = np.array([[270e3, 268e3], [160e3, 158e3]])
    return [air_at_rest(RIG, RIG.kerb, gauge, np.zeros(4), SUPPLY.ambient) for gauge in (gauges, gauges + 20e3)]


def plain(start, end):
    """Solve one filling with a settling at every step, stopped when the last bag is full."""
    goal = (end.amount - start.amount) / FREE_AIR_PRESSURE
    c, b = (
        np.array([getattr(port, name) for port in SUPPLY.ports]).reshape(2, 2) for name in SUPPLY.ports[0]._fields[1:]
    )

    def rates(_, moved):
        moved = moved.reshape(2, 2)
        air = SealedAir(start.amount + FREE_AIR_PRESSURE * moved, np.asarray(SUPPLY.ambient))
        bag = settle(RIG, RIG.kerb, air, start.state).pressure + SUPPLY.ambient
        tank = SUPPLY.cut_out + SUPPLY.ambient - FREE_AIR_PRESSURE * moved.sum() / SUPPLY.volume
        return np.where(moved < goal, flow(tank, bag, c, b), 0.0).ravel()

    def full(_, moved):
        return float((goal.ravel() - moved).max())

    full.terminal = True
    return solve_ivp(rates, (0.0, 60.0), np.zeros(4), events=full, rtol=1e-3, atol=1e-7, method="RK23")


if __name__ == "__main__":
    start, end = one_filling()
    ours, theirs = (
        seconds(lambda: fill_time(RIG, SUPPLY, start, end, SUPPLY.full)),
        seconds(lambda: plain(start, end), 3),
    )
    budget, hitching = seconds(lambda: air_budget(SETUP)), seconds(lambda: hitch_up(SETUP))
    found = {
        "filling_ms": 1e3 * ours,
        "plain_over_ours": theirs / ours,
        "whole_budget_ms": 1e3 * budget,
        "of_it_hitch_up_ms": 1e3 * hitching,
    }
    print(json.dumps({name: round(value, 1) for name, value in found.items()}))
