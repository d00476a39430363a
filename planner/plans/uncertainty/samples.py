"""Draws of what is not known for sure: seeded points, and the trucks and loads they make, all in one batch."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from typing import Any, Final, NamedTuple

import numpy as np

from planner.physics import statics
from planner.physics.active_set import all_steered
from planner.physics.array_layout import by_axle, by_corner, some_of
from planner.physics.bag_limits import Bounds
from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.equilibrium import HeldPressure, RatedPressure, Settled, settle
from planner.physics.statics import Load
from planner.physics.truck_model import SIDE, Rig
from planner.physics.validation import Array, Flags
from planner.plans.answer import AXLES, Answer
from planner.plans.load_case import load_case
from planner.plans.ratings import SMALL, Carried
from planner.plans.setup import Setup, rig_of, roll_axis_heights
from planner.plans.uncertainty.spreads import SLOPE_OVER, Correlated, Spread, Spreads, correlation_of, groups_of
from planner.records import Bag

BASE: Final = 512  # points of each of the two samples; a power of two, which Sobol' points need
SEED: Final = 20_260_501
REACH: Final = 3.0  # [standard deviations] no draw lies further out, so that nothing unphysical comes
PROBE: Final = 100.0  # [N·m] of side moment, to see what it asks of the bags
WHOLE: Final = 0.999  # nor as far out as the value itself: a weight, a rate, an area, a pressure stay above nought


@dataclass(frozen=True, eq=False)
class Batch:
    """Many trucks that may be this one: what each is, carries and has in its bags.

    Attributes
    ----------
    rig : with what differs as arrays of shape (n, 2) and (n, 2, 2)
    load : n cases
    pressure : gauge, as it truly is, 0 at a corner with no bag, shape (n, 2, 2) [Pa]
    acting : the same scaled so that it makes the bag's true force by its chart, shape (n, 2, 2) [Pa]
    gross, hitch_load, trailer_axle_load, tongue_share : of the trailer, shape (n,) [N, N, N, -]
    """

    rig: Rig
    load: Load
    pressure: Array
    acting: Array
    gross: Array
    hitch_load: Array
    trailer_axle_load: Array
    tongue_share: Array

    def settle(self, start: Array) -> Settled:
        """Return where all of them rest, from one state to start from."""
        return settle(self.rig, self.load, HeldPressure(self.acting), start)

    def asked_too_much(self, wanted: Array, bounds: Bounds) -> Flags:
        """Return which bags a stance [m, m, rad] asks all that may go in, or more, shape (n, 2, 2)."""
        return self._asked(wanted, bounds).full

    def with_all_air(self, wanted: Array, bounds: Bounds, tape_error: float) -> Array:
        """Return about the best state that air inside its limits gives all of them, shape (n, 4).

        Levelling takes one truck at a time. These rest at what a stance [m, m, rad] asks of their bags, cut to their
        limits; where they lean by more than a tape tells [m], air goes into the low side, then out of the high one,
        where each bag has a line: on the straight way to where no more goes in or out.
        """
        rig, load, asked = self.rig, self.load, self._asked(wanted, bounds)
        gauge = asked.gauge.clip(asked.least, asked.most)
        found = settle(rig, load, RatedPressure(gauge, bounds.rating, bounds.least), asked.state).state
        best, room = found.copy(), tape_error * (1.0 - SMALL) / rig.track[..., 1]
        high = SIDE * (best[:, 2] - wanted[2])[:, None, None] > 0.0
        for side, end in ((~high, asked.most), (high, asked.least)):
            gauge = np.where(side & ~np.array(rig.joined)[:, None], end, gauge)
            further = settle(rig, load, RatedPressure(gauge, bounds.rating, bounds.least), found).state
            turned, more = further - found, np.abs(best[:, 2] - wanted[2]) - room
            by = np.abs(turned[:, 2])
            best += np.divide(more, by, out=np.zeros_like(by), where=by > 0.0).clip(0.0, 1.0)[:, None] * turned
            found = further
        return best

    def _asked(self, wanted: Array, bounds: Bounds) -> _Asked:
        """Return what a stance asks; where four bags have a line each, the split of the side moment gives way first."""
        load, there, both = self.load, self.rig.has_bag[:, None], np.array(self.rig.joined)[:, None]
        state = np.column_stack([np.broadcast_to(wanted, (len(load.axle), 3)), load.least_twist_at(wanted[2])])
        scale = there * np.divide(self.acting, self.pressure, out=np.ones_like(self.acting), where=self.pressure > 0.0)
        least, most = (np.where(there, end[:, None], 0.0) * scale for end in (bounds.least, bounds.greatest))
        rating = bounds.rating[:, None]
        gauge, force = self._needed(state)
        if all_steered(self.rig):
            more, stronger = self._needed(state + np.array([0.0, 0.0, 0.0, PROBE]))
            rooms = np.stack([most - gauge, gauge - least, rating - force])
            by = np.stack([more - gauge, gauge - more, stronger - force]) / PROBE
            far = np.divide(rooms, by, out=np.full_like(rooms, np.nan), where=by != 0.0)
            up = np.fmin.reduce(np.where(by > 0.0, far, np.inf), axis=(0, 2, 3))
            down = np.fmax.reduce(np.where(by < 0.0, far, -np.inf), axis=(0, 2, 3))
            state[:, 3] += np.where(down <= up, np.clip(0.0, down, up), 0.5 * (down + up))
            gauge, force = self._needed(state)
        gauge = np.where(both, gauge.mean(axis=-1, keepdims=True), gauge)
        full = there & ((gauge >= most * (1.0 - SMALL)) | (force >= rating * (1.0 - SMALL)))
        return _Asked(state, gauge, least, most, full)

    def _needed(self, state: Array) -> tuple[Array, Array]:
        """Return the gauge pressure that each bag needs in a state, as `acting`, and its load. [Pa, N]"""
        height, force = self.rig.corners(self.load, state)
        force -= self.rig.steel_force(height)
        return self.rig.bag_pressure(height, force), force

    def take(self, cases: Flags) -> Batch:
        """Return some of the trucks."""
        if cases.all():
            return self
        return Batch(self.rig.take(cases), self.load.take(cases), *(some_of(getattr(self, n), cases) for n in _ROWS))

    def ride_heights(self, state: Array) -> Array:
        """Return the rise of each arch above its wheel centre against design, shape (n, 2, 2). [m]"""
        return self.rig.ride_heights(self.load, state)

    def carried(self, settled: Settled) -> Carried:
        """Return what all of them carry at rest, for their labels."""
        tyres = self.rig.tyre_loads(self.load, self.rig.axle_moments(self.load, settled.state))
        trailer = self.gross, self.tongue_share, self.trailer_axle_load
        return Carried(self.load.axle, tyres, self.pressure, settled.height, settled.bag_load, *trailer)


_ROWS: Final = tuple(one.name for one in fields(Batch))[2:]  # plain arrays, a row for each truck


class _Asked(NamedTuple):
    """What a stance asks of many trucks.

    state : the stance, its side moment split for the least twist that the limits allow, shape (n, 4)
    gauge, least, most : what each bag needs, and its limits, all scaled as `Batch.acting`, shape (n, 2, 2) [Pa]
    full : which bags need all they may take, of air or load, or more, shape (n, 2, 2)
    """

    state: Array
    gauge: Array
    least: Array
    most: Array
    full: Flags


@dataclass(frozen=True)
class Column:
    """One number that is drawn: which spread it belongs to, its deviation and how far out it may go, in deviations.

    correlated : with which other numbers it was learnt, by the keys of their spreads, and the correlations [-]
    """

    key: str
    deviation: float
    reach: float
    correlated: Correlated = ()


def columns(setup: Setup, answer: Answer, spreads: Spreads) -> list[Column]:
    """Return every number that is drawn for a setup, in one order."""
    return [column for key in spreads for column in _columns(setup, answer, spreads[key])]


def groups(drawn: Sequence[Column]) -> dict[str, tuple[str, ...]]:
    """Return the groups of inputs that have a spread, and their keys, in the order of GROUPS."""
    return groups_of({column.key: column.correlated for column in drawn if column.deviation > 0})


def drawn_together(drawn: Sequence[Column]) -> tuple[list[int], Array]:
    """Return the places of the numbers that were learnt together, and the L of their correlation R = L Lᵀ. [-]"""
    tied = [place for place, column in enumerate(drawn) if column.correlated]
    root = np.linalg.cholesky(correlation_of([(drawn[place].key, drawn[place].correlated) for place in tied]))
    return tied, np.asarray(root, float)


def sample_deviations(drawn: Sequence[Column], base: int = BASE, seed: int = SEED, *, by_group: bool = True) -> Array:
    """Return deviations of every drawn number, shape ((groups + 2) base, columns): A, B, then A with one from B.

    Scrambled Sobol' points in twice the dimension are parted into A and B; the block of each group is A with that
    group's columns from B (Saltelli et al., Computer Physics Communications 181 (2010) 259-270), and left out where
    nobody asks whose the variance is: shape (2 base, columns). Points become normal deviates cut off at ``reach``.
    Units are those of each column. Numbers that were learnt together are so in one group, by a normal copula: each has
    the deviates that it has alone (R. B. Nelsen, An Introduction to Copulas, 2nd ed., 2006, section 2.9, from memory).
    """
    reach = tuple(column.reach for column in drawn)
    tied, root = drawn_together(drawn)
    together = tuple(tied), tuple(map(tuple, root.tolist()))
    normal: Array = _deviates(base, seed, reach, together) * np.array([column.deviation for column in drawn])[:, None]
    if not by_group:
        return normal.T
    names = groups(drawn)
    found = np.empty((len(drawn), (len(names) + 2) * base))  # each column lies in one piece, as it is taken
    found[:, : 2 * base] = normal
    for place, keys in enumerate(names.values(), start=2):
        of_group = np.array([column.key in keys for column in drawn])
        found[:, place * base : (place + 1) * base] = normal[:, :base]
        found[of_group, place * base : (place + 1) * base] = normal[of_group, base:]
    return found.T


def batch(setup: Setup, answer: Answer, drawn: Sequence[Column], deviations: Array) -> Batch:
    """Return the trucks and loads that deviations make of a setup at its set pressures."""
    off, cases = _Off(drawn, deviations), len(deviations)
    rig = _rig(setup, off)
    case = load_case(setup, rig, _Given(setup, off))
    gauge = np.nan_to_num(answer.set.pressure)
    pressure = gauge + _each_corner(lambda k, i: off.of("gauge", _line(setup, k, i)))
    acting = pressure * _each_corner(lambda k, i: _force_scale(setup, off, k, i))
    hitched = case.gross, case.hitched.hitch_load, case.hitched.trailer_axle_load, case.tongue_share
    towed = (np.broadcast_to(part, cases) for part in hitched)
    return Batch(rig.spread((cases,)), case.load.spread((cases,)), pressure, acting, *towed)


class _Off:
    """Deviations by the spread they belong to; nought where one is not drawn."""

    def __init__(self, drawn: Sequence[Column], deviations: Array) -> None:
        self._at: dict[str, list[int]] = {}
        for place, column in enumerate(drawn):
            self._at.setdefault(column.key, []).append(place)
        self._deviations = deviations
        self._none = np.zeros(len(deviations))

    def of(self, key: str, place: int | None = 0) -> Array:
        """Return the deviations of one number of a spread, shape (n,); nought at no place."""
        at = self._at.get(key, [])
        return self._none if place is None or place >= len(at) else self._deviations[:, at[place]]

    def has(self, what: str) -> bool:
        """Tell whether a spread that each axle has its own of is drawn for either."""
        return any(f"{what}.{name}" in self._at for name in AXLES)

    def by_axle(self, key: str) -> Array:
        """Return those of a spread that each axle has its own of, shape (n, 2)."""
        return by_axle(*(self.of(f"{key}.{name}") for name in AXLES))


def _columns(setup: Setup, answer: Answer, spread: Spread) -> Iterator[Column]:
    """Yield the numbers of one spread."""
    key, value = spread.key, spread.value
    if key == "cargo.weight":
        yield from (_column(key, value * item.weight, item.weight) for item in setup.cargo)
    elif key == "cargo.place":
        yield from (_column(key, value) for _ in setup.cargo for _ in "xy")
    elif key == "bars":
        size = 0.0 if setup.trailer is None else setup.trailer.bars
        yield _column(key, value * size, size)
    elif key == "gauge":
        yield from (_column(key, value, answer.set.pressure[k, i]) for k, i in _lines(setup))
    elif key == "friction":
        yield from (_column(key, value, 1.0) for _ in _bagged(setup) for _ in SIDE)
    elif key in ("tape", "sides.height"):
        yield from (_column(key, value) for _ in _bagged(setup))
    elif key == "sides.area":
        yield from (_column(key, value, 1.0) for _ in _bagged(setup))
    else:
        yield replace(_column(key, value, _size(setup, key)), correlated=spread.correlated)


def _size(setup: Setup, key: str) -> float | None:
    """Return how far an input is from where it may not go; None where there is no such place."""
    truck, what, name = setup.truck, *key.partition(".")[::2]
    axle = truck.front if name == "front" else truck.rear
    own = {
        "area": 1.0,
        "motion_ratio": 1.0,
        "anti_roll": 1.0,
        "tyre": axle.tyres.rate,
        "steel_load": axle.steel_load,
        "steel_rate": axle.steel_rate,
        "unsprung": axle.unsprung_weight,
        "spacing": 2 * axle.half_spacing,
    }
    if what in own:
        return float(own[what])
    if what == "slope":
        return _slope_left(axle.bag)
    trailer = setup.trailer
    return {
        "weight": trailer.weight if trailer else None,
        "left": min(setup.left_share, 1.0 - setup.left_share),
        "kerb.front": truck.kerb.front_axle - truck.front.unsprung_weight,
        "kerb.rear": truck.kerb.rear_axle - truck.rear.unsprung_weight,
        "kerb.left": min(truck.kerb.left_share, 1.0 - truck.kerb.left_share),
        "mass_height": truck.mass_height,
    }.get(key)


def _slope_left(bag: Bag | None) -> float:
    """Return how far a slope may be off until the area is nought at an end of travel, over SLOPE_OVER. [-]"""
    assert bag is not None  # the key is there only with one
    ends = [end - bag.height[0] for end in bag.heights]
    return SLOPE_OVER * min((1.0 + bag.slope * end) / abs(end) for end in ends if end)


def _column(key: str, deviation: float, size: float | None = None) -> Column:
    """Return a number that is drawn; what has a size does not go as far as nought."""
    deviation = float(deviation)
    if size is None or deviation <= 0:
        return Column(key, deviation, REACH)
    return Column(key, deviation, min(REACH, WHOLE * max(float(size), 0.0) / deviation))


def _bagged(setup: Setup) -> list[int]:
    """Return the axles that have bags, 0 front, 1 rear."""
    return [k for k, axle in enumerate((setup.truck.front, setup.truck.rear)) if axle.bag is not None]


def _lines(setup: Setup) -> list[tuple[int, int]]:
    """Return the corner where each air line's pressure is read."""
    joined = rig_of(setup.truck).joined
    return [(k, i) for k in _bagged(setup) for i in ((0,) if joined[k] else (0, 1))]


