"""Bag after bag aired with the other valves shut: what many orders of it, side by side, do to one truck."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.physics.bag_limits import Limit
from planner.physics.constants import STANDARD_PRESSURE
from planner.physics.equilibrium import Air, HeldPressure, PartlySealed, SealedAir, enclosed_volume, settle
from planner.physics.statics import Load
from planner.physics.truck_model import Rig
from planner.physics.validation import Array, Codes, Flags
from planner.plans.ratings import HEIGHT_SLACK
from planner.records.fields import PRESSURE_SLACK

MOST_ROUNDS: Final = 10  # each leaves about a fifth of the drift of the one before
PARTS: Final = np.arange(1, 6) / 6.0  # of a turn, looked at first beside its ends
STEEPER: Final = 1.5  # [-] than the chords on either side, where a bag comes onto its stop
MOST_SPLITS: Final = 8  # of a part of a turn into quarters
QUARTERS: Final = np.array([0.25, 0.5, 0.75])
CLOSE: Final = 0.005  # [-] by which the told peak of the twist may be above the true one
CLOSE_TWIST: Final = 0.5  # [N·m] the same in absolute terms
CLOSE_LIMIT: Final = 0.002  # [-] a limit passed by less, as a part of its range, may go untold
SEA_LEVEL: Final = np.array(STANDARD_PRESSURE)

Index = NDArray[np.intp]


class Rests(NamedTuple):
    """A truck at rest in some cases.

    state : rise front, rise rear [m], roll [rad], front axle's side moment [N·m], shape (n, 4)
    pressure : gauge, 0 with no bag, shape (n, 2, 2) [Pa]
    amount : absolute pressure × enclosed gas volume, shape (n, 2, 2) [J]
    converged : whether it rests there, shape (n,)
    """

    state: Array
    pressure: Array
    amount: Array
    converged: Flags

    def take(self, cases: Index | slice) -> Rests:
        """Return some of the cases."""
        return Rests(self.state[cases], self.pressure[cases], self.amount[cases], self.converged[cases])

    def put(self, cases: Index, others: Rests) -> None:
        """Put others in the place of some of the cases."""
        for mine, theirs in zip(self, others, strict=True):
            mine[cases] = theirs


class Strain(NamedTuple):
    """What is to stay small in some cases.

    twist : front axle's side moment beyond the split that twists the frame least, shape (n,) [N·m]
    excess : how far each corner is past the limit it is past most, < 0 inside all, shape (n, 2, 2) [-]
    outside : which Limit that is, shape (n, 2, 2)
    on_stop : whether it stands on a stop, shape (n, 2, 2)
    converged : whether the truck rests there, shape (n,)
    """

    twist: Array
    excess: Array
    outside: Codes
    on_stop: Flags
    converged: Flags

    @property
    def sizes(self) -> Array:
        """The twist's size and each corner's excess, shape (n, 5); 0 where the truck does not rest."""
        return np.where(self.converged, np.array([np.abs(self.twist), *self.excess.reshape(-1, 4).T]), 0.0).T


class Turns(NamedTuple):
    """Turns of valves, in the order in which they are made.

    order : which of the orders each belongs to, shape (n,)
    open : the valves, shape (n, 2, 2)
    before, after : the truck
    """

    order: Index
    open: Flags
    before: Rests
    after: Rests

    def take(self, cases: Index) -> Turns:
        """Return some of the turns."""
        return Turns(self.order[cases], self.open[cases], self.before.take(cases), self.after.take(cases))


class Looked(NamedTuple):
    """What was looked at within turns: which turn, how far along, and the strain then; (m,) each, turn by turn."""

    turn: Index
    part: Array
    strain: Strain


class Looks(NamedTuple):
    """What orders come to.

    worst : each one's largest `Strain.sizes`, the start counted, shape (n, 5); the twist's is never below the true one,
        and above it by CLOSE at the most
    rests : whether the truck rests all the way, shape (n,)
    looked : what was looked at
    """

    worst: Array
    rests: Flags
    looked: Looked


@dataclass(frozen=True, eq=False)
class Airing:
    """One truck under one load whose bags are to be aired.

    Attributes
    ----------
    rig, load
    end : gauge pressures to come to, 0 with no bag, shape (2, 2) [Pa]
    step : what the gauge can be set to [Pa]
    """

    rig: Rig
    load: Load
    end: Array
    step: float

    def strain(self, rests: Rests) -> Strain:
        """Return what each case does to frame and bags."""
        height = self.rig.corners(self.load, rests.state).spring_height
        excess, outside = _past_limits(self.rig, rests.pressure, height)
        twist = rests.state[:, 3] - self.load.least_twist_at(rests.state[:, 2])
        return Strain(twist, excess, outside, self.rig.on_stop(height), rests.converged)

    def air(self, first: Rests, orders: Flags, aims: Array) -> tuple[Turns, Rests]:
        """Return all turns of all orders, and where each order ends.

        Parameters
        ----------
        first : the one state to start from
        orders : which corners are aired together, one after the other, shape (n, blocks, 2, 2)
        aims : gauge pressures of the first round, shape (n, 2, 2) [Pa]

        Notes
        -----
        In the first round a bag is aired where its gauge shows another pressure than it shall, off by half a step or
        more. Meanwhile the bags with shut valves hold their air, so their pressures drift as the truck moves: in later
        rounds those are aired again that are off by more than a step, until none is.
        """
        blocks = np.tile(orders, (1, MOST_ROUNDS, 1, 1))
        count, places = blocks.shape[:2]
        early = np.arange(places) < orders.shape[1]  # in the first round
        aim = np.where(early[:, None, None], aims[:, None], self.end)
        least = np.where(early, self.step / 2.0, self.step * (1.0 + 1e-9))[:, None, None]
        now, place = first.take(np.zeros(count, np.intp)), np.zeros(count, int)
        found: list[Turns] = []
        while True:
            valves = blocks & (np.abs(now.pressure[:, None] - aim) >= least)
            due = valves.any(axis=(2, 3)) & (np.arange(places) >= place[:, None])
            cases = np.flatnonzero(due.any(axis=1))
            if not cases.size:
                return _in_one(found, first), now
            at = due[cases].argmax(axis=1)
            before, valve = now.take(cases), valves[cases, at]
            air = PartlySealed(valve, HeldPressure(aim[cases, at]), SealedAir(before.amount, SEA_LEVEL))
            after = rest(self.rig, self.load, air, before.state)
            place[cases] = np.where(after.converged, at + 1, places)  # nothing follows on what is no rest
            now.put(cases, after)
            found.append(Turns(cases, valve, before, after))

    def together(self, pressure: Array) -> Flags:
        """Tell whether all gauges are within a step of where they shall be."""
        near: Flags = np.asarray((np.abs(pressure - self.end) <= self.step).all(axis=(-2, -1)))
        return near

    def look(self, turns: Turns, first: Strain, count: int) -> Looks:
        """Return what each of a count of orders comes to at the worst.

        Notes
        -----
        A bag aired alone turns the body one way, and with it go the other axle's side moment and every height: by
        statics both axles' loads stay, and the other axle's side moment is a function of the roll alone. Such a turn is
        at its worst at its ends. Where two bags are aired together, or two bags of a line give each other air, the
        turn is quartered and quartered again where more than is known could hide, by `_most_between`.
        """
        worst, rests = np.repeat(first.sizes, count, axis=0), np.ones(count, bool)
        looked, ends = self._first_look(turns), self.strain(turns.after)
        np.maximum.at(worst, turns.order, ends.sizes)
        rests[turns.order[~ends.converged]] = False
        for _ in range(MOST_SPLITS if len(looked.turn) else 0):
            sizes, order = looked.strain.sizes, turns.order[looked.turn]
            np.maximum.at(worst, order, sizes)
            rests[order[~looked.strain.converged]] = False
            most = _most_between(looked, sizes)
            enough = np.maximum(worst[order[:-1]] * np.array([1.0 + CLOSE, 1, 1, 1, 1]), 0.0)
            more = most > enough + np.array([CLOSE_TWIST, *[CLOSE_LIMIT] * 4])
            split = np.flatnonzero(more.any(axis=1) & rests[order[:-1]])
            if not split.size:
                np.maximum.at(worst[:, 0], order[:-1], most[:, 0])
                break
            part = looked.part[split, None] + np.diff(looked.part)[split, None] * QUARTERS
            looked = _in_order(looked, self.strain_within(turns, np.repeat(looked.turn[split], 3), part.ravel()))
        return Looks(worst, rests, looked)

    def _first_look(self, turns: Turns) -> Looked:
        """Return the turns of more than one bag at PARTS of their way."""
        wide = np.flatnonzero((turns.open.sum(axis=(1, 2)) > 1) | any(self.rig.joined))
        inner = self.strain_within(turns, np.repeat(wide, len(PARTS)), np.tile(PARTS, len(wide)))
        ends = (
            Looked(wide, np.full(len(wide), part), self.strain(rests.take(wide)))
            for part, rests in ((0.0, turns.before), (1.0, turns.after))
        )
        return _in_order(inner, *ends)

    def strain_within(self, turns: Turns, turn: Index, part: Array) -> Looked:
        """Return the strain at parts of some turns, along straight lines.

        Two valves of an axle are turned by their gauges, one by the air that it lets through.
        """
        some = turns.take(turn)
        gauge, amount, state = (
            old + part.reshape(-1, *[1] * (old.ndim - 1)) * (new - old)
            for old, new in (
                (some.before.pressure, some.after.pressure),
                (some.before.amount, some.after.amount),
                (some.before.state, some.after.state),
            )
        )
        by_gauge = some.open & some.open.all(axis=-1, keepdims=True) & ~np.array(self.rig.joined)[:, None]
        air = PartlySealed(by_gauge, HeldPressure(gauge), SealedAir(amount, SEA_LEVEL))
        return Looked(turn, part, self.strain(rest(self.rig, self.load, air, state)))


def rest(rig: Rig, load: Load, air: Air, near: Array) -> Rests:
    """Return a truck at rest on some air, from states nearby, shape (n, 4)."""
    settled = settle(rig, load, air, near)
    amount = (settled.pressure + SEA_LEVEL) * enclosed_volume(rig, settled.height)
    return Rests(settled.state, settled.pressure, amount, settled.converged)


def _in_one(found: list[Turns], first: Rests) -> Turns:
    """Return all turns as one batch, each order's in the order in which they are made."""
    none = first.take(slice(0, 0))
    every = [Turns(np.zeros(0, np.intp), np.zeros((0, 2, 2), bool), none, none), *found]
    before, after = (
        Rests(*map(np.concatenate, zip(*rests, strict=True)))
        for rests in ([some.before for some in every], [some.after for some in every])
    )
    order, valves = np.concatenate([some.order for some in every]), np.concatenate([some.open for some in every])
    return Turns(order, valves, before, after)


