"""Draws of what is not known for sure: seeded points, and the trucks and loads they make, all in one batch."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np

from planner.physics import statics
from planner.physics.checks import Array
from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.layout import by_axle, by_corner
from planner.physics.rig import Rig
from planner.physics.settling import HeldPressure, Settled, settle
from planner.physics.statics import Load
from planner.plans.answer import AXLES, Answer
from planner.plans.labels import Carried
from planner.plans.setup import Setup, rig_of
from planner.plans.spreads import GROUPS, Spreads

BASE: Final = 512  # points of each of the two samples; a power of two, which Sobol' points need
SEED: Final = 20_260_501
REACH: Final = 3.0  # [standard deviations] no draw lies further out, so that nothing unphysical comes
WHOLE: Final = 0.999  # nor as far out as the value itself: a weight, a rate, an area, a pressure stay above nought


@dataclass(frozen=True, eq=False)
class Batch:
    """Many trucks that may be this one: what each is, carries and has in its bags.

    Attributes
    ----------
    rig : with what differs as arrays of shape (n, 2)
    load : n cases
    pressure : gauge, as it truly is, 0 at a corner with no bag, shape (n, 2, 2) [Pa]
    acting : the same times the scale of the bag's area, so that it makes the bag's force, shape (n, 2, 2) [Pa]
    high : by how much the bag sits higher at design ride height than its record says, shape (n, 2) [m]
    gross, hitch_load, trailer_axle_load, tongue_share : of the trailer, shape (n,) [N, N, N, -]
    """

    rig: Rig
    load: Load
    pressure: Array
    acting: Array
    high: Array
    gross: Array
    hitch_load: Array
    trailer_axle_load: Array
    tongue_share: Array

    def settle(self, start: Array) -> Settled:
        """Return where all of them rest, from one state to start from; ArithmeticError if one finds none.

        The body of a truck whose bags sit higher than charted is that much lower at the same bag height, so the batch
        is settled by bag height and the difference taken off the rise.
        """
        settled = settle(self.rig, self.load, HeldPressure(self.acting), start)
        lower = self.high / self.rig.motion_ratio
        state = settled.state.copy()
        state[..., :2] -= lower
        return settled._replace(state=state)

    def ride_heights(self, state: Array) -> Array:
        """Return the rise of each arch above its wheel centre against design, shape (n, 2, 2). [m]"""
        return self.rig.ride_heights(self.load, state)

    def carried(self, state: Array) -> Carried:
        """Return what all of them carry at rest, for their labels; bags at the height their charts are read at."""
        raised = state.copy()
        raised[..., :2] += self.high / self.rig.motion_ratio
        height = self.rig.corners(self.load, raised).spring_height
        tyres = self.rig.tyre_loads(self.load, self.rig.axle_moments(self.load, state))
        bag_load = self.acting * self.rig.area(height)
        trailer = self.gross, self.tongue_share, self.trailer_axle_load
        return Carried(self.load.axle, tyres, self.pressure, height, bag_load, *trailer)


@dataclass(frozen=True)
class Column:
    """One number that is drawn: which spread it belongs to, its deviation and how far out it may go, in deviations."""

    key: str
    deviation: float
    reach: float


def columns(setup: Setup, answer: Answer, spreads: Spreads) -> list[Column]:
    """Return every number that is drawn for a setup, in one order."""
    return [column for key in spreads for column in _columns(setup, answer, key, spreads[key].value)]


def groups(drawn: Sequence[Column]) -> list[str]:
    """Return the groups of inputs that have a spread, in the order of GROUPS."""
    moving = {column.key for column in drawn if column.deviation > 0}
    return [name for name, keys in GROUPS.items() if moving & set(keys)]


def draw(drawn: Sequence[Column], base: int = BASE, seed: int = SEED) -> Array:
    """Return deviations of every drawn number, shape ((groups + 2) base, columns): A, B, then A with one from B.

    Scrambled Sobol' points in twice the dimension are parted into A and B; the block of each group is A with that
    group's columns from B (Saltelli et al., Computer Physics Communications 181 (2010) 259-270). Points become normal
    deviates cut off at ``reach``. Units are those of each column.
    """
    width = len(drawn)
    points = _points(width, base, seed)
    reach = np.array([column.reach for column in drawn])
    from scipy.special import ndtr, ndtri  # as below

    low, high = ndtr(-reach), ndtr(reach)
    normal = ndtri(low + points * (high - low)) * np.array([column.deviation for column in drawn])
    first, second = normal[:, 0], normal[:, 1]
    blocks = [first, second]
    for name in groups(drawn):
        of_group = np.array([column.key in GROUPS[name] for column in drawn])
        blocks.append(np.where(of_group, second, first))
    return np.concatenate(blocks)


def batch(setup: Setup, answer: Answer, drawn: Sequence[Column], deviations: Array) -> Batch:
    """Return the trucks and loads that deviations make of a setup at its set pressures."""
    off = _Off(drawn, deviations)
    plain, cases = rig_of(setup.truck), len(deviations)
    rig = _rig(setup, plain, off)
    load, hitched = _load(setup, rig, off)
    gauge = np.nan_to_num(answer.set.pressure)
    pressure = gauge + by_corner(*(_gauge(setup, off, k, i) + np.zeros(cases) for k in (0, 1) for i in (0, 1)))
    scale = 1.0 + by_axle(*(off.of(f"area.{name}") + np.zeros(cases) for name in AXLES))
    high = by_axle(*(off.of("tape", k) * plain.has_bag[k] + np.zeros(cases) for k in (0, 1)))
    return Batch(rig, load, pressure, pressure * scale[..., None], high, *hitched)


class _Off:
    """Deviations by the spread they belong to; nought where one is not drawn."""

    def __init__(self, drawn: Sequence[Column], deviations: Array) -> None:
        self._at: dict[str, list[int]] = {}
        for place, column in enumerate(drawn):
            self._at.setdefault(column.key, []).append(place)
        self._deviations = deviations
        self._none = np.zeros(len(deviations))

    def of(self, key: str, place: int = 0) -> Array:
        """Return the deviations of one number of a spread, shape (n,)."""
        at = self._at.get(key, [])
        return self._deviations[:, at[place]] if place < len(at) else self._none

    def all_of(self, key: str) -> Array:
        """Return those of all its numbers, shape (n, numbers)."""
        return self._deviations[:, self._at.get(key, [])]


def _columns(setup: Setup, answer: Answer, key: str, value: float) -> Iterator[Column]:
    """Yield the numbers of one spread."""
    truck = setup.truck
    if key == "cargo.weight":
        yield from (_column(key, value * item.weight, item.weight) for item in setup.cargo)
    elif key == "cargo.place":
        yield from (_column(key, value) for _ in setup.cargo for _ in "xy")
    elif key == "gauge":
        yield from (_column(key, value, answer.set.pressure[k, i]) for k, i in _lines(setup))
    elif key == "tape":
        yield from (_column(key, value) for _ in AXLES)
    else:
        trailer = setup.trailer
        size = {
            "weight": trailer.weight if trailer else None,
            "left": min(setup.left_share, 1.0 - setup.left_share),
            "kerb.front": truck.kerb.front_axle - truck.front.unsprung_weight,
            "kerb.rear": truck.kerb.rear_axle - truck.rear.unsprung_weight,
            "kerb.left": min(truck.kerb.left_share, 1.0 - truck.kerb.left_share),
            "area.front": 1.0,
            "area.rear": 1.0,
            "tyre.front": truck.front.tyres.rate,
            "tyre.rear": truck.rear.tyres.rate,
        }.get(key)
        yield _column(key, value, size)


def _column(key: str, deviation: float, size: float | None = None) -> Column:
    """Return a number that is drawn; what has a size does not go as far as nought."""
    deviation = float(deviation)
    if size is None or deviation <= 0:
        return Column(key, deviation, REACH)
    return Column(key, deviation, min(REACH, WHOLE * max(float(size), 0.0) / deviation))


def _lines(setup: Setup) -> list[tuple[int, int]]:
    """Return the corner where each air line's pressure is read."""
    found = []
    for k, axle in enumerate((setup.truck.front, setup.truck.rear)):
        if axle.bag is not None:
            found += [(k, 0)] if axle.plumbing == "joined" else [(k, 0), (k, 1)]
    return found


