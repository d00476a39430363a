"""How much load must come off before a truck stands as wanted again, inside every limit of bags, axles and tyres."""

from __future__ import annotations

from dataclasses import fields
from itertools import product
from typing import Final, NamedTuple

import numpy as np

from planner.physics import levelling
from planner.physics.statics import Load
from planner.physics.truck_model import Rig
from planner.physics.validation import Array, Flags
from planner.plans.ratings import Carried, bags_decide, checks, misses_wanted
from planner.plans.setup import Setup, rig_of

TRIED: Final = 33  # shares tried in each of two rounds: the most that may stay is known to 1 / 1024 of the load
MARGIN: Final = 0.6  # [kg] taken off beyond that, so that the amount as it is written, to a pound or a kilogram, does
TRIED_NEARLY: Final = 17  # the same where a tape's error is given away
NEAR: Final = 0.9  # [-] of what a tape can tell is as near as a rise may come where it cannot be as wanted
ELSEWHERE: Final = ("gcwr", "front-axle-light")  # not what the truck itself has to carry


class Unloading(NamedTuple):
    """What to take off, evenly from all that lies there. [kg]

    bed : of the cargo on the truck
    trailer : of the trailer, its tongue ratio as it is
    """

    bed: float
    trailer: float


def unloading(setup: Setup) -> Unloading | None:
    """Return the least to take off so that the truck stands as wanted inside every limit.

    Parameters
    ----------
    setup : Setup

    Returns
    -------
    Unloading or None
        Off the bed if that is enough, else off the trailer, else off both in one ratio; None where not even the empty
        truck stands as wanted, or there is nothing to take off.
    """
    weights = np.array(
        [
            sum(float(item.weight) for item in setup.cargo),
            setup.trailer.weight if setup.trailer is not None else 0.0,
        ]
    )
    ways = np.array([off for off in ((1.0, 0.0), (0.0, 1.0), (1.0, 1.0)) if np.all(weights[np.array(off) > 0] > 0)])
    if not len(ways):
        return None
    rig = rig_of(setup.truck)
    cargo, towed = cargo_and_trailer_loads(setup, rig)
    less = scale_load(cargo, ways[:, 0]) + scale_load(towed, ways[:, 1])
    stays = most_that_stays(setup, rig, subtract_load(setup.load(rig), less), less)
    there = np.isfinite(stays)
    if not there.any():
        return None
    first = int(there.argmax())
    return Unloading(*(ways[first] * np.minimum((1.0 - stays[first]) * weights + MARGIN, weights)).tolist())


def cargo_and_trailer_loads(setup: Setup, rig: Rig) -> tuple[Load, Load]:
    """Return what the cargo and what the trailer put on the truck."""
    bare = setup.without_trailer().without_cargo()
    kerb = bare.load(rig)
    return subtract_load(setup.without_trailer().load(rig), kerb), subtract_load(setup.without_cargo().load(rig), kerb)


def most_that_stays(setup: Setup, rig: Rig, kept: Load, less: Load) -> Array:
    """Return the largest share of a load that may stay aboard, of many cases at once.

    Parameters
    ----------
    setup, rig
        Truck and wanted stance.
    kept, less : Load, shape (cases,)
        What stays, the truck and who is aboard with it, and what is taken off in part.

    Returns
    -------
    ndarray, shape (cases,)
        Share of ``less`` with which the truck stands as wanted inside every limit; where none does, as with an axle
        that stays a little high whatever lies there, with which a tape cannot tell how it stands from that. NaN where
        there is none. [-]
    """
    found = _most(setup, rig, kept, less, _stances(setup, 0.0), TRIED)
    lost = np.isnan(found)
    if lost.any():
        found[lost] = _most_nearly(setup, rig, kept.take(lost), less.take(lost))
    return found


def _most_nearly(setup: Setup, rig: Rig, kept: Load, less: Load) -> Array:
    """Return the same with what a tape cannot tell given away, as levelling gives it away: of shares of the most."""
    near = NEAR * float(setup.truck.instruments.tape_error)
    most = _most(setup, rig, kept, less, _stances(setup, near), TRIED_NEARLY)
    found, there = np.full(len(most), np.nan), np.isfinite(most)
    if there.any():
        share = most[there][:, None] * np.linspace(1.0, 0.0, TRIED_NEARLY)
        load = kept.take(there).column() + scale_load(less.take(there).column(), share)
        levelled = levelling.level(rig, load, setup.wanted)
        good = levelled.converged & _is_well(setup, rig, load, levelled.state)
        largest = np.take_along_axis(share, good.argmax(axis=1)[:, None], 1)[:, 0]
        found[there] = np.where(good.any(axis=1), largest, np.nan)
    return found


