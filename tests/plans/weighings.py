"""Trucks whose true numbers are drawn from their spreads, and readings of them on a scale, made by settling."""

from dataclasses import dataclass, replace

import numpy as np

from planner.physics import levelling
from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.equilibrium import HeldPressure, settle
from planner.physics.statics import Load
from planner.plans.answer import CORNERS
from planner.plans.setup import rig_of, roll_axis_heights
from planner.plans.weighed_truck import SHARE_UNKNOWN, STEEL_FRICTION, priors_of
from planner.records import read_record
from planner.records.weighed_reading import WeighedReading

PSI = 6894.757293168361
FRICTION = 0.02
SIDE = np.array([1.0, -1.0])


@dataclass(frozen=True)
class Truth:
    """A truck as it truly is: parameters by path, its rig, and what its bags' forces are over those of the chart."""

    parameters: dict[str, float]
    rig: object
    scale: np.ndarray


def draw_truth(truck, rng):
    """Return a truck whose parameters are drawn from their priors."""
    drawn = {one.path: one.value + one.sd * rng.normal() for one in priors_of(truck)}
    rig, fitted = rig_of(truck), np.array([bag.fitted_height if bag else 0.0 for bag in rig_of(truck).bags])

    def both(name, default):
        return np.array(
            [drawn.get(f"{axle}.{name}", given) for axle, given in zip(("front", "rear"), default, strict=True)]
        )

    slope, sides = both("bag.area_slope", (0.0, 0.0)), both("bag.area_sides", (0.0, 0.0))
    about = np.array([bag.slope_about if bag else 0.0 for bag in rig.bags])
    given = np.array([bag.slope if bag else 0.0 for bag in rig.bags])
    assert not given.any()  # a chart of one height is tilted about another place
    at_fitted = 1.0 - slope * (fitted - about)
    per_side = np.array([truck.front.tyres.per_side, truck.rear.tyres.per_side])
    true = replace(
        rig,
        tyre_rate=per_side * both("tyres.rate", rig.tyre_rate / per_side),
        steel_load=both("steel_load", rig.steel_load),
        steel_rate=both("steel_rate", rig.steel_rate),
        chart_tilt=slope / at_fitted,
    )
    scale = (both("bag.area_scale", (1.0, 1.0)) * at_fitted)[:, None] * (1.0 + sides[:, None] * SIDE / 2.0)
    return Truth(drawn, true, scale)


def make_reading(truck, truth, rng, *, front=0.0, rear=0.0, at=0, noise=True, wanted=None):
    """Return a reading of a truck with some more weight on its axles [kg], aired near level, as it is written down."""
    rig = truth.rig
    axle = rig.kerb.axle + G * np.array([front, rear])
    share = truck.kerb.left_share + SHARE_UNKNOWN * rng.normal()
    moment = (share - 0.5) * np.sum(axle * rig.track)
    if noise and not all(
        rig.has_bag
    ):  # each side of an axle on steel alone is held by its friction; what both sides are is a load of its own
        held = STEEL_FRICTION / np.sqrt(2.0) * axle / 2.0 * rng.normal(size=2)
        rig = replace(rig, steel_load=rig.steel_load + np.where(rig.has_bag, 0.0, held))
    out = (axle - rig.unsprung_load) * (truck.mass_height - roll_axis_heights(truck))
    part = rig.kerb.overturning_front / rig.kerb.overturning
    load = Load(axle, np.asarray(moment), np.asarray(part * moment), out.sum(), out[0])
    stance = np.array([rng.normal(0, 0.012), rng.normal(0, 0.012), 0.0]) if wanted is None else np.array(wanted)
    levelled = levelling.level(rig, load, stance)
    pressure = np.maximum(levelled.pressure / truth.scale + rng.normal(0, 0.7 * PSI, (2, 2)), 0.0)
    pressure = np.where(np.array(rig.joined)[:, None], pressure.mean(axis=1, keepdims=True), pressure)
    settled = settle(rig, load, HeldPressure(pressure * truth.scale), levelled.state)
    heights = np.array([[float(truck.front.ride_height)], [float(truck.rear.ride_height)]])
    heights = heights + rig.ride_heights(load, settled.state)
    weighed = axle / G
    if noise:
        instruments, step = truck.instruments, float(truck.instruments.gauge_step)
        pressure = pressure * (1.0 + FRICTION * rng.normal(size=(2, 2)))
        pressure = pressure + rng.normal(0, float(instruments.gauge_error), (2, 2))
        pressure = np.round(pressure / step) * step
        heights = heights + rng.normal(0, float(instruments.tape_error), (2, 2))
        division = 20 * 0.45359237
        weighed = np.round(weighed / division) * division
    corners = {
        name: {"ride_height": f"{height} m"} | ({"pressure": f"{max(value, 0.0)} Pa"} if bag else {})
        for name, height, value, bag in zip(
            CORNERS, heights.ravel(), pressure.ravel(), np.repeat(rig.has_bag, 2), strict=True
        )
    }
    table = {"at": f"2026-05-{1 + at:02d}T07:30:00", "front_axle": f"{weighed[0]} kg", "rear_axle": f"{weighed[1]} kg"}
    return read_record(WeighedReading, table | corners, "reading.toml")


LOADS = ((0.0, 0.0), (-60.0, 400.0), (-120.0, 800.0), (50.0, 300.0), (0.0, 600.0), (-30.0, 150.0))  # [kg] front, rear


def make_readings(truck, truth, rng, count=4, **more):
    """Return some readings of a truck at different loads."""
    return [
        make_reading(truck, truth, rng, front=LOADS[n % 6][0], rear=LOADS[n % 6][1], at=n, **more) for n in range(count)
    ]
