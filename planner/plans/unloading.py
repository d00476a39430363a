"""How much load must come off before a truck stands as wanted again, inside every limit of bags, axles and tyres."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields
from typing import Final, NamedTuple

import numpy as np

from planner.physics import levelling
from planner.physics.checks import Array, Flags
from planner.physics.rig import Rig
from planner.physics.statics import Load
from planner.plans.labels import Carried, bags_decide, checks, missed
from planner.plans.load_case import loads_of
from planner.plans.setup import Setup, rig_of

TRIED: Final = 9  # shares tried in each of
ROUNDS: Final = 3  # rounds: the most that may stay is known to 1 / 512 of the load
TINY: Final = 1e-9  # [kg] less is nothing to take off
MARGIN: Final = 0.6  # [kg] taken off beyond that, so that the amount as it is written, to a pound or a kilogram, does
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
    return unloadings([setup])[0]


def unloadings(setups: Sequence[Setup]) -> list[Unloading | None]:
    """Return the same of many setups with one truck, one trailer and one hitch."""
    rig, wanted = rig_of(setups[0].truck), np.array([one.wanted for one in setups])
    trailer = setups[0].trailer.weight if setups[0].trailer is not None else 0.0
    weights = np.array([(sum(float(item.weight) for item in one.cargo), trailer) for one in setups])
    always, cargo, towed = parts(setups, rig)
    found: list[Unloading | None] = [None] * len(setups)
    for less, kept, of in ((cargo, towed, (1, 0)), (towed, cargo, (0, 1)), (cargo + towed, times(cargo, 0.0), (1, 1))):
        some = np.array([one is None for one in found]) & np.all(weights * of >= np.array(of) * TINY, axis=1)
        if some.any():
            stays = most_that_stays(setups[0], rig, (always + kept).take(some), less.take(some), wanted[some])
            off = np.minimum((1.0 - stays)[:, None] * weights[some] + MARGIN, weights[some]) * of
            for case, stay, bed_and_trailer in zip(np.flatnonzero(some), stays, off, strict=True):
                found[case] = Unloading(*map(float, bed_and_trailer)) if np.isfinite(stay) else None
    return found


def parts(setups: Sequence[Setup], rig: Rig) -> tuple[Load, Load, Load]:
    """Return what those aboard, the cargo and the trailer of each put on the truck beside its kerb weight, (n,)."""
    alone = [one.without_trailer() for one in setups]
    bare = loads_of([one.without_cargo() for one in alone], rig)
    with_trailer = loads_of([one.without_cargo() for one in setups], rig)
    return minus(bare, rig.kerb), minus(loads_of(alone, rig), bare), minus(with_trailer, bare)


def most_that_stays(setup: Setup, rig: Rig, kept: Load, less: Load, wanted: Array | None = None) -> Array:
    """Return the largest share of a load that may stay aboard, of many cases at once.

    Parameters
    ----------
    setup, rig
        Truck and wanted stance.
    kept, less : Load, shape (cases,)
        What stays on the truck beside its kerb weight, and what is taken off in part.
    wanted : array, shape (cases, 3), optional
        Of each; that of the setup, where left out. [m, m, rad]

    Returns
    -------
    ndarray, shape (cases,)
        Share of ``less`` with which the truck stands as wanted inside every limit; NaN where there is none. [-]
    """
    count = len(less.side_moment)
    wanted = setup.wanted if wanted is None else wanted[:, None]
    low, high, found = np.zeros(count), np.ones(count), np.full(count, np.nan)
    for _ in range(ROUNDS):
        share = low[:, None] + (high - low)[:, None] * np.linspace(0.0, 1.0, TRIED)
        load = kept.column() + times(less.column(), share) + rig.kerb
        good = stands_well(setup, rig, load, wanted)
        last = TRIED - 1 - good[:, ::-1].argmax(axis=1)
        best = np.take_along_axis(share, last[:, None], 1)[:, 0]
        there = good.any(axis=1)
        found = np.where(there, best, found)
        above = np.take_along_axis(share, np.minimum(last + 1, TRIED - 1)[:, None], 1)[:, 0]
        low, high = np.where(there, best, low), np.where(there, above, high)
    return found


def stands_well(setup: Setup, rig: Rig, load: Load, wanted: Array | None = None) -> Flags:
    """Return in which cases the truck, levelled, stands as wanted and passes no limit of bags, axles, tyres or GVWR.

    ``wanted`` : rises and roll of each; that of the setup, where left out [m, m, rad]
    """
    wanted = setup.wanted if wanted is None else wanted
    levelled = levelling.level(rig, load, wanted)
    height, _ = rig.corners(load, levelled.state)
    nothing = np.zeros(())
    carried = Carried(
        load.axle,
        rig.tyre_loads(load, rig.axle_moments(load, levelled.state)),
        levelled.pressure,
        height,
        levelled.pressure * rig.area(height),
        nothing,
        nothing,
        nothing,
    )
    good = reached(setup, levelled.state, wanted)
    for check in checks(setup.without_trailer(), carried):
        if check.level == "stop" and check.rule not in ELSEWHERE:
            good &= ~check.passed
    return good


def reached(setup: Setup, state: Array, wanted: Array | None = None) -> Flags:
    """Return in which states the truck stands as wanted, in what its bags are to decide, as near as a tape can tell."""
    off = missed(setup, state, setup.wanted if wanted is None else wanted) & bags_decide(setup)
    good: Flags = np.logical_not(off.any(axis=-1))
    return good


def times(load: Load, share: Array | float) -> Load:
    """Return a share of a load."""
    part = np.asarray(share, float)
    return Load(load.axle * part[..., None], *(value * part for value in _scalars(load)))


def _scalars(load: Load) -> list[Array]:
    """Return all of a load but what the axles carry."""
    return [getattr(load, field.name) for field in fields(load) if field.name != "axle"]


def minus(load: Load, other: Load) -> Load:
    """Return what a load has beyond another."""
    return load + times(other, -1.0)
