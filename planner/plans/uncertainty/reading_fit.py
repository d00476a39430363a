"""The most likely truck behind a reading: gauge and tape against the model's own equations of rest.

What is not known are the state of the truck, every number of truck and load that has a spread, how the bags' areas
answer height, and a load that nobody listed. A state and a truck ask a pressure of each bag, explicitly; the gauges
say what it is, and the tapes what the state is.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, partial
from typing import Final, NamedTuple

import numpy as np

from planner.physics.area_tilt import TiltedPressure, tilted
from planner.physics.array_layout import by_axle
from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.constants import STOP_RATE
from planner.physics.equilibrium import Settled, settle
from planner.physics.least_squares import Cases, Fit, fit_with_prior
from planner.physics.statics import Load
from planner.physics.truck_model import SIDE, Rig
from planner.physics.validation import Array, Flags
from planner.plans.answer import AXLES, Answer
from planner.plans.setup import Setup, rig_of
from planner.plans.uncertainty.samples import Column, batch, columns, drawn_together
from planner.plans.uncertainty.spreads import CHART_SLOPE, spreads_of

STATE_SPREAD: Final = np.array([0.05, 0.05, 0.03, 5000.0])  # [m, m, rad, N·m] about where the tapes are: no bound
REPEATS: Final = 0.25  # [-] of a gauge's error that is another one at each look; the rest stays: from memory
HALF_STEP: Final = 1.0 / 12.0**0.5  # [-] deviation of what is read to a whole step, as a part of the step
UNLISTED: Final = 0.10  # [-] of an axle's kerb weight that may be aboard and on no list: common practice
UNLISTED_SIDE: Final = 0.01  # [-] of the kerb's weight that may lie on one wheel's side: common practice
ASSUMED: Final = 5 * 6894.757293168361  # [Pa] deviation of a pressure that was not read, from what was planned
TIGHT: Final = 0.02  # [-] of a gauge's error, to which two bags on one line agree
SOFT_STOPS: Final = (3e5, 3e6, STOP_RATE)  # [N/m] with which stops are met first: at full rate steps go to and fro
TIGHT_FORCE: Final = 10.0  # [N] to which steel alone carries a corner


class Readings(NamedTuple):
    """What gauges and tapes said of one truck, n times; NaN where nothing was read.

    pressure : gauge, shape (n, 2, 2) [Pa]
    ride_height : hub to arch, shape (n, 2, 2) [m]
    """

    pressure: Array
    ride_height: Array


class Trucks(NamedTuple):
    """Trucks that may be this one, each in a state, N of them.

    rig, load : what each is and carries
    hitch_load : on its hitch, shape (N,) [N]
    bias : true pressure less what the gauge shows, shape (N, 2, 2) [Pa]
    scale : force of a bag against what chart and true pressure say, at fitted height, shape (N, 2, 2) [-]
    tilt : of its bags' areas, shape (N, 2) [1/m]
    state : rises, roll, front axle's side moment, shape (N, 4) [m, m, rad, N·m]
    """

    rig: Rig
    load: Load
    hitch_load: Array
    bias: Array
    scale: Array
    tilt: Array
    state: Array

    def asked(self, stop_rate: float = STOP_RATE) -> tuple[Array, Array]:
        """Return what a gauge shows at each corner if the truck is to rest so [Pa], and the bag's force [N].

        stop_rate : of a stop, past either end of a bag's chart [N/m]
        """
        height, force = self.rig.corners(self.load, self.state)
        force = force - self.rig.steel_force(height) - (STOP_RATE - stop_rate) * self.rig.past_end(height)
        charted = force / (tilted(self.rig, height, self.tilt) * self.scale)  # what the chart has to account for
        acting = np.where(self.rig.has_bag[:, None], self.rig.bag_pressure(height, charted), 0.0)
        return acting - self.bias, force

    def settle(self, shown: Array) -> Settled:
        """Return where each rests with its gauges at a number, shape (N, 2, 2) [Pa], from its state."""
        acting = (shown + self.bias) * self.scale * self.rig.has_bag[:, None]
        return settle(self.rig, self.load, TiltedPressure(acting, self.tilt), self.state)

    @property
    def side_moments(self) -> Array:
        """Side moment on each axle, shape (N, 2). [N·m]"""
        return self.rig.axle_moments(self.load, self.state)

    def ride_heights(self) -> Array:
        """Return the rise of each arch above its wheel centre against design, shape (N, 2, 2). [m]"""
        return self.rig.ride_heights(self.load, self.state)


class Freedom(NamedTuple):
    """Deviations of a load that is on no list: on the front and rear axle [N], its side moment [N·m]."""

    front: float
    rear: float
    side: float


def unlisted(setup: Setup) -> Freedom:
    """Return how much may be aboard that nobody wrote down."""
    kerb = setup.truck.kerb
    side = UNLISTED_SIDE * (kerb.front_axle + kerb.rear_axle) * G * float(setup.truck.rear.track) / 2.0
    return Freedom(UNLISTED * kerb.front_axle * G, UNLISTED * kerb.rear_axle * G, side)


@dataclass(frozen=True, eq=False)
class Unknowns:
    """What is not known of a truck and its load, as numbers in deviations of their prior, each independent of the rest.

    Attributes
    ----------
    setup, planned : what is said to be, and its plan
    free : the load that is on no list
    own : spreads that go before those of files and typical ones [SI]
    """

    setup: Setup
    planned: Answer
    free: Freedom
    own: Mapping[str, float] | None = None

    @cached_property
    def drawn(self) -> list[Column]:
        """The numbers of truck and load that have a spread."""
        return columns(self.setup, self.planned, spreads_of(self.setup, self.own))

    @cached_property
    def together(self) -> tuple[list[int], Array]:
        """Places of the numbers that were learnt together, and what makes them of numbers of their own."""
        return drawn_together(self.drawn)

    @cached_property
    def plain(self) -> Rig:
        """The truck as its file has it."""
        return rig_of(self.setup.truck)

    @cached_property
    def count(self) -> int:
        """How many numbers there are, the state left out."""
        return len(self.drawn) + len(AXLES) + len(self.free)

    @cached_property
    def deviations(self) -> Array:
        """Deviation of each, the state left out, shape (count,). [SI of each]"""
        bags = (axle.bag for axle in (self.setup.truck.front, self.setup.truck.rear))
        tilts = [CHART_SLOPE if bag and not bag.has_one_height else 0.0 for bag in bags]  # that of one height is drawn
        return np.array([*(column.deviation for column in self.drawn), *tilts, *self.free])

    def trucks(self, numbers: Array, state: Array) -> Trucks:
        """Return the trucks of numbers in deviations, shape (N, count), in states, (N, 4).

        No number goes further out than it is drawn for How sure: a reading that asks for more is told of as doubtful.
        """
        known, reach = len(self.drawn), np.array([column.reach for column in self.drawn])
        values = numbers * self.deviations
        own, (tied, root) = numbers[:, :known].copy(), self.together
        own[:, tied] = own[:, tied] @ root.T
        values[:, :known] = own.clip(-reach, reach) * self.deviations[:known]
        made = batch(self.setup, self.planned, self.drawn, values[:, :known])
        front, rear, side = values[:, known + 2 :].T
        kerb = self.plain.kerb.axle - self.plain.unsprung_load
        more = Load(by_axle(front, rear), side, side * kerb[0] / kerb.sum(), np.zeros_like(side), np.zeros_like(side))
        bias = made.pressure - np.nan_to_num(self.planned.set.pressure)
        scale = np.divide(made.acting, made.pressure, out=np.ones_like(bias), where=made.pressure > 0)
        tilt = values[:, known : known + 2]
        return Trucks(made.rig, made.load + more, made.hitch_load, bias, scale, tilt, state)


@dataclass(frozen=True, eq=False)
class Gauges:
    """How well gauge and tape are read, each a deviation.

    Attributes
    ----------
    joined, has_bag : of the axles
    look : of one look at a gauge [Pa]
    tape : of one tape [m]
    """

    joined: Flags
    has_bag: Flags
    look: float
    tape: float

    @classmethod
    def of(cls, setup: Setup) -> Gauges:
        """Return those of a setup's instruments: the part of a gauge's error that does not stay, and its steps."""
        instruments, rig = setup.truck.instruments, rig_of(setup.truck)
        look = np.hypot(REPEATS * float(instruments.gauge_error), HALF_STEP * float(instruments.gauge_step))
        return cls(np.array(rig.joined), rig.has_bag, float(look), float(instruments.tape_error))

    def rests(self, trucks: Trucks, shown: Array, error: Array, stop_rate: float = STOP_RATE) -> Array:
        """Return by how much each corner does not rest with its gauge at a number, in errors of a look, (N, 4).

        shown, error : of each gauge, shape (N, 2, 2) [Pa]. On one line the first says what the gauge does, the second
        that both bags have one pressure; without a bag, that steel carries the corner.
        """
        asked, force = trucks.asked(stop_rate)
        mean = asked.mean(axis=-1)
        alike = np.stack(
            [(mean - shown[..., 0]) / error[..., 0], (asked[..., 0] - asked[..., 1]) / (TIGHT * self.look)], axis=-1
        )
        rows = np.where(self.joined[:, None], alike, (asked - shown) / error)
        return np.where(self.has_bag[:, None], rows, force / TIGHT_FORCE).reshape(len(rows), 4)

    @property
    def looked_at(self) -> Array:
        """Which of those rows a look at a gauge has its error in, shape (4,). [0 or 1]"""
        own = np.stack([self.has_bag, self.has_bag & ~self.joined], axis=-1)
        return own.reshape(4).astype(float)


@dataclass(frozen=True, eq=False)
class ReadingFit:
    """The most likely trucks behind n readings.

    Attributes
    ----------
    unknowns, readings : what it was found from
    gauges : how well gauge and tape are read
    fit : of state and numbers, in deviations
    first : the states that the fit counts from, shape (n, 4)
    on_stop : which bags may be on a stop for all a tape can tell, so that their gauge tells nothing, shape (n, 2, 2)
    """

    unknowns: Unknowns
    readings: Readings
    gauges: Gauges
    fit: Fit
    first: Array
    on_stop: Flags

    def trucks(self, value: Array | None = None) -> Trucks:
        """Return the trucks of values of the fit, shape (n, p) or (n, k, p) in one row; left out: the most likely."""
        return trucks_at(self.unknowns, self.first, self.fit.value if value is None else value)

    @property
    def misfit(self) -> Array:
        """What is left over and how far the numbers had to go for it, squared, shape (n,); see `DOUBT`. [-]"""
        off = (self.fit.value[:, 4:] ** 2).sum(axis=-1) + (self.fit.left_over**2).sum(axis=-1)
        return np.asarray(off, float)


def trucks_at(unknowns: Unknowns, first: Array, value: Array) -> Trucks:
    """Return trucks of values of a fit, shape (n, p) or (n, k, p), in one row; the state comes first."""
    state = value[..., :4] * STATE_SPREAD
    state += first if value.ndim == 2 else first[:, None]
    return unknowns.trucks(value[..., 4:].reshape(-1, unknowns.count), state.reshape(-1, 4))


def fit_readings(unknowns: Unknowns, readings: Readings) -> ReadingFit:
    """Return the most likely trucks behind readings of one truck, each by itself.

    Parameters
    ----------
    unknowns : Unknowns
    readings : Readings, n of them
        A pressure that was not read is taken as planned, give or take `ASSUMED`; a height that was not taped says
        nothing.

    Returns
    -------
    ReadingFit

    Notes
    -----
    Normal priors of the spreads, normal errors of gauge and tape: `fit_with_prior`. A gauge is off by its error once
    for all, and a little again at each look (`REPEATS`), as is what the step hides.
    """
    gauges = Gauges.of(unknowns.setup)
    shown, error = shown_and_error(unknowns, gauges, readings.pressure)
    first, taped = first_states(unknowns, readings), ~np.isnan(readings.ride_height)
    heights = np.where(taped, readings.ride_height, 0.0).reshape(-1, 1, 4)

    def rows(value: Array, cases: Cases, stop_rate: float) -> Array:
        count, tried = value.shape[:2]
        trucks = trucks_at(unknowns, first[cases], value)
        asked, spread = (np.repeat(part[cases], tried, axis=0) for part in (shown, error))
        rests = gauges.rests(trucks, asked, spread, stop_rate)
        ride = design_heights(unknowns.setup) + trucks.ride_heights()
        off = (ride.reshape(count, tried, 4) - heights[cases]) / gauges.tape
        return np.concatenate(
            [rests.reshape(count, tried, 4), np.where(taped[cases].reshape(-1, 1, 4), off, 0.0)], axis=-1
        )

    found = np.zeros((len(first), 4 + unknowns.count))
    for stop_rate in SOFT_STOPS:
        fit = fit_with_prior(partial(rows, stop_rate=stop_rate), found)
        found = fit.value
    on_stop = _on_stops(trucks_at(unknowns, first, fit.value), gauges)
    blind = on_stop | (gauges.joined[:, None] & on_stop.any(axis=-1, keepdims=True))
    rows_blind = np.concatenate([blind.reshape(-1, 4), np.zeros((len(first), 4), bool)], axis=-1)
    fit = fit._replace(slope=np.where(rows_blind[..., None], 0.0, fit.slope))
    return ReadingFit(unknowns, readings, gauges, fit, first, on_stop)


def _on_stops(trucks: Trucks, gauges: Gauges) -> Flags:
    """Return which bags may be on a stop for all a tape can tell, shape (n, 2, 2).

    What a stop carries shows on no gauge; a bag just off it may be just on it.
    """
    height, ends = trucks.rig.corners(trucks.load, trucks.state).spring_height, trucks.rig.travel
    near: Flags = (height < ends[:, :1] + gauges.tape) | (height > ends[:, 1:] - gauges.tape)
    return near


def shown_and_error(unknowns: Unknowns, gauges: Gauges, pressure: Array) -> tuple[Array, Array]:
    """Return what gauges show, as planned where they were not read, and how far that may be off, (n, 2, 2). [Pa]"""
    read = ~np.isnan(pressure)
    shown = np.where(read, pressure, np.nan_to_num(unknowns.planned.set.pressure))
    return shown, np.where(read, gauges.look, ASSUMED)


def design_heights(setup: Setup) -> Array:
    """Return the design ride heights, shape (2, 1). [m]"""
    return np.array([[float(setup.truck.front.ride_height)], [float(setup.truck.rear.ride_height)]])


def first_states(unknowns: Unknowns, readings: Readings) -> Array:
    """Return the states that tapes say, as planned where there was none, shape (n, 4)."""
    setup, plain, stance = unknowns.setup, unknowns.plain, unknowns.planned.set.stance
    planned = np.array([stance.front, stance.rear, stance.roll, float(unknowns.planned.side_moment[0])])
    load = setup.load(plain)
    rides = design_heights(setup) + plain.ride_heights(load, planned)
    off = readings.ride_height - rides
    known = ~np.isnan(off)
    off = np.where(known, off, 0.0)
    both = known.all(axis=-1)
    half = (setup_tracks(setup) / 2.0)[:, None] * SIDE
    roll = np.where(both, (off[..., 0] - off[..., 1]) / setup_tracks(setup), 0.0)
    roll = roll.sum(axis=-1) / np.maximum(both.sum(axis=-1), 1)
    straight = np.where(known, off - half * roll[:, None, None], 0.0)
    rise = straight.sum(axis=-1) / np.maximum(known.sum(axis=-1), 1)
    states: Array = planned + np.column_stack([rise, roll, np.zeros(len(roll))])
    return states


def setup_tracks(setup: Setup) -> Array:
    """Return the track of both axles, shape (2,). [m]"""
    return np.array([float(setup.truck.front.track), float(setup.truck.rear.track)])


def over_wheels(setup: Setup, state: Array) -> Array:
    """Return how high the body stands above the wanted stance over each wheel, shape (..., 2, 2). [m]"""
    off = state[..., :3] - setup.wanted
    arms = SIDE * (setup_tracks(setup) / 2.0)[:, None]
    high: Array = off[..., :2, None] + arms * off[..., 2, None, None]
    return high


def steered(rig: Rig) -> Flags:
    """Tell which corners have a bag, shape (2, 2)."""
    corners: Flags = np.repeat(rig.has_bag[:, None], 2, axis=1)
    return corners


def alone(trucks: Trucks, case: int) -> Trucks:
    """Return one of the trucks, its rig a rig of one truck, in a row of one."""
    row = slice(case, case + 1)
    return Trucks(trucks.rig.truck(case), trucks.load.take(row), *(part[row] for part in trucks[2:]))
