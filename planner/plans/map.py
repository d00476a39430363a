"""A map of loads: any two inputs of a load over their ranges, and at every point which limit stops it, if one does.

Every point is asked at once: loads by broadcasting, then what the wanted stance asks of the bags before any limit is
held, then the labels. A point is inside the limits of its bags exactly where levelling holds none.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

import numpy as np

from planner.physics import levelling, statics
from planner.physics.active_set import Limit
from planner.physics.checks import Array, Codes, Flags
from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.layout import by_axle
from planner.physics.levelling import Asked
from planner.physics.rig import Rig
from planner.physics.statics import Load
from planner.plans.answer import AXLES, Kind
from planner.plans.inputs import Input, inputs_of
from planner.plans.labels import Carried, checks
from planner.plans.setup import Setup, rig_of

SIZE: Final = 150  # points along each axis
ALONG: Final = 65  # points in each of the rounds that look for the first stop along a line
ROUNDS: Final = 3  # to within a quarter of a millionth of the range
BAG_RULES: Final[dict[Limit, str]] = {  # limits of a bag by the codes of the findings they make
    Limit.LEAST_PRESSURE: "pressure-low",
    Limit.GREATEST_PRESSURE: "pressure-high",
    Limit.LOAD_RATING: "bag-load",
    Limit.LOWEST_HEIGHT: "bag-height-low",
    Limit.HIGHEST_HEIGHT: "bag-height-high",
}
NO_RATING: Final = ("wheel-lifts", "front-axle-light")  # statics and practice, not a number on a label
STANCE: Final = ("stance-not-reached-front", "stance-not-reached-rear", "lean-left-over")


class Axis(NamedTuple):
    """One axis of a map: the key of an input, and the range it goes through. [SI]"""

    key: str
    low: float
    high: float


class Stop(NamedTuple):
    """One thing that stops a load.

    Attributes
    ----------
    kind : "bag" where the stance asks more of a bag than its limits give, "label" where a rating is passed, "stance"
        where nothing is passed, and the truck still does not come to the wanted stance: steel or a shared line sets it
    code : of the finding; that of a bag names its axle only
    limit, what : the limit in SI and of which kind it is; None where the limit is no number worth telling
    """

    kind: Literal["bag", "label", "stance"]
    code: str
    limit: float | None = None
    what: Kind = "load"


class Turn(NamedTuple):
    """Where along a line it changes whether a load is stopped: the value of the input [SI], and by what (0 nothing)."""

    value: float
    code: int


@dataclass(frozen=True, eq=False)
class LoadMap:
    """A map of loads over two inputs; arrays have shape (y, x).

    Attributes
    ----------
    setup : the load that the map is about
    x, y : the inputs, with this load's own values
    x_values, y_values : where the points are [SI]
    stops : what may stop a load; code n is stops[n - 1]
    code : which of them stops each point, 0 none
    levels : whether the truck comes to the wanted stance with every bag inside its limits
    pressure : mean gauge pressure of the corners of pressure_axle that the stance asks; None without bags [Pa]
    pressure_axle : "rear", "front" where the rear has no bag, "" without bags
    here : what stops this load, 0 nothing
    more : where a load with more of x is stopped first, by what; None where it is not in this range, or is stopped now
    less : where a stopped load with less of x is stopped no more; None where there is no such place, or it is not now
    """

    setup: Setup
    x: Input
    y: Input
    x_values: Array
    y_values: Array
    stops: tuple[Stop, ...]
    code: Codes
    levels: Flags
    pressure: Array | None
    pressure_axle: Literal["rear", "front", ""]
    here: int
    more: Turn | None
    less: Turn | None

    def stop(self, code: int) -> Stop | None:
        """Return what a code stands for, None for 0."""
        return self.stops[code - 1] if code else None


def load_map(setup: Setup, x: Axis, y: Axis, size: tuple[int, int] = (SIZE, SIZE)) -> LoadMap:
    """Return the map of a load over two of its inputs.

    Parameters
    ----------
    setup : Setup
    x, y : Axis
        Two different inputs of `inputs_of` and their ranges.
    size : (int, int)
        Points along x and along y.

    Returns
    -------
    LoadMap
        Of several limits the one that is told is: of the bags before labels; of two axles the rear; of one axle height
        before load before pressure; of labels the one passed by most, as a part of it.

    Raises
    ------
    ValueError
        If an input is not one of this load, both are the same, or a range is empty.
    ArithmeticError
        If an axle without bags leaves a point with no state to be found.
    """
    known = inputs_of(setup)
    for axis in (x, y):
        if axis.key not in known:
            raise ValueError(f"an axis must be one of {', '.join(known)} for this load, got {axis.key!r}")
        if not axis.low < axis.high:
            raise ValueError(f"the range of {axis.key} must grow, got {axis.low:g} to {axis.high:g}")
    if x.key == y.key:
        raise ValueError(f"the two axes must differ, got {x.key!r} twice: choose another for one")
    rig, across, up = rig_of(setup.truck), np.linspace(x.low, x.high, size[0]), np.linspace(y.low, y.high, size[1])
    points = _points(setup, rig, {x.key: across, y.key: up[:, None]}, (size[1], size[0]))
    here, more, less = _along(setup, rig, x, known[x.key].value)
    return LoadMap(
        setup=setup,
        x=known[x.key],
        y=known[y.key],
        x_values=across,
        y_values=up,
        stops=points.stops,
        code=points.code,
        levels=points.levels,
        pressure=points.pressure,
        pressure_axle=_pressure_axle(rig),
        here=here,
        more=more,
        less=less,
    )


class _Points(NamedTuple):
    """What is found at many points at once."""

    stops: tuple[Stop, ...]
    code: Codes
    levels: Flags
    pressure: Array | None


def _stopping(stops: tuple[Stop, ...]) -> Flags:
    """Return by code whether it stops a load, shape (codes,)."""
    return np.array([False, *(stop.kind != "stance" for stop in stops)])


def _pressure_axle(rig: Rig) -> Literal["rear", "front", ""]:
    return "rear" if rig.has_bag[1] else "front" if rig.has_bag[0] else ""


def _along(setup: Setup, rig: Rig, x: Axis, own: float) -> tuple[int, Turn | None, Turn | None]:
    """Return what stops this load, where more of x is stopped first, and where less of it is stopped no more."""
    now = _points(setup, rig, {x.key: np.array([own])}, (1,))
    here, stopping = int(now.code[0]), _stopping(now.stops)
    ends = (own, x.low) if stopping[here] else (own, x.high)
    turn = None
    for _ in range(ROUNDS):
        values = np.linspace(*ends, ALONG)
        codes = _points(setup, rig, {x.key: values}, (ALONG,)).code
        other = np.flatnonzero(stopping[codes] != stopping[here])
        if not other.size or ends[0] == ends[1]:
            break
        first = int(other[0])
        turn, ends = Turn(float(values[first]), int(codes[first])), (float(values[first - 1]), float(values[first]))
    return (here, None, turn) if stopping[here] else (here, turn, None)


def _points(setup: Setup, rig: Rig, given: Mapping[str, Array], shape: tuple[int, ...]) -> _Points:
    """Return what is found with some inputs given as arrays that broadcast to a shape."""
    load, wanted, trailer = _load(setup, rig, given, shape), _wanted(setup, given, shape), _trailer(setup, given)
    asked = levelling.ask(rig, load, wanted)
    tyres = rig.tyre_loads(load, rig.axle_moments(load, asked.state))
    stops = [*_bag_stops(setup)]
    code = _bag_code(asked.passed)
    levels: Flags = code == 0
    free, worst = levels.copy(), np.full(shape, -1.0)
    for check in checks(setup, Carried(load.axle, tyres, None, None, None, *trailer)):
        if check.level != "stop":
            continue
        told = check.rule not in NO_RATING
        stops.append(Stop("label", check.code, check.limit if told else None, check.kind))
        if np.any(check.passed):
            past = np.abs(check.value / check.limit - 1.0) if check.limit else np.zeros_like(check.value)
            worse = free & check.passed & (past > worst)
            code[worse], worst = len(stops), np.where(worse, past, worst)
    for off, name in zip(_off(setup, asked, wanted), STANCE, strict=True):
        stops.append(Stop("stance", name))
        code[off & (code == 0)] = len(stops)
        levels &= ~off
    return _Points(tuple(stops), code, levels, _pressure(rig, asked))


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
                (bag.height[0], "length"),
                (bag.height[-1], "length"),
            )
        for rule, (limit, what) in zip(BAG_RULES.values(), limits, strict=True):
            yield Stop("bag", f"{rule}-{name}", None if limit is None else float(limit), what)


def _bag_code(passed: Codes) -> Codes:
    """Return which limit of which axle's bags is passed: 1 to 5 front, 6 to 10 rear, 0 none."""
    front, rear = (np.maximum(passed[..., k, 0], passed[..., k, 1]) for k in (0, 1))
    return np.where(rear > 0, rear + len(BAG_RULES), front).astype(np.int8)