def _in_order(*parts: Looked) -> Looked:
    """Return all that was looked at, turn by turn and along each turn."""
    turn, part = (np.concatenate([some[n] for some in parts]) for n in (0, 1))
    by = np.lexsort((part, turn))
    strain = Strain(*(np.concatenate(values)[by] for values in zip(*(some.strain for some in parts), strict=True)))
    return Looked(turn[by], part[by], strain)


def _most_between(looked: Looked, values: Array) -> Array:
    """Return the most that values, shape (m, k), can come to between neighbours of one turn, shape (m - 1, k).

    Where a curve bends down it lies below the chords on either side prolonged, so below where they meet; where it bends
    up, below its own chord. Where a bag comes onto its stop or off it the curve has a kink: there it is taken to be at
    most STEEPER than the chords about it. Between two turns it is -inf.
    """
    same = (looked.turn[1:] == looked.turn[:-1])[:, None]
    stop = looked.strain.on_stop.reshape(-1, 4)
    kink = (stop[1:] != stop[:-1]).any(axis=1)[:, None]
    width, low, high = np.diff(looked.part)[:, None], values[:-1], values[1:]
    with np.errstate(all="ignore"):
        slope = np.where(same, (high - low) / width, np.nan)
        edge = np.full((1, values.shape[1]), np.nan)
        left, right = np.concatenate([edge, slope[:-1]]), np.concatenate([slope[1:], edge])
        at = ((high - low - right * width) / (left - right)).clip(0.0, width)  # where the chords prolonged meet
        meet = np.where(
            np.isnan(left), high - right * width, np.where(np.isnan(right), low + left * width, low + left * at)
        )
    bends_down = ~(left <= 0) & ~(right >= 0)
    most = np.maximum(np.maximum(low, high), np.where(bends_down, meet, -np.inf))
    steepest = STEEPER * np.nanmax(np.abs([np.where(same, slope, 0.0), left, right]), axis=0)
    most = np.where(kink, np.maximum(most, (low + high + steepest * width) / 2.0), most)
    return np.where(same, most, -np.inf)


