"""Fleets of invented trucks and trailers: those of the demo with other numbers, every way of plumbing among them."""

import tomllib
from functools import partial
from pathlib import Path

import numpy as np
import tomlkit

from planner import level
from planner.plans.fleet import NO_BARS, NO_HITCH
from planner.plans.setup import rig_of
from planner.plans.stops import find_stops, stopping
from planner.records import Trailer, Truck, read_record
from planner.store import slug

CLOSE = 1.0  # [Pa] what the stops of a search leave between one case and the same among others
DEMO = Path(__file__).parents[2] / "profiles"
LIKE = {"trucks": ("ridge-truck", "yard-truck"), "trailers": ("band-mill", "log-deck", "slab-hauler")}
YARDS = ("Mill Road", "North Ridge", "Quarry", "Creek", "Sawdust Lane", "Upper Lot", "Landing", "Kiln", "Old Barn")


def some_trucks(count, seed=1, *, plumbing=("separate", "joined")):
    """Return so many trucks like the demo's: weights, ratings and bags' lines by chance."""
    rng, likes = np.random.default_rng(seed), _tables("trucks")
    return [read_record(Truck, _truck(likes[n % len(likes)], n, rng, plumbing), "truck") for n in range(count)]


def some_trailers(count, seed=2):
    """Return so many trailers like the demo's: weights, tongue ratios, bars and lengths by chance."""
    rng, likes = np.random.default_rng(seed), _tables("trailers")
    return [read_record(Trailer, _trailer(likes[n % len(likes)], n, rng), "trailer") for n in range(count)]


def write_yard(folder, trucks, trailers):
    """Write so many trucks and trailers into a folder of profiles, in place of those that are there."""
    numbers = {
        "trucks": (trucks, 1, partial(_truck, plumbing=("separate", "joined"))),
        "trailers": (trailers, 2, _trailer),
    }
    for kind, (count, seed, made) in numbers.items():
        rng, likes, home = np.random.default_rng(seed), _tables(kind), folder / kind
        home.mkdir(parents=True, exist_ok=True)
        for old in home.glob("*.toml"):
            old.unlink()
        for n in range(count):
            table = made(likes[n % len(likes)], n, rng)
            (home / f"{slug(table['name'])}.toml").write_text(tomlkit.dumps(table), "utf-8")


def _tables(kind):
    return [tomllib.loads((DEMO / kind / f"{name}.toml").read_text("utf-8")) for name in LIKE[kind]]


def _times(text, by):
    """Return a quantity as it is written, so many times as much."""
    number, unit = text.split(maxsplit=1)
    return f"{float(number) * by} {unit}"


def _truck(like, n, rng, plumbing):
    """Return the table of a truck like another."""
    table = {name: dict(value) if isinstance(value, dict) else value for name, value in like.items()}
    table |= {"name": f"{YARDS[n % len(YARDS)]} truck {n + 1}", "gcwr": _times(like["gcwr"], rng.uniform(0.9, 1.1))}
    table["gvwr"] = _times(like["gvwr"], rng.uniform(0.95, 1.0))
    table["kerb"] |= {"left_share": rng.uniform(0.485, 0.515)}
    table["kerb"]["rear_axle"] = _times(like["kerb"]["rear_axle"], rng.uniform(0.98, 1.1))
    for name in ("front", "rear"):
        table[name]["gawr"] = _times(like[name]["gawr"], rng.uniform(0.94, 1.0))
        if "bag" in like[name]:
            table[name]["plumbing"] = str(rng.choice(plumbing))
    by = rng.uniform(0.8, 1.1)
    tested = {"d_value": f"{16 + n % 7} kN", "v_value": f"{8 + n % 5} kN"} if n % 3 == 0 else {}
    more = [tested | {"trailer_rating": _times(hitch["trailer_rating"], by)} for hitch in like["hitches"]]
    table["hitches"] = [hitch | one for hitch, one in zip(like["hitches"], more, strict=True)]
    return table


def _trailer(like, n, rng):
    """Return the table of a trailer like another, loaded by chance."""
    table = {name: value for name, value in like.items() if name not in ("deck", "underside")}
    behind = like["coupling"] in ("ball", "pintle")
    return table | {
        "name": f"{YARDS[n * 5 % len(YARDS)]} trailer {n + 1}",
        "gross_weight": _times(like["gvwr"], rng.uniform(0.3, 1.05)),
        "tongue_ratio": rng.uniform(0.08, 0.16) if behind else rng.uniform(0.14, 0.26),
        "axle_distance": _times(like["axle_distance"], rng.uniform(0.8, 1.2)),
        "left_share": rng.uniform(0.48, 0.52),
        "bars": float(rng.choice([0.0, rng.uniform(0.3, 1.0)])) if behind else 0.0,
    }


def differences(fleet, truck, trailer):
    """Return what of a pair differs from a `level` call of it alone, in words."""
    one, other = fleet.trucks[truck], fleet.trailers[trailer]
    stop, number = fleet.stop(truck, trailer), int(fleet.hitch[truck, trailer])
    if number < 0:
        hitches = [hitch for hitch in one.hitches if hitch.coupling == other.coupling]
        bars = other.bars > 0 and hitches and all(hitch.x >= 0 for hitch in hitches)
        right = {NO_HITCH: not hitches, NO_BARS: bars}[stop]
        return [] if right else [f"{stop.code} is not so"]
    answer = level(one, trailer=other, hitch=one.hitches[number].name)
    codes, found = {finding.code for finding in stopping(answer.setup, answer.findings)}, []
    alone = find_stops(answer.setup, rig_of(one), {"weight": np.array([other.weight])}, (1,))
    first = alone.stops[alone.code[0] - 1] if alone.code[0] else None
    if (stop and stop.code) != (first and first.code):
        found.append(f"stopped by {stop}, alone by {first}")
    if bool(fleet.takes[truck, trailer]) == bool(codes):
        found.append(f"takes it: {fleet.takes[truck, trailer]}, alone {codes}")
    if stop is not None and stop.kind == "label" and stop.code not in codes:
        found.append(f"{stop.code} is not among {codes}")
    pressure = np.nan_to_num(fleet.pressure[truck, trailer])
    apart = np.abs(pressure - np.nan_to_num(answer.pressure)).max()
    if apart > CLOSE:
        found.append(f"pressures {apart:.0f} Pa apart")
    return found
