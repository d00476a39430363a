"""How sure an answer is: what comes of the set pressures if every input is off by about as much as it may be."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np

from planner.errors import Refusal
from planner.physics.bag_limits import bounds_of
from planner.physics.equilibrium import Settled
from planner.physics.standing_truck import StandingTruck
from planner.physics.truck_model import SIDE
from planner.physics.validation import Array, Flags
from planner.plans.answer import AXLES, SEVERITIES, Answer, Severity
from planner.plans.ratings import (
    LOW,
    checks,
    headlamp_aim,
    headlamps_off,
    least_twist_told,
    left_by_gauge,
    misses_wanted,
    off_wanted,
    sits_low,
)
from planner.plans.setup import Setup, rig_of
from planner.plans.uncertainty.samples import BASE, SEED, Batch, Column, batch, columns, groups, sample_deviations
from planner.plans.uncertainty.spreads import Spreads, spreads_of

PERCENTILES: Final = (5.0, 25.0, 50.0, 75.0, 95.0)
WITHIN: Final = 0.9  # share of the draws that the one sentence speaks of: 9 times in 10
MANY_THINGS: Final = 100  # things on the truck, past which half as many trucks are drawn
NO_SPREAD: Final = 1e-9  # [m] a standard deviation below this is the arithmetic's


class Band(NamedTuple):
    """Where the draws of a number lie: five percentiles, each of the number's shape."""

    low: Array  # 5 %
    quarter: Array  # 25 %
    median: Array
    three_quarters: Array  # 75 %
    high: Array  # 95 %


@dataclass(frozen=True)
class Chance:
    """How likely one finding is.

    Attributes
    ----------
    code, level : of the finding
    share : of the draws that have it
    now : whether the answer itself has it
    """

    code: str
    level: Severity
    share: float
    now: bool


@dataclass(frozen=True, eq=False)
class Shares:
    """How much of a variance comes from each group of inputs (Sobol' indices).

    Attributes
    ----------
    groups : of inputs that have a spread
    first : share that fixing this group alone would take away, shape (groups,)
    total : share that would be left if all others were fixed, shape (groups,)
    """

    groups: tuple[str, ...]
    first: Array
    total: Array

    @property
    def most(self) -> str | None:
        """The group that matters most; None where nothing varies."""
        return self.groups[int(np.argmax(self.total))] if self.total.size and self.total.max() > 0 else None


@dataclass(frozen=True, eq=False)
class Certainty:
    """What comes of the set pressures when the inputs are as sure as they are.

    Attributes
    ----------
    spreads : of every input, by key
    draws : number of trucks drawn
    without_rest : share of them that come to no rest; all else is of those that do, and of no use where none does
    ride_height : band at each corner, arrays of shape (2, 2) [m]
    level_height : ride height of each corner at the wanted stance, shape (2, 2) [m]
    level_wanted : whether the wanted stance is level
    rise : band of the body's rise at the front and rear axle line, less the wanted, arrays of shape (2,) [m]
    lean : band of the left side's height above the right, over the rear track, less the wanted [m]
    within : distance from the wanted height that no corner passes in WITHIN of the draws [m]
    out_of_level : share of the draws that a tape tells from the wanted stance
    tape_error : what a tape can tell [m]
    chances : of findings that any draw has, likeliest of the worst first
    share_of : whose the variance is, of "all" four corners' heights together, of the "front" and "rear" rise and "lean"
    loose : share of the draws in which pressure does not fix the height of each axle, shape (2,)
    """

    spreads: Spreads
    draws: int
    without_rest: float
    ride_height: Band
    level_height: Array
    level_wanted: bool
    rise: Band
    lean: Band
    within: float
    out_of_level: float
    tape_error: float
    chances: tuple[Chance, ...]
    share_of: Mapping[str, Shares]
    loose: Array

    @property
    def shares(self) -> Shares:
        """Whose the variance of the heights of all corners together is."""
        return self.share_of["all"]