def _off(setup: Setup, asked: Asked, wanted: Array) -> Iterator[Flags]:
    """Yield where the front, the rear, the lean is off the wanted stance by more than a tape can tell."""
    tape = float(setup.truck.instruments.tape_error)
    for part, arm in enumerate((1.0, 1.0, float(setup.truck.rear.track))):
        off: Flags = np.abs(asked.state[..., part] - wanted[..., part]) * arm > tape
        yield off


def _pressure(rig: Rig, asked: Asked) -> Array | None:
    """Return the mean pressure of the axle whose pressure is drawn."""
    name = _pressure_axle(rig)
    if not name:
        return None
    left, right = (asked.pressure[..., AXLES.index(name), side] for side in (0, 1))
    mean: Array = 0.5 * (left + right)
    return mean


def _load(setup: Setup, rig: Rig, given: Mapping[str, Array], shape: tuple[int, ...]) -> Load:
    """Return all that the suspension carries at every point."""
    total = Load(
        by_axle(*(np.full(shape, load) for load in rig.kerb.axle)),
        np.full(shape, rig.kerb.side_moment),
        np.full(shape, rig.kerb.least_twist),
    )
    for weight, x, y in _on_truck(setup, given):
        total += statics.point_load(weight * G, x, y, rig.wheelbase)
    hitch, trailer = setup.hitch, setup.trailer
    if hitch is not None and trailer is not None:
        on_hitch = _hitched(setup, given)
        left = given.get("left", np.asarray(setup.left_share))
        arm = hitch.y + hitch.roll_coupling * (left - 0.5) * setup.truck.rear.track
        total += statics.point_load(on_hitch.hitch_load, hitch.x, arm, rig.wheelbase)
        if np.any(on_hitch.bar_moment):
            total += statics.pitch_moment(on_hitch.bar_moment, rig.wheelbase)
    return total


