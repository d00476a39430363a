"""Readings of scales as sums of the few weights that a weigh-in is about, each with the law of its error."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final, NamedTuple

import numpy as np

from planner.physics.error_band import Errors
from planner.physics.validation import Array
from planner.records import Hitch, Lever, Slip, Trailer, Truck, TruckWeights
from planner.records.slip import scale_tolerance

TAPE: Final = 0.00635  # [m] 1/4 in, one standard deviation of a wheelbase or an overhang by tape: common practice
ARM: Final = 0.003175  # [m] 1/8 in, of the arms of a lever: common practice
BODY_SCALE: Final = 0.01  # [-] of what it shows, one standard deviation of a bathroom scale: common practice
LEAST_ERROR: Final = 0.01  # [kg] of a lever between weights: far below any scale

UNKNOWNS: Final = ("front", "rear", "gross", "tongue", "lost", "regained", "returned")
Factors = Mapping[str, float]
PASSES: Final[dict[str, dict[str, Factors]]] = {  # by slip and axle, the weights that the reading is the sum of
    "alone": {"front": {"front": 1}, "rear": {"rear": 1}},
    "hitched": {
        "front": {"front": 1, "lost": -1},
        "rear": {"rear": 1, "lost": 1, "tongue": 1},
        "trailer": {"gross": 1, "tongue": -1},
    },
    "hitched_with_bars": {
        "front": {"front": 1, "lost": -1, "regained": 1},
        "rear": {"rear": 1, "lost": 1, "tongue": 1, "regained": -1, "returned": -1},
        "trailer": {"gross": 1, "tongue": -1, "returned": 1},
    },
}


@dataclass(frozen=True)
class Told:
    """A value and the law of its error, in one unit."""

    value: float
    errors: Errors

    @cached_property
    def sd(self) -> float:
        """Its standard uncertainty."""
        return self.errors.sd

    @cached_property
    def half(self) -> float:
        """Half the width of the band that holds it with 95 %."""
        return self.errors.half_width()

    @property
    def band(self) -> tuple[float, float]:
        """The values between which it lies with 95 %."""
        return self.value - self.half, self.value + self.half


class Reading(NamedTuple):
    """A reading as a sum: where it stands, the factors of the unknowns, what was read [kg], the law of its error."""

    part: str
    factors: Factors
    value: float
    errors: Errors


@dataclass(frozen=True)
class Levers:
    """What joins the weights: D / T and C / B, each with one standard deviation; None where it is not known."""

    front: tuple[float, float] | None = None
    bars: tuple[float, float] | None = None

    @classmethod
    def of(cls, truck: Truck | None, trailer: Trailer | None, hitch: Hitch | None) -> Levers:
        """Return the levers of truck and trailer: D = T d / L, C = B L / L_t."""
        if truck is None:
            return cls()
        base = float(truck.wheelbase), _tape(truck, "wheelbase")
        front = bars = None
        if hitch is not None:
            place = next((place for place, one in enumerate(truck.hitches) if one.name == hitch.name), 0)
            front = _quotient((-float(hitch.x), _tape(truck, f"hitches[{place}].x")), base)
        if trailer is not None:
            bars = _quotient(base, (float(trailer.axle_distance), _tape(trailer, "axle_distance")))
        return cls(front, bars)

    def readings(self, tongue: float, regained: float) -> Iterator[Reading]:
        """Yield the levers as readings of nought, as sure as the tape makes them for weights of about so much [kg]."""
        if self.front is not None:
            error = Errors((), max(LEAST_ERROR, self.front[1] * abs(tongue)))
            yield Reading("levers", {"lost": 1, "tongue": -self.front[0]}, 0.0, error)
        if self.bars is not None:
            error = Errors((), max(LEAST_ERROR, self.bars[1] * abs(regained)))
            yield Reading("levers", {"returned": 1, "regained": -self.bars[0]}, 0.0, error)


def vector(factors: Factors) -> Array:
    """Return factors by name as an array in the order of UNKNOWNS, shape (7,)."""
    return np.array([float(factors.get(name, 0.0)) for name in UNKNOWNS])


def scale_errors(load: float, division: float, tolerance: float | None = None) -> Errors:
    """Return the law of one reading's error: rounding to a division, and the scale's own within its tolerance [kg].

    Parameters
    ----------
    load : what it shows [kg]
    division : [kg]
    tolerance : the most it may be off besides rounding [kg]; None for that of a vehicle scale in use, NIST Handbook 44

    Examples
    --------
    >>> round(scale_errors(4000.0, 20.0, 0.0).variance, 2), round(scale_errors(4000.0, 20.0).variance, 2)
    (33.33, 166.67)
    """
    return Errors((division / 2.0, scale_tolerance(load, division, tolerance)))


def slip_errors(slip: Slip, *loads: float) -> Errors:
    """Return the law of the error of readings of a slip's scale added up [kg]."""
    tolerance = None if slip.tolerance is None else float(slip.tolerance)
    return Errors.together(scale_errors(load, float(slip.resolution), tolerance) for load in loads)