def _line(setup: Setup, k: int, i: int) -> int | None:
    """Return which of the lines a corner hangs on; None at a corner with no bag."""
    lines = _lines(setup)
    corner = (k, i) if (k, i) in lines else (k, 0)
    return lines.index(corner) if corner in lines else None


def _place(setup: Setup, k: int) -> int | None:
    """Return the place of an axle among those with bags; None where it has none."""
    bagged = _bagged(setup)
    return bagged.index(k) if k in bagged else None


def _each_corner(value: Callable[[int, int], Array]) -> Array:
    """Return a value of each corner as one array, shape (n, 2, 2)."""
    return by_corner(*(value(k, i) for k in (0, 1) for i in (0, 1)))


def _force_scale(setup: Setup, off: _Off, k: int, i: int) -> Array:
    """Return by how much a corner's force differs from what chart and pressure say, shape (n,). [-]

    The area of both bags of an axle, half of what they differ by up on the left and down on the right, and friction:
    it holds the bag back on the way up and holds it up on the way down.
    """
    place = _place(setup, k)
    corner = None if place is None else 2 * place + i
    own = 1.0 + SIDE[i] * off.of("sides.area", place) / 2.0
    scale: Array = (1.0 + off.of(f"area.{AXLES[k]}")) * own * (1.0 + off.of("friction", corner))
    return scale


