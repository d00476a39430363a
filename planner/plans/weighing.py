r"""From scale slips to what the trailer puts on the truck, each number with its standard uncertainty.

Every reading is a sum of the same few weights, so one weighted least-squares fit uses all of them, whichever are there:
the truck's axles alone F and R, the trailer's weight G, the tongue load T with the bars slack, the load D that hitching
takes off the front axle, what bars give back to the front B and to the trailer's axles C.

===================  =================  ======================
slip                 front, rear        trailer's axles
===================  =================  ======================
alone                F, R
hitched, bars slack  F - D, R + D + T   G - T
hitched with bars    F - D + B,         G - T + C
                     R + D + T - B - C
===================  =================  ======================

Where the truck, its hitch and the trailer are known, levers join them: D = T d / L, C = B L / L_t (`design/model` of a
hitch d behind an axle, wheelbase L, coupling to trailer axles L_t; moments about the rear axle and about the coupling).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Final, NamedTuple

import numpy as np

from planner.errors import BadInput, Problem
from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.error_band import Errors
from planner.physics.validation import Array
from planner.physics.weighted_least_squares import Estimate, estimate
from planner.plans.answer import Finding
from planner.plans.findings import worst_first
from planner.plans.rating_findings import Amounts
from planner.plans.ratings import TONGUE_RANGES
from planner.plans.scale_readings import (
    PASSES,
    Factors,
    Levers,
    Reading,
    Told,
    readings_of,
    slip_errors,
    vector,
)
from planner.records import Hitch, Slip, Trailer, Truck, TruckWeights
from planner.records.slip import front_gain

WAYS: Final[dict[str, tuple[str, ...]]] = {  # to the tongue load, and the readings each takes
    "truck gain": ("alone", "hitched"),
    "gross less axles": ("hitched.trailer", "trailer_alone"),
    "jack": ("jack",),
    "lever": ("lever",),
    "axles and levers": ("alone", "hitched", "levers"),
    "with bars": ("alone", "hitched_with_bars", "levers"),
}
WEIGHINGS: Final[dict[str, tuple[Factors, ...]]] = {  # that may be made next, the easiest first
    "jack": ({"tongue": 1},),
    "trailer": ({"gross": 1},),
    "alone": tuple(PASSES["alone"].values()),
    "hitched": tuple(PASSES["hitched"].values()),
    "with bars": tuple(PASSES["hitched_with_bars"].values()),
}


class Way(NamedTuple):
    """One way to the tongue load: its name, one of WAYS, and what it gives [kg]."""

    name: str
    told: Told


@dataclass(frozen=True)
class Weighed:
    """What slips tell.

    Attributes
    ----------
    slip, truck, trailer, hitch : what was weighed; None where it is not known
    told : by name, values with their uncertainty: "tongue", "gross", "front", "rear" (the truck alone),
        "lost" (by the front axle) [kg]; "tongue_ratio", "restoration", "truck_left", "trailer_left", "hitch_left" [-]
    ways : to the tongue load, each by itself
    untold : by name of a value, the weighings that would tell it, names of WEIGHINGS; empty where none would
    findings : worst first
    """

    slip: Slip
    truck: Truck | None
    trailer: Trailer | None
    hitch: Hitch | None
    told: Mapping[str, Told]
    ways: tuple[Way, ...]
    untold: Mapping[str, tuple[str, ...]]
    findings: tuple[Finding, ...]

    @property
    def tongue_range(self) -> tuple[float, float]:
        """The usual share of the trailer's weight on such a coupling, least and greatest [-]."""
        known = self.trailer or self.hitch
        return TONGUE_RANGES["ball" if known is None else known.coupling]

    @property
    def has_levers(self) -> bool:
        """Whether lengths of truck and hitch join the readings."""
        return self.truck is not None and self.hitch is not None

    @property
    def disagreement(self) -> Told | None:
        """By how much the two ways differ that differ most, with the uncertainty of that [kg]; None if one is told."""
        pairs = [
            Told(abs(a.told.value - b.told.value), Errors((), float(np.hypot(a.told.sd, b.told.sd))))
            for a, b in combinations(self.ways, 2)
        ]
        return max(pairs, key=lambda pair: pair.value / pair.sd, default=None)


