"""What measuring is worth: synthetic trucks, their truth hidden, trimmed and weighed by their bags. Prints one object.

Run: python -m tests.bench.measuring [trucks, default 1000] [seed, default 1] [processes, default one a core]. All that
is measured stands in it: scale slips (`weighing`), trim, bags as a scale, calibration (`calibration`), leak and cold
(`drift`), and how many trips over a scale it takes until a trim's band is under a quarter of an inch. It takes some ten
minutes of processor time, in parts side by side; what is done is told as it goes, on standard error.

For trim: the shares of cases in which the stated 95 % bands hold the truth, the share of corners within what tape and
gauge allow after one turn, and the turns the usual way takes, each corner by itself, until 95 of 100 corners are. For
the bags as a scale the shares of its bands, before and after hooking on. `outside_93_to_97` names each share of a band
that is not where it is said to be. Times are processor time.
"""

import os

os.environ |= dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")

import json
import sys
import time
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path

import numpy as np

from planner.physics.sensitivity import response
from planner.physics.statics import point_load
from planner.plans.bag_scale import weigh_pairs
from planner.plans.calibration import calibrate
from planner.plans.learnt_truck import learnt_truck
from planner.plans.level import level_setup
from planner.plans.setup import Setup
from planner.plans.uncertainty.reading_fit import fit_readings, over_wheels
from planner.plans.uncertainty.trim_pressures import NINETY_FIVE, told_rows, trim_trucks
from planner.records import BadInput, Truck, read_record
from planner.store import Store
from tests.bench import calibration, drift, weighing
from tests.bench.demo_readings import SKID_TRUCK
from tests.plans.measured_trucks import looked, measured, on_stops, settled
from tests.plans.weighings import draw_truth, make_readings

ROOT = Path(__file__).parents[2]
PROFILES = ("mill-on-the-hill-road", "logs-on-the-gooseneck", "slabs-on-friday", "weekly-mill-run")
INCH = 0.0254
LEARNING = ("weekly-mill-run", "mill-on-the-hill-road")  # one on steel and bags, one on bags alone
MOST_TURNS = 8
TRIPS = (0, 1, 2, 4, 8, 12)
TRIMS = 40  # of each truck after each number of trips
STATED = (0.93, 0.97)
BANDS = ("height_after_in_band", "height_now_in_band", "loads_in_band", "in_band", "inside", "inside_all")


def setup_of(name):
    """Return the setup of a profile of the demo."""
    outfit = Store(ROOT / "profiles").read_outfit(name)
    return Setup.of(outfit.profile, outfit.truck, outfit.trailer)


def trimmed(name, count, seed):
    """Return the figures of trim."""
    setup = setup_of(name)
    truth = measured(setup, count, seed)
    rng = np.random.default_rng(seed + 1)
    start = time.process_time()
    answer = trim_trucks(fit_readings(truth.unknowns, truth.readings))
    took = time.process_time() - start
    after = truth.trucks._replace(state=answer.after.state).settle(looked(truth.gauges, answer.shown, rng))
    off = over_wheels(setup, after.state)
    told = told_rows(setup, truth.trucks)[:, :5]
    values, spreads = (
        np.column_stack([part.axle_load, part.side_moment, part.hitch_load, part.side_share])
        for part in (answer.inferred, answer.inferred_deviation)
    )
    inside = np.abs(off - answer.off_after) <= answer.half_width
    free = ~on_stops(truth.trucks)
    allowed = answer.half_width + np.abs(answer.off_after)
    now = over_wheels(setup, truth.trucks.state)
    names = ("axle_load_front", "axle_load_rear", "side_moment", "hitch_load", "side_share")
    loads = np.abs(values - told) <= NINETY_FIVE * spreads
    return {
        "height_after_in_band": share(inside),
        "height_after_in_band_read_off_stops": share(inside[free]),
        "height_now_in_band": share(np.abs(now - answer.off_now) <= NINETY_FIVE * answer.off_now_deviation),
        "loads_in_band": dict(zip(names, map(share, loads.T), strict=True)),
        "loads_in_band_read_off_stops": dict(zip(names, map(share, loads[free].T), strict=True)),
        "within_half_width_and_step_of_the_gauge": share(np.abs(off) <= allowed),
        "the_same_read_off_stops": share((np.abs(off) <= allowed)[free]),
        "half_width_median_in": round(float(np.median(answer.half_width)) / INCH, 3),
        "off_rms_before_in": rms(now),
        "off_rms_after_one_turn_in": rms(off),
        "start_on_a_stop": share(on_stops(truth.trucks)),
        "usual_way": usual_way(setup, truth, allowed, rng),
        "turns_until_95_of_100_are": 1 if share(np.abs(off) <= allowed) >= 0.95 else None,
        "processor_time_a_truck_ms": round(1e3 * took / count, 2),
    }