def _past_limits(rig: Rig, gauge: Array, height: Array) -> tuple[Array, Codes]:
    """Return how far each corner is past its worst limit, as a part of its range, and which limit that is."""
    most, outside = np.full(gauge.shape, -1.0), np.zeros(gauge.shape, np.int8)
    loads = rig.bag_load(height, gauge)
    for k, bag in enumerate(rig.bags):
        if bag is None:
            continue
        p, b, force = gauge[:, k], height[:, k], loads[:, k]
        travel, span = bag.highest - bag.lowest, bag.greatest_pressure
        for code, past in (
            (Limit.LOWEST_HEIGHT, (bag.lowest - b - HEIGHT_SLACK) / travel),
            (Limit.HIGHEST_HEIGHT, (b - bag.highest - HEIGHT_SLACK) / travel),
            (Limit.LEAST_PRESSURE, (bag.least_pressure - p - PRESSURE_SLACK) / span),
            (Limit.GREATEST_PRESSURE, (p - bag.greatest_pressure - PRESSURE_SLACK) / span),
            (Limit.LOAD_RATING, force / bag.load_rating - 1.0),
        ):
            worse = past > np.maximum(most[:, k], 0.0)
            outside[:, k][worse], most[:, k] = code, np.maximum(most[:, k], past)
    return most, outside