def find_uncertainty(
    setup: Setup, answer: Answer, own: Mapping[str, float] | None = None, *, base: int | None = None, seed: int = SEED
) -> Certainty:
    """Return how sure an answer is at its set pressures.

    Parameters
    ----------
    setup, answer : what was asked, and `level_setup` of it
    own : mapping of key to one standard deviation, optional
        Spreads that go before those of the files and typical ones; see `spreads_of`. [SI]
    base : int, optional
        Points of each sample, a power of two; (groups + 2) times as many trucks are settled. Left out: 512, or 256
        where more than MANY_THINGS lie on the truck, whose every weight and place is drawn.
    seed : int
        The same seed gives the same answer.

    Returns
    -------
    Certainty

    Raises
    ------
    Refusal
        If a spread is negative or not finite, or base is not a power of two.
    UnknownName
        If a spread is of no input.

    Notes
    -----
    Each number is drawn on its own, normal, cut off at three deviations. One batch of `settle` serves bands, chances
    and shares: the design of A. Saltelli et al., Computer Physics Communications 181 (2010) 259-270, its first-order
    and total indices by scipy.stats.sobol_indices. The indices of several heights are put together in the ratio of
    their variances (M. Lamboni, H. Monod and D. Makowski, Reliability Engineering and System Safety 96 (2011) 450-459,
    from memory).

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.setup import Setup
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> setup = Setup.of(mill.profile, mill.truck, mill.trailer)
    >>> from planner.plans.level import level_setup
    >>> type(find_uncertainty(setup, level_setup(setup), base=64)).__name__
    'Certainty'
    """
    if base is None:
        base = BASE if len(setup.cargo) <= MANY_THINGS else BASE // 2
    spreads, drawn, trucks, everyone, at_rest = _draw(setup, answer, own, base, seed)
    heights = np.column_stack([_body(setup, everyone.state).reshape(-1, 4), _stance(setup, everyone.state)])
    shares = variance_shares(heights, at_rest, tuple(groups(drawn)), base)
    trucks, settled = trucks.take(at_rest), everyone.of(at_rest)
    wanted = setup.wanted
    off = _stance(setup, settled.state) - _stance(setup, wanted)
    design = _design(setup)
    return Certainty(
        spreads=spreads,
        draws=len(everyone.state),
        without_rest=1.0 - float(everyone.converged.mean()),
        ride_height=_band(design + trucks.ride_heights(settled.state)),
        level_height=design + _ride_at_wanted(setup),
        level_wanted=not wanted.any(),
        rise=_band(off[:, :2]),
        lean=_band(off[:, 2]),
        within=_within(setup, settled),
        out_of_level=float(misses_wanted(setup, settled.state, wanted).any(axis=-1).mean()),
        tape_error=float(setup.truck.instruments.tape_error),
        chances=_chances(setup, answer, trucks, settled),
        share_of=shares,
        loose=1.0 - settled.fixed.mean(axis=0),
    )


def find_within(
    setup: Setup, answer: Answer, own: Mapping[str, float] | None = None, *, base: int = BASE, seed: int = SEED
) -> float:
    """Return what no corner passes in WITHIN of 2 base draws, `Certainty.within`, without all else that is found. [m]

    Parameters, what is raised: those of `find_uncertainty`. The trucks that say whose the variance is are not drawn.

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.level import level_setup
    >>> from planner.plans.setup import Setup
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> setup = Setup.of(mill.profile, mill.truck, mill.trailer)
    >>> answer = level_setup(setup)
    >>> 0.9 < find_within(setup, answer) / find_uncertainty(setup, answer).within < 1.1
    True
    """
    drawn = _draw(setup, answer, own, base, seed, by_group=False)
    return _within(setup, drawn.everyone.of(drawn.at_rest))


class _Drawn(NamedTuple):
    """Trucks as they may be: by what they differ, where they settle, and which count: all, where none comes to rest."""

    spreads: Spreads
    columns: list[Column]
    trucks: Batch
    everyone: Settled
    at_rest: Flags