def readings_of(slip: Slip, trailer: Trailer | None = None) -> Iterator[Reading]:
    """Yield every reading of a slip as a sum of the unknowns; a jack away from the coupling needs the trailer."""
    for name, axles in PASSES.items():
        one: TruckWeights | None = getattr(slip, name)
        if one is None:
            continue
        for axle, factors in axles.items():
            yield from _axle_reading(slip, name, one, axle, factors)
        if one.truck is not None:
            whole = {key: axles["front"].get(key, 0.0) + axles["rear"].get(key, 0.0) for key in UNKNOWNS}
            yield Reading(name, whole, float(one.truck), slip_errors(slip, one.truck))
    yield from _trailer_readings(slip, trailer)
    if slip.lever is not None and not slip.lever.is_empty:
        yield Reading("lever", {"tongue": 1}, *lever_load(slip.lever))


def lever_load(lever: Lever) -> tuple[float, Errors]:
    """Return what presses on the beam at the tongue's place, by moments about the pivot, and its error's law [kg].

    T = (S - B) l / a: what the scale shows with the tongue and without, the arms to the scale and to the tongue.
    Archimedes' lever; rounding of both readings, the bathroom scale's own error and the tape on both arms to first
    order.

    Examples
    --------
    >>> lever = Lever(reading="310 lb", beam="10 lb", tongue_arm="12 in", scale_arm="36 in")
    >>> round(lever_load(lever)[0] / 0.45359237, 6)
    900.0
    """
    assert lever.reading is not None
    assert lever.tongue_arm is not None
    assert lever.scale_arm is not None
    net = float(lever.reading) - float(lever.beam or 0.0)
    stretch = float(lever.scale_arm) / float(lever.tongue_arm)
    relative = float(np.linalg.norm([BODY_SCALE, ARM / lever.scale_arm, ARM / lever.tongue_arm]))
    rounding = (float(lever.resolution) / 2.0,) * (2 if lever.beam else 1)
    return net * stretch, Errors(rounding, net * relative).times(stretch)


def _axle_reading(slip: Slip, name: str, one: TruckWeights, axle: str, factors: Factors) -> Iterator[Reading]:
    """Yield what an axle weighs on one slip: as printed, else its two wheels' readings together."""
    value = one.axle(axle)
    if value is None:
        return
    part = f"{name}.trailer" if axle == "trailer" else name
    printed = getattr(one, "trailer_axles" if axle == "trailer" else f"{axle}_axle", None)
    wheels = one.wheels(axle)
    drafts = (value,) if printed is not None or wheels is None else wheels
    yield Reading(part, factors, value, slip_errors(slip, *drafts))


def _trailer_readings(slip: Slip, trailer: Trailer | None) -> Iterator[Reading]:
    """Yield what the trailer weighs unhitched. By moments about its axle, a jack b behind carries T L_t / (L_t - b)."""
    own = slip.trailer_alone
    if own is None:
        return
    behind = float(own.jack_behind or 0.0)
    if own.gross is not None:
        yield Reading("trailer_alone", {"gross": 1}, float(own.gross), slip_errors(slip, own.gross))
    if behind and (trailer is None or behind >= trailer.axle_distance):
        return  # where the jack stands between coupling and axles is not known
    more = 1.0 if trailer is None else float(trailer.axle_distance) / (float(trailer.axle_distance) - behind)
    if own.jack is not None:
        yield Reading("jack", {"tongue": more}, float(own.jack), slip_errors(slip, own.jack))
    if own.axles is not None:
        factors = {"gross": 1.0, "tongue": -more}
        yield Reading("trailer_alone", factors, float(own.axles), slip_errors(slip, own.axles))


def _tape(record: Truck | Trailer, path: str) -> float:
    """Return one standard deviation of a length in a file [m]: its owner's own, else a tape's."""
    return float(record.spread.get(path, TAPE))


def _quotient(top: tuple[float, float], bottom: tuple[float, float]) -> tuple[float, float]:
    """Return the quotient of two lengths and its standard deviation; JCGM 100:2008, 5.1.2."""
    part = top[0] / bottom[0]
    return part, float(np.hypot(top[1], part * bottom[1])) / bottom[0]