def weigh(
    slip: Slip, truck: Truck | None = None, trailer: Trailer | None = None, hitch: Hitch | None = None
) -> Weighed:
    """Return what a slip tells, with uncertainty from the scale's division and tolerance.

    Parameters
    ----------
    slip : Slip
    truck, trailer, hitch : optional
        What was on the scale; with them levers join the readings, so that fewer tell as much.

    Raises
    ------
    BadInput
        If the slip contradicts the hitch: a front axle that got heavier with a hitch behind the rear one.

    Notes
    -----
    A reading is off by rounding, a rectangular law of width d, variance d²/12, and by the scale's error, rectangular
    within ± its tolerance, variance t²/3 [1]_; each reading by itself. A sum over the readings follows by weighted
    least squares, a ratio to first order; the band of 95 % is that of the errors' own laws added up.

    References
    ----------
    .. [1] JCGM 100:2008 (GUM), 4.3.7 and F.2.2.1.

    Examples
    --------
    >>> from planner.records import Slip
    >>> alone = {"front_axle": "4300 lb", "rear_axle": "3000 lb"}
    >>> hitched = {"front_axle": "4020 lb", "rear_axle": "4140 lb", "trailer_axles": "6340 lb"}
    >>> found = weigh(Slip(name="Quarry", alone=alone, hitched=hitched))
    >>> round(found.told["tongue"].value / 0.45359237), round(found.told["tongue"].sd / 0.45359237)
    (860, 26)
    """
    _refuse_front_gain(slip, hitch)
    levers = Levers.of(truck, trailer, hitch)
    readings = list(readings_of(slip, trailer))
    fit = Fit.of(readings, levers)
    told = {} if fit is None else dict(_told(fit)) | dict(_side_shares(slip, truck, hitch, fit))
    found = Weighed(slip, truck, trailer, hitch, told, _ways(readings, levers), _untold(readings, levers, told), ())
    return replace(found, findings=worst_first(_findings(found, fit)))


def _refuse_front_gain(slip: Slip, hitch: Hitch | None) -> None:
    """Refuse a front axle that got heavier with a hitch behind the rear axle."""
    alone = None if slip.alone is None else slip.alone.axle("front")
    hitched = None if slip.hitched is None else slip.hitched.axle("front")
    if hitch is None or hitch.x >= 0 or alone is None or hitched is None:
        return
    if hitched <= alone + slip.greatest_error(alone, hitched):
        return
    refusal = front_gain(slip, hitched - alone)
    raise BadInput([Problem(slip.name, "hitched.front_axle", refusal.got, refusal.rule, refusal.remedy)])


@dataclass(frozen=True)
class Fit:
    """Readings and what they tell of the unknowns by weighted least squares."""

    readings: tuple[Reading, ...]
    estimate: Estimate

    @classmethod
    def of(cls, readings: Sequence[Reading], levers: Levers) -> Fit | None:
        """Return the fit of readings and levers; None where there are no readings.

        How much a lever's tape matters goes with the load on it, which a first fit tells.
        """
        if not readings:
            return None
        tongue, regained = 400.0, 100.0  # [kg] to begin with
        for _ in range(3 if levers != Levers() else 1):
            rows = (*readings, *levers.readings(tongue, regained))
            found = estimate(
                [vector(row.factors) for row in rows],
                [row.value for row in rows],
                [row.errors.variance for row in rows],
            )
            tongue, regained = (found.total(vector({name: 1}))[0] for name in ("tongue", "regained"))
        return cls(rows, found)

    def tells(self, *names: str) -> bool:
        """Tell whether the readings fix some unknowns."""
        return all(self.estimate.tells(vector({name: 1})) for name in names)

    def total(self, name: str) -> Told:
        """Return an unknown [kg]."""
        return self._told(self.estimate.total(vector({name: 1}))[0], vector({name: 1}))

    def ratio(self, top: str, bottom: str) -> Told:
        """Return the ratio of two unknowns [-]."""
        above, below = vector({top: 1}), vector({bottom: 1})
        return self._told(self.estimate.ratio(above, below)[0], self.estimate.slope(above, below))

    def _told(self, value: float, slope: Array) -> Told:
        """Return a value that changes by so much for one of each unknown."""
        gains = slope @ self.estimate.gain
        errors = (row.errors.times(float(gain)) for row, gain in zip(self.readings, gains, strict=True))
        return Told(float(value), Errors.together(errors))


def _told(fit: Fit) -> Iterator[tuple[str, Told]]:
    """Yield what a fit tells: weights [kg] and ratios [-]."""
    for name in ("tongue", "gross", "front", "rear", "lost"):
        if fit.tells(name):
            yield name, fit.total(name)
    for name, top, bottom in (("tongue_ratio", "tongue", "gross"), ("restoration", "regained", "lost")):
        if fit.tells(top, bottom) and fit.total(bottom).value > 0:
            yield name, fit.ratio(top, bottom)