def _draw(
    setup: Setup, answer: Answer, own: Mapping[str, float] | None, base: int, seed: int, *, by_group: bool = True
) -> _Drawn:
    """Return trucks drawn and settled at the set pressures of an answer."""
    if base < 1 or base & (base - 1):
        raise Refusal("base must be a power of two", f"{base}", "512 is usual")
    spreads = spreads_of(setup, own)
    drawn = columns(setup, answer, spreads)
    trucks = batch(setup, answer, drawn, sample_deviations(drawn, base, seed, by_group=by_group))
    everyone = trucks.settle(_start(answer))
    at_rest = everyone.converged if everyone.converged.any() else np.ones_like(everyone.converged)
    return _Drawn(spreads, drawn, trucks, everyone, at_rest)


def _within(setup: Setup, settled: Settled) -> float:
    """Return the distance from the wanted height that no corner passes in WITHIN of some trucks. [m]"""
    off = np.abs(_body(setup, settled.state) - _body(setup, setup.wanted))
    return float(np.quantile(off.max(axis=(-1, -2)), WITHIN))


def _start(answer: Answer) -> Array:
    """Return a state to start from: where the set pressures bring the truck if all is as it is said to be."""
    stance = answer.set.stance
    return np.array([stance.front, stance.rear, stance.roll, answer.side_moment[0]])


def _tracks(setup: Setup) -> Array:
    """Return the track of both axles. [m]"""
    return np.array([float(setup.truck.front.track), float(setup.truck.rear.track)])


def _body(setup: Setup, state: Array) -> Array:
    """Return how high the body is above level over each wheel, shape (..., 2, 2). [m]"""
    return state[..., :2, None] + SIDE * (_tracks(setup) / 2.0)[:, None] * state[..., 2, None, None]


def _stance(setup: Setup, state: Array) -> Array:
    """Return rise front and rear, and how high the left side is over the rear track, shape (..., 3). [m]"""
    stance: Array = state[..., :3] * np.array([1.0, 1.0, float(setup.truck.rear.track)])
    return stance


def _design(setup: Setup) -> Array:
    """Return the design ride heights, shape (2, 1). [m]"""
    return np.array([[float(setup.truck.front.ride_height)], [float(setup.truck.rear.ride_height)]])


def _ride_at_wanted(setup: Setup) -> Array:
    """Return what a tape shows beyond design at the wanted stance, side load split for the least twist. [m]"""
    rig = rig_of(setup.truck)
    load = setup.load(rig)
    return rig.ride_heights(load, np.append(setup.wanted, load.least_twist_at(setup.wanted[2])))


def _band(values: Array) -> Band:
    """Return the percentiles of draws, the first axis."""
    return Band(*np.percentile(values, PERCENTILES, axis=0))


def variance_shares(heights: Array, at_rest: Flags, names: tuple[str, ...], base: int) -> dict[str, Shares]:
    """Return whose variance it is: of "all" four corners' heights together, of the "front" and "rear" rise, the "lean".

    ``heights`` of shape ((groups + 2) base, 7) are four corners and the stance; the blocks are those of `draw`.
    A point that does not rest in every block is put in the middle in all of them: it adds nothing to any sum, and the
    samples stay as long as they have to be.
    """
    blocks = np.moveaxis(heights.reshape(len(names) + 2, base, -1), 1, -1)
    counts = at_rest.reshape(len(names) + 2, base).all(axis=0)
    if not counts.all():
        middle = blocks[..., counts].mean(axis=(0, -1), keepdims=True) if counts.any() else np.zeros((1, 7, 1))
        blocks = np.where(counts, blocks, middle)
    variance = np.var(np.concatenate([blocks[0], blocks[1]], axis=-1), axis=-1)
    first, total = _indices(blocks, base)
    parts = {"all": slice(0, 4), "front": slice(4, 5), "rear": slice(5, 6), "lean": slice(6, 7)}
    return {what: _together(names, first[part], total[part], variance[part]) for what, part in parts.items()}


def _indices(blocks: Array, base: int) -> tuple[Array, Array]:
    """Return first-order and total indices, shape (outputs, groups), of blocks A, B, and one a group."""
    from scipy.stats import sobol_indices  # importing it takes longer than all else that a command does

    outputs, count = blocks.shape[1], len(blocks) - 2
    if not count:
        return np.zeros((outputs, 0)), np.zeros((outputs, 0))
    found = sobol_indices(func={"f_A": blocks[0], "f_B": blocks[1], "f_AB": blocks[2:]}, n=base)
    return found.first_order.reshape(outputs, count), found.total_order.reshape(outputs, count)