def usual_way(setup, truth, allowed, rng):
    """Return how each corner by itself fares: off by so much, so many psi, as the planned truck answers there alone."""
    unknowns, step = truth.unknowns, float(setup.truck.instruments.gauge_step)
    if not all(unknowns.plain.has_bag) or any(unknowns.plain.joined):
        return None
    planned = unknowns.trucks(np.zeros((1, unknowns.count)), truth.trucks.state[:1])
    rest = planned._replace(state=truth.trucks.state[:1] * 0).settle(np.nan_to_num(unknowns.planned.set.pressure)[None])
    by = response(planned.rig, planned.load, rest).by_pressure[0]
    track = np.array([float(setup.truck.front.track), float(setup.truck.rear.track)])
    own = np.array([[by[k, k, i] + (1, -1)[i] * track[k] / 2 * by[2, k, i] for i in (0, 1)] for k in (0, 1)])
    now, read = truth, truth.readings.pressure
    turns, rmss = [], []
    for _ in range(MOST_TURNS):
        taped = over_wheels(setup, now.trucks.state) + now.readings.ride_height - now.trucks.ride_heights()
        taped -= float(setup.truck.front.ride_height)
        read = np.maximum(step * np.round((read - taped / own) / step), 0.0)
        now = settled(unknowns, now.trucks, rng, read)
        off = over_wheels(setup, now.trucks.state)
        turns.append(share(np.abs(off) <= allowed))
        rmss.append(rms(off))
    enough = next((turn for turn, part in enumerate(turns, start=1) if part >= 0.95), None)
    return {"corners_within_the_same_by_turn": turns, "off_rms_by_turn_in": rmss, "turns_until_95_of_100_are": enough}


def weighed(name, count, seed):
    """Return the figures of the bags as a scale, hooking a profile's trailer on."""
    setup = setup_of(name)
    alone = setup.without_trailer()
    before = measured(alone, count, seed, free=(0.0, 0.0, 0.0))
    rng = np.random.default_rng(seed + 2)
    load = setup.hitched().hitch_load * rng.uniform(0.75, 1.25, count)
    side = rng.normal(0.0, 150.0, count)
    plain = before.unknowns.plain
    on = point_load(load, np.asarray(float(setup.hitch.x)), np.zeros(()), plain.wheelbase)
    on = type(on)(on.axle, side, on.least_twist, on.overturning, on.overturning_front)
    after = settled(before.unknowns, before.trucks._replace(load=before.trucks.load + on), rng, level_pressures(setup))
    start = time.process_time()
    rows, spread, _ = weigh_pairs(setup, before.readings, after.readings, hooked=True)
    took = time.process_time() - start
    total = after.trucks.load
    truth = np.column_stack([total.axle, total.side_moment, on.axle, side, on.axle.sum(axis=-1)])
    inside = np.abs(rows[:, :7] - truth) <= NINETY_FIVE * spread[:, :7]
    names = (
        "axle_load_front",
        "axle_load_rear",
        "side_moment",
        "added_front",
        "added_rear",
        "added_side",
        "hitch_load",
    )
    free = ~on_stops(before.trucks) & ~on_stops(after.trucks)
    return {
        "in_band": dict(zip(names, map(share, inside.T), strict=True)),
        "in_band_off_stops": dict(zip(names, map(share, inside[free].T), strict=True)),
        "half_width_median_lb": {
            name: round(float(np.median(spread[:, k])) * NINETY_FIVE / 4.4482216)
            for k, name in enumerate(names)
            if k not in (2, 5)
        },
        "processor_time_a_pair_ms": round(1e3 * took / count, 2),
    }


