"""From one profile to another: corner by corner, in the order that twists the frame least and stays inside limits."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import permutations, product
from typing import Final, NamedTuple

import numpy as np

from planner.physics.checks import Array, Codes
from planner.physics.constants import STANDARD_PRESSURE
from planner.physics.levelling import Limit
from planner.physics.rig import Rig
from planner.physics.settling import HeldPressure, settle
from planner.physics.statics import Load
from planner.plans.answer import Stance
from planner.plans.setup import Setup, rig_of
from planner.plans.standing import Standing
from planner.records import BadInput, Problem

FREE_AIR_PRESSURE: Final = 100e3  # [Pa] ISO 8778 standard reference atmosphere: 100 kPa, 20 °C, 65 % humidity
SAMPLES: Final = 4  # states looked at along each move
ROUNDS: Final = (1, 2)  # the whole way at once, or half way round all corners and then the rest
SAME_TWIST: Final = 0.1  # [-] orders whose twist differs by less are alike: tyre and spring rates are known no better
LEAST_TWIST: Final = 1.0  # [N·m] the same in absolute terms
HEIGHT_SLACK: Final = 1e-5  # [m] far below any tape
PRESSURE_SLACK: Final = 1.0  # [Pa] far below any gauge

Corner = tuple[int, int]  # axle, side
Block = tuple[Corner, ...]  # corners that are aired together


@dataclass(frozen=True, eq=False)
class Move:
    """One thing to do at the valves.

    Attributes
    ----------
    corners : aired together, each as (axle, side)
    before, pressure : gauge pressures of all corners before it and after it, NaN with no bag, shape (2, 2) [Pa]
    stance : where the truck then stands
    twist : front axle's side moment beyond the split that twists the frame least, then [N·m]
    outside : the Limit each corner is past then, shape (2, 2)
    """

    corners: Block
    before: Array
    pressure: Array
    stance: Stance
    twist: float
    outside: Codes


@dataclass(frozen=True, eq=False)
class ChangeOver:
    """The way from one profile's pressures to another's, with the other's whole load aboard.

    Attributes
    ----------
    before, after : the two profiles as they stand
    start, end : gauge pressures to the gauge's step, NaN with no bag, shape (2, 2) [Pa]
    moves : in the order to make them; none where nothing changes
    start_twist, start_outside : with the new load on the old pressures
    peak_twist : the greatest on the way, the start left out [N·m]
    worst_twist : the greatest on the way in the worst of the orders compared [N·m]
    orders : how many orders were compared
    air : gained by each corner as free air, < 0 let out, shape (2, 2) [m³]
    """

    before: Standing
    after: Standing
    start: Array
    end: Array
    moves: tuple[Move, ...]
    start_twist: float
    start_outside: Codes
    peak_twist: float
    worst_twist: float
    orders: int
    air: Array

    @property
    def change(self) -> Array:
        """What each corner goes up, < 0 down, shape (2, 2). [Pa]"""
        change: Array = self.end - self.start
        return change

    @property
    def air_needed(self) -> float:
        """Free air that goes into the corners which gain. [m³]"""
        return float(np.nansum(np.maximum(self.air, 0.0)))

    @property
    def air_lost(self) -> float:
        """Free air let out of the others; it is lost. [m³]"""
        return float(np.nansum(np.maximum(-self.air, 0.0)))


class _Order(NamedTuple):
    """One order: the blocks moved, and the pressures at each sample of each, shape (moves · SAMPLES, 2, 2)."""

    blocks: tuple[Block, ...]
    pressures: Array


class _States(NamedTuple):
    """What pressures give: state (n, 4), twist (n,), how far past a limit (n, 2, 2), and past which."""

    state: Array
    twist: Array
    excess: Array
    outside: Codes

    def take(self, cases: slice) -> _States:
        """Return some of the states."""
        return _States(self.state[cases], self.twist[cases], self.excess[cases], self.outside[cases])


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
        If a state on the way finds no rest.

    Notes
    -----
    Load: all of the profile that is changed to, trailer hitched, as its pressures are read under that load; the end
    is then as level as that profile is, and what is outside a limit at the start is so because the load has changed.
    Every order of the corners that change is compared, each axle's pair together or one side after the other, in one
    round and in two. Each state on the way is settled at the gauge pressures it has: the corners that are done at
    their new pressure, the others at their old one. First come the orders that go least beyond what start and end are
    outside of a limit; of them those that never twist the frame more than it is twisted at the start or the end, or,
    where there are none, those that twist it least; of them the one with the fewest turns of a valve, then with the
    least twist.

    Free air is what ISO 8778 calls so, 100 kPa at 20 °C: V = Σ Δ[(P + p) V_bag] / 100 kPa, bags at 20 °C at sea level,
    from the bags as they are under the old load to the bags as they will be under the new one.
    """
    if before.setup.truck != after.setup.truck:
        got = f"{before.setup.truck.name} and {after.setup.truck.name}"
        raise BadInput([Problem("change-over", "truck", got, "must be one truck", "choose two profiles of one truck")])
    rig, start, end = rig_of(after.setup.truck), before.answer.set.pressure, after.answer.set.pressure
    start = np.where(np.abs(end - start) < _half_step(after.setup), end, start)
    load = after.setup.load(rig)
    first = _states(rig, load, start[None], _start_state(after))
    orders = [*_orders(rig, start, end, _half_step(after.setup) * 2.0)]
    best, states, peaks = _best(rig, load, orders, first, _start_state(after))
    return ChangeOver(
        before=before,
        after=after,
        start=start,
        end=end,
        moves=tuple(_moves(best, states, start)),
        start_twist=float(first.twist[0]),
        start_outside=first.outside[0],
        peak_twist=float(np.abs(states.twist).max()) if best.blocks else 0.0,
        worst_twist=max(peaks, default=0.0),
        orders=len(orders),
        air=_air(rig, before.setup, start, after.setup, end),
    )