def _bag_offset(setup: Setup, off: _Off, k: int, i: int) -> Array:
    """Return by how much a bag sits higher at design ride height than its record says, shape (n,). [m]

    A tape is off for both bags of an axle alike; half of what they differ by is up on the left and down on the right.
    """
    place = _place(setup, k)
    offset: Array = off.of("tape", place) + SIDE[i] * off.of("sides.height", place) / 2.0
    return offset


def _rig(setup: Setup, off: _Off) -> Rig:
    """Return the truck with what differs as arrays.

    The zero of every stance is the truck as it truly weighs, so the tyres' kerb squash goes with the kerb weight. Steel
    carries its load at design ride height, wherever the bag then sits.
    """
    truck, plain = setup.truck, rig_of(setup.truck)
    axle = plain.kerb.axle + G * off.by_axle("kerb")
    unsprung = plain.unsprung_load + G * off.by_axle("unsprung") if off.has("unsprung") else plain.unsprung_load
    swings = truck.mass_height + off.of("mass_height")[:, None] - _roll_axis(setup, off)
    left = truck.kerb.left_share + off.of("kerb.left")
    sides = np.array([truck.front.tyres.per_side, truck.rear.tyres.per_side])
    slope = off.by_axle("slope") / SLOPE_OVER
    return replace(
        plain,
        kerb=statics.kerb_load(axle, axle - unsprung, left, plain.track, swings),
        unsprung_load=unsprung,
        tyre_rate=plain.tyre_rate + sides * off.by_axle("tyre"),
        steel_load=plain.steel_load + off.by_axle("steel_load"),
        steel_rate=plain.steel_rate + off.by_axle("steel_rate"),
        bag_offset=_each_corner(lambda k, i: _bag_offset(setup, off, k, i)),
        chart_tilt=slope if slope.any() else plain.chart_tilt,
        **_guessed(plain, off),
    )