def _together(names: tuple[str, ...], first: Array, total: Array, variance: Array) -> Shares:
    """Return the indices of several outputs as one, in the ratio of their variances; noughts where nothing varies."""
    whole = float(variance.sum())
    if whole <= NO_SPREAD**2:
        return Shares(names, np.zeros(len(names)), np.zeros(len(names)))
    return Shares(names, variance @ first / whole, variance @ total / whole)


def _chances(setup: Setup, answer: Answer, trucks: Batch, settled: Settled) -> tuple[Chance, ...]:
    """Return every finding that a draw has, the worst kind first and of one kind the likeliest."""
    now = {finding.code for finding in answer.findings}
    carried = trucks.carried(settled)
    labels = ((one.code, one.level, one.passed) for one in checks(setup, carried))
    passed = [*labels, *_stands(setup, answer, trucks, settled), *_body_and_frame(setup, trucks, settled)]
    found = [Chance(code, level, float(flags.mean()), code in now) for code, level, flags in passed if flags.any()]
    return tuple(sorted(found, key=lambda one: (SEVERITIES.index(one.level), -one.share)))


def _stands(setup: Setup, answer: Answer, trucks: Batch, settled: Settled) -> Iterator[tuple[str, Severity, Flags]]:
    """Yield what is found of the stance, draw by draw: what a tape can tell, and what pressure does not fix.

    Where the gauge's steps move the truck they move every draw alike: how stiff it is differs little.
    """
    missed = misses_wanted(setup, settled.state, setup.wanted)
    for k, (name, axle) in enumerate(zip(AXLES, (setup.truck.front, setup.truck.rear), strict=True)):
        yield f"stance-not-reached-{name}", "caution" if axle.bag else "note", missed[:, k]
        yield f"height-not-fixed-{name}", "caution", ~settled.fixed[:, k]
    yield "lean-left-over", "caution", missed[:, 2]
    for n, low in enumerate(_sit_low(setup, trucks, settled).T):
        yield f"sits-low-{LOW[n].split()[0]}", "stop", low
    at_set, steps = off_wanted(setup, settled.state, setup.wanted), _stance(setup, _start(answer))
    steps -= np.array(list(vars(answer.stance).values())) * np.array([1.0, 1.0, float(setup.truck.rear.track)])
    yield "gauge-too-coarse", "caution", np.any(left_by_gauge(setup, at_set - steps, at_set), axis=-1)


def _sit_low(setup: Setup, trucks: Batch, settled: Settled) -> Flags:
    """Return where front, rear, left and right side sit low, now and with all the air that may go in, shape (n, 4)."""
    bounds, tape = bounds_of(rig_of(setup.truck)), float(setup.truck.instruments.tape_error)
    full = trucks.asked_too_much(setup.wanted, bounds)
    now: Flags = sits_low(setup, settled.state, full) > 0.0
    some: Flags = np.any(now, axis=-1)
    if some.any():
        best = trucks.take(some).with_all_air(setup.wanted, bounds, tape)
        now[some] &= sits_low(setup, best, full[some]) > 0.0
    return now


def _body_and_frame(setup: Setup, trucks: Batch, settled: Settled) -> Iterator[tuple[str, Severity, Flags]]:
    """Yield what is found of headlamps, twist and tipping over, draw by draw, as the findings have them."""
    state = settled.state
    yield "tips-over", "stop", ~StandingTruck(trucks.rig, trucks.load, state, settled.pressure).upright
    for level, flags in headlamps_off(headlamp_aim(setup, state[:, 0], state[:, 1])).items():
        yield "headlamp-aim", level, flags
    least = least_twist_told(setup, trucks.load.axle[:, 0] - trucks.rig.unsprung_load[..., 0])
    yield "frame-twist", "note", np.abs(state[:, 3] - trucks.load.least_twist_at(state[:, 2])) > least