def _half_step(setup: Setup) -> float:
    """Return half of what the gauge can be set to: less is no change. [Pa]"""
    return float(setup.truck.instruments.gauge_step) / 2.0


def _start_state(stands: Standing) -> Array:
    """Return a state to settle from. [m, m, rad, N·m]"""
    stance = stands.answer.set.stance
    return np.array([stance.front, stance.rear, stance.roll, float(stands.answer.side_moment[0])])


def _orders(rig: Rig, start: Array, end: Array, step: float) -> Iterator[_Order]:
    """Yield every order of the corners that change; one with no move where none does."""
    changing = np.isfinite(end) & (start != end)
    by_axle = [_ways(changing[k], k, rig.joined[k]) for k in (0, 1)]
    for chosen in product(*by_axle):
        blocks = [block for way in chosen for block in way]
        for order in permutations(blocks):
            for rounds in ROUNDS if len(blocks) > 1 else (1,):
                yield _Order(order * rounds, _along(order, start, end, rounds, step))


def _ways(changing: Array, k: int, joined: bool) -> list[tuple[Block, ...]]:
    """Return the ways to air an axle: its pair together, or one side after the other where it has two lines."""
    sides: tuple[Corner, ...] = tuple((k, i) for i in (0, 1) if changing[i])
    if not sides:
        return [()]
    apart: tuple[Block, ...] = tuple((corner,) for corner in sides)
    if len(sides) == 1:
        return [apart]
    return [(sides,)] if joined else [(sides,), apart]


def _along(order: tuple[Block, ...], start: Array, end: Array, rounds: int, step: float) -> Array:
    """Return the pressures along an order, SAMPLES a move; half way is on the gauge's step. [Pa]"""
    now, along = start.copy(), []
    for count in range(1, rounds + 1):
        aim = end if count == rounds else start + step * np.round((end - start) * count / rounds / step)
        for block in order:
            before = now.copy()
            for sample in range(1, SAMPLES + 1):
                for corner in block:
                    now[corner] = before[corner] + (aim[corner] - before[corner]) * sample / SAMPLES
                along.append(now.copy())
    return np.array(along).reshape(-1, 2, 2)


