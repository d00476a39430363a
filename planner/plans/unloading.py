"""How much load must come off before a truck stands as wanted again, inside every limit of bags, axles and tyres."""

from __future__ import annotations

from dataclasses import fields
from typing import Final, NamedTuple

import numpy as np

from planner.physics import levelling
from planner.physics.checks import Array, Flags
from planner.physics.rig import Rig
from planner.physics.statics import Load
from planner.plans.labels import Carried, bags_decide, checks, missed
from planner.plans.setup import Setup, rig_of

TRIED: Final = 9  # shares tried in each of
ROUNDS: Final = 3  # rounds: the most that may stay is known to 1 / 512 of the load
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
    rig = rig_of(setup.truck)
    weights = (
        sum(float(item.weight) for item in setup.cargo),
        setup.trailer.weight if setup.trailer is not None else 0.0,
    )
    cargo, towed = parts(setup, rig)
    nothing = times(cargo, 0.0)
    for less, kept, of in ((cargo, towed, (1, 0)), (towed, cargo, (0, 1)), (cargo + towed, nothing, (1, 1))):
        if all(weight > 0 for weight, part in zip(weights, of, strict=True) if part):
            stays = float(most_that_stays(setup, rig, _as_case(kept), _as_case(less))[0])
            if np.isfinite(stays):
                off = [
                    part * min((1.0 - stays) * weight + MARGIN, weight)
                    for part, weight in zip(of, weights, strict=True)
                ]
                return Unloading(*off)
    return None


def parts(setup: Setup, rig: Rig) -> tuple[Load, Load]:
    """Return what the cargo and what the trailer put on the truck."""
    bare = setup.without_trailer().without_cargo()
    kerb = bare.load(rig)
    return minus(setup.without_trailer().load(rig), kerb), minus(setup.without_cargo().load(rig), kerb)


def most_that_stays(setup: Setup, rig: Rig, kept: Load, less: Load) -> Array:
    """Return the largest share of a load that may stay aboard, of many cases at once.

    Parameters
    ----------
    setup, rig
        Truck and wanted stance.
    kept, less : Load, shape (cases,)
        What stays on the truck beside its kerb weight, and what is taken off in part.

    Returns
    -------
    ndarray, shape (cases,)
        Share of ``less`` with which the truck stands as wanted inside every limit; NaN where there is none. [-]
    """
    count = len(less.side_moment)
    low, high, found = np.zeros(count), np.ones(count), np.full(count, np.nan)
    for _ in range(ROUNDS):
        share = low[:, None] + (high - low)[:, None] * np.linspace(0.0, 1.0, TRIED)
        load = _with_axis(kept) + times(_with_axis(less), share) + rig.kerb
        good = stands_well(setup, rig, load)
        last = TRIED - 1 - good[:, ::-1].argmax(axis=1)
        best = np.take_along_axis(share, last[:, None], 1)[:, 0]
        there = good.any(axis=1)
        found = np.where(there, best, found)
        above = np.take_along_axis(share, np.minimum(last + 1, TRIED - 1)[:, None], 1)[:, 0]
        low, high = np.where(there, best, low), np.where(there, above, high)
    return found


def stands_well(setup: Setup, rig: Rig, load: Load) -> Flags:
    """Return in which cases the truck, levelled, stands as wanted and passes no limit of bags, axles, tyres or GVWR."""
    levelled = levelling.level(rig, load, setup.wanted)
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
    good = reached(setup, levelled.state)
    for check in checks(setup.without_trailer(), carried):
        if check.level == "stop" and check.rule not in ELSEWHERE:
            good &= ~check.passed
    return good


def reached(setup: Setup, state: Array) -> Flags:
    """Return in which states the truck stands as wanted, in what its bags are to decide, as near as a tape can tell."""
    off = missed(setup, state, setup.wanted) & bags_decide(setup)
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


def _as_case(load: Load) -> Load:
    """Return one load as a row of one case."""
    return Load(load.axle[None], *(np.asarray(value)[None] for value in _scalars(load)))


def _with_axis(load: Load) -> Load:
    """Return a load with an axis for the shares tried."""
    return Load(load.axle[:, None], *(value[:, None] for value in _scalars(load)))