def _ways(readings: Sequence[Reading], levers: Levers) -> tuple[Way, ...]:
    """Return the tongue load by each way that the readings allow; levers only where nothing else tells it so."""
    found: list[Way] = []
    for name, parts in WAYS.items():
        mine = [row for row in readings if row.part in parts]
        if "levers" in parts and any(way.name == "truck gain" for way in found):
            continue
        fit = Fit.of(mine, levers if "levers" in parts else Levers())
        if fit is not None and fit.tells("tongue"):
            found.append(Way(name, fit.total("tongue")))
    return tuple(found)


def _untold(readings: Sequence[Reading], levers: Levers, told: Mapping[str, Told]) -> dict[str, tuple[str, ...]]:
    """Return what the readings do not tell, and the fewest weighings that would tell it."""
    wanted = {
        "tongue": ("tongue",),
        "gross": ("gross",),
        "tongue_ratio": ("tongue", "gross"),
        "restoration": ("regained", "lost"),
    }
    have = [row.factors for row in (*readings, *levers.readings(1.0, 1.0))]
    choices = [some for count in (1, 2, 3) for some in combinations(WEIGHINGS, count)]
    found: dict[str, tuple[str, ...]] = {}
    for name, unknowns in wanted.items():
        if name not in told:
            enough = (
                some for some in choices if _tells([*have, *(row for one in some for row in WEIGHINGS[one])], unknowns)
            )
            found[name] = next(enough, ())
    return found


def _tells(rows: Sequence[Factors], unknowns: Sequence[str]) -> bool:
    """Tell whether readings of such sums would fix some unknowns."""
    fit = estimate([vector(row) for row in rows], np.zeros(len(rows)), np.ones(len(rows)))
    return all(fit.tells(vector({name: 1})) for name in unknowns)


def _side_shares(slip: Slip, truck: Truck | None, hitch: Hitch | None, fit: Fit) -> Iterator[tuple[str, Told]]:
    """Yield the left shares that wheel-by-wheel slips tell.

    The truck's: (s - ½) Σ W t = Σ (left - right) t / 2 over the axles. The trailer's: its coupling swivels, so its
    wheels carry all of its side moment, s = ½ + (left - right) / 2 G. The hitch load's: what hitching adds to the
    truck's side moment, over T and the rear track.
    """
    tracks = (1.0, 1.0) if truck is None else (float(truck.front.track), float(truck.rear.track))
    alone = _side_moment(slip, slip.alone, tracks)
    if alone is not None and slip.alone is not None:
        load = sum(
            (slip.alone.axle(name) or 0.0) * track for name, track in zip(("front", "rear"), tracks, strict=True)
        )
        yield "truck_left", _share(*alone, load, 0.0)
    hitched = slip.hitched or slip.hitched_with_bars
    if hitched is None:
        return
    wheels = hitched.wheels("trailer")
    swivels = hitch is None or hitch.roll_coupling == 0
    if wheels is not None and swivels and fit.tells("gross"):
        gross = fit.total("gross")
        yield "trailer_left", _share(wheels[0] - wheels[1], slip_errors(slip, *wheels), 2 * gross.value, 2 * gross.sd)
    now = _side_moment(slip, hitched, tracks)
    if now is not None and alone is not None and truck is not None and fit.tells("tongue"):
        tongue, errors = fit.total("tongue"), Errors.together([now[1], alone[1]])
        yield "hitch_left", _share(now[0] - alone[0], errors, tongue.value * tracks[1], tongue.sd * tracks[1])


def _share(moment: float, errors: Errors, load: float, sd: float) -> Told:
    """Return ½ and a moment over a load, which is itself unsure by so much; the two errors have nothing in common."""
    off = moment / load
    return Told(0.5 + off, Errors.together([errors, Errors((), off * sd)]).times(1.0 / load))


def _side_moment(slip: Slip, one: TruckWeights | None, tracks: tuple[float, float]) -> tuple[float, Errors] | None:
    """Return Σ (left - right) t / 2 over the truck's axles [kg·m], left positive; None if a wheel is missing."""
    pairs = [] if one is None else [pair for name in ("front", "rear") if (pair := one.wheels(name))]
    if len(pairs) < 2:
        return None
    found = list(zip(pairs, tracks, strict=True))
    errors = (slip_errors(slip, *pair).times(track / 2.0) for pair, track in found)
    return sum((left - right) * track / 2.0 for (left, right), track in found), Errors.together(errors)


