"""What stops a load: one rule for the map, the first thing a load meets, the largest trailer and Level's findings.

A load is stopped where a label or a limit is passed that says stop, where it tips the truck over, or where levelling
leaves the truck off the wanted stance, by more than a tape can tell, in what its bags decide: the rise of an axle
that has bags, and the lean where the two bags of an axle have a line each. A stance that steel or a shared line sets
stops nothing. A limit that levelling holds stops nothing either while the truck comes to its stance, as where it moves
the split of the side load. Judged are the exact pressures, not those rounded to a gauge.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Final, Literal, NamedTuple

import numpy as np

from planner.physics import levelling
from planner.physics.bag_limits import Limit
from planner.physics.fleet_levelling import level_trucks
from planner.physics.levelling import Levelled
from planner.physics.standing_truck import stand_upright
from planner.physics.statics import Load
from planner.physics.truck_model import Rig
from planner.physics.validation import Array, Codes, Flags
from planner.plans.answer import AXLES, Finding, Kind
from planner.plans.load_case import LoadCase, load_case
from planner.plans.map_grid import GridLevelled, level_grid
from planner.plans.ratings import Carried, Check, TrailerLabels, bags_decide, checks, misses_wanted
from planner.plans.setup import Setup

BAG_RULES: Final[dict[Limit, str]] = {  # limits of a bag by the codes of the findings they make
    Limit.LEAST_PRESSURE: "pressure-low",
    Limit.GREATEST_PRESSURE: "pressure-high",
    Limit.LOAD_RATING: "bag-load",
    Limit.LOWEST_HEIGHT: "bag-height-low",
    Limit.HIGHEST_HEIGHT: "bag-height-high",
}
NO_RATING: Final = ("wheel-lifts", "front-axle-light")  # statics and practice, not a number on a label
STANCE: Final = ("stance-not-reached-front", "stance-not-reached-rear", "lean-left-over")
TIPS_OVER: Final = "tips-over"
NOT_REACHED: Final = "stance-not-reached"  # with no limit held that could be told, or no rest found


class Stop(NamedTuple):
    """One thing that stops a load, or keeps it off its stance.

    Attributes
    ----------
    kind : "bag" where a limit of a bag keeps the truck off its stance or is passed, "label" where a rating is passed,
        "stance" where nothing is passed, and steel or a shared line keeps it off its stance: that stops nothing
    code : of the finding; that of a bag names its axle only
    limit, what : the limit in SI and of which kind it is; None where the limit is no number worth telling
    """

    kind: Literal["bag", "label", "stance"]
    code: str
    limit: float | None = None
    what: Kind = "load"


class Stops(NamedTuple):
    """What stops each of many loads.

    Attributes
    ----------
    stops : what may stop a load; code n is stops[n - 1]
    code : which of them stops each load or keeps it off its stance, 0 none, shape (...)
    levels : whether the truck comes to the wanted stance with no bag past a limit, shape (...)
    pressure : gauge, as levelled, shape (..., 2, 2); 0 where there is no bag [Pa]
    """

    stops: tuple[Stop, ...]
    code: Codes
    levels: Flags
    pressure: Array

    @property
    def stopped(self) -> Flags:
        """Which loads are stopped, shape (...)."""
        stopping: Flags = np.array([False, *(stop.kind != "stance" for stop in self.stops)])[self.code]
        return stopping


class Loaded(NamedTuple):
    """A truck with many loads.

    Attributes
    ----------
    setup : Setup
    rig : of its truck
    given : inputs of `inputs_of`, in SI, that broadcast to the shape
    shape : of the loads
    labels : those of each load's own trailer, where each has one; a stop then names no limit of theirs
    """

    setup: Setup
    rig: Rig
    given: Mapping[str, Array]
    shape: tuple[int, ...]
    labels: TrailerLabels | None = None


class _Asked(NamedTuple):
    """A truck with many loads, and what they ask of levelling: load and wanted stance, of their shape."""

    loaded: Loaded
    case: LoadCase
    load: Load
    wanted: Array

    @classmethod
    def of(cls, loaded: Loaded) -> _Asked:
        """Return what loads ask."""
        setup, rig, given, shape, _ = loaded
        case = load_case(setup, rig, given)
        load = case.load if case.load.side_moment.shape == shape else _in_shape(case.load, shape)
        return cls(loaded, case, load, wanted_stance(setup, given, shape))


def find_stops(
    setup: Setup,
    rig: Rig,
    given: Mapping[str, Array],
    shape: tuple[int, ...],
    *,
    labels: TrailerLabels | None = None,
    on_grid: bool = False,
) -> Stops:
    """Return what stops a load with some of its inputs given.

    Parameters
    ----------
    setup : Setup
    rig : Rig
        Of its truck.
    given : mapping of input key to array
        Inputs of `inputs_of`, in SI, that broadcast to a shape.
    shape : tuple of int
    labels : TrailerLabels, optional
        Those of each load's own trailer, where each has one.
    on_grid : bool
        Whether the shape is a grid of neighbours, rows and columns, to be levelled as `level_grid` does.

    Returns
    -------
    Stops
        Of several things the one that is told is: a bag before labels; of two axles the one that is off its height, of
        both the rear; of one axle height before load before pressure; of labels the one passed by most, as a part of
        it.

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.setup import rig_of
    >>> from planner.plans.setup import Setup
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> setup = Setup.of(mill.profile, mill.truck, mill.trailer)
    >>> found = find_stops(setup, rig_of(setup.truck), {"weight": np.array([2000.0, 9000.0])}, (2,))  # kg
    >>> [found.stops[code - 1].code if code else "nothing" for code in found.code]
    ['nothing', 'trailer-gvwr']
    """
    asked = _Asked.of(Loaded(setup, rig, given, shape, labels))
    return _stops(asked, _level(setup, rig, asked.load, asked.wanted, on_grid))


def find_stops_of_trucks(trucks: Sequence[Loaded]) -> list[Stops]:
    """Return what stops the loads of each of many trucks, as `find_stops` has it; trucks alike are levelled together.

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.setup import Setup, rig_of
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> setup = Setup.of(mill.profile, mill.truck, mill.trailer)
    >>> loaded = Loaded(setup, rig_of(setup.truck), {"weight": np.array([2000.0, 9000.0])}, (2,))  # kg
    >>> [one.stopped.tolist() for one in find_stops_of_trucks([loaded, loaded])]
    [[False, True], [False, True]]
    """
    asked = [_Asked.of(one) for one in trucks]
    found = level_trucks([one.rig for one in trucks], [one.load for one in asked], [one.wanted for one in asked])
    return [_stops(one, _exact(levelled)) for one, levelled in zip(asked, found, strict=True)]


def _stops(asked: _Asked, grid: GridLevelled) -> Stops:
    """Return what stops loads that are levelled."""
    (setup, rig, _, _, labels), case, load, wanted = asked
    levelled, exact = grid
    off = misses_wanted(setup, levelled.state, wanted)
    found = checks(setup, _carried(rig, case, load, levelled), labels)
    ours = off & bags_decide(setup)
    code = _bag_code(levelled, ours, _passed_bags(found, exact))
    levels: Flags = (code == 0) & ~off.any(axis=-1)
    stops = [*_bag_stops(setup), Stop("bag", NOT_REACHED)]
    _add_labels(stops, code, (check for check in found if check.level == "stop"))
    upright = stand_upright(rig, load, levelled.state, levelled.pressure)
    stops.append(Stop("label", TIPS_OVER))
    code[~upright & (code == 0)] = len(stops)
    for part, name in enumerate(STANCE):
        stops.append(Stop("stance", name))
        code[off[..., part] & (code == 0)] = len(stops)
    return Stops(tuple(stops), code, levels, levelled.pressure)


def stopping(setup: Setup, findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return those of an answer's findings that stop its load, by the same rule."""
    ours = [name for name, decided in zip(STANCE, bags_decide(setup), strict=True) if decided]
    return tuple(one for one in findings if one.level == "stop" or one.code in ours)