def _stances(setup: Setup, leeway: float) -> Array:
    """Return the wanted stance, or it and those with axles that have bags higher and lower by a leeway, (n, 3). [m]"""
    ways = [(0.0, leeway, -leeway) if has and leeway else (0.0,) for has in bags_decide(setup)[:2]]
    stances: Array = setup.wanted + np.array([(*off, 0.0) for off in product(*ways)])
    return stances


def _most(setup: Setup, rig: Rig, kept: Load, less: Load, stances: Array, tried: int) -> Array:
    """Return the largest share that may stay aboard in one of some stances, shape (cases,); NaN where there is none.

    tried : shares tried in each of two rounds
    """
    low, high = np.zeros(len(less.side_moment)), np.ones(len(less.side_moment))
    there = np.ones(len(low), bool)
    for _ in range(2):
        share = (low[:, None] + (high - low)[:, None] * np.linspace(0.0, 1.0, tried))[there]
        load = (kept.take(there).column() + scale_load(less.take(there).column(), share)).spread(share.shape)
        light = _axles_carry(setup, load)  # the others need no levelling, which is what takes the time
        good: Flags = np.zeros(len(light), bool)
        if light.any():
            good[light] = np.any(stands_well(setup, rig, load.take(light).column(), stances), axis=-1)
        good = good.reshape(share.shape)
        some: Flags = np.any(good, axis=1)
        there[there] = some
        if not some.any():
            break
        row, last = np.flatnonzero(some), tried - 1 - good[some, ::-1].argmax(axis=1)
        low[there], high[there] = share[row, last], share[row, np.minimum(last + 1, tried - 1)]
    return np.where(there, low, np.nan)


def stands_well(setup: Setup, rig: Rig, load: Load, stance: Array) -> Flags:
    """Return in which cases a stance is there inside every limit of bags, axles, tyres and GVWR, as a tape can tell."""
    asked = levelling.ask(rig, load, stance, split_gives=True)
    good: Flags = asked.found & ~asked.passed.any(axis=(-1, -2)) & _is_well(setup, rig, load, asked.state)
    return good


def _is_well(setup: Setup, rig: Rig, load: Load, state: Array) -> Flags:
    """Return which states are as wanted, in what bags decide, and pass no limit of axles, tyres or GVWR."""
    off = misses_wanted(setup, state, setup.wanted) & bags_decide(setup)
    right: Flags = np.asarray(np.logical_not(np.any(off, axis=-1)))
    return right & _inside_ratings(setup, load, rig.tyre_loads(load, rig.axle_moments(load, state)))


def _axles_carry(setup: Setup, load: Load) -> Flags:
    """Return which loads pass no limit that is the same in every stance: those of axles and GVWR."""
    return _inside_ratings(setup, load, np.full((2, 2), np.nan))  # a tyre load that is not known passes nothing


def _inside_ratings(setup: Setup, load: Load, tyres: Array) -> Flags:
    """Return which loads of axles and of tyres pass no limit of the truck itself."""
    good, nothing = np.asarray(True), np.zeros(())
    for check in checks(
        setup.without_trailer(), Carried(load.axle, tyres, None, None, None, nothing, nothing, nothing)
    ):
        if check.level == "stop" and check.rule not in ELSEWHERE:
            good = np.logical_and(good, ~check.passed)
    return good


def scale_load(load: Load, share: Array | float) -> Load:
    """Return a share of a load."""
    part = np.asarray(share, float)
    return Load(load.axle * part[..., None], *(value * part for value in _scalars(load)))


def _scalars(load: Load) -> list[Array]:
    """Return all of a load but what the axles carry."""
    return [getattr(load, field.name) for field in fields(load) if field.name != "axle"]


def subtract_load(load: Load, other: Load) -> Load:
    """Return what a load has beyond another."""
    return load + scale_load(other, -1.0)