def _best(
    rig: Rig, load: Load, orders: list[_Order], first: _States, near: Array
) -> tuple[_Order, _States, list[float]]:
    """Return the best order, its states, and the peak of the twist in every order."""
    sizes = [len(order.pressures) for order in orders]
    if not sum(sizes):
        return orders[0], first, []
    every = _states(rig, load, np.concatenate([order.pressures for order in orders]), near)
    ends = np.cumsum(sizes)
    spans = [slice(end - size, end) for end, size in zip(ends, sizes, strict=True)]
    last = every.take(slice(ends[0] - 1, ends[0]))
    peaks = [float(np.abs(every.twist[span]).max()) for span in spans]
    bounds = np.maximum(first.excess[0], last.excess[0])  # what start and end are outside by is no order's doing
    beyond = [float(np.round(np.maximum(every.excess[span] - bounds, 0.0).max(), 4)) for span in spans]
    inside = [n for n, one in enumerate(beyond) if one <= min(beyond)]
    most = max(abs(float(first.twist[0])), abs(float(last.twist[0])), min(peaks[n] for n in inside))
    allowed = [n for n in inside if peaks[n] <= most * (1.0 + SAME_TWIST) + LEAST_TWIST]
    chosen = min(allowed, key=lambda n: (sum(map(len, orders[n].blocks)), peaks[n], len(orders[n].blocks)))
    return orders[chosen], every.take(spans[chosen]), peaks


def _states(rig: Rig, load: Load, pressure: Array, near: Array) -> _States:
    """Return what the truck does at each of many sets of pressures, shape (n, 2, 2)."""
    gauge = np.nan_to_num(pressure)
    settled = settle(rig, load, HeldPressure(gauge), np.broadcast_to(near, (len(gauge), 4)))
    height = rig.corners(load, settled.state).spring_height
    excess, outside = _past_limits(rig, gauge, height)
    return _States(settled.state, settled.state[:, 3] - load.least_twist, excess, outside)


def _past_limits(rig: Rig, gauge: Array, height: Array) -> tuple[Array, Codes]:
    """Return how far each corner is past its worst limit, as a part of its range, and which limit that is."""
    most, outside = np.zeros(gauge.shape), np.zeros(gauge.shape, np.int8)
    area = rig.area(height)
    for k, bag in enumerate(rig.bags):
        if bag is None:
            continue
        p, b, force = gauge[:, k], height[:, k], gauge[:, k] * area[:, k]
        travel, span = bag.highest - bag.lowest, bag.greatest_pressure
        for code, past in (
            (Limit.LOWEST_HEIGHT, (bag.lowest - b - HEIGHT_SLACK) / travel),
            (Limit.HIGHEST_HEIGHT, (b - bag.highest - HEIGHT_SLACK) / travel),
            (Limit.LEAST_PRESSURE, (bag.least_pressure - p - PRESSURE_SLACK) / span),
            (Limit.GREATEST_PRESSURE, (p - bag.greatest_pressure - PRESSURE_SLACK) / span),
            (Limit.LOAD_RATING, force / bag.load_rating - 1.0),
        ):
            worse = past > most[:, k]
            outside[:, k][worse], most[:, k] = code, np.maximum(most[:, k], past)
    return most, outside


def _moves(order: _Order, states: _States, start: Array) -> Iterator[Move]:
    """Yield the moves of an order, each with what it ends in."""
    before = start
    for n, block in enumerate(order.blocks):
        at = (n + 1) * SAMPLES - 1
        after = order.pressures[at]
        if not np.array_equal(before, after, equal_nan=True):  # half of one step of the gauge is none
            yield Move(block, before, after, Stance.of(states.state[at]), float(states.twist[at]), states.outside[at])
        before = after


def _air(rig: Rig, before: Setup, start: Array, after: Setup, end: Array) -> Array:
    """Return the free air each corner gains from one load and pressure to another, NaN with no bag. [m³]"""
    old, new = (_amount(rig, setup, pressure) for setup, pressure in ((before, start), (after, end)))
    return np.where(np.isfinite(end), (new - old) / FREE_AIR_PRESSURE, np.nan)


def _amount(rig: Rig, setup: Setup, pressure: Array) -> Array:
    """Return absolute pressure × gas volume of each corner of a settled truck. [J]"""
    load, gauge = setup.load(rig), np.nan_to_num(pressure)
    near = np.array([*setup.wanted, float(load.least_twist)])
    height = rig.corners(load, settle(rig, load, HeldPressure(gauge), near).state).spring_height
    amount: Array = (gauge + STANDARD_PRESSURE) * rig.gas_volume(height)
    return amount