def _guessed(plain: Rig, off: _Off) -> dict[str, Any]:
    """Return the numbers of the rig that vary only where they are guesses: few trucks pay for their arrays."""
    numbers = {}
    if off.has("spacing"):
        numbers["half_spacing"] = plain.half_spacing + off.by_axle("spacing") / 2.0
    if off.has("motion_ratio"):
        numbers["motion_ratio"] = plain.motion_ratio * (1.0 + off.by_axle("motion_ratio"))
    if off.has("anti_roll"):
        numbers["anti_roll_rate"] = plain.anti_roll_rate * (1.0 + off.by_axle("anti_roll"))
    return numbers


def _roll_axis(setup: Setup, off: _Off) -> Array:
    """Return the height of the roll axis at both axles, shape (n, 2). [m]"""
    height: Array = roll_axis_heights(setup.truck) + off.by_axle("roll_axis")
    return height


class _Given(Mapping[str, Array]):
    """The numbers of the load that are drawn, as `load_case` takes them, each made when it is asked for.

    All of a long list at once would not fit the cache, and fresh memory for them takes longer than the sums.
    """

    def __init__(self, setup: Setup, off: _Off) -> None:
        self._off, self._roll_axis = off, _roll_axis(setup, off)
        self._numbers: dict[str, tuple[float, str, int]] = {"side_slope": (0.0, "side_slope", 0)}
        for n, item in enumerate(setup.cargo):
            self._numbers[f"cargo.{n}.weight"] = item.weight, "cargo.weight", n
            self._numbers[f"cargo.{n}.x"] = item.x, "cargo.place", 2 * n
            self._numbers[f"cargo.{n}.y"] = item.y, "cargo.place", 2 * n + 1
        trailer = setup.trailer
        if trailer is not None:
            typed = (trailer.weight, trailer.tongue_share, setup.left_share, trailer.bars)
            keys = ("weight", "tongue", "left", "bars")
            self._numbers |= {key: (value, key, 0) for key, value in zip(keys, typed, strict=True)}

    def __getitem__(self, key: str) -> Array:
        if key == "roll_axis":
            return self._roll_axis
        value, spread, place = self._numbers[key]
        return value + self._off.of(spread, place)

    def __contains__(self, key: object) -> bool:
        return key == "roll_axis" or key in self._numbers

    def __iter__(self) -> Iterator[str]:
        yield from ("roll_axis", *self._numbers)

    def __len__(self) -> int:
        return 1 + len(self._numbers)