def _gauge(setup: Setup, off: _Off, k: int, i: int) -> Array:
    """Return the error of the pressure at a corner, shape (n,): each reading on its own, one for a shared line. [Pa]"""
    lines = _lines(setup)
    if (k, 0) not in lines:
        return np.zeros(())
    return off.of("gauge", lines.index((k, i) if (k, i) in lines else (k, 0)))


def _rig(setup: Setup, plain: Rig, off: _Off) -> Rig:
    """Return the truck with what differs as arrays.

    The zero of every stance is the truck as it truly weighs, so the tyres' kerb squash goes with the kerb weight. Steel
    carries its load at design ride height, wherever the bag then sits: read at bag height, it has rate × height more.
    """
    truck, track = setup.truck, plain.track
    axle = plain.kerb.axle + G * by_axle(off.of("kerb.front"), off.of("kerb.rear"))
    kerb = statics.kerb(axle, axle - plain.unsprung_load, truck.kerb.left_share + off.of("kerb.left"), track)
    sides = np.array([truck.front.tyres.per_side, truck.rear.tyres.per_side])
    tyre_rate = plain.tyre_rate + sides * by_axle(off.of("tyre.front"), off.of("tyre.rear"))
    high = by_axle(*(off.of("tape", k) * plain.has_bag[k] for k in (0, 1)))
    steel_load = plain.steel_load + plain.steel_rate * high
    return replace(plain, kerb=kerb, tyre_rate=tyre_rate, steel_load=steel_load)