def level_pressures(setup):
    """Return the pressures that level a setup."""
    return level_setup(setup).set.pressure


def share(flags):
    """Return a share, rounded."""
    return round(float(np.mean(flags)), 4)


def rms(off):
    """Return a root mean square of heights. [in]"""
    return round(float(np.sqrt(np.mean(off**2))) / INCH, 3)


def trips_until_sure(name, count, seed):
    """Return the median half width of a trim's heights after so many trips over a scale, each learnt from.

    Each truck is trimmed for the same loads and errors after every trip, so that what differs is what it has learnt. A
    truth that breaks a rule of the record, such as bags that could not hold the empty truck, is drawn again.
    """
    outfit, widths = Store(ROOT / "profiles").read_outfit(name), {}
    skid = outfit.profile.truck == "skid-truck"
    bought = read_record(Truck, SKID_TRUCK, "skid-truck.toml") if skid else outfit.truck  # before it learnt anything
    rng = np.random.default_rng(seed + 3)
    while len(widths.get(0, ())) < count:
        readings = make_readings(bought, draw_truth(bought, rng), rng, TRIPS[-1])
        day, same = readings[0].at.date(), int(rng.integers(1 << 30))
        try:
            taught = {trips: learnt_truck(calibrate(bought, readings[:trips]), day) for trips in TRIPS[1:]}
        except BadInput:
            continue
        for trips, truck in {0: bought, **taught}.items():
            truth = measured(Setup.of(outfit.profile, truck, outfit.trailer), TRIMS, same)
            half = trim_trucks(fit_readings(truth.unknowns, truth.readings)).half_width
            widths.setdefault(trips, []).append(np.median(half))
    by_trip = {trips: float(np.median(some)) for trips, some in widths.items()}
    sure = next((trips for trips, half in by_trip.items() if half < INCH / 4), None)
    return {
        "half_width_in_by_trips": {trips: round(half / INCH, 3) for trips, half in by_trip.items()},
        "trips_until_under_a_quarter": sure,
    }


def outside(found, path=(), *, band=False):
    """Yield the shares of bands that are not 93 to 97 %, each with where it stands."""
    for name, value in found.items():
        of_band = band or name in BANDS or path == ("scale_slips",)
        if isinstance(value, dict):
            yield from outside(value, (*path, name), band=of_band and name != "parameters")
        elif of_band and name != "sd_of_prior" and not STATED[0] <= value <= STATED[1]:
            yield f"{' / '.join((*path, name))}: {value}"


def parts(count, seed):
    """Yield what there is to do: where its figures stand, the function, and what it is given."""
    yield ("leak_against_cold",), drift.figures, (count, drift.ERRORS[:1])
    yield ("leak_against_cold, fine gauge",), drift.figures, (count, drift.ERRORS[1:])
    for name in calibration.ROUNDS:
        yield ("calibration", name), calibration.figures, (count, 4, (name,))
    for name in LEARNING:
        yield ("trips", name), trips_until_sure, (name, max(1, count // 50), seed)
    yield ("scale_slips",), weighing.figures, (count,)
    for name in PROFILES:
        yield (name, "trim"), trimmed, (name, count, seed)
        yield (name, "bags_as_scale"), weighed, (name, count, seed)


def main(count, seed, processes):
    """Print all figures; the longest parts are begun first."""
    found, work = {}, list(parts(count, seed))
    with ProcessPoolExecutor(processes) as pool:
        waiting = {pool.submit(do, *given): place for place, do, given in work}
        for done in as_completed(waiting):
            *into, name = waiting[done]
            (found.setdefault(into[0], {}) if into else found)[name] = done.result()
            print(f"{' / '.join(waiting[done])}: done", file=sys.stderr, flush=True)
    print(json.dumps(found | {"outside_93_to_97": sorted(outside(found))}, indent=1))


if __name__ == "__main__":
    given = [int(one) for one in sys.argv[1:4]]
    main(*given, *(1000, 1, os.cpu_count())[len(given) :])
