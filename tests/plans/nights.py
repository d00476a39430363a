"""Nights that are made up: a truck with its valves shut, tight or with a leak, and what gauges then say of it."""

from dataclasses import dataclass

import numpy as np

from planner.physics.atmosphere import standard_pressure
from planner.physics.equilibrium import HeldPressure, SealedAir, settle
from planner.plans.answer import CORNERS
from planner.plans.level import level_setup
from planner.plans.setup import rig_of
from planner.records import read_record
from planner.records.leak_test import LeakTest

PSI = 6894.757293168361


@dataclass(frozen=True)
class Night:
    """A leak test as it was written down, and the truth: which corners leak, and the true pressures [Pa]."""

    test: LeakTest
    leaking: tuple[str, ...]
    before: np.ndarray
    after: np.ndarray


def make_night(setup, rng, *, part=0.0, corners=(), gauge_error=2 * PSI, hours=12.0, altitude=None):
    """Return a night of random temperatures in which corners lose a part of their air, read with a gauge's error."""
    answer, rig = level_setup(setup), rig_of(setup.truck)
    load = setup.load(rig)
    pressure = np.nan_to_num(answer.set.pressure)
    rest = settle(rig, load, HeldPressure(pressure), np.zeros(4))
    evening, morning = rng.uniform(275.0, 305.0), rng.uniform(255.0, 305.0)
    now = 0.0 if altitude is None else altitude
    air = SealedAir.shut(
        rig,
        rig.corners(load, rest.state).spring_height,
        rest.pressure,
        ambient=standard_pressure(0.0),
        temperature=np.asarray(evening),
        ambient_now=standard_pressure(now),
        temperature_now=np.asarray(morning),
    )
    left = np.array([1.0 - part if corner in corners else 1.0 for corner in CORNERS]).reshape(2, 2)
    after = settle(rig, load, SealedAir(air.amount * left, air.ambient), rest.state).pressure
    noise = rng.normal(0.0, gauge_error, (2, 2, 2))
    if rig.joined[0]:
        noise[:, 0, 1] = noise[:, 0, 0]
    if rig.joined[1]:
        noise[:, 1, 1] = noise[:, 1, 0]

    def reading(at, temperature, gauge):
        pairs = zip(CORNERS, gauge.ravel(), np.repeat(rig.has_bag, 2), strict=True)
        there = {corner: {"pressure": f"{max(value, 0.0)} Pa"} for corner, value, bag in pairs if bag}
        return {"at": at, "temperature": f"{temperature} K"} | there

    end = np.datetime64("2026-01-10T18:00:00") + np.timedelta64(round(hours * 3600), "s")
    table = {
        "schema": 1,
        "gauge_error": f"{max(gauge_error, 1.0)} Pa",
        "before": reading("2026-01-10T18:00:00", evening, pressure + noise[0]),
        "after": reading(str(end), morning, after + noise[1])
        | ({} if altitude is None else {"altitude": f"{altitude} m"}),
    }
    return Night(read_record(LeakTest, table, "night.toml"), tuple(corners), pressure, after)
