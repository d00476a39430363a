"""Labels, ratings and good practice as one table of checks, over one case or many at once.

Findings of an answer, the chance of each in a batch of draws and the map all read this table: no rule stands twice.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, Final, NamedTuple

import numpy as np

from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.trailer import (
    AIR_SPRUNG,
    OTHER_SPRUNG,
    centre_axle_value,
    drawbar_value,
    fifth_wheel_value,
    wheel_sides,
)
from planner.physics.validation import Array, Flags
from planner.plans.answer import AXLES, SIDES, Kind, Severity
from planner.plans.setup import Setup
from planner.records import Axle, Bag, Coupling, Hitch, Trailer
from planner.records.fields import PRESSURE_SLACK

TONGUE_RANGES: Final = {  # share of the trailer's weight
    "ball": (0.10, 0.15),  # Iowa State University Extension, 28 June 2017: 10 to 15 percent on the tongue
    "pintle": (0.10, 0.15),  # as for a ball: common practice
    "gooseneck": (0.15, 0.25),  # common practice
    "fifth_wheel": (0.15, 0.25),  # common practice
}
TRAILER_SIDE_MAY_CARRY: Final = 0.55  # [-] of its wheels' load on one side before it tows lopsided: common practice
FRONT_AXLE_MAY_LOSE: Final = 0.10  # [-] of its kerb weight before steering and braking are in question: common practice
HEIGHT_SLACK: Final = 1e-5  # [m] as PRESSURE_SLACK, for heights
AIM_SCREEN: Final = 7.62  # [m] 25 ft, the distance at which headlamps are aimed: SAE J599 (from memory)
AIM_TOLERANCE: Final = 0.1016  # [m] 4 in at that distance: SAE J599 (from memory)
AIM_WORTH_SAYING: Final = 0.0254  # [m] 1 in at that distance: less is within the reading of a screen
TWIST_WORTH_SAYING: Final = 0.01  # [-] of the moment that would lift one side of the axle off its springs
LOW: Final = ("front", "rear", "left side", "right side")  # what may sit low
V_VALUE_FROM: Final = 3500.0  # [kg] on the axles of a centre-axle trailer: UN Regulation No. 55
SLIGHT: Final = 1e-6  # [kg] that a trailer weighs where none is to hang there, for formulas that want a weight
SMALL: Final = 1e-6  # [-] loads nearer their rating than this are at it


class Carried(NamedTuple):
    """What a truck carries and where its bags stand, of one case or many; leading axes broadcast.

    Attributes
    ----------
    axle_load : ground load of an axle, shape (..., 2) [N]
    tyre_load : ground load of one side of an axle, shape (..., 2, 2) [N]
    pressure, bag_height, bag_load : of each bag, shape (..., 2, 2); not read at an axle with no bag; None leaves all
        bags unchecked [Pa, m, N]
    trailer_load : the trailer's whole weight, on hitch and axles, shape (...); 0 with no trailer [N]
    tongue_share : of it on the hitch, bars slack, shape (...) [-]
    trailer_axle_load : on all axles of the trailer, shape (...); 0 with no trailer [N]
    """

    axle_load: Array
    tyre_load: Array
    pressure: Array | None
    bag_height: Array | None
    bag_load: Array | None
    trailer_load: Array
    tongue_share: Array
    trailer_axle_load: Array


class Check(NamedTuple):
    """One label, limit or rule of practice held against every case.

    Attributes
    ----------
    rule : what is checked, as "gawr"
    place : of what on the truck, as ("rear",) or ("rear", "left"); empty where there is one of it
    level : how bad it is where it is passed
    value : what was found, shape (...), in SI
    limit : what it is held against, in SI: a number, or an array where each case has a trailer of its own
    kind : of which kind both are
    passed : in which cases the limit is passed, shape (...)
    """

    rule: str
    place: tuple[str, ...]
    level: Severity
    value: Array
    limit: Any
    kind: Kind
    passed: Flags

    @property
    def code(self) -> str:
        """The stable name of the finding that it makes, as "gawr-rear"."""
        return "-".join((self.rule, *self.place))


class TrailerLabels(NamedTuple):
    """The labels of many trailers of one kind of coupling, named as those of a `Trailer`, each of shape (...).

    A trailer whose tyres have no rating written down has an infinite one.
    """

    coupling: Coupling
    gvwr: Array
    axle_count: Array
    axle_rating: Array
    tyre_load_rating: Array
    tyres_per_side: Array
    side_share: Array
    loading_length: Array
    axle_distance: Array

    @classmethod
    def of(cls, trailers: Sequence[Trailer]) -> TrailerLabels:
        """Return those of trailers of one kind of coupling, each of shape (n,)."""
        columns = ([getattr(one, name) for one in trailers] for name in cls._fields[1:])
        values = (np.array([np.inf if one is None else float(one) for one in column]) for column in columns)
        return cls(trailers[0].coupling, *values)

    def stronger(self, weight: Array) -> TrailerLabels:
        """Return those of trailers like them that may weigh just so much, each part of them too. [kg]"""
        enough = np.full(weight.shape, np.inf)
        return self._replace(gvwr=weight, axle_rating=enough, tyre_load_rating=enough)


def checks(setup: Setup, carried: Carried, labels: TrailerLabels | None = None) -> tuple[Check, ...]:
    """Return every label and limit of a setup held against what it carries.

    Parameters
    ----------
    setup : Setup
        Its truck, hitch and trailer give the limits; what the trailer weighs is in ``carried``.
    carried : Carried
        One case or many.
    labels : TrailerLabels, optional
        Those of each case, where each has a trailer of its own; left out: those of the setup's trailer.

    Returns
    -------
    tuple of Check
        In one order for one setup, whatever is passed. No case passes two checks of one code.

    Examples
    --------
    >>> from planner import level, read_truck
    >>> answer = level(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> from planner.plans.rating_findings import carried_by
    >>> [one.code for one in checks(answer.setup, carried_by(answer.setup, answer))][:3]
    ['gvwr', 'gcwr', 'gawr-front']
    """
    found = [*_truck(setup, carried), *_wheels(setup, carried), *_bags(setup, carried)]
    if setup.trailer is not None and setup.hitch is not None:
        found += [
            *_hitch(setup.hitch, carried),
            *_tested_coupling(setup, setup.hitch, labels or setup.trailer, carried),
        ]
        load, share, on_axles = carried.trailer_load, carried.tongue_share, carried.trailer_axle_load
        found += trailer_checks(labels or setup.trailer, load, share, on_axles)
    return tuple(found)


def headlamp_aim(setup: Setup, front: Array, rear: Array) -> Array:
    """Return how far above its place the beam is on the screen at rises of front and rear [m], shape (...). [m]

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import Setup
    >>> setup = Setup(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> round(float(headlamp_aim(setup, np.array(0.02), np.array(-0.02))), 3)  # nose up by 40 mm
    0.076
    """
    aim: Array = AIM_SCREEN * (front - rear) / float(setup.truck.wheelbase)
    return aim


def headlamps_off(aim: Array) -> dict[Severity, Flags]:
    """Return where the beam is off by what is a caution, and by what is a note, each of shape (...).

    Examples
    --------
    >>> {level: off.tolist() for level, off in headlamps_off(np.array([0.0, 0.05, 0.2])).items()}
    {'caution': [False, False, True], 'note': [False, True, False]}
    """
    off = np.abs(aim)
    return {"caution": off > AIM_TOLERANCE, "note": (off >= AIM_WORTH_SAYING) & (off <= AIM_TOLERANCE)}


def least_twist_told(setup: Setup, front_sprung: Array) -> Array:
    """Return the twist of the frame above which it is told, given the front axle's sprung load [N], (...). [N·m]

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import Setup
    >>> setup = Setup(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> round(float(least_twist_told(setup, np.array(18e3))))
    157
    """
    least: Array = TWIST_WORTH_SAYING * front_sprung * float(setup.truck.front.track) / 2.0
    return least


def off_wanted(setup: Setup, state: Array, wanted: Array) -> Array:
    """Return how much higher than wanted front, rear and left side stand, the last over the rear track, (..., 3). [m]

    state, wanted : rise front and rear [m] and roll [rad] first, shape (..., 3) or more

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import Setup
    >>> setup = Setup(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> off_wanted(setup, np.array([0.01, 0.0, 0.01]), np.zeros(3)).round(4).tolist()
    [0.01, 0.0, 0.0173]
    """
    off: Array = (state[..., :3] - wanted[..., :3]) * np.array([1.0, 1.0, float(setup.truck.rear.track)])
    return off


def misses_wanted(setup: Setup, state: Array, wanted: Array) -> Flags:
    """Return where front, rear and lean are off the wanted stance by more than a tape can tell, shape (..., 3).

    state, wanted : rise front and rear [m] and roll [rad] first, shape (..., 3) or more. Lean is over the rear track.

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import Setup
    >>> setup = Setup(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> misses_wanted(setup, np.array([0.03, 0.0, 0.0]), np.zeros(3)).tolist()  # 30 mm high in front
    [True, False, False]
    """
    told: Flags = np.abs(off_wanted(setup, state, wanted)) > max(
        float(setup.truck.instruments.tape_error), HEIGHT_SLACK
    )
    return told


def bags_decide(setup: Setup) -> Flags:
    """Return which of front, rear and lean bags are to decide, shape (3,).

    The rise of an axle is theirs where it has bags, the lean where the two of an axle have a line each; all else is
    steel's, or a shared line's.

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import Setup
    >>> setup = Setup(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> bags_decide(setup).tolist()
    [True, True, True]
    """
    has = [axle.bag is not None for axle in _axles(setup)]
    own_lines = [has_bag and axle.plumbing == "separate" for has_bag, axle in zip(has, _axles(setup), strict=True)]
    return np.array([*has, any(own_lines)])


def left_by_gauge(setup: Setup, exact: Array, at_set: Array) -> Array:
    """Return what whole steps of the gauge leave over of front, rear and left side, 0 what is not theirs, (..., 3). [m]

    exact, at_set : how much higher than wanted they stand at exact pressures and at those set, as `off_wanted` has it

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import Setup
    >>> setup = Setup(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> left_by_gauge(setup, np.array([0.0, 0.02, 0.0]), np.array([0.005, 0.02, 0.001])).tolist()  # the rear: a limit's
    [0.005, 0.0, 0.0]
    """
    tape = float(setup.truck.instruments.tape_error)
    theirs = bags_decide(setup) & (np.abs(exact) <= tape) & (np.abs(at_set) > tape)
    return np.where(theirs, at_set, 0.0)


def corners_of_low(setup: Setup) -> Flags:
    """Return whose bags keep front, rear, left and right side up, shape (4, 2, 2): a side those with a line each.

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import Setup
    >>> setup = Setup(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> corners_of_low(setup)[[0, 2]].tolist()  # the front, the left side
    [[[True, True], [False, False]], [[True, False], [True, False]]]
    """
    own = np.array([[axle.plumbing == "separate"] for axle in _axles(setup)])
    sides = np.array([[[True, False]], [[False, True]]])
    return np.concatenate([np.repeat(np.eye(2, dtype=bool)[..., None], 2, axis=-1), own & sides])


def sits_low(setup: Setup, state: Array, full: Flags) -> Array:
    """Return how low front, rear, left and right side sit where a bag there may take no more, else 0, (..., 4). [m]

    Low is under level and under the wanted stance by what a tape can tell; of a side over the rear track, and by bags
    that have a line each.

    state : rise front and rear [m] and roll [rad] first, shape (..., 3) or more
    full : the bags that hold all the air or load they may, shape (..., 2, 2)

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import Setup
    >>> setup = Setup(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> sits_low(setup, np.array([0.0, -0.03, 0.0]), np.array([[False, False], [True, False]])).tolist()
    [0.0, 0.03, 0.0, 0.0]
    """
    there = (full[..., None, :, :] & corners_of_low(setup)).any(axis=(-1, -2))
    stands, (front, rear, left) = off_wanted(setup, state, np.zeros(3)), off_wanted(setup, setup.wanted, np.zeros(3))
    least = np.array([min(front, 0.0), min(rear, 0.0), min(left, 0.0), -max(left, 0.0)])
    by = least - np.stack([*(stands[..., part] for part in (0, 1, 2)), -stands[..., 2]], -1)
    return np.where(there & (by > float(setup.truck.instruments.tape_error)), by, 0.0)


def trailer_checks(
    trailer: Trailer | TrailerLabels, load: Array, tongue_share: Array, axle_load: Array
) -> tuple[Check, ...]:
    """Return a trailer's own labels and good practice held against its weight and what is on its axles. [N, -, N]

    The load is taken as even over its axles.

    Examples
    --------
    >>> from planner import read_trailer
    >>> mill = read_trailer("profiles/trailers/band-mill.toml")
    >>> load = np.array(1.5 * mill.weight * G)  # half as much again
    >>> [one.code for one in trailer_checks(mill, load, np.array(0.12), 0.88 * load) if one.passed]
    ['trailer-gvwr']
    """
    found = [
        _over("trailer-gvwr", (), load, trailer.gvwr * G),
        _over("trailer-axle", (), axle_load / trailer.axle_count, trailer.axle_rating * G),
    ]
    sides = wheel_sides(axle_load, load, trailer.side_share)
    if trailer.tyre_load_rating is not None:
        tyre = np.maximum(sides[..., 0], sides[..., 1]) / (trailer.axle_count * trailer.tyres_per_side)
        found.append(_over("trailer-tyre", (), tyre, trailer.tyre_load_rating * G))
    least, greatest = TONGUE_RANGES[trailer.coupling]
    heavier = np.maximum(sides[..., 0], sides[..., 1]) / np.where(axle_load > 0, axle_load, np.inf)
    most = TRAILER_SIDE_MAY_CARRY
    return (
        *found,
        Check("trailer-side", (), "caution", heavier, most, "share", heavier > most + SMALL),
        Check("tongue-ratio-low", (), "caution", tongue_share, least, "share", tongue_share < least - SMALL),
        Check("tongue-ratio-high", (), "caution", tongue_share, greatest, "share", tongue_share > greatest + SMALL),
    )


def is_over(value: Array | float, limit: float | Array, kind: Kind) -> Flags:
    """Tell where a pressure or a load is above its limit, by more than rounding.

    Examples
    --------
    >>> bool(is_over(10_000.0, 10_000.0, "load")), bool(is_over(10_001.0, 10_000.0, "load"))
    (False, True)
    """
    over: Flags = np.asarray(value > limit + _slack(limit, kind))
    return over


def is_under(value: Array | float, limit: float, kind: Kind) -> Flags:
    """Tell where a pressure or a load is below its limit, by more than rounding.

    Examples
    --------
    >>> bool(is_under(34e3, 35e3, "pressure"))
    True
    """
    under: Flags = np.asarray(value < limit - _slack(limit, kind))
    return under


def _slack(limit: float | Array, kind: Kind) -> float | Array:
    return PRESSURE_SLACK if kind == "pressure" else limit * SMALL


def _over(rule: str, place: tuple[str, ...], value: Array, limit: float | Array) -> Check:
    """Return the check of a load against a rating."""
    return Check(rule, place, "stop", value, limit, "load", is_over(value, limit, "load"))


def _of_axle(values: Array, k: int) -> Array:
    """Return the values of an axle; of one case as a scalar, which compares four times as quickly."""
    value: Array = values[k] if values.ndim == 1 else values[..., k]
    return value


def _of_corner(values: Array, k: int, i: int) -> Array:
    """Return the same of a corner."""
    value: Array = values[k, i] if values.ndim == 2 else values[..., k, i]
    return value


def _axles(setup: Setup) -> tuple[Axle, Axle]:
    return setup.truck.front, setup.truck.rear


def _truck(setup: Setup, carried: Carried) -> Iterator[Check]:
    """Whole truck, whole combination and both axles against their labels, and the front axle against steering light."""
    truck = setup.truck
    front, rear = (_of_axle(carried.axle_load, k) for k in (0, 1))
    total = front + rear
    yield _over("gvwr", (), total, truck.gvwr * G)
    yield _over("gcwr", (), total + carried.trailer_axle_load, truck.gcwr * G)
    for name, axle, load in zip(AXLES, _axles(setup), (front, rear), strict=True):
        yield _over("gawr", (name,), load, axle.gawr * G)
    least = truck.kerb.front_axle * G * (1.0 - FRONT_AXLE_MAY_LOSE)
    lifts = front <= 0
    yield Check("front-axle-light", (), "stop", front, least, "load", lifts)
    yield Check("front-axle-light", (), "caution", front, least, "load", (front < least) & ~lifts)


def _wheels(setup: Setup, carried: Carried) -> Iterator[Check]:
    """Each axle's heavier wheel against its tyre, and its lighter one against lifting."""
    for k, (name, axle) in enumerate(zip(AXLES, _axles(setup), strict=True)):
        left, right = (_of_corner(carried.tyre_load, k, i) for i in (0, 1))
        yield _over("tyre", (name,), np.maximum(left, right) / axle.tyres.per_side, axle.tyres.load_rating * G)
        lightest = np.minimum(left, right)
        yield Check("wheel-lifts", (name,), "stop", lightest, 0.0, "load", lightest <= 0)


def _bags(setup: Setup, carried: Carried) -> Iterator[Check]:
    """Every bag against its pressures, the ends of its chart and its load."""
    pressure, height, load = carried.pressure, carried.bag_height, carried.bag_load
    if pressure is None or height is None or load is None:
        return
    for k, axle in enumerate(_axles(setup)):
        for i, side in enumerate(SIDES):
            if axle.bag is not None:
                at = (_of_corner(values, k, i) for values in (pressure, height, load))
                yield from _bag(axle.bag, (AXLES[k], side), *at)


def _bag(bag: Bag, place: tuple[str, str], pressure: Array, height: Array, load: Array) -> Iterator[Check]:
    """One bag against its limits."""
    least, greatest = float(bag.least_pressure), float(bag.greatest_pressure)
    low, high = bag.lowest, bag.highest
    over, under = is_over(pressure, greatest, "pressure"), is_under(pressure, least, "pressure")
    yield Check("pressure-high", place, "stop", pressure, greatest, "pressure", over)
    yield Check("pressure-low", place, "stop", pressure, least, "pressure", under)
    yield Check("bag-height-low", place, "caution", height, low, "length", height <= low + HEIGHT_SLACK)
    yield Check("bag-height-high", place, "caution", height, high, "length", height >= high - HEIGHT_SLACK)
    if bag.load_rating is not None:
        yield _over("bag-load", place, load, float(bag.load_rating))


def _hitch(hitch: Hitch, carried: Carried) -> Iterator[Check]:
    """What hangs on the hitch and what it pulls against its label."""
    yield _over("tongue-rating", (), carried.trailer_load * carried.tongue_share, hitch.tongue_rating * G)
    yield _over("trailer-rating", (), carried.trailer_load, hitch.trailer_rating * G)


def _tested_coupling(setup: Setup, hitch: Hitch, trailer: Trailer | TrailerLabels, carried: Carried) -> Iterator[Check]:
    """What truck and trailer ask of a tested coupling against its own label, in kN as that is printed.

    Asked at the weights that their labels permit; of a trailer that is heavier, at what it weighs.
    """
    truck, share, weight = setup.truck, carried.tongue_share, np.maximum(carried.trailer_load / G, SLIGHT)
    whole = np.maximum(trailer.gvwr, weight)
    permitted = np.minimum(trailer.gvwr * (1.0 - share), trailer.axle_rating * trailer.axle_count)
    on_axles = np.maximum(permitted, weight * (1.0 - share))
    if hitch.d_value is not None:
        if hitch.coupling == "fifth_wheel":
            needed = fifth_wheel_value(truck.gvwr, whole, whole * share)
        else:
            needed = drawbar_value(truck.gvwr, on_axles)
        yield _over("d-value", (), needed, float(hitch.d_value))._replace(kind="force")
    if hitch.v_value is not None and hitch.coupling in ("ball", "pintle"):
        on_air = truck.rear.bag is not None and not truck.rear.steel_rate > 0
        sprung = AIR_SPRUNG if on_air else OTHER_SPRUNG
        needed = centre_axle_value(on_axles, trailer.loading_length, trailer.axle_distance, sprung)
        counted = np.where(on_axles > V_VALUE_FROM, needed, 0.0)
        yield _over("v-value", (), counted, float(hitch.v_value))._replace(kind="force")
