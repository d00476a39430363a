"""Trim: from gauges and tapes on a loaded truck to new pressures in one turn, and how sure they are."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final, Literal, NamedTuple

import numpy as np

from planner.errors import BadInput, Problem
from planner.physics.bag_limits import Limit
from planner.physics.standing_truck import StandingTruck
from planner.physics.validation import Array, Codes
from planner.plans.answer import AXLES, CORNERS, SIDES, Answer, Finding, Kind
from planner.plans.findings import worst_first
from planner.plans.level import answer_arrays, answer_of, level_setup, setting_of
from planner.plans.rating_findings import label_findings
from planner.plans.ratings import bags_decide, misses_wanted
from planner.plans.setup import Setup, rig_of
from planner.plans.uncertainty.reading_fit import (
    ASSUMED,
    Readings,
    Trucks,
    Unknowns,
    alone,
    design_heights,
    fit_readings,
    steered,
    unlisted,
)
from planner.plans.uncertainty.trim_pressures import NINETY_FIVE, Trimmed, trim_trucks
from planner.records import Reading

# χ² that one in 1,000 true readings passes, by the heights that were taped: NIST/SEMATECH e-Handbook, table 1.3.6.7.4
DOUBT: Final = {1: 10.83, 2: 13.82, 3: 16.27, 4: 18.47}
MODEL: Final = "the model's own equations of rest"
LIMITS: Final = {
    Limit.LEAST_PRESSURE: "its least pressure",
    Limit.GREATEST_PRESSURE: "its greatest pressure",
    Limit.LOAD_RATING: "its load rating",
    Limit.LOWEST_HEIGHT: "the lowest height of its chart",
    Limit.HIGHEST_HEIGHT: "the greatest height of its chart",
}
Amounts = dict[str, tuple[float, Kind]]
Leave = Literal["level", "no nearer", "bags cannot"]


class Estimate(NamedTuple):
    """A number that a reading tells, and within what of it the truth lies in 95 of 100, both SI."""

    value: float
    half_width: float


@dataclass(frozen=True, eq=False)
class Trim:
    """What a reading asks.

    Arrays are of shape (2, 2) [front, rear][left, right].

    Attributes
    ----------
    setup : what was loaded
    read_pressure, read_height : gauge [Pa] and hub to arch [m], NaN where not read
    axle_load, side_moment, hitch_load, side_share : what the reading says is carried [N, N·m, N, -]
    off_now : how high each corner of the body stands above where it is wanted [m]
    off_now_half_width : within what of it the truth lies in 95 of 100 [m]
    height_now, wanted_height, height_after : hub to arch, as it is, where it is to be and will be [m]
    pressure, set : that levels it, exactly and rounded to the gauge; NaN where there is no bag [Pa]
    off_after, half_width : how far off each corner will be, and within what of that in 95 of 100 [m]
    leave : why nothing is to be done; None where the new pressures are better
    after : the truck on the new pressures, as an answer with findings of its labels
    findings : worst first
    """

    setup: Setup
    read_pressure: Array
    read_height: Array
    axle_load: tuple[Estimate, Estimate]
    side_moment: Estimate
    hitch_load: Estimate
    side_share: Estimate
    off_now: Array
    off_now_half_width: Array
    height_now: Array
    wanted_height: Array
    height_after: Array
    pressure: Array
    set: Array
    off_after: Array
    half_width: Array
    leave: Leave | None
    after: Answer
    findings: tuple[Finding, ...]

    @property
    def stopped(self) -> bool:
        """Whether a finding says stop."""
        return any(finding.level == "stop" for finding in self.findings)


def trim(setup: Setup, reading: Reading, own: Mapping[str, float] | None = None, file: str = "") -> Trim:
    """Return the new pressures that a reading asks, in one turn, and what it says is carried.

    Parameters
    ----------
    setup : Setup
        What the truck is said to carry, and the wanted stance.
    reading : Reading
        Gauges and tapes; what is missing is assumed, and a finding says how.
    own : mapping of key to one standard deviation, optional
        Spreads that go before those of the files and typical ones; see `spreads_of`. [SI]
    file : str, optional
        What to call the reading in messages.

    Returns
    -------
    Trim

    Raises
    ------
    BadInput
        If the reading does not fit the truck, or no height was taped.

    Notes
    -----
    The most likely truck that explains the reading: loads and the truck's own numbers move within their spreads
    (`fit_readings`). That truck is levelled again. What a gauge is off by stays, so that it falls out of the change.

    Examples
    --------
    >>> from datetime import datetime
    >>> from planner import open_folder
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> setup = Setup.of(mill.profile, mill.truck, mill.trailer)
    >>> high = {"pressure": "38 psi", "ride_height": "20.9 in"}
    >>> reading = Reading(at=datetime(2026, 5, 4), rear_left=high, rear_right=high)
    >>> asked = trim(setup, reading)
    >>> bool((asked.set[1] < asked.read_pressure[1]).all())
    True
    """
    readings = readings_of(setup, reading, file)
    unknowns = Unknowns(setup, level_setup(setup), unlisted(setup), own)
    trimmed = trim_trucks(fit_readings(unknowns, readings))
    return _answer(setup, readings, trimmed)


def readings_of(setup: Setup, reading: Reading, file: str = "") -> Readings:
    """Return a reading as arrays of one case; BadInput where it does not fit the truck."""
    pressure, height, problems = np.full((1, 2, 2), np.nan), np.full((1, 2, 2), np.nan), list[Problem]()
    for place, corner in enumerate(CORNERS):
        k, i = divmod(place, 2)
        one = getattr(reading, corner)
        axle = (setup.truck.front, setup.truck.rear)[k]
        if one is not None and one.ride_height is not None:
            height[0, k, i] = float(one.ride_height)
        if one is not None and one.pressure is not None:
            pressure[0, k, i] = float(one.pressure)
            if axle.bag is None:
                rule = f"the {AXLES[k]} axle has no bag"
                problems.append(Problem(file, f"{corner}.pressure", f'"{one.pressure.text}"', rule, "leave it out"))
    if np.isnan(height).all():
        rule, remedy = "a trim needs the ride height of at least one corner", 'tape one: ride_height = "20.1 in"'
        problems.append(Problem(file, "ride_height", "none", rule, remedy))
    problems += _two_on_one_line(setup, reading, pressure[0], file)
    if problems:
        raise BadInput(problems)
    return Readings(pressure, height)


def _two_on_one_line(setup: Setup, reading: Reading, pressure: Array, file: str) -> Iterator[Problem]:
    """Make the pressures of bags on one line one; yield what is wrong where a gauge could tell them apart."""
    for k, joined in enumerate(rig_of(setup.truck).joined):
        read = pressure[k][~np.isnan(pressure[k])]
        if joined and len(read):
            if np.ptp(read) > float(setup.truck.instruments.gauge_step) * 1.001:
                texts = (getattr(reading, f"{AXLES[k]}_{side}").pressure.text for side in SIDES)
                got, remedy = " and ".join(f'"{text}"' for text in texts), "read the line's gauge again"
                yield Problem(file, f"{AXLES[k]}_left.pressure", got, "both bags share one line", remedy)
            pressure[k] = read.mean()


def _answer(setup: Setup, readings: Readings, trimmed: Trimmed) -> Trim:
    """Return one case as an answer."""
    found, bag = trimmed.found, rig_of(setup.truck).has_bag[:, None]
    truck, state = alone(found.trucks(), 0), trimmed.after.state[0]
    now, after = (design_heights(setup) + one.ride_heights()[0] for one in (truck, truck._replace(state=state[None])))
    answer = _truck_after(setup, truck, trimmed)
    value, spread = trimmed.inferred, trimmed.inferred_deviation

    def told(name: str) -> Estimate:
        return Estimate(float(getattr(value, name)[0]), NINETY_FIVE * float(getattr(spread, name)[0]))

    front, rear = (Estimate(float(value.axle_load[0, k]), NINETY_FIVE * float(spread.axle_load[0, k])) for k in (0, 1))
    result = Trim(
        setup=setup,
        read_pressure=readings.pressure[0],
        read_height=readings.ride_height[0],
        axle_load=(front, rear),
        side_moment=told("side_moment"),
        hitch_load=told("hitch_load"),
        side_share=told("side_share"),
        off_now=trimmed.off_now[0],
        off_now_half_width=NINETY_FIVE * trimmed.off_now_deviation[0],
        height_now=now,
        wanted_height=after - trimmed.off_after[0],
        height_after=after,
        pressure=np.where(bag, trimmed.pressure[0], np.nan),
        set=np.where(bag, trimmed.shown[0], np.nan),
        off_after=trimmed.off_after[0],
        half_width=trimmed.half_width[0],
        leave=_leave(setup, readings, trimmed),
        after=answer,
        findings=(),
    )
    return replace(result, findings=worst_first(_findings(result, trimmed)))


def _truck_after(setup: Setup, truck: Trucks, trimmed: Trimmed) -> Answer:
    """Return the truck that the reading tells of on its new pressures, yet without findings."""
    state = trimmed.after.state[0]
    stands = StandingTruck(truck.rig, truck.load.take(slice(0, 1)), state[None], trimmed.after.pressure)
    arrays = answer_arrays(setup, stands)
    one = {name: value[0] for name, value in arrays.items()}
    bag, shown = truck.rig.has_bag[:, None], trimmed.shown[0]
    one["hitch_load"] = truck.hitch_load[0]
    one["pressure"] = np.where(bag, trimmed.pressure[0], np.nan)
    of_bags = {name: one[name] for name in ("bag_height", "bag_load")}
    setting = setting_of(setup, state, {"pressure": np.where(bag, shown, np.nan), **of_bags})
    return answer_of(setup, state, one, setting, converged=bool(trimmed.after.converged[0]))


def _leave(setup: Setup, readings: Readings, trimmed: Trimmed) -> Leave | None:
    """Return why the truck is best left as it is; None where the new pressures are better."""
    decided = bags_decide(setup)
    if not decided.any():
        return "bags cannot"
    state = trimmed.found.trucks().state
    if not (misses_wanted(setup, state, setup.wanted) & decided).any():
        return "level"
    corners = steered(rig_of(setup.truck))
    read = readings.pressure[0][corners]
    same = np.abs(trimmed.shown[0][corners] - read) < 0.5 * float(setup.truck.instruments.gauge_step)
    now, after = (np.abs(off[0][corners]).max() for off in (trimmed.off_now, trimmed.off_after))
    return "no nearer" if same.all() or after >= now else None


def _findings(result: Trim, trimmed: Trimmed) -> Iterator[Finding]:
    """Yield what the owner should know."""
    setup = result.setup
    if not result.after.converged:
        text = "The truck does not settle on the new pressures: do not set them. Read gauges and tapes again."
        yield Finding("stop", "not-converged", text, MODEL)
    yield from label_findings(setup, result.after, None)
    yield from _doubtful(result, trimmed)
    yield from _at_its_end(trimmed)
    yield from _still_off(result, trimmed.held[0])
    yield from _assumed(result)
    yield from blind_findings(setup, result.axle_load)
    for name, fixed, bag in zip(AXLES, trimmed.after.fixed[0], rig_of(setup.truck).has_bag, strict=True):
        if bag and not fixed:
            text = f"Pressure alone does not hold the {name} axle at one height: set it by tape, and shut the valves."
            yield Finding("caution", f"height-not-fixed-{name}", text, "stiffness at constant pressure")


def _doubtful(result: Trim, trimmed: Trimmed) -> Iterator[Finding]:
    """A reading that this truck makes less than once in 1,000 times, and the number in it that fits least."""
    taped = int((~np.isnan(result.read_height)).sum())
    if float(trimmed.found.misfit[0]) <= DOUBT[taped]:
        return
    given = [("pressure", result.read_pressure), ("ride height", result.read_height)]
    places = [(n, place) for n, (_, part) in enumerate(given) for place in np.flatnonzero(~np.isnan(part.ravel()))]
    parts = [np.repeat(part.reshape(1, 4), len(places), axis=0) for _, part in given]
    for case, (n, place) in enumerate(places):
        parts[n][case, place] = np.nan
    without = fit_readings(trimmed.found.unknowns, Readings(*(part.reshape(-1, 2, 2) for part in parts)))
    least = int(np.argmin(without.misfit))
    n, place = places[least]
    name, corner = given[n][0], CORNERS[place].replace("_", " ")
    value, kind = float(given[n][1].ravel()[place]), _KINDS[name]
    text = (
        f"These numbers do not fit this truck as it is described. The {name} {corner}, {{value}}, fits "
        "least: read it again, and see that no two corners are swapped."
    )
    yield Finding("caution", "reading-doubtful", text, MODEL, {"value": (value, kind)})


_KINDS: Final[dict[str, Kind]] = {"pressure": "pressure", "ride height": "length"}


def _at_its_end(trimmed: Trimmed) -> Iterator[Finding]:
    """A bag at the end of its travel: its gauge tells nothing of the load, so that one turn may not do."""
    for place in np.flatnonzero(trimmed.found.on_stop[0]):
        text = (
            f"The {CORNERS[place].replace('_', ' ')} bag is at the end of its travel, where its gauge says nothing "
            "about the load: after this turn, read and tape again."
        )
        code = f"on-stop-{CORNERS[place].replace('_', '-')}"
        yield Finding("caution", code, text, "chart of the bag")


def _still_off(result: Trim, held: Codes) -> Iterator[Finding]:
    """What the new pressures do not reach, and why."""
    tape = float(result.setup.truck.instruments.tape_error)
    off = np.abs(result.off_after)
    if off.max() <= tape:
        return
    place = int(np.argmax(off))
    way = "high" if result.off_after.ravel()[place] > 0 else "low"
    corners = [n for n in range(4) if held.ravel()[n] != Limit.NONE]
    amounts: Amounts = {"value": (float(off.max()), "length"), "limit": (tape, "length")}
    start = f"{CORNERS[place].replace('_', ' ').capitalize()} stays {{value}} {way}: "
    if corners:
        at = " and ".join(
            f"the {CORNERS[n].replace('_', ' ')} bag is at {LIMITS[Limit(held.ravel()[n])]}" for n in corners
        )
        yield Finding("caution", "trim-limit", f"{start}{at}.", "maker's limit of the bag", amounts)
    elif bags_decide(result.setup).all():
        amounts["step"] = (float(result.setup.truck.instruments.gauge_step), "step")
        text = f"{start}one step of the gauge, {{step}}, moves this truck more than a tape can tell."
        yield Finding("note", "trim-step", text, MODEL, amounts)
    else:
        text = f"{start}with steel, or one line for two bags, air cannot fix it."
        yield Finding("note", "trim-out-of-reach", text, MODEL, amounts)


def _assumed(result: Trim) -> Iterator[Finding]:
    """What was not read, and what stands in its place."""
    rig, planned = rig_of(result.setup.truck), level_setup(result.setup).set.pressure
    for place, corner in enumerate(CORNERS):
        k, i = divmod(place, 2)
        called, code = corner.replace("_", " "), corner.replace("_", "-")
        if rig.has_bag[k] and np.isnan(result.read_pressure[k, i]) and not (rig.joined[k] and i):
            text = f"No pressure was read {called}: the plan's {{value}} is assumed, give or take {{spread}}."
            pressure: Amounts = {"value": (float(planned[k, i]), "pressure"), "spread": (ASSUMED, "step")}
            yield Finding("note", f"assumed-pressure-{code}", text, "common practice", pressure)
        if np.isnan(result.read_height[k, i]):
            text = f"No height was taped {called}: {{value}} is worked out from the other corners and the planned load."
            height: Amounts = {"value": (float(result.height_now[k, i]), "length")}
            yield Finding("note", f"assumed-height-{code}", text, MODEL, height)


def blind_findings(setup: Setup, estimates: tuple[Estimate, Estimate]) -> Iterator[Finding]:
    """Yield what steel or a shared line keeps the gauges from showing; the axles' loads as they were read."""
    rig = rig_of(setup.truck)
    for k, name in enumerate(AXLES):
        if not rig.has_bag[k]:
            text = (
                f"Steel carries the {name} axle and no gauge shows its load: "
                "from the tape alone it is {value}, give or take {half_width}."
            )
            load: Amounts = {"value": (estimates[k].value, "load"), "half_width": (estimates[k].half_width, "load")}
            yield Finding("note", f"blind-steel-{name}", text, MODEL, load)
        elif rig.joined[k]:
            text = (
                f"The {name} bags share one line: the gauge shows what both carry together, not which side, and what "
                "lies to one side is known from the lean alone."
            )
            yield Finding("note", f"blind-joined-{name}", text, MODEL)