def _on_truck(setup: Setup, given: Mapping[str, Array]) -> Iterator[tuple[Array, Array, Array]]:
    """Yield weight [kg] and place ahead and left [m] of everything on the truck."""
    for n, item in enumerate(setup.cargo):
        of = f"cargo.{n}"
        own = {"weight": item.weight, "x": item.x, "y": item.y}
        weight, x, y = (np.asarray(given.get(f"{of}.{name}", float(value))) for name, value in own.items())
        yield weight, x, y
    if "more.weight" in given or "more.x" in given:
        weight, x = (np.asarray(given.get(f"more.{name}", 0.0)) for name in ("weight", "x"))
        yield weight, x, np.zeros(())


def _gross(setup: Setup, given: Mapping[str, Array]) -> tuple[Array, Array]:
    """Return the trailer's weight [N] and its tongue share [-]; noughts with no trailer."""
    trailer = setup.trailer
    if trailer is None:
        return np.zeros(()), np.zeros(())
    return given.get("weight", np.asarray(trailer.weight)) * G, given.get("tongue", np.asarray(trailer.tongue_share))


def _hitched(setup: Setup, given: Mapping[str, Array]) -> statics.Hitched:
    """Return the loads between truck, trailer and ground."""
    trailer, hitch = setup.trailer, setup.hitch
    assert trailer is not None  # the caller asked
    assert hitch is not None
    gross, share = _gross(setup, given)
    bars = given.get("bars", np.asarray(trailer.bars))
    return statics.hitched(gross, gross * share, -hitch.x, trailer.axle_distance, bars)


def _trailer(setup: Setup, given: Mapping[str, Array]) -> tuple[Array, Array, Array]:
    """Return what the labels want to know of the trailer: its weight, tongue share and axle load. [N, -, N]"""
    gross, share = _gross(setup, given)
    if setup.trailer is None or setup.hitch is None:
        return gross, share, np.zeros(())
    return gross, share, _hitched(setup, given).trailer_axle_load


def _wanted(setup: Setup, given: Mapping[str, Array], shape: tuple[int, ...]) -> Array:
    """Return the wanted stance, shape (3,), or (..., 3) where a part of it is given."""
    keys = ("stance.front", "stance.rear", "stance.lean")
    if not any(key in given for key in keys):
        return setup.wanted
    parts = [given.get(key, np.asarray(own)) for key, own in zip(keys, _own_stance(setup), strict=True)]
    wanted = np.stack([np.broadcast_to(part, shape) for part in parts], axis=-1)
    wanted[..., 2] /= float(setup.truck.rear.track)
    return wanted


def _own_stance(setup: Setup) -> tuple[float, float, float]:
    """Return the wanted rise front and rear and lean of a setup. [m]"""
    front, rear, roll = setup.wanted
    return float(front), float(rear), float(roll * setup.truck.rear.track)