SAME_EACH_TIME: Final = (
    "check that the same people and fuel were aboard each time, bars slack, ground level, brakes off"
)
RANGE_SOURCE: Final = "Iowa State University Extension, 28 June 2017, of a ball; common practice of a bed hitch"


def _findings(found: Weighed, fit: Fit | None) -> Iterator[Finding]:
    """Yield what is to be said of what slips tell."""
    yield from _ratio_findings(found)
    apart = found.disagreement
    if apart is not None and apart.value > apart.half:
        text = f"Two ways to the tongue load are {{value}} apart; the scale explains {{limit}}: {SAME_EACH_TIME}."
        amounts: Amounts = {"value": (apart.value, "weight"), "limit": (apart.half, "weight")}
        yield Finding("caution", "weights-disagree", text, "JCGM 100:2008; NIST Handbook 44 (from memory)", amounts)
    elif fit is not None and is_too_great(fit.estimate.chi_square, fit.estimate.spare):
        text = f"The slips do not fit each other or the truck's lengths as they should: {SAME_EACH_TIME}."
        yield Finding("caution", "slips-disagree", text, "chi-square of the residuals, 1 in 100")
    tongue = found.told.get("tongue")
    if tongue is not None and tongue.band[0] <= 0:
        text = "The tongue load is {value}, give or take {limit}: this scale is too coarse to show it. Use a finer one."
        amounts = {"value": (tongue.value * G, "load"), "limit": (tongue.half * G, "load")}
        yield Finding("caution", "tongue-unsure", text, "JCGM 100:2008", amounts)
    back = found.told.get("restoration")
    if back is not None and back.value > 1.0:
        text = "Bars put back {value} of what the hitch took off the front axle: ease them to {limit} at the most."
        amounts = {"value": (back.value, "share"), "limit": (1.0, "share")}
        yield Finding("caution", "bars-over", text, "SAE J2807 committee, as quoted in the trade press", amounts)
    lost = found.told.get("lost")
    if lost is not None and lost.band[1] < 0 and (found.hitch is None or found.hitch.x < 0):
        text = "The front axle gained {value} from hitching: only a hitch ahead of the rear axle does that."
        yield Finding("caution", "front-gained", text, "statics", {"value": (-lost.value * G, "load")})


def is_too_great(chi_square: float, spare: int) -> bool:
    """Tell whether a sum of squared residuals is one that right variances give less than once in a hundred.

    Wilson and Hilferty's cube root, Proc. Natl. Acad. Sci. 17 (1931) 684-688 (from memory).

    Examples
    --------
    >>> is_too_great(6.5, 1), is_too_great(6.8, 1), is_too_great(13.1, 4), is_too_great(13.5, 4)
    (False, True, False, True)
    """
    if spare == 0:
        return False
    width = 2.0 / (9.0 * spare)
    return bool(((chi_square / spare) ** (1.0 / 3.0) - (1.0 - width)) / np.sqrt(width) > 2.3263)


def _ratio_findings(found: Weighed) -> Iterator[Finding]:
    """Yield how the tongue ratio lies against the usual range of such a coupling."""
    ratio = found.told.get("tongue_ratio")
    if ratio is None:
        return
    least, greatest = found.tongue_range
    limits: Amounts = {"least": (least, "share"), "greatest": (greatest, "share")}
    for low, limit in ((True, least), (False, greatest)):
        if (ratio.value < limit) if low else (ratio.value > limit):
            text = (
                "The tongue carries {value} of the trailer, under the usual {least} to {greatest}: a light tongue "
                "sways. Move load forward and weigh again."
                if low
                else "The tongue carries {value} of the trailer, over the usual {least} to {greatest}: move load back "
                "and weigh again."
            )
            code = "tongue-ratio-low" if low else "tongue-ratio-high"
            amounts: Amounts = {"value": (ratio.value, "share"), "limit": (limit, "share"), **limits}
            yield Finding("caution", code, text, RANGE_SOURCE, amounts)
        elif ratio.band[0] < limit < ratio.band[1]:
            side = "under" if low else "over"
            text = f"The tongue ratio may be {side} the usual {{limit}}: it is {{value}}, give or take {{sure}}."
            amounts = {"value": (ratio.value, "share"), "limit": (limit, "share")}
            amounts["sure"] = (ratio.half, "share")
            yield Finding("note", f"tongue-ratio-may-be-{'low' if low else 'high'}", text, RANGE_SOURCE, amounts)
