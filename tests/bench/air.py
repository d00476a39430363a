"""The air of a hitching cycle beside a plain solve that settles the truck at every step. Prints one JSON object.

Run: python -m tests.bench.air

Times are processor time on one core, least of several rounds.
"""

import os

os.environ |= dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")

import json
import time
from dataclasses import replace

import numpy as np
from scipy.integrate import solve_ivp

from planner import open_folder
from planner.physics.air_flow import FREE_AIR_PRESSURE, flow
from planner.physics.equilibrium import SealedAir, settle
from planner.physics.statics import Load
from planner.plans.air_budget import air_budget
from planner.plans.air_moves import Ways
from planner.plans.air_supply import Supply
from planner.plans.fill_time import UNTOUCHED, airs_at_rest
from planner.plans.hitching import hitch_up
from planner.plans.level import level_setup
from planner.plans.load_case import load_case
from planner.plans.setup import Setup, rig_of
from planner.plans.typical_air import with_typical_air

OUTFIT = open_folder("profiles").read_outfit("mill-on-the-hill-road")
SETUP = Setup.of(OUTFIT.profile, OUTFIT.truck, OUTFIT.trailer)
RIG, SUPPLY = rig_of(OUTFIT.truck), Supply.of(OUTFIT.truck)


def seconds(work, rounds=5):
    """Return what some work takes, least of some rounds: whoever else is at work only adds. [s]"""
    times = []
    for _ in range(rounds):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def legs(plan):
    """Return the ways of a hitching cycle: from rest to rest, from the unhitched truck to the road and back."""
    supply = Supply.of(OUTFIT.truck)
    alone = SETUP.without_trailer()
    stages = [(stage.answer, SETUP, on) for stage, on in zip(plan.stages, (0.0, 0.0, 1.0, None), strict=True)]
    stations = [(level_setup(alone), alone, None), *stages]
    rests = airs_at_rest(
        RIG,
        [load_case(setup, RIG, tongue_on=on).load for _, setup, on in stations],
        [answer.set.pressure for answer, _, _ in stations],
        [np.array([*vars(answer.set.stance).values(), answer.side_moment[0]]) for answer, _, _ in stations],
        supply.ambient,
    )
    bare, clear, meet, lift, tow = rests
    return [(bare, clear), (clear, meet), (meet, lift), (lift, tow), (tow, meet), (meet, clear), (clear, bare)]


def plain(start, end, pressure):
    """Solve one filling with a settling at every step until the last valve is shut; return the tank's gauge then."""
    goal = (end.amount - start.amount) / FREE_AIR_PRESSURE
    goal = np.where(np.abs(goal) > UNTOUCHED * start.amount / FREE_AIR_PRESSURE, goal, 0.0)
    if not goal.any():
        return pressure
    c, b = (
        np.array([getattr(port, name) for port in SUPPLY.ports]).reshape(2, 2) for name in SUPPLY.ports[0]._fields[1:]
    )
    size = np.abs(goal).sum()

    def rates(_, moved):
        moved = moved.reshape(2, 2)
        share = np.abs(moved).sum() / size
        parts = zip(vars(start.load).values(), vars(end.load).values(), strict=True)
        load = Load(*(np.asarray((1 - share) * one + share * other) for one, other in parts))
        near = (1 - share) * start.state + share * end.state
        air = SealedAir(start.amount + FREE_AIR_PRESSURE * moved, np.asarray(SUPPLY.ambient))
        bag = settle(RIG, load, air, near).pressure + SUPPLY.ambient
        fed = moved[goal > 0].sum()
        tank = pressure + SUPPLY.ambient - FREE_AIR_PRESSURE * fed / SUPPLY.volume
        passed = np.where(goal > 0, flow(tank, bag, c, b), -flow(bag, SUPPLY.ambient, c, b))
        return np.where(np.abs(moved) < np.abs(goal), passed, 0.0).ravel()

    def full(_, moved):
        return float((np.abs(goal.ravel()) - np.abs(moved)).max()) - 1e-9

    full.terminal = True
    found = solve_ivp(rates, (0.0, 60.0), np.zeros(4), events=full, rtol=1e-3, atol=1e-7, method="RK23")
    return pressure - FREE_AIR_PRESSURE * found.y[:, -1].clip(0.0).sum() / SUPPLY.volume


def plain_cycle(ways):
    """Solve a whole cycle so; return the tank's gauge after it."""
    pressure = SUPPLY.cut_out
    for start, end in ways:
        pressure = plain(start, end, pressure)
    return pressure


if __name__ == "__main__":
    plan = hitch_up(SETUP)
    ways = legs(plan)
    cycle = seconds(lambda: Ways.of(SETUP, SUPPLY, plan, None).moves(SUPPLY), 15)
    theirs = seconds(lambda: plain_cycle(ways), 3)
    after = air_budget(SETUP, plan=plan).moves[-1].tank_pressure
    guessed = replace(SETUP, truck=with_typical_air(OUTFIT.truck.replaced(air=None)))
    found = {
        "cycle_and_levelling_ms": 1e3 * cycle,
        "plain_cycle_over_ours": theirs / cycle,
        "tank_off_by_psi": abs(after - plain_cycle(ways)) / 6894.757,
        "whole_budget_ms": 1e3 * seconds(lambda: air_budget(SETUP, plan=plan)),
        "hitch_up_ms": 1e3 * seconds(lambda: hitch_up(SETUP)),
        "budget_of_a_typical_supply_ms": 1e3 * seconds(lambda: air_budget(guessed, plan=plan), 3),
    }
    print(json.dumps({name: round(value, 2) for name, value in found.items()}))