@lru_cache(maxsize=4)
def _deviates(
    base: int, seed: int, reach: tuple[float, ...], together: tuple[tuple[int, ...], tuple[tuple[float, ...], ...]]
) -> Array:
    """Return normal deviates of two samples, cut off at ``reach``, shape (columns, 2 base); a page asks again.

    together : `drawn_together` of the columns, so that they can be looked up
    """
    from scipy.special import ndtr, ndtri  # importing it takes longer than all else that a command does

    points, cut = _points(len(reach), base, seed), np.array(reach)
    if together[0]:
        tied, root = list(together[0]), np.array(together[1])
        points = points.copy()
        points[..., tied] = ndtr(ndtri(points[..., tied]) @ root.T)
    low, high = ndtr(-cut), ndtr(cut)
    found: Array = ndtri(low + points * (high - low)).transpose(2, 1, 0).reshape(len(reach), 2 * base)
    found.setflags(write=False)
    return found


@lru_cache(maxsize=16)
def _points(width: int, base: int, seed: int) -> Array:
    """Return scrambled Sobol' points of two samples, in (0, 1), shape (base, 2, width); kept, as a page asks again."""
    from scipy.stats import qmc  # importing it takes longer than all else that a command does

    points = qmc.Sobol(2 * width, scramble=True, rng=np.random.default_rng(seed)).random(base)
    inside = np.clip(points, 2.0**-40, 1.0 - 2.0**-40)  # a point on the edge has no deviate, and one may come there
    inside.setflags(write=False)
    return inside.reshape(base, 2, width)