def _load(setup: Setup, rig: Rig, off: _Off) -> tuple[Load, tuple[Array, Array, Array, Array]]:
    """Return all that the suspension carries, and gross, hitch and trailer axle load and tongue share. [N, -]"""
    total, wheelbase = rig.kerb, rig.wheelbase
    weights, places = off.all_of("cargo.weight"), off.all_of("cargo.place")
    for j, item in enumerate(setup.cargo):
        weight = (item.weight + (weights[:, j] if weights.size else 0.0)) * G
        x, y = (places[:, 2 * j + side] if places.size else 0.0 for side in (0, 1))
        total += statics.point_load(weight, item.x + x, item.y + y, wheelbase)
    trailer, hitch = setup.trailer, setup.hitch
    nothing = np.zeros(len(total.axle))
    if trailer is None or hitch is None:
        return total, (nothing, nothing, nothing, nothing)
    gross = (trailer.weight + off.of("weight")) * G
    share = trailer.tongue_share + off.of("tongue")
    on_hitch = statics.hitched(gross, gross * share, -hitch.x, trailer.axle_distance, trailer.bars)
    arm = setup.hitch_arm + hitch.roll_coupling * off.of("left") * setup.truck.rear.track
    total += statics.point_load(on_hitch.hitch_load, hitch.x, arm, wheelbase)
    total += statics.pitch_moment(on_hitch.bar_moment, wheelbase)
    return total, (gross, on_hitch.hitch_load, on_hitch.trailer_axle_load, share)


@lru_cache(maxsize=16)
def _points(width: int, base: int, seed: int) -> Array:
    """Return scrambled Sobol' points of two samples, in (0, 1), shape (base, 2, width); kept, as a page asks again."""
    from scipy.stats import qmc  # importing it takes longer than all else that a command does

    points = qmc.Sobol(2 * width, scramble=True, rng=np.random.default_rng(seed)).random(base)
    inside = np.clip(points, 2.0**-40, 1.0 - 2.0**-40)  # a point on the edge has no deviate, and one may come there
    inside.setflags(write=False)
    return inside.reshape(base, 2, width)