def wanted_stance(setup: Setup, given: Mapping[str, Array], shape: tuple[int, ...]) -> Array:
    """Return the wanted stance, shape (3,), or (..., 3) where a part of it is given. [m, m, rad]"""
    keys = ("stance.front", "stance.rear", "stance.lean")
    if not any(key in given for key in keys):
        return setup.wanted
    wanted = np.empty((*shape, 3))
    wanted[:] = setup.wanted
    for part, (key, arm) in enumerate(zip(keys, (1.0, 1.0, float(setup.truck.rear.track)), strict=True)):
        if key in given:
            wanted[..., part] = given[key] / arm
    return wanted


def _in_shape(load: Load, shape: tuple[int, ...]) -> Load:
    """Return the same load for every case of a shape."""
    row = load.spread(shape)
    parts = (row.side_moment, row.least_twist, row.overturning, row.overturning_front)
    return Load(row.axle.reshape(*shape, 2), *(part.reshape(shape) for part in parts))


def _level(setup: Setup, rig: Rig, load: Load, wanted: Array, on_grid: bool) -> GridLevelled:
    """Return what levelling finds, and where that is exact."""
    if not on_grid:
        return _exact(levelling.level(rig, load, wanted))
    decided = bags_decide(setup)
    return level_grid(
        rig, load, wanted, lambda found, stance: _bag_code(found, misses_wanted(setup, found.state, stance) & decided)
    )


