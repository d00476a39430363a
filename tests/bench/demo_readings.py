"""Six months of readings for the demo, made by settling a truck whose true numbers are hidden; its rear left bag leaks.

Run: python -m tests.bench.demo_readings FOLDER. Writes trucks/skid-truck.toml, as four weigh-ins taught it, and
weekly-mill-run.toml: every Monday the gauges and the tape before the truck is aired to its plan again.
"""

import sys
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

from planner.physics.constants import STANDARD_PRESSURE
from planner.physics.equilibrium import HeldPressure, SealedAir, settle
from planner.physics.levelling import level
from planner.plans.answer import CORNERS
from planner.plans.calibration import calibrate
from planner.plans.learnt_truck import learnt_truck
from planner.plans.saved_state import standing
from planner.plans.setup import Setup
from planner.records import Profile, Truck, read_record
from planner.store import Store
from tests.plans.weighings import FRICTION, PSI, draw_truth, make_readings

SEED = 11
FIRST, WEEKS = datetime(2026, 4, 6, 7, 10), 26  # as on the wall of the shop
LEAK = 0.15  # of the rear left bag's air a week
WARM = 293.15  # [K] in the shop, where it is aired
INCH = 0.0254
STEPS = (1.0 * PSI, 0.0625 * INCH)  # to which gauge and tape are read
BAG = {
    "fitted_height": "7 in",
    "height": ["4 in", "5 in", "6 in", "7 in", "8 in", "9 in", "10 in"],
    "area": ["33 in**2", "31 in**2", "29.8 in**2", "29 in**2", "28.2 in**2", "26.5 in**2", "23.5 in**2"],
    "volume": "215 in**3",
    "least_pressure": "5 psi",
    "greatest_pressure": "100 psi",
    "load_rating": "2600 lbf",
}
TYRES = {
    "per_side": 1,
    "rate": "1950 lbf/in",
    "unloaded_radius": "16.3 in",
    "load_rating": "3195 lb",
    "cold_pressure": "80 psi",
}
AXLE = {"suspension": "solid", "ride_height": "20 in", "motion_ratio": 1.0, "tyres": TYRES, "bag": BAG}
SKID_TRUCK = {
    "schema": 1,
    "name": "Skid truck",
    "wheelbase": "158 in",
    "gvwr": "11000 lb",
    "gcwr": "24000 lb",
    "typical": [
        f"{axle}.{field}"
        for axle in ("front", "rear")
        for field in ("tyres.rate", "unsprung_weight", "steel_load", "steel_rate")
    ],
    "kerb": {"front_axle": "4200 lb", "rear_axle": "3280 lb", "left_share": 0.502},
    "front": AXLE
    | {
        "track": "68.5 in",
        "spring_spacing": "40 in",
        "unsprung_weight": "610 lb",
        "gawr": "5600 lb",
        "anti_roll_rate": "1000 N*m/deg",
        "steel_rate": "420 lbf/in",
        "steel_load": "1250 lbf",
    },
    "rear": AXLE
    | {
        "track": "68 in",
        "spring_spacing": "42 in",
        "unsprung_weight": "680 lb",
        "gawr": "6200 lb",
        "steel_rate": "360 lbf/in",
        "steel_load": "950 lbf",
    },
    "hitches": [
        {
            "name": "receiver",
            "coupling": "ball",
            "x": "-52 in",
            "height": "19 in",
            "ball_diameter": "2.3125 in",
            "tongue_rating": "1200 lb",
            "trailer_rating": "12000 lb",
        }
    ],
    "instruments": {"gauge_step": "1 psi", "gauge_error": "1 psi", "tape_error": "0.1 in"},
}
MILL_RUN = {"schema": 1, "name": "Weekly mill run", "truck": "skid-truck", "trailer": "band-mill", "hitch": "receiver"}


def make_weeks(setup, planned, truth, rng):
    """Yield a reading each Monday: what the week's weather and the leak left of the air that was set."""
    load, wanted = setup.load(truth.rig), setup.wanted
    start = level(truth.rig, load, wanted).state
    design = np.array([[float(setup.truck.front.ride_height)], [float(setup.truck.rear.ride_height)]])
    for week in range(WEEKS):
        aired = planned + rng.normal(0, 0.3 * PSI, (2, 2))
        rest = settle(truth.rig, load, HeldPressure(aired * truth.scale), start)
        season = 285.0 + 9.0 * np.sin(np.pi * week / WEEKS)  # [K] cool mornings, warmer in summer
        height = truth.rig.corners(load, rest.state).spring_height
        air = SealedAir.shut(
            truth.rig,
            height,
            rest.pressure,
            ambient=STANDARD_PRESSURE,
            ambient_now=STANDARD_PRESSURE,
            temperature=np.asarray(WARM),
            temperature_now=np.asarray(season + rng.normal(0, 2.0)),
        )
        left = np.array([[1.0, 1.0], [1.0 - LEAK * rng.uniform(0.7, 1.3), 1.0]])
        now = settle(truth.rig, load, SealedAir(air.amount * left, air.ambient), rest.state)
        gauge = now.pressure / truth.scale * (1 + FRICTION / 2 * rng.normal(size=(2, 2)))
        gauge = gauge + rng.normal(0, 0.5 * PSI, (2, 2))
        tape = design + truth.rig.ride_heights(load, now.state) + rng.normal(0, 0.1 * INCH, (2, 2))
        yield FIRST + timedelta(days=7 * week, minutes=int(rng.integers(-25, 40))), gauge, tape


def written(at, gauge, tape):
    """Return a reading as its owner writes it down."""
    corners = {
        corner: {
            "pressure": f"{round(max(float(p), 0.0) / STEPS[0]):g} psi",
            "ride_height": f"{round(float(h) / STEPS[1]) * STEPS[1] / INCH:g} in",
        }
        for corner, p, h in zip(CORNERS, gauge.ravel(), tape.ravel(), strict=True)
    }
    return {"at": at} | corners


def main(folder):
    """Write both files."""
    store, rng = Store(folder), np.random.default_rng(SEED)
    bought = read_record(Truck, SKID_TRUCK, "skid-truck.toml")
    truth = draw_truth(bought, rng)
    weighed = make_readings(bought, truth, rng, 4)
    truck = learnt_truck(calibrate(bought, weighed), weighed[-1].at.date().replace(month=3))
    trailer = store.read_trailer("band-mill")
    profile = read_record(Profile, MILL_RUN, "weekly-mill-run.toml")
    setup, plan = Setup.of(profile, truck, trailer), standing(profile, truck, trailer).answer.set.pressure
    readings = [written(*one) for one in make_weeks(setup, plan, truth, rng)]
    pressures = {corner: f"{p / PSI:.0f} psi" for corner, p in zip(CORNERS, plan.ravel(), strict=True)}
    store.write(truck, "skid-truck")
    store.write(profile.replaced(pressures=pressures, readings=readings), "weekly-mill-run")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
