"""The one place where truck, trailer, cargo and hitch become a load on the suspension, of one case or of many."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.physics import statics
from planner.physics.array_layout import BLOCK, by_axle
from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.statics import Hitched, Load
from planner.physics.truck_model import Rig
from planner.physics.validation import Array
from planner.plans.setup import Setup, roll_axis_heights
from planner.records import PlacedLoad, Truck

Given = Mapping[str, Array]
AS_IT_IS: Final[Given] = MappingProxyType({})


class LoadCase(NamedTuple):
    """What a truck carries and tows; the shapes are those of what was given.

    load : on the suspension, kerb included
    gross : the trailer's weight; 0 with no trailer [N]
    tongue_share : of it on the hitch, bars slack [-]
    hitched : hitch load, bars' moment, load on the trailer's axles; zeros with no trailer [N, N·m, N]
    """

    load: Load
    gross: Array
    tongue_share: Array
    hitched: Hitched


def load_case(setup: Setup, rig: Rig, given: Given = AS_IT_IS, *, tongue_on: Array | float | None = None) -> LoadCase:
    """Return what a setup puts on its truck, with any of its numbers given as arrays that broadcast.

    Parameters
    ----------
    setup : Setup
    rig : Rig
        Of its truck, or of many trucks that may be it, all of one wheelbase.
    given : mapping of input key to array
        "weight" [kg], "tongue", "left", "bars" [-], "axle_distance" [m] of the trailer; "cargo.0.weight" [kg],
        "cargo.0.x", "cargo.0.y" [m] of each thing on the truck; "more.weight" [kg], "more.x" [m] of a load to come;
        "roll_axis" [m], shape (..., 2);
        "side_slope" [rad] of the ground, its left side higher. What is left out is as the setup has it.
    tongue_on : array_like, optional
        Share of the tongue load that is on the truck, bars slack: hitching. Left out: all of it, bars set.

    Returns
    -------
    LoadCase

    Notes
    -----
    Statics only: `statics.point_load` of each thing at its place, `statics.hitched` for the trailer. A thing on the
    truck whose height nobody gave stands at the height of the kerb's mass; the hitch load acts at the hitch's height.

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.setup import Setup
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> setup = Setup.of(mill.profile, mill.truck, mill.trailer)
    >>> from planner.plans.setup import rig_of
    >>> load_case(setup, rig_of(setup.truck)).load.axle.shape
    (2,)
    """
    axis = given.get("roll_axis", roll_axis_heights(setup.truck))
    total = rig.kerb
    for load in _on_truck(setup, rig, given, axis):
        total += load
    gross, share = trailer_weight(setup, given)
    hitch = setup.hitch
    if setup.trailer is None or hitch is None:
        return LoadCase(_on_ground(total, given), gross, share, Hitched(np.zeros(()), np.zeros(()), np.zeros(())))
    bars = np.zeros(()) if tongue_on is not None else given.get("bars", np.asarray(setup.trailer.bars))
    length = given.get("axle_distance", np.asarray(float(setup.trailer.axle_distance)))
    on = statics.hitched_loads(gross, gross * share, -hitch.x, length, bars)
    hitch_load = on.hitch_load if tongue_on is None else on.hitch_load * np.asarray(tongue_on)
    arm = setup.hitch_arm_at(given.get("left", np.asarray(setup.left_share)))
    total += _at(rig, hitch_load, np.asarray(float(hitch.x)), arm, np.asarray(float(hitch.height)), axis)
    if np.any(on.bar_moment):
        total += statics.pitch_moment(on.bar_moment, rig.wheelbase)
    return LoadCase(_on_ground(total, given), gross, share, on)


def loads_of(setups: Sequence[Setup], rig: Rig, tongue_on: Array | None = None) -> Load:
    """Return what many setups with one truck, one trailer and one hitch put on the truck: that of `load_case` of each.

    Parameters
    ----------
    setups : sequence of Setup, (n,)
        They differ in what is on the truck, in who is aboard, and in the left share of the hitch load.
    rig : Rig
    tongue_on : array, shape (s,), optional
        Shares of the tongue load that are on the truck, bars slack. Left out: all of it, bars set.

    Returns
    -------
    Load
        Of shape (n,), or (n, s) with shares.

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.setup import Setup
    >>> from planner.plans.setup import rig_of
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> setup = Setup.of(mill.profile, mill.truck, mill.trailer)
    >>> loads_of([setup, replace(setup, aboard=())], rig_of(setup.truck)).axle.shape
    (2, 2)
    """
    bare, left = replace(setups[0], cargo=(), aboard=()), np.array([one.left_share for one in setups])
    case, things = list[int](), list[PlacedLoad]()
    for n, one in enumerate(setups):
        things += [*one.aboard, *one.cargo]
        case += [n] * (len(things) - len(case))
    numbers = [(item.weight, item.x, item.y, item.z) for item in things]
    weight, x, y, z = np.array(numbers, float).reshape(-1, 4).T
    on_truck = _gathered(point_load_on(bare.truck, rig, weight * G, x, y, z), np.array(case, int), len(setups))
    if tongue_on is None:
        return on_truck + load_case(bare, rig, {"left": left}).load
    return on_truck.column() + load_case(bare, rig, {"left": left[:, None]}, tongue_on=tongue_on).load


def _gathered(each: Load, case: NDArray[np.int_], count: int) -> Load:
    """Return the loads of each case as one, shape (count,)."""

    def summed(values: Array) -> Array:
        return np.bincount(case, values, count).astype(float)

    front, rear = (summed(each.axle[:, k]) for k in (0, 1))
    rest = (each.side_moment, each.least_twist, each.overturning, each.overturning_front)
    return Load(by_axle(front, rear), *(summed(values) for values in rest))


def trailer_weight(setup: Setup, given: Given = AS_IT_IS) -> tuple[Array, Array]:
    """Return the trailer's weight [N] and the share of it on its tongue [-]; noughts with no trailer.

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.setup import Setup
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> setup = Setup.of(mill.profile, mill.truck, mill.trailer)
    >>> weight, share = trailer_weight(setup)
    >>> round(float(weight)), round(float(share), 3)
    (32027, 0.12)
    """
    trailer = setup.trailer
    if trailer is None:
        return np.zeros(()), np.zeros(())
    return given.get("weight", np.asarray(trailer.weight)) * G, given.get("tongue", np.asarray(trailer.tongue_share))


def point_load_on(truck: Truck, rig: Rig, load: Array, x: Array, y: Array, z: Array | None = None) -> Load:
    """Return what loads [N] at places [m] put on a truck; z above ground, left out: as high as the truck's own mass.

    Examples
    --------
    >>> from planner import read_truck
    >>> truck = read_truck("profiles/trucks/ridge-truck.toml")
    >>> from planner.plans.setup import rig_of
    >>> point_load_on(truck, rig_of(truck), np.array(1000.0), np.array(0.0), np.array(0.5)).axle.tolist()
    [0.0, 1000.0]
    """
    return _at(rig, load, x, y, np.asarray(truck.mass_height) if z is None else z, roll_axis_heights(truck))


def _at(rig: Rig, load: Array, x: Array, y: Array, z: Array, roll_axis: Array) -> Load:
    """Return what loads at places put on a truck with its roll axis at a height at both axles."""
    over = statics.height_over_roll_axis(z, x, rig.wheelbase, roll_axis)
    return statics.point_load(load, x, y, rig.wheelbase, over)


def _on_ground(load: Load, given: Given) -> Load:
    """Return a load on the ground that is given: level, or higher on one side."""
    return load.on_side_slope(given["side_slope"]) if "side_slope" in given else load


def _given_of(setup: Setup, given: Given, n: int) -> tuple[Array, ...]:
    """Return weight [kg], x and y [m] of a thing on the truck, as given or as it is."""
    item = setup.cargo[n]
    own = {"weight": item.weight, "x": item.x, "y": item.y}
    return tuple(np.asarray(given.get(f"cargo.{n}.{name}", value)) for name, value in own.items())


def _on_truck(setup: Setup, rig: Rig, given: Given, axis: Array) -> Iterator[Load]:
    """Yield what stands on the truck: in one batch what is as it is, in batches that fit the cache what is given."""
    changed = sorted({int(key.split(".")[1]) for key in given if key.startswith("cargo.")})
    as_it_is: list[PlacedLoad] = [*setup.aboard, *(item for n, item in enumerate(setup.cargo) if n not in changed)]
    while changed:
        together = max(1, 8 * BLOCK // max(np.broadcast(*_given_of(setup, given, changed[0])).size, 1))
        things, changed = changed[:together], changed[together:]
        numbers = [number for n in things for number in _given_of(setup, given, n)]
        weight, x, y = (np.moveaxis(np.stack(np.broadcast_arrays(*numbers[k::3])), 0, -1) for k in range(3))
        z = np.array([setup.cargo[n].z for n in things])
        yield _at(rig, weight * G, x, y, z, axis[..., None, :]).summed()
    if as_it_is:
        weight, x, y, z = np.array([(item.weight, item.x, item.y, item.z) for item in as_it_is]).T
        yield _at(rig, weight * G, x, y, z, axis[..., None, :]).summed()
    if "more.weight" in given or "more.x" in given:
        weight, x = (np.asarray(given.get(f"more.{name}", 0.0)) for name in ("weight", "x"))
        yield _at(rig, weight * G, x, np.zeros(()), np.asarray(setup.truck.mass_height), axis)
