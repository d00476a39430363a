"""What readings on a scale teach of a truck: bag area, steel and tyres, how sure they then are, what to read next."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np

from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.map_estimate import Estimate, estimate
from planner.physics.validation import Array, Flags
from planner.plans.answer import AXLES, CORNERS
from planner.plans.weighed_truck import AXLE_LOADS, LINES, OF_READING, ROWS, Prior, WeighedTruck, combined, places_of
from planner.records import Truck
from planner.records.weighed_reading import WeighedReading

WILD: Final = 0.01  # [-] chance that sound readings have one number that is called wild
ALIKE: Final = 0.7  # [-] of the worst, from which on another number may be the wild one as well
MOST_TRIED: Final = 5  # of them
LEARNT: Final = 0.9  # [-] of its prior spread, below which a number counts as learnt
MOST_WILD: Final = 8  # numbers that are asked about; readings with more are not of this truck
POUNDS: Final = 0.45359237  # [kg] international avoirdupois pound, 1959
MORE: Final = (400.0 * POUNDS, 800.0 * POUNDS)  # [kg] of cargo to try as the next reading
LIFT: Final = 0.0254  # [m] up or down by air, to try as the next reading


@dataclass(frozen=True)
class Parameter:
    """A number of the truck, learnt.

    Attributes
    ----------
    prior : as the file has it, with its spread
    value, sd : as the readings have it, and one standard deviation [as of the prior]
    """

    prior: Prior
    value: float
    sd: float

    @property
    def path(self) -> str:
        """What it is called: "front.bag.area_scale"."""
        return self.prior.path

    @property
    def learnt(self) -> bool:
        """Whether the readings told more of it than was known."""
        return self.sd < LEARNT * self.prior.sd


@dataclass(frozen=True)
class Residual:
    """A number of a reading against what the learnt truck has there.

    Attributes
    ----------
    reading : which, from 0
    what : "ride_height", "pressure", "axle_load", "steel" (force left over at an axle without bags) or "line" (how much
        higher the left one of two bags on one line is)
    corner : its name; of a line the left one, of an axle load the axle
    measured, expected : [m, Pa, N, N, Pa]
    off : measured less expected over how far that may be off, so that 3 is rare [-]
    wild : whether it was left out and is to be asked about
    """

    reading: int
    what: str
    corner: str
    measured: float
    expected: float
    off: float
    wild: bool = False


@dataclass(frozen=True)
class Doubt:
    """A number, or two corners, of a reading that do not go with the others: left out, and to be asked about.

    Attributes
    ----------
    residual : the number
    swapped : the two corners that look exchanged; None where it looks like a slip of the pen
    """

    residual: Residual
    swapped: tuple[str, str] | None = None


@dataclass(frozen=True)
class Moved:
    """What one reading did: the parameter it moved most, and by how much; None where it moved none."""

    reading: int
    path: str | None
    by: float
    in_prior_sd: float


@dataclass(frozen=True)
class NextReading:
    """The reading that would help most.

    Attributes
    ----------
    front, rear : more on each axle than at the last reading [N]
    rise : of the whole body by more air [m]
    path : of the parameter it would tell most of
    gain : of it, by which part its spread would shrink [-]
    """

    front: float
    rear: float
    rise: float
    path: str
    gain: float


@dataclass(frozen=True, eq=False)
class Calibration:
    """A truck's numbers as readings teach them.

    Attributes
    ----------
    parameters : in the order of the truck
    correlation : of the parameters, shape (p, p) [-]
    residuals : of every number of the readings
    doubts : what was left out and is to be asked about
    moved : of every reading
    next_reading : None where no reading that was tried would tell anything new
    converged : whether the sums came to rest
    """

    truck: Truck
    readings: tuple[WeighedReading, ...]
    parameters: tuple[Parameter, ...]
    correlation: Array
    residuals: tuple[Residual, ...]
    doubts: tuple[Doubt, ...]
    moved: tuple[Moved, ...]
    next_reading: NextReading | None
    converged: bool

    def __getitem__(self, path: str) -> Parameter:
        """Return the parameter of a path; KeyError where there is none."""
        found = {one.path: one for one in self.parameters}
        return found[path]


def calibrate(truck: Truck, readings: Sequence[WeighedReading]) -> Calibration:
    """Return what readings with known axle loads teach of a truck.

    Parameters
    ----------
    truck : Truck
        Its values, and their spreads, count as measured once: one reading is enough to learn from, and none too few.
    readings : sequence of WeighedReading

    Returns
    -------
    Calibration

    Notes
    -----
    Most likely values of the truck and of how it stood at each reading, by Gauss-Newton steps on the equations
    of levelling (`weighed_truck`, `least_squares`): gauge, tape, scale and what was known before, each by its spread. A
    number whose residual, over how far it may be off, is beyond what sound readings show once in a hundred (Bonferroni
    over all of them) is left out and asked about, the worst first: R. D. Cook and S. Weisberg, Residuals and Influence
    in Regression, 1982, sec. 2.2 (from memory).

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.records.weighed_reading import weighed_readings
    >>> corners = {corner: {"pressure": "36 psi", "ride_height": "20 in"} for corner in CORNERS}
    >>> slip = {"at": "2026-05-04T07:30:00", "front_axle": "4300 lb", "rear_axle": "4300 lb"}
    >>> found = calibrate(read_truck("profiles/trucks/ridge-truck.toml"), weighed_readings(slip | corners, "a.toml"))
    >>> found["rear.bag.area_scale"].sd < found["rear.bag.area_scale"].prior.sd
    True
    """
    model = WeighedTruck(truck, combined(readings))
    there, fit = model.measured.there.copy(), _fit(model, model.measured.there)
    wild: dict[tuple[int, int], tuple[str, str] | None] = {}
    while len(wild) < MOST_WILD and (place := _wildest(model, there, fit)) is not None:
        wild[place], there = _swap(model, there, fit, place)
        fit = _fit(model, there, fit.value)
    count = len(model.priors)
    value, root = model.parameters_at(fit.value[:count]), model.spread_root
    covariance = root @ fit.covariance[:count, :count] @ root.T
    own = np.sqrt(np.diag(covariance))
    parameters = tuple(Parameter(prior, float(value[n]), float(own[n])) for n, prior in enumerate(model.priors))
    places = [(int(n), int(row)) for n, row in places_of(model.measured.there)]
    residuals = _residuals(model, fit, there, places)
    return Calibration(
        truck,
        model.readings,
        parameters,
        covariance / np.outer(own, own),
        residuals,
        tuple(Doubt(residuals[places.index(place)], swapped) for place, swapped in wild.items()),
        tuple(_moved(model, fit, there)),
        _next_reading(model, fit),
        fit.converged,
    )


def _fit(model: WeighedTruck, there: Flags, start: Array | None = None) -> Estimate:
    """Return truck and stands by the numbers that are there."""
    return estimate(lambda x: model.left_over(x, there), lambda x: model.slopes(x, there), model.unknowns, start)


def _is_read(model: WeighedTruck) -> Flags:
    """Return which numbers of the readings somebody read, shape (n, ROWS)."""
    rows = np.ones(ROWS, bool)
    rows[4:8] = np.repeat(model.rig.has_bag, 2)
    rows[LINES:AXLE_LOADS] = False
    return np.broadcast_to(rows, model.measured.there.shape)


def _wildest(model: WeighedTruck, there: Flags, fit: Estimate) -> tuple[int, int] | None:
    """Return reading and row of the number that is off most, None where all are as stated.

    A number is what somebody read: what holds by itself, two pressures on one line or the force of steel, is no slip.
    Of those that are off about as much, it is the one without which the others agree best.
    """
    from scipy.special import ndtri  # importing it takes longer than a small fit

    told = (fit.own_spread > 1e-3) & _is_read(model)[there]  # what alone decides an unknown cannot be doubted
    off = np.where(told, np.abs(fit.left_over) / np.maximum(fit.own_spread, 1e-3), 0.0)
    if not off.size or off.max() <= float(ndtri(1.0 - WILD / 2.0 / off.size)):
        return None
    near = np.flatnonzero(off >= ALIKE * off.max())
    near = near[np.argsort(-off[near])][:MOST_TRIED]
    places = [(int(n), int(row)) for n, row in places_of(there)[near]]
    return min(places, key=lambda place: _fit(model, _all_but(there, place), fit.value).squares)


def _all_but(there: Flags, place: tuple[int, int]) -> Flags:
    """Return which numbers are there without one of them."""
    rest = there.copy()
    rest[place] = False
    return rest


def _swap(
    model: WeighedTruck, there: Flags, fit: Estimate, place: tuple[int, int]
) -> tuple[tuple[str, str] | None, Flags]:
    """Return the two corners of a wild number's reading that look exchanged, if any, and which numbers then stay.

    Two corners of the reading are exchanged in turn, with all that was read at them; where that leaves less over than
    leaving the number out does, they look exchanged, and both are left out.
    """
    reading, rest = place[0], _all_but(there, place)
    best, corners = _fit(model, rest, fit.value).squares, None
    for pair in combinations(range(4), 2):
        one = model.readings[reading]
        names = [CORNERS[corner] for corner in pair]
        changed = one.model_copy(update={names[0]: getattr(one, names[1]), names[1]: getattr(one, names[0])})
        others = (*model.readings[:reading], changed, *model.readings[reading + 1 :])
        tried = WeighedTruck(model.truck, others)
        if not np.array_equal(tried.measured.there, model.measured.there):
            continue
        squares = _fit(tried, there, fit.value).squares
        if squares < best:
            best, corners = squares, pair
    if corners is None:
        return None, rest
    rest = there.copy()
    rest[reading, [*corners, *(4 + np.array(corners))]] = False
    return (CORNERS[corners[0]], CORNERS[corners[1]]), rest


def _row_name(model: WeighedTruck, row: int) -> tuple[str, str]:
    """Return what a row of a reading holds, and at which corner."""
    if row >= AXLE_LOADS:
        return "axle_load", AXLES[row - AXLE_LOADS]
    if row >= LINES:
        return "line", CORNERS[2 * (row - LINES)]
    bag = model.rig.has_bag[row % 4 // 2]
    return "ride_height" if row < 4 else "pressure" if bag else "steel", CORNERS[row % 4]


def _residuals(
    model: WeighedTruck, fit: Estimate, there: Flags, places: Sequence[tuple[int, int]]
) -> tuple[Residual, ...]:
    """Return all numbers of the readings against what is expected of them, those left out too; heights of the arch.

    What one may be off by is its own spread less what it decides itself, or, of one that was left out, and more what
    the others do not know of it.
    """
    expected, every = model.expected(fit.value), model.measured.there
    slopes = model.slopes(fit.value, every)
    leverage = np.einsum("mu,uv,mv->m", slopes, fit.covariance, slopes)
    counted = there[every]
    spread = np.sqrt(np.maximum(np.where(counted, 1.0 - leverage, 1.0 + leverage), 1e-6))
    found = []
    for (n, row), own in zip(places, spread, strict=True):
        what, corner = _row_name(model, row)
        base = float(model.design.ravel()[row]) if row < 4 else 0.0
        value, mean = float(model.measured.value[n, row]), float(expected[n, row])
        off = (value - mean) / float(model.measured.sd[n, row]) / float(own)
        found.append(Residual(n, what, corner, base + value, base + mean, off, not there[n, row]))
    return tuple(found)


def _moved(model: WeighedTruck, fit: Estimate, there: Flags) -> Iterator[Moved]:
    """Yield what each reading moved most: the values less those without it."""
    count, of_row = len(model.priors), places_of(there)[:, 0]
    _, sd = model.parameters
    for n in range(len(model.readings)):
        without, _ = fit.without(of_row == n)
        by = model.spread_root @ (fit.value - without)[:count] / sd
        most = int(np.abs(by).argmax())
        path = model.priors[most].path if np.abs(by[most]) > 0 else None
        yield Moved(n, path, float(by[most] * sd[most]), float(by[most]))


def _next_reading(model: WeighedTruck, fit: Estimate) -> NextReading | None:
    """Return the reading that would tell most: of loads added to the last one, and of a body raised or lowered.

    Most told is the largest gain of log det of the parameters' information (D-optimal: V. V. Fedorov, Theory of Optimal
    Experiments, 1972, from memory). What no truck could show, past a rating or off a bag's limits, is not tried.
    """
    count = len(model.priors)
    root, covariance = model.spread_root, fit.covariance[:count, :count]
    parameters, now = model.parameters_at(fit.value[:count]), np.diag(root @ covariance @ root.T)
    stands, spread = model.stands
    last = stands[-1] + spread[-1] * fit.value[count + OF_READING * (len(model.readings) - 1) :]
    known = np.linalg.inv(covariance)
    best: tuple[float, NextReading] | None = None
    for front, rear, rise in _tries():
        stand = last.copy()
        stand[0] += front
        stand[1] += rear
        stand[3:5] = rise - (stand[:2] - model.rig.kerb.axle) / (2.0 * model.rig.tyre_rate)
        if not _can_stand(model, parameters, stand):
            continue
        slopes = model.virtual_slopes(parameters, stand, _spreads_of_next(model))
        told = _told_of(slopes, count)
        gain = float(np.linalg.slogdet(known + told)[1] - np.linalg.slogdet(known)[1])
        then = np.sqrt(np.diag(root @ np.linalg.inv(known + told) @ root.T) / now)
        most = int(then.argmin())
        if best is None or gain > best[0] + 1e-9:
            path = model.priors[most].path
            best = gain, NextReading(front, rear, rise, path, float(1.0 - then[most]))
    return None if best is None else best[1]


def _tries() -> Iterator[tuple[float, float, float]]:
    """Yield what may be tried: more on the front and the rear axle [N], and a rise [m]."""
    yield 0.0, 0.0, 0.0
    for more in MORE:
        yield 0.0, more * G, 0.0
        yield more * G, 0.0, 0.0
    yield 0.0, 0.0, LIFT
    yield 0.0, 0.0, -LIFT
    yield 0.0, MORE[1] * G, LIFT
    yield 0.0, MORE[1] * G, -LIFT


def _can_stand(model: WeighedTruck, parameters: Array, stand: Array) -> bool:
    """Tell whether a truck may stand so: within its axles' ratings, and its bags' pressures."""
    truck = model.truck
    if stand[0] > truck.front.gawr * G or stand[1] > truck.rear.gawr * G:
        return False
    pressure = model.read_at(parameters, stand[None])[0, 4:8].reshape(2, 2)
    bags = (truck.front.bag, truck.rear.bag)
    return all(
        bag is None or bool(np.all((at >= float(bag.least_pressure)) & (at <= float(bag.greatest_pressure))))
        for bag, at in zip(bags, pressure, strict=True)
    )


def _spreads_of_next(model: WeighedTruck) -> Array:
    """Return the spreads of a reading with every number, shape (ROWS,); infinite where the truck has none."""
    measured = model.measured
    known = np.where(measured.there, measured.sd, np.nan)
    sd = np.full(ROWS, np.inf)
    some = np.isfinite(known).any(axis=0)
    sd[some] = np.nanmean(known[:, some], axis=0)
    for rows in (slice(0, 4), slice(4, 8), slice(AXLE_LOADS, ROWS)):
        if np.isfinite(sd[rows]).any():
            sd[rows] = np.where(np.isfinite(sd[rows]), sd[rows], sd[rows][np.isfinite(sd[rows])].mean())
    return sd


def _told_of(slopes: Array, count: int) -> Array:
    """Return what a reading tells of the parameters, its own unknowns taken out, shape (p, p). [-]"""
    by, own = slopes[:, :count], slopes[:, count:]
    inner = own.T @ own + np.eye(own.shape[1])
    told: Array = by.T @ by - by.T @ own @ np.linalg.solve(inner, own.T @ by)
    return told
