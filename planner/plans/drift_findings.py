"""What a leak test has found, where it points to, and the next test to make."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final, NamedTuple

from planner.plans.answer import AXLES, SIDES, Finding, Kind
from planner.plans.findings import worst_first
from planner.plans.setup import Setup
from planner.records.fields import PRESSURE_SLACK

RULE: Final = 3 * 6894.757293168361  # [Pa] in RULE_TIME: 49 CFR 393.207(f), "3 psi in a 5-minute time period"
RULE_TIME: Final = 300.0 / 86_400.0  # [days]
RULE_SOURCE: Final = "49 CFR 393.207(f)"
MODEL: Final = "sealed air settled again at the second temperature and altitude"
COOLED: Final = 600.0  # [s] of standing after air went in until it is as warm as its bag: common practice
GAINED: Final = 2.81  # [standard deviations] one in 400 of a normal distribution


PERHAPS: Final = 1.0  # [standard deviations] of the gauge's error from which on a loss is told of as perhaps a leak


class Loss(NamedTuple):
    """What an air line lost: its axle and sides, the numbers of a `Drift` there, and the most that cooling takes."""

    axle: int
    sides: tuple[int, ...]
    before: float
    after: float
    expected: float
    lost: float
    sd: float
    leak: float
    leak_sd: float
    smallest_seen: float
    days_to_least: float
    soonest: float
    latest: float
    cooling: float

    @property
    def where(self) -> str:
        """Which line, in words: "rear left", or "rear" where both bags share it."""
        return AXLES[self.axle] + (f" {SIDES[self.sides[0]]}" if len(self.sides) == 1 else "")

    @property
    def code(self) -> str:
        """The same for programs: "rear-left"."""
        return self.where.replace(" ", "-")

    @property
    def leaks(self) -> bool:
        """Whether it was found to leak."""
        return not math.isnan(self.leak)


def drift_findings(
    setup: Setup, losses: Sequence[Loss], days: float, *, rests: bool, rested: float | None = None
) -> tuple[Finding, ...]:
    """Return what a leak test has found, worst first.

    Parameters
    ----------
    setup : Setup
    losses : sequence of Loss
        Of every line of the truck.
    days : float
        Between the readings. [days]
    rests : bool
        Whether the truck comes to rest on the first reading's pressures, off its stops.
    rested : float, optional
        How long it had stood then since air last went in; left out: long enough. [s]

    Examples
    --------
    >>> from planner import open_folder
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> nan, setup = math.nan, Setup.of(mill.profile, mill.truck, mill.trailer)
    >>> tight = Loss(1, (0,), 250e3, 245e3, 5e3, 5e3, 19e3, nan, nan, 60e3, nan, nan, nan, 70e3)
    >>> [one.code for one in drift_findings(setup, [tight], 0.5, rests=True)]
    ['no-leak']
    """
    cooling = [] if rested is None or rested >= COOLED else [_cooling(losses, rested)]
    return worst_first((*cooling, *_all(setup, losses, days, rests)))


def lost_in_five_minutes(excess: float, days: float) -> float:
    """Return what a loss that cold does not explain comes to in the five minutes of the rule. [Pa]"""
    return excess * RULE_TIME / days


def _all(setup: Setup, losses: Sequence[Loss], days: float, rests: bool) -> Iterator[Finding]:
    if not rests:
        template = (
            "At the pressures first read, this load would put the truck on its stops. It must have carried something "
            "else, so the cold's part is not sure. Choose the profile it stood in, or leave its trailer or cargo out."
        )
        yield Finding("caution", "load-differs", template, MODEL)
    yield from (_over_the_rule(one, days) for one in losses if _is_over_the_rule(one, days))
    leaking = [one for one in losses if one.leaks]
    yield from (_leak(setup, one) for one in leaking)
    if leaking:
        yield _next_test(setup, losses, leaking)
        yield from (_tight(one) for one in losses if not one.leaks)
        return
    gained = [one for one in losses if one.lost - one.expected < -GAINED * one.sd]
    yield from (_gained(one) for one in gained)
    perhaps = [one for one in losses if one.lost - one.expected > PERHAPS * one.sd]
    yield from (_perhaps(one) for one in perhaps)
    if not gained:
        yield _no_leak(losses)
    yield from (_under_least(setup, one) for one in losses if one.after < _least(setup, one))


def _is_over_the_rule(one: Loss, days: float) -> bool:
    return lost_in_five_minutes(one.lost - one.expected, days) > RULE + PRESSURE_SLACK


def _cooling(losses: Sequence[Loss], rested: float) -> Finding:
    """Return that the air was still warm at the first reading."""
    template = (
        "Too early: the first reading was {value} after air went in. Fresh air is warm, and as it cools the pressure "
        "falls like a leak, by {limit} at the most. Let it stand {wait} with the valves shut, then read again."
    )
    amounts: dict[str, tuple[float, Kind]] = {
        "value": (rested, "time"),
        "limit": (max(one.cooling for one in losses), "pressure"),
        "wait": (COOLED, "time"),
    }
    return Finding("caution", "still-cooling", template, "a bag filled from empty, without loss of heat", amounts)


def _over_the_rule(one: Loss, days: float) -> Finding:
    template = (
        f"The {one.where} line lost {{value}} in five minutes; the rule for commercial vehicles allows {{limit}}."
    )
    amounts: dict[str, tuple[float, Kind]] = {
        "value": (lost_in_five_minutes(one.lost - one.expected, days), "pressure"),
        "limit": (RULE, "pressure"),
    }
    return Finding("stop", f"leak-rule-{one.code}", template, RULE_SOURCE, amounts)


def _leak(setup: Setup, one: Loss) -> Finding:
    """Return the finding of a line that leaks: what cold explains of its loss, the rest, when it is at its least."""
    amounts: dict[str, tuple[float, Kind]] = {
        "value": (one.leak, "pressure"),
        "explained": (abs(one.expected), "pressure"),
        "lost": (one.lost, "pressure"),
        "error": (one.leak_sd, "pressure"),
        "limit": (_least(setup, one), "pressure"),
    }
    side = "corner" if len(one.sides) == 1 else "line"
    cold = "Cold and altitude explain {explained} of the {lost} lost"
    if one.expected <= 0:
        cold = "Warmth and altitude would have raised it by {explained}, and {lost} were lost"
    template = (
        f"{cold} {one.where}; the rest is a leak of {{value}} a day at that {side}, give or take {{error}};"
        f" {_least_words(one)}."
    )
    level = "stop" if one.after < _least(setup, one) else "caution"
    return Finding("stop" if level == "stop" else "caution", f"leak-{one.code}", template, MODEL, amounts)


def _least_words(one: Loss) -> str:
    """Return when a leaking line is at its least pressure."""
    if one.days_to_least == 0:
        return "it is under its least pressure, {limit}, now"
    if math.isinf(one.days_to_least):
        return "it does not get down to its least pressure, {limit}"
    latest = "" if math.isinf(one.latest) else f" to {_number(one.latest)}"
    band = f", {_number(one.soonest)}{latest} by the gauge's error" if latest else ""
    return f"at least pressure, {{limit}}, in {_number(one.days_to_least)} days{band}"


def _number(days: float) -> str:
    """Return a number of days, to a tenth where there are few."""
    return f"{days:.1f}" if days < 9.95 else f"{days:.0f}"


def _next_test(setup: Setup, losses: Sequence[Loss], leaking: Sequence[Loss]) -> Finding:
    """Return what the lines that leak point to, and what to try next."""
    if len(leaking) == len(losses) > 1:
        template = (
            "Every line lost air, so look at what they share: the valve block, the check valve of the tank, or a"
            " thermometer or gauge read wrongly once. Read all of them again with one gauge; then soap the valve block"
            " and every port of it."
        )
        return Finding("note", "next-test-all", template, "common practice")
    parts = "; ".join(_what_to_soap(setup, one) for one in leaking)
    template = f"Next: a soap test. {parts}."
    return Finding("note", f"next-test-{leaking[0].code}", template, "common practice")


def _what_to_soap(setup: Setup, one: Loss) -> str:
    if len(one.sides) == 2:
        return (
            f"Both {one.where} bags hang on one line, so a gauge cannot tell which: soap its tee and valve first, then"
            " each bag's fitting and beads; pinch one bag off overnight to tell them apart"
        )
    steel = (setup.truck.front, setup.truck.rear)[one.axle].steel_rate > 0
    sinks = "the bag's pressure, as the steel holds the corner up" if steel else "that corner's height"
    return (
        f"Soap the {one.where} bag's fitting and its beads, the line where it rubs, and its valve at the block, with"
        f" the bag at its usual pressure; watch {sinks}"
    )


def _tight(one: Loss) -> Finding:
    """Return that a line beside one that leaks is tight, whatever its gauge says."""
    amounts: dict[str, tuple[float, Kind]] = {"value": (abs(one.lost), "pressure")}
    goes = "fell" if one.lost >= 0 else "rose"
    template = (
        f"The {one.where} gauge {goes} by {{value}}: the cold, the other side sinking and the gauge explain that."
    )
    return Finding("note", f"tight-{one.code}", template, MODEL, amounts)


def _perhaps(one: Loss) -> Finding:
    amounts: dict[str, tuple[float, Kind]] = {
        "value": (one.lost - one.expected, "pressure"),
        "explained": (abs(one.expected), "pressure"),
        "lost": (one.lost, "pressure"),
        "error": (one.sd, "pressure"),
    }
    cold = "cold and altitude explain {explained} of it" if one.expected > 0 else "cold and altitude none of it"
    template = (
        f"The {one.where} gauge fell by {{lost}}: {cold}; the other {{value}} may be a leak, or the gauge, which"
        " may be off by {error}. Let it stand twice as long, or use a finer gauge."
    )
    return Finding("note", f"perhaps-{one.code}", template, MODEL, amounts)


def _gained(one: Loss) -> Finding:
    amounts: dict[str, tuple[float, Kind]] = {"value": (one.expected - one.lost, "pressure")}
    template = (
        f"The {one.where} line holds {{value}} more than it should: was air let in, load put on, or a gauge or "
        "temperature misread?"
    )
    return Finding("caution", f"gained-{one.code}", template, MODEL, amounts)


def _no_leak(losses: Sequence[Loss]) -> Finding:
    worst = max(losses, key=lambda one: one.lost)
    amounts: dict[str, tuple[float, Kind]] = {
        "value": (abs(worst.lost), "pressure"),
        "explained": (abs(worst.expected), "pressure"),
        "smallest": (max(one.smallest_seen for one in losses), "pressure"),
    }
    template = (
        f"No leak that these gauges can show: most was lost {worst.where}, {{value}}. Cold and altitude"
        " explain {explained}; gauge error may be the rest. A leak of {smallest} a day would be found on every"
        " second night; the longer it stands, the smaller a leak you can find."
    )
    return Finding("note", "no-leak", template, MODEL, amounts)


def _under_least(setup: Setup, one: Loss) -> Finding:
    amounts: dict[str, tuple[float, Kind]] = {
        "value": (one.after, "pressure"),
        "limit": (_least(setup, one), "pressure"),
    }
    template = f"The {one.where} gauge shows {{value}}, under the least pressure of {{limit}}: air it before driving."
    return Finding("caution", f"under-least-{one.code}", template, "the bag's least pressure", amounts)


def _least(setup: Setup, one: Loss) -> float:
    """Return the least pressure of a line's bags. [Pa]"""
    bag = (setup.truck.front, setup.truck.rear)[one.axle].bag
    assert bag is not None  # a line has bags
    return float(bag.least_pressure)
