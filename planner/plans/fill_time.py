"""How long bags take to fill and to empty through valve and line, the tank falling as it feeds them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from itertools import product
from typing import Any, Final, NamedTuple

import numpy as np

from planner.physics.air_flow import FREE_AIR_PRESSURE, flow, free_air
from planner.physics.equilibrium import HeldPressure, SealedAir, enclosed_volume, settle
from planner.physics.statics import Load
from planner.physics.truck_model import Rig
from planner.physics.validation import Array, Flags
from planner.plans.air_supply import Supply, Tank

NODES: Final = np.array([0.0, 0.5, 1.0])  # of a port's way, at which the truck is settled
STALLED: Final = 0.995  # [-] bag over tank, absolute, from which on no air to speak of goes in
UNTOUCHED: Final = 5e-3  # [-] of the air in a bag: no gauge shows it, so no valve is opened for less
NEAR_STALL: Final = 0.95  # [-] bag over tank, absolute, from which on a filling is worked out afresh
SLIGHT: Final = 0.05  # [-] of a tank's air that a compressor puts in during one filling and that times hardly show
FIRST_STEP: Final = 1.05  # [-] of the time to the next event at the flow that there is; the integrator shortens it
POINTS: Final = np.arange(1.0, 6.0) / 5.0  # of a stretch's last step, that are kept for the curves
LONGEST: Final = 86_400.0  # [s] a move that takes a day has stalled
TOLERANCE, LEAST_AIR = 1e-3, 1e-7  # [-, m³] of the integrator
NO_REST: Final = "the truck does not settle while air goes in or out: set it by tape, not by gauge"


class Aired(NamedTuple):
    """A truck at rest on the air in its bags.

    amount : absolute pressure × enclosed gas volume at each corner, shape (2, 2) [J]
    load : what it then carries
    state : where it stands, shape (4,)
    """

    amount: Array
    load: Load
    state: Array


@dataclass(frozen=True, eq=False)
class Filling:
    """What airing from one state of the truck to another takes; corner arrays are NaN where there is no bag.

    Attributes
    ----------
    time : until each corner holds what it shall, waiting included; inf where it never does, shape (2, 2) [s]
    air_in, air_out : free air that goes into and out of each corner, shape (2, 2) [m³]
    tank : the tank afterwards
    delivered : free air that the compressor put in meanwhile [m³]
    compressor_time : how long it ran for it [s]
    stalled_at : what the gauge of each corner shows where it stalls, NaN where it does not, shape (2, 2) [Pa]
    wait : how long a stalled corner waits for the compressor; inf where it never gets there [s]
    times : of the points of the curves below, up to the wait, shape (n,) [s]
    tank_pressure, pressure, roll : gauges, shape (n,), (n, 2, 2) [Pa], and the truck's roll, shape (n,) [rad]
    """

    time: Array
    air_in: Array
    air_out: Array
    tank: Tank
    delivered: float
    compressor_time: float
    stalled_at: Array
    wait: float
    times: Array
    tank_pressure: Array
    pressure: Array
    roll: Array

    @property
    def longest(self) -> float:
        """Time of the last corner; 0 where nothing is done. [s]"""
        return float(np.nanmax(self.time, initial=0.0))

    @property
    def stalls(self) -> bool:
        """Whether the tank cannot feed it without a wait."""
        return bool(np.isfinite(self.stalled_at).any())

    @property
    def lean_on_the_way(self) -> float:
        """The most that it leans beyond where it leans at the start and at the end, > 0 left side up. [rad]"""
        low, high = sorted((float(self.roll[0]), float(self.roll[-1])))
        beyond = np.maximum(self.roll - high, 0.0) + np.minimum(self.roll - low, 0.0)
        return float(beyond[np.abs(beyond).argmax()])


def air_at_rest(rig: Rig, load: Load, gauge: Array, near: Array, ambient: float) -> Aired:
    """Return a truck at rest on gauge pressures, shape (2, 2) [Pa], NaN with no bag, from a state nearby.

    Raises
    ------
    ArithmeticError
        If it finds no rest.
    """
    return airs_at_rest(rig, [load], [gauge], [near], ambient)[0]


def airs_at_rest(
    rig: Rig, loads: Sequence[Load], gauges: Sequence[Array], near: Sequence[Array], ambient: float
) -> list[Aired]:
    """Return the same for several loads and gauges of one truck, worked out together."""
    load = Load(*map(np.stack, zip(*(vars(one).values() for one in loads), strict=True)))
    gauge = np.nan_to_num(np.array(gauges))
    settled = settle(rig, load, HeldPressure(gauge), np.array(near))
    if not settled.converged.all():
        raise ArithmeticError(NO_REST)
    amounts = (gauge + ambient) * enclosed_volume(rig, rig.corners(load, settled.state).spring_height)
    return [Aired(*each) for each in zip(amounts, loads, settled.state, strict=True)]


def fill_time(rig: Rig, supply: Supply, start: Aired, end: Aired, tank: Tank) -> Filling:
    """Return how long it takes to air a truck from one state to another, all its valves open at once.

    Parameters
    ----------
    rig : Rig
        One truck.
    supply : Supply
    start, end : Aired
        Where it is and where it shall be; its load goes from one to the other with the air that has moved.
    tank : Tank
        At the start.

    Returns
    -------
    Filling

    Raises
    ------
    ArithmeticError
        If the truck finds no rest on the way.

    Notes
    -----
    Each valve is shut when its bags hold the air that they hold at the end; for less than a gauge shows none is opened.
    Flow by ISO 6358-1 (`air_flow.flow`) from the tank, or to the outside; none comes back from a bag into a lower tank.
    All air is at 20 °C, and the truck is in balance at every instant: bag pressures are those of `settle` with that air
    shut in, worked out at the start, the middle and the end of every port's way in one batch, and read between them by
    the parabola through the three; at start and end they are exact. The tank loses what it feeds and gains what the
    compressor delivers, which starts at cut-in and stops at cut-out. scipy's RK23 integrates; a valve that shuts, the
    compressor's switch and a tank down to the bags it feeds end a stretch. A Runge-Kutta step keeps every linear
    balance, so air is conserved to rounding.

    A stalled port waits until the compressor has delivered what is missing, resting by its duty as it goes.
    """
    return fill_along(rig, supply, responses(rig, supply, [(start, end)])[0], tank)


def fill_along(rig: Rig, supply: Supply, response: Response, tank: Tank) -> Filling:
    """Return what `fill_time` does for a truck whose response is known."""
    course = _Course(supply, response, tank.pressure, tank.running or tank.pressure <= supply.cut_in)
    course.run()
    return course.result(rig)


def fill_alike(known: Filling, before: Supply, supply: Supply, tank: Tank) -> Filling | None:
    """Return a filling with another supply, by the way that the air took with the supply before.

    Parameters
    ----------
    known : Filling
        With the supply before.
    before, supply : Supply
        Of the same ports.
    tank : Tank
        At the start, of the other supply.

    Returns
    -------
    Filling or None
        None where that way says nothing of it: the tank may stall, or the compressor has a part in it that shows.

    Notes
    -----
    To first order the ports share the air as before, so what each has got and what its bag shows stay as they are, and
    only the clock is another: dt' = dt q / q', both flows by ISO 6358-1. The tank falls as before, by the ratio of the
    volumes. Exact for one port, and where all conductances change alike; a compressor that puts in less than SLIGHT of
    the tank's air counts as before.
    """
    if known.stalls:
        return None
    alike = (supply.volume, supply.ports, tank.pressure) == (before.volume, before.ports, known.tank_pressure[0])
    found = known if alike else _by_its_way(known, before, supply, tank)
    if found is None or not (found.air_in > 0.0).any():
        return found
    end = found.tank.pressure
    if not (tank.running or known.compressor_time > 0.0 or end <= supply.cut_in):
        return found
    made = float(supply.compressor.delivery(max(min(end, supply.cut_in), 0.0))) * found.longest
    return found if made <= SLIGHT * float(free_air(end + supply.ambient, supply.volume)) else None


def _by_its_way(known: Filling, before: Supply, supply: Supply, tank: Tank) -> Filling | None:
    """Return a filling with the clock of another supply; None where its tank is nearly down to the bags."""
    gauge = tank.pressure + (known.tank_pressure - known.tank_pressure[0]) * (before.volume / supply.volume)
    fed, both = known.air_in > 0.0, (before, supply)
    outside = np.array([[[[one.ambient]]] for one in both])
    c, b = (np.array(each)[:, None] for each in zip(*(one.valves for one in both), strict=True))
    bag = np.where(np.isnan(known.pressure), 0.0, known.pressure) + outside
    high = np.where(fed, np.array([known.tank_pressure, gauge])[:, :, None, None] + outside, bag)
    low = np.where(fed, bag, outside)
    if ((low[1] > NEAR_STALL * high[1]) & fed).any():
        return None
    q, other = flow(high, low, c, b)
    slower = np.divide(q, other, out=np.ones_like(q), where=other > 0.0)
    steps = np.diff(known.times)[:, None, None] * (slower[1:] + slower[:-1]) / 2.0
    until_shut = known.times[1:, None, None] <= known.time * (1.0 + 1e-9)
    return replace(
        known,
        time=np.where(np.isnan(known.time), np.nan, np.where(until_shut, steps, 0.0).sum(axis=0)),
        tank=Tank(float(gauge[-1]), known.tank.running),
        tank_pressure=gauge,
    )


@dataclass(frozen=True, eq=False)
class Response:
    """The ports through which air goes from one state to another, and how the truck answers.

    ports : places among those of the supply, of the ports with something to do
    goal : free air that goes into each, < 0 out of it, shape (k,) [m³]
    answers : gauge pressure of each corner and the roll at the nodes of all ports, the first port's slowest, shape
        (3^k, 5) [Pa, rad]
    """

    ports: tuple[int, ...]
    goal: Array
    answers: Array

    def answer(self, moved: Array) -> Array:
        """Return the gauge of each corner and the roll when some free air has moved, shape (k,) → (5,) [Pa, rad]."""
        values = self.answers
        for f in (moved / self.goal).tolist():
            weight = np.array([(2.0 * f - 1.0) * (f - 1.0), 4.0 * f * (1.0 - f), f * (2.0 * f - 1.0)])
            values = weight @ values.reshape(len(NODES), -1)
        return values


def responses(rig: Rig, supply: Supply, ways: Sequence[tuple[Aired, Aired]]) -> list[Response]:
    """Return how a truck answers on each way from one state to another, all worked out in one batch.

    Raises
    ------
    ArithmeticError
        If it finds no rest somewhere.
    """
    nodes = [_nodes(supply, start, end) for start, end in ways]
    amount, states = (np.concatenate([one[place] for one in nodes]) for place in (2, 4))
    load = Load(*map(np.concatenate, zip(*(one[3] for one in nodes), strict=True)))
    settled = settle(rig, load, SealedAir(amount, np.full(len(amount), supply.ambient)), states)
    if not settled.converged.all():
        raise ArithmeticError(NO_REST)
    answers = np.concatenate([settled.pressure.reshape(-1, 4), settled.state[:, 2:3]], axis=1)
    each = np.split(answers, np.cumsum([len(one[4]) for one in nodes])[:-1])
    return [
        Response(ports, goal, found if ports else found[0])
        for (ports, goal, *_), found in zip(nodes, each, strict=True)
    ]


def _nodes(supply: Supply, start: Aired, end: Aired) -> tuple[tuple[int, ...], Array, Array, list[Array], Array]:
    """Return ports, goals and, at all nodes, the air in the bags, the parts of the load and a state nearby."""
    change = (end.amount - start.amount) / FREE_AIR_PRESSURE
    least = UNTOUCHED * start.amount / FREE_AIR_PRESSURE
    first = [port.corners[0] for port in supply.ports]
    ports = tuple(n for n, corner in enumerate(first) if abs(change[corner]) > least[corner])
    goal = np.array([change[first[n]] for n in ports])
    parts = np.array([*product(NODES, repeat=len(ports))], float)
    amount = np.tile(start.amount, (len(parts), 1, 1))
    for place, n in enumerate(ports):
        for corner in supply.ports[n].corners:
            amount[(slice(None), *corner)] += parts[:, place] * (end.amount - start.amount)[corner]
    size = np.abs(goal).sum()
    moved = parts @ np.abs(goal) / size if size > 0 else np.ones(len(parts))
    pairs = zip(vars(start.load).values(), vars(end.load).values(), strict=True)
    load = [_between(moved, np.asarray(old, float), np.asarray(new, float)) for old, new in pairs]
    return ports, goal, amount, load, _between(moved, start.state, end.state)


def _between(moved: Array, old: Array, new: Array) -> Array:
    """Return values between two, one for each share that has moved, shape (n, ...)."""
    share = moved.reshape(-1, *[1] * old.ndim)
    return (1.0 - share) * old + share * new


class _Cubic(NamedTuple):
    """One step of a course between its ends: the cubic through both with the slopes there.

    coefficients : of share, share², share³ of the step behind a constant, shape (4, n)
    """

    coefficients: Array

    @classmethod
    def through(cls, old: Array, slope_old: Array, new: Array, slope: Array, step: float) -> _Cubic:
        """Return the cubic from old to new; slopes are by time, step is the time between. [s]"""
        rise, one, other = new - old, step * slope_old, step * slope
        return cls(np.stack([old, one, 3.0 * rise - 2.0 * one - other, one + other - 2.0 * rise]))

    def at(self, share: float) -> Array:
        """Return where it is after a share of the step, shape (n,)."""
        where: Array = share ** np.arange(4.0) @ self.coefficients
        return where

    def meets(self, place: int, end: float) -> float:
        """Return the share of the step after which one part is at its end."""
        c0, c1, c2, c3 = self.coefficients[:, place].tolist()
        return _when(lambda x: ((c3 * x + c2) * x + c1) * x + c0 - end)


def _when(left: Callable[[float], float]) -> float:
    """Return the share of a step at which something is nought that changes its sign, by rounding perhaps just after."""
    from scipy.optimize import brentq

    return float(brentq(left, 0.0, 1.0)) if left(0.0) * left(1.0) <= 0.0 else 1.0


@dataclass(eq=False)
class _Course:
    """One airing as it goes on.

    now : free air that went through each port, then into the tank, then out of the compressor, shape (k + 2,) [m³]
    open : which ports are open, shape (k,)
    """

    supply: Supply
    way: Response
    tank_at_start: float
    running: bool
    clock: float = 0.0
    ran: float = 0.0
    now: Array = field(init=False)
    open: Flags = field(init=False)
    done: Array = field(init=False)
    stalled_at: Array = field(init=False)
    curve: list[tuple[Array, Array]] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Open every valve that has something to do."""
        self._ports = [self.supply.ports[n] for n in self.way.ports]
        count = len(self._ports)
        self.now, self.open = np.zeros(count + 2), np.ones(count, bool)
        self.done, self.stalled_at = np.full(count, np.nan), np.full(count, np.nan)
        self._c = np.array([port.conductance for port in self._ports])
        self._b = np.array([port.critical_ratio for port in self._ports])
        self._place = np.array([2 * port.corners[0][0] + port.corners[0][1] for port in self._ports], int)
        self._fills = self.way.goal > 0
        self._sign = np.where(self._fills, 1.0, -1.0)

    def tank_pressure(self, now: Array) -> Any:
        """Return the tank's gauge, shape (...) of the last axis of `now`. [Pa]"""
        return self.tank_at_start + FREE_AIR_PRESSURE / self.supply.volume * now[-2]

    def run(self) -> None:
        """Go on until every valve is shut or stalled."""
        self.curve.append((np.zeros(1), self.now[:, None].copy()))
        while True:
            self._look()
            if not self.open.any():
                return
            self._stretch()

    def _look(self) -> None:
        """Shut what is done, stall what the tank no longer feeds, switch the compressor."""
        reached = self.open & (np.abs(self.now[:-2]) >= np.abs(self.way.goal) * (1.0 - 1e-9))
        self.done[reached], self.open = self.clock, self.open & ~reached
        tank = self.tank_pressure(self.now)
        self.running = tank < self.supply.cut_out - 1.0 if self.running else tank <= self.supply.cut_in + 1.0
        feeding = self.open & self._fills
        if feeding.any() and self._spare(self.now) <= 1e-9:
            gauges = self.way.answer(self.now[:-2])[self._place]
            self.stalled_at[feeding] = gauges[feeding]
            self.open &= ~feeding

    def _spare(self, now: Array) -> float:
        """Return by how much the tank is still above the lowest bag that it feeds, as a part of itself. [-]"""
        gauges = self.way.answer(now[:-2])[self._place]
        lowest = gauges[self.open & self._fills].min() + self.supply.ambient
        return float(STALLED - lowest / (self.tank_pressure(now) + self.supply.ambient))

    def _rates(self, _: float, now: Array) -> Array:
        """Return what goes through each port, into the tank and out of the compressor. [m³/s]"""
        outside, tank = self.supply.ambient, self.tank_pressure(now) + self.supply.ambient
        bag = self.way.answer(now[:-2])[self._place] + outside
        high, low = np.where(self._fills, tank, bag), np.where(self._fills, bag, outside)
        rates = np.empty_like(now)
        rates[:-2] = flow(high, low, self._c * self.open, self._b) * self._sign
        made = self._delivery(float(tank) - outside) if self.running else 0.0
        rates[-2], rates[-1] = made - rates[:-2] @ self._fills, made
        return rates

    def _delivery(self, gauge: float) -> float:
        return float(self.supply.compressor.delivery(min(gauge, self.supply.cut_out)))

    def _stretch(self) -> None:
        """Integrate until a valve is to shut, the tank is down to the bags or the compressor switches.

        scipy's stepper, with the events looked at here: `solve_ivp` takes twice as long for so few steps.
        """
        from scipy.integrate import RK23

        feeding = bool((self.open & self._fills).any())
        level = self.supply.cut_out if self.running else self.supply.cut_in
        drawn = (level - self.tank_at_start) * self.supply.volume / FREE_AIR_PRESSURE
        ends = {place: float(self.way.goal[place]) for place in map(int, np.flatnonzero(self.open))}
        ends[len(self.now) - 2] = drawn
        rates = self._rates(self.clock, self.now)
        left = ((end - self.now[at], rates[at]) for at, end in ends.items())
        whole = min((way / rate for way, rate in left if way * rate > 0.0), default=LONGEST)
        first = min(FIRST_STEP * float(whole), LONGEST)
        solver = RK23(
            self._rates, self.clock, self.now, self.clock + LONGEST, first_step=first, rtol=TOLERANCE, atol=LEAST_AIR
        )
        spare, old, slope = self._spare(self.now) if feeding else 1.0, self.now, solver.f
        while True:
            solver.step()
            if solver.status != "running":
                raise ArithmeticError(NO_REST)
            new, spare_before, spare = solver.y, spare, self._spare(solver.y) if feeding else 1.0
            met = [place for place, end in ends.items() if (old[place] < end) != (new[place] < end)]
            if met or (spare_before > 0.0) != (spare > 0.0):
                break
            self.curve.append((np.array([solver.t]), new[:, None]))
            old, slope = new, solver.f
        course = _Cubic.through(old, slope, solver.y, solver.f, solver.t - solver.t_old)
        shares = [course.meets(place, ends[place]) for place in met]
        if (spare_before > 0.0) != (spare > 0.0):
            shares.append(_when(lambda share: self._spare(course.at(share))))
        at = POINTS * min(shares)
        times, points = solver.t_old + at * (solver.t - solver.t_old), np.array([course.at(share) for share in at]).T
        self.curve.append((times, points))
        self.ran += (float(times[-1]) - self.clock) * self.running
        self.clock, self.now = float(times[-1]), points[:, -1].copy()

    def result(self, rig: Rig) -> Filling:
        """Return what came of it, the wait for what stalled included."""
        stalled = np.isfinite(self.stalled_at)
        tank, wait, more = self._after(stalled)
        times = np.concatenate([t for t, _ in self.curve])
        values = np.concatenate([y for _, y in self.curve], axis=1)
        answers = np.array([self.way.answer(now[:-2]) for now in values.T])
        pressure, roll = np.where(rig.has_bag[:, None], answers[:, :4].reshape(-1, 2, 2), np.nan), answers[:, 4]
        reached = np.where(stalled, self.way.goal, self.now[:-2])
        share = np.array([len(port.corners) for port in self._ports])
        return Filling(
            time=self._at_corners(rig, np.where(stalled, self.clock + wait, self.done), 0.0),
            air_in=self._at_corners(rig, np.maximum(reached, 0.0) / share, 0.0),
            air_out=self._at_corners(rig, np.maximum(-reached, 0.0) / share, 0.0),
            tank=tank,
            delivered=float(self.now[-1]) + (more if np.isfinite(wait) else 0.0),
            compressor_time=self.ran + (wait * self.supply.duty if np.isfinite(wait) else 0.0),
            stalled_at=self._at_corners(rig, self.stalled_at, np.nan),
            wait=wait,
            times=times,
            tank_pressure=self.tank_pressure(values),
            pressure=pressure,
            roll=roll,
        )

    def _after(self, stalled: Flags) -> tuple[Tank, float, float]:
        """Return the tank when all is done, the wait for it [s] and the free air delivered during it [m³]."""
        now = float(self.tank_pressure(self.now))
        if not stalled.any():
            return Tank(now, self.running), 0.0, 0.0
        needed = float(self.way.answer(self.way.goal)[self._place][stalled].max())
        missing = float((self.way.goal - self.now[:-2])[stalled].sum())
        end = max(needed, now)
        if end > self.supply.cut_out:
            return Tank(now, self.running), np.inf, 0.0
        more = missing + (end - now) * self.supply.volume / FREE_AIR_PRESSURE
        return Tank(end, True), self.supply.time_to_deliver(more, now, end) / self.supply.duty, more

    def _at_corners(self, rig: Rig, values: Sequence[float] | Array, idle: float) -> Array:
        """Return values of ports at their corners, those with nothing to do, and NaN with no bag, shape (2, 2)."""
        found = np.full((2, 2), idle)
        for port, value in zip(self._ports, values, strict=True):
            for corner in port.corners:
                found[corner] = value
        return np.where(rig.has_bag[:, None], found, np.nan)