def _exact(found: Levelled) -> GridLevelled:
    return GridLevelled(found, np.ones(found.converged.shape, bool))


def _carried(rig: Rig, case: LoadCase, load: Load, levelled: Levelled) -> Carried:
    """Return what is checked; bags only where some are held at a limit, as all others are inside all of theirs."""
    tyres = rig.tyre_loads(load, rig.axle_moments(load, levelled.state))
    trailer = (case.gross, case.tongue_share, case.hitched.trailer_axle_load)
    if not levelled.held.any():
        return Carried(load.axle, tyres, None, None, None, *trailer)
    height, _ = rig.corners(load, levelled.state)
    return Carried(load.axle, tyres, levelled.pressure, height, rig.bag_load(height, levelled.pressure), *trailer)


def _passed_bags(found: Iterable[Check], exact: Flags) -> Codes:
    """Return which limit a bag of each axle passes although levelling holds all it can, 0 none, shape (..., 2).

    Points that are not exact lie between others of the same limits, and pass none by themselves.
    """
    passed = np.zeros((*exact.shape, 2), np.int8)
    rules = {rule: limit for limit, rule in BAG_RULES.items()}
    for check in found:
        if check.level == "stop" and check.rule in rules:
            of_axle = passed[..., AXLES.index(check.place[0])]
            of_axle[check.passed & exact] = rules[check.rule]
    return passed


def _bag_code(levelled: Levelled, ours: Flags, passed: Codes | None = None) -> Codes:
    """Return which limit of which axle's bags stops: 1 to 5 front, 6 to 10 rear, 11 none that is held, 0 none.

    ours : where front, rear, lean are off the stance that bags decide, shape (..., 3)
    passed : the limits that are passed although levelling holds all it can, shape (..., 2)
    """
    limits = levelled.held.max(axis=-1)  # of each axle, shape (..., 2)
    own, stopped = ours[..., :2], ours.any(axis=-1) | ~levelled.converged
    if passed is not None:
        limits, own = np.maximum(limits, passed), own | (passed > 0)
        stopped |= (passed > 0).any(axis=-1)
    if not stopped.any():
        return np.zeros(stopped.shape, np.int8)
    own &= limits > 0
    of_front = own[..., 0] & ~own[..., 1] | (limits[..., 1] == 0)
    code = np.where(of_front, limits[..., 0], limits[..., 1] + len(BAG_RULES))
    none = (limits == 0).all(axis=-1) | ~levelled.converged
    return np.where(stopped, np.where(none, len(AXLES) * len(BAG_RULES) + 1, code), 0).astype(np.int8)


def _bag_stops(setup: Setup) -> Iterator[Stop]:
    """Yield the limits of the bags of both axles, in the order of Limit; those of no bag too, which nothing passes."""
    for name, axle in zip(AXLES, (setup.truck.front, setup.truck.rear), strict=True):
        bag = axle.bag
        limits: tuple[tuple[float | None, Kind], ...] = ((None, "load"),) * len(BAG_RULES)
        if bag is not None:
            limits = (
                (bag.least_pressure, "pressure"),
                (bag.greatest_pressure, "pressure"),
                (bag.load_rating, "load"),
                (bag.lowest, "length"),
                (bag.highest, "length"),
            )
        for rule, (limit, what) in zip(BAG_RULES.values(), limits, strict=True):
            yield Stop("bag", f"{rule}-{name}", None if limit is None else float(limit), what)


def _add_labels(stops: list[Stop], code: Codes, found: Iterable[Check]) -> None:
    """Add the labels to what may stop, and to the codes where nothing stops yet; of several the one passed by most."""
    free, worst = code == 0, np.full(code.shape, -1.0)
    for check in found:
        if check.rule in BAG_RULES.values():
            continue
        told = check.rule not in NO_RATING and np.ndim(check.limit) == 0
        stops.append(Stop("label", check.code, check.limit if told else None, check.kind))
        if np.any(check.passed):
            past = np.abs(check.value / check.limit - 1.0) if np.any(check.limit) else np.zeros_like(check.value)
            worse = free & check.passed & (past > worst)
            code[worse], worst = len(stops), np.where(worse, past, worst)
