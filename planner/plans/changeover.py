"""From one profile to another: bag by bag, in the order that twists the frame least and stays inside limits."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import permutations, product
from typing import Final, NamedTuple

import numpy as np

from planner.physics.air_flow import FREE_AIR_PRESSURE
from planner.physics.equilibrium import HeldPressure, SealedAir
from planner.physics.statics import Load
from planner.physics.truck_model import Rig
from planner.physics.validation import Array, Codes, Flags
from planner.plans.answer import Stance
from planner.plans.saved_state import Standing
from planner.plans.setup import rig_of
from planner.plans.valve_order import SEA_LEVEL, Airing, Index, Looked, Looks, Rests, Strain, Turns, rest
from planner.records import BadInput, Problem

SAME_TWIST: Final = 0.1  # [-] orders whose twist differs by less are alike: tyre and spring rates are known no better
LEAST_TWIST: Final = 1.0  # [N·m] the same in absolute terms

Corner = tuple[int, int]  # axle, side
Block = tuple[Corner, ...]  # corners that are aired together


@dataclass(frozen=True, eq=False)
class Move:
    """One thing to do at the valves.

    Attributes
    ----------
    corners : aired together, each as (axle, side)
    before, pressure : what all gauges read before it and after it, NaN with no bag, shape (2, 2) [Pa]
    stance : where the truck then stands
    twist : front axle's side moment beyond the split that twists the frame least, then [N·m]
    outside : the Limit each corner is past then, shape (2, 2)
    passed : the Limit each corner is past on the way, where it is past none before and after, shape (2, 2)
    """

    corners: Block
    before: Array
    pressure: Array
    stance: Stance
    twist: float
    outside: Codes
    passed: Codes


@dataclass(frozen=True, eq=False)
class ChangeOver:
    """The way from one profile's pressures to another's, with the other's whole load aboard.

    Attributes
    ----------
    before, after : the two profiles as they stand
    start : gauge pressures as they were set, under the old load, NaN with no bag, shape (2, 2) [Pa]
    reads : what the gauges read with the new load aboard before a valve is opened, alike [Pa]
    end : gauge pressures to come to, to the gauge's step, alike [Pa]
    moves : in the order to make them; none where nothing changes
    start_twist, start_outside : with the new load aboard before a valve is opened
    peak_twist : the greatest from there on to the end [N·m]
    worst_twist : the greatest from there on in the worst of the orders compared [N·m]
    orders : how many orders were compared
    together : whether all gauges end within a step of `end`
    air_in, air_out : free air that goes into and out of each corner over all moves, shape (2, 2) [m³]
    """

    before: Standing
    after: Standing
    start: Array
    reads: Array
    end: Array
    moves: tuple[Move, ...]
    start_twist: float
    start_outside: Codes
    peak_twist: float
    worst_twist: float
    orders: int
    together: bool
    air_in: Array
    air_out: Array

    @property
    def change(self) -> Array:
        """What each gauge goes up, < 0 down, from what it reads before a valve is opened, shape (2, 2). [Pa]"""
        change: Array = self.end - self.reads
        return change

    @property
    def drift(self) -> float:
        """The most that a gauge moves in one move while its own valve is shut. [Pa]"""
        most = 0.0
        for move in self.moves:
            moved = np.abs(move.pressure - move.before)
            most = max(most, *(moved[k, i] for k in (0, 1) for i in (0, 1) if (k, i) not in move.corners))
        return most

    @property
    def air_needed(self) -> float:
        """Free air that goes into the bags, over all moves. [m³]"""
        return float(np.nansum(self.air_in))

    @property
    def air_lost(self) -> float:
        """Free air let out of them, over all moves; it is lost. [m³]"""
        return float(np.nansum(self.air_out))


class _Orders(NamedTuple):
    """Orders of airing: corners together, shape (n, blocks, 2, 2), and aims of the first round, (n, 2, 2) [Pa]."""

    blocks: Flags
    aims: Array


def change_over(before: Standing, after: Standing) -> ChangeOver:
    """Return the way from one profile to another.

    Parameters
    ----------
    before, after : the profiles as they stand; of one truck

    Returns
    -------
    ChangeOver

    Raises
    ------
    BadInput
        If they are of two trucks.
    ArithmeticError
        If no order of the corners finds rest all the way.

    Notes
    -----
    Load: all of the profile that is changed to, trailer hitched, as its pressures are read under that load; the end
    is then as level as that profile is. The load changes while all valves are shut, at one temperature and at sea
    level: each bag keeps (P + p) V, so the gauges read something else before the first turn.

    Every order of the corners is compared, each axle's pair together or one side after the other, all the way in the
    first round or half way in the first and the rest in the second; rounds go on until all gauges are within a step of
    where they shall be (`Airing.air`). While one valve is open the bags with shut valves keep their air. First come
    the orders that come together; of them those that go least beyond what start and end are outside of a limit; of
    them those that never twist the frame more than it is twisted at the start or the end, or, where there are none,
    those that twist it least; of them the one with the fewest turns of a valve, then with the least twist. Twist and
    limits count over the whole of each move, the start included.

    Free air is what ISO 8778 calls so, 100 kPa at 20 °C: V = Δ[(P + p) V_bag] / 100 kPa, bags at 20 °C at sea level,
    over each opening of a valve; what goes in and what goes out are summed apart.

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.saved_state import standing
    >>> read = open_folder("profiles").read_outfit
    >>> outfits = [read(slug) for slug in ("mill-bed-empty", "mill-on-the-hill-road")]
    >>> one, other = (standing(each.profile, each.truck, each.trailer) for each in outfits)
    >>> [move.corners for move in change_over(one, other).moves]  # rear left first, then rear right
    [((1, 0),), ((1, 1),)]
    """
    if before.setup.truck != after.setup.truck:
        got = f"{before.setup.truck.name} and {after.setup.truck.name}"
        raise BadInput(
            [
                Problem(
                    "change-over",
                    "truck",
                    got,
                    "both profiles must be of the same truck",
                    "choose two profiles of one truck",
                )
            ]
        )
    rig, end = rig_of(after.setup.truck), after.answer.set.pressure
    step = float(after.setup.truck.instruments.gauge_step)
    airing = Airing(rig, after.setup.load(rig), np.nan_to_num(end), step)
    both = air_as_set(rig, before, after)
    first = rest(rig, airing.load, SealedAir(both.amount[:1], SEA_LEVEL), both.state[:1])
    start, aimed = airing.strain(first), airing.strain(both.take(slice(1, 2)))
    orders = orders_of(rig, first.pressure[0], airing)
    turns, last = airing.air(first, orders.blocks, orders.aims)
    looks = airing.look(turns, start, len(last.state))
    if not (start.converged.all() and looks.rests.any()):
        raise ArithmeticError("the truck does not settle on the way: set it by tape, not by gauge")
    together = airing.together(last.pressure)
    best = _best(turns, looks, start, aimed, together)
    mine = np.flatnonzero(turns.order == best)
    air_in, air_out = _free_air(rig, turns.take(mine))
    return ChangeOver(
        before=before,
        after=after,
        start=before.answer.set.pressure,
        reads=_bags_only(rig, first.pressure[0]),
        end=end,
        moves=tuple(_moves(airing, turns, mine, looks.looked)),
        start_twist=float(start.twist[0]),
        start_outside=start.outside[0],
        peak_twist=float(looks.worst[best, 0]),
        worst_twist=float(looks.worst[looks.rests, 0].max()),
        orders=_different(turns, looks.rests),
        together=bool(together[best]),
        air_in=air_in,
        air_out=air_out,
    )


def air_as_set(rig: Rig, *stands: Standing) -> Rests:
    """Return each profile at its own pressures under its own load."""
    loads = [one.setup.load(rig) for one in stands]
    load = Load(*map(np.stack, zip(*(vars(load).values() for load in loads), strict=True)))
    gauge = np.nan_to_num([one.answer.set.pressure for one in stands])
    return rest(rig, load, HeldPressure(gauge), np.array([_near(one) for one in stands]))


def _near(stands: Standing) -> Array:
    """Return a state to settle from. [m, m, rad, N·m]"""
    stance = stands.answer.set.stance
    return np.array([stance.front, stance.rear, stance.roll, float(stands.answer.side_moment[0])])


def _bags_only(rig: Rig, pressure: Array) -> Array:
    """Return pressures with NaN where there is no bag, shape (2, 2). [Pa]"""
    return np.where(rig.has_bag[:, None], pressure, np.nan)


def orders_of(rig: Rig, reads: Array, airing: Airing) -> _Orders:
    """Return every order of the corners with bags, each the whole way at once and half way first."""
    half = airing.step * np.round((reads + airing.end) / 2.0 / airing.step)
    half = np.where(np.abs(half - airing.end) <= 1.5 * airing.step, airing.end, half)
    ways = [_ways(k, rig) for k in (0, 1)]
    every = [order for chosen in product(*ways) for order in permutations([block for way in chosen for block in way])]
    blocks = np.zeros((len(every), 4, 2, 2), bool)
    for n, order in enumerate(every):
        for place, block in enumerate(order):
            for corner in block:
                blocks[(n, place, *corner)] = True
    aims = [airing.end, half] if len(every) > 1 else [airing.end]
    return _Orders(np.tile(blocks, (len(aims), 1, 1, 1)), np.repeat(aims, len(every), axis=0))


def _ways(k: int, rig: Rig) -> list[tuple[Block, ...]]:
    """Return the ways to air an axle: its pair together, or one side after the other where it has two lines."""
    if rig.bags[k] is None:
        return [()]
    left, right = (k, 0), (k, 1)
    return [((left, right),)] if rig.joined[k] else [((left, right),), ((left,), (right,))]


def _best(turns: Turns, looks: Looks, start: Strain, aimed: Strain, together: Flags) -> int:
    """Return which order is the best, by what each comes to at the worst."""
    bounds = np.maximum(np.maximum(start.sizes, aimed.sizes)[0, 1:], 0.0)  # is no order's doing
    beyond = np.round(np.maximum(looks.worst[:, 1:] - bounds, 0.0).max(axis=1), 3)
    able = looks.rests & together if (looks.rests & together).any() else looks.rests
    inside, peaks = able & (beyond <= beyond[able].min()), looks.worst[:, 0]
    most = max(abs(float(start.twist[0])), abs(float(aimed.twist[0])), float(peaks[inside].min()))
    allowed = np.flatnonzero(inside & (peaks <= most * (1.0 + SAME_TWIST) + LEAST_TWIST))
    valves = np.bincount(turns.order, turns.open.sum(axis=(1, 2)), len(peaks))
    moves = np.bincount(turns.order, minlength=len(peaks))
    return int(min(allowed, key=lambda n: (valves[n], round(float(peaks[n])), moves[n])))


def _different(turns: Turns, rests: Flags) -> int:
    """Return how many of the orders that find rest differ in a turn."""
    kinds = [b""] * len(rests)
    told = np.where(turns.open, turns.after.pressure, -1.0)
    for order, what in zip(turns.order.tolist(), told, strict=True):
        kinds[order] += what.tobytes()
    return len({kind for kind, ok in zip(kinds, rests, strict=True) if ok})


def _moves(airing: Airing, turns: Turns, mine: Index, looked: Looked) -> Iterator[Move]:
    """Yield the moves of an order, each with what it ends in."""
    made, rig = turns.take(mine), airing.rig
    begins, ends = airing.strain(made.before), airing.strain(made.after)
    for n, turn in enumerate(mine):
        inside = looked.strain.outside[looked.turn == turn].max(axis=0, initial=0)
        neither = (begins.outside[n] == 0) & (ends.outside[n] == 0)
        yield Move(
            corners=tuple((k, i) for k in (0, 1) for i in (0, 1) if made.open[n, k, i]),
            before=_bags_only(rig, made.before.pressure[n]),
            pressure=_bags_only(rig, made.after.pressure[n]),
            stance=Stance.of(made.after.state[n]),
            twist=float(ends.twist[n]),
            outside=ends.outside[n],
            passed=np.where(neither, inside, 0).astype(np.int8),
        )


def _free_air(rig: Rig, turns: Turns) -> tuple[Array, Array]:
    """Return the free air that goes into and out of each corner, NaN with no bag; half of a shared line's each. [m³]"""
    share = np.where(np.array(rig.joined)[:, None], 0.5, 1.0)
    gained = np.where(turns.open, turns.after.amount - turns.before.amount, 0.0) * share / FREE_AIR_PRESSURE
    into, out = (np.maximum(sign * gained, 0.0).sum(axis=0) for sign in (1.0, -1.0))
    return _bags_only(rig, into), _bags_only(rig, out)
