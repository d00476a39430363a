"""Where a truck does not stand as wanted: by how much, what is in the way, and the air or the load that mends it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np

from planner.physics.bag_limits import Limit
from planner.physics.validation import Array, Codes, Flags
from planner.plans.answer import AXLES, SIDES, Answer, Finding, Stance
from planner.plans.rating_findings import AIR, BAG_LIMIT, Amounts, Plan, at_most
from planner.plans.ratings import LOW, Check, bags_decide, corners_of_low, left_by_gauge, off_wanted, sits_low
from planner.plans.setup import Setup
from planner.plans.unloading import Unloading, unloading
from planner.records import Axle

TAPE: Final = "limit: what the tape can tell"
TOO_COARSE: Final = "gauge-too-coarse"
BY_TAPE: Final = "set it by tape, not by gauge"
BETTER: Final = 0.5  # [-] of the tape's error by which other pressures must mend a stance to be told


@dataclass(frozen=True)
class Ways:
    """How an answer was come by, as far as the findings ask: they look no further than they must.

    Attributes
    ----------
    held : the Limit each corner was held at, shape (2, 2)
    fixed : whether pressure fixes each axle's height, shape (2,)
    converged : whether the truck rests so, at the exact and at the set pressures
    upright : whether springs and shut-in air keep it from tipping over
    plan : gives the answer that levels the truck, where this one is of pressures that were given
    finer : gives the step of a gauge that would do, where pressures are rounded to one; None where none does [Pa]
    on_road : whether this is how it is driven, not a stage of hitching
    passed : labels that it passes, where they were looked at before
    """

    held: Codes
    fixed: Flags
    converged: bool
    upright: bool = True
    plan: Plan | None = None
    finer: Callable[[], float | None] | None = None
    on_road: bool = True
    passed: Sequence[Check] | None = None


def stance_findings(setup: Setup, answer: Answer, ways: Ways) -> Iterator[Finding]:
    """Yield what is left of lean and height: first what limits leave over, then what the gauge does."""
    over = _overloads(setup, answer, ways) if ways.on_road else {}
    off = unloading(setup) if over else None
    yield from (_too_much(setup, low, off) for low in over.values())
    exact, at_set = stance_off_wanted(setup, answer.stance), stance_off_wanted(setup, answer.set.stance)
    left = _left_over(setup, exact, at_set)
    if not any(" " in who for who in over):
        yield from _lean(setup, answer, ways, float(left[2]))
    yield from _heights(setup, answer, ways, over, left)
    if ways.finer is not None:
        yield from _gauge(setup, exact, at_set, ways.finer)


def stance_off_wanted(setup: Setup, stance: Stance) -> Array:
    """Return how much higher than wanted front, rear and left side stand, (3,). [m]"""
    return off_wanted(setup, _state(stance), setup.wanted)


def _state(stance: Stance) -> Array:
    return np.array([stance.front, stance.rear, stance.roll])


def _left_over(setup: Setup, exact: Array, at_set: Array) -> Array:
    """Return what limits leave over of front, rear and lean, 0 where a tape cannot tell it at exact pressures. [m]"""
    tape = _tape(setup)
    told = np.where((exact * at_set > 0) & (np.abs(at_set) > tape), at_set, exact)
    return np.where(np.abs(exact) > tape, told, 0.0)


def _tape(setup: Setup) -> float:
    return float(setup.truck.instruments.tape_error)


def _gauge(setup: Setup, exact: Array, at_set: Array, finer: Callable[[], float | None]) -> Iterator[Finding]:
    """What a gauge leaves over that can be set to whole steps only, where the exact pressures leave nothing."""
    tape = _tape(setup)
    off = left_by_gauge(setup, exact, at_set)
    worst = int(np.abs(off).argmax())
    if not off[worst]:
        return
    way = ("low", "high")[int(off[worst] > 0)]
    how = f"leans {{value}} to the {('left', 'right')[int(off[worst] > 0)]}, over the rear track"
    if worst < len(AXLES):
        how = f"sits {{value}} {way} at the {AXLES[worst]}"
    step, does = float(setup.truck.instruments.gauge_step), finer()
    amounts: Amounts = {"value": (abs(float(off[worst])), "length"), "limit": (tape, "length"), "step": (step, "step")}
    if does is None:
        advice = BY_TAPE
    else:
        advice, amounts["does"] = "use a gauge that reads to {does}, or set it by tape", (does, "step")
    yield Finding(
        "caution",
        TOO_COARSE,
        f"Set in whole steps of {{step}}, the truck {how}: {advice}.",
        TAPE,
        amounts,
    )


def _lean(setup: Setup, answer: Answer, ways: Ways, lean: float) -> Iterator[Finding]:
    """A lean that is left: air where the plan has less of it, else load across."""
    tape = _tape(setup)
    if not lean:
        return
    low, high = ("right", "left") if lean > 0 else ("left", "right")
    amounts: Amounts = {"value": (abs(lean), "length"), "limit": (tape, "length")}
    if _air_mends(setup, ways, 2, lean):
        advice, more = _air(setup, answer, _best(answer, ways))
    elif _air_mends(setup, ways, 2, lean, by_gauge=False):
        advice, more = BY_TAPE, {}
    else:
        advice, more = _across(setup, high), {}
    yield Finding(
        "caution",
        "lean-left-over",
        f"The {low} side stays {{value}} too low against the {high}, measured over the rear track: {advice}.",
        TAPE,
        amounts | more,
    )


def _across(setup: Setup, high: str) -> str:
    """Return what to do about a lean that air cannot take out."""
    if setup.stance.lean:
        advice = "ask for less lean"
    elif setup.cargo:
        advice = f"shift load to the {high} on the truck"
    else:
        advice = "it is the truck's own weight" if setup.trailer is None else "there is nothing on the truck to shift"
    if bags_decide(setup)[2]:
        return advice
    return f"no bag has its own line, so air cannot correct a lean; {advice}"


def _heights(setup: Setup, answer: Answer, ways: Ways, told: Collection[str], left: Array) -> Iterator[Finding]:
    """Where the wanted height is not reached: by how much, and which limit at which corner stands in the way."""
    tape = _tape(setup)
    for k, (name, axle) in enumerate(zip(AXLES, (setup.truck.front, setup.truck.rear), strict=True)):
        rise = float(left[k])
        if not rise or name in told:
            continue
        amounts: Amounts = {"value": (abs(rise), "length"), "limit": (tape, "length")}
        if axle.bag and _air_mends(setup, ways, k, rise):
            why, more = _air(setup, answer, _best(answer, ways))
        elif axle.bag and _air_mends(setup, ways, k, rise, by_gauge=False):
            why, more = BY_TAPE, {}
        else:
            why, more = _reason(name, axle, ways.held[k], rise)
        yield Finding(
            "caution" if axle.bag else "note",
            f"stance-not-reached-{name}",
            f"The {name} stays {{value}} {'above' if rise > 0 else 'below'} the wanted height: {why}.",
            TAPE,
            amounts | more,
        )


def _reason(name: str, axle: Axle, held: Codes, rise: float) -> tuple[str, Amounts]:
    """Return why an axle stands where it does, the limit that holds it or the lack of a bag, and a way out."""
    bag, code = axle.bag, Limit(int(held.max()))
    if bag is None:
        return "it has no bag, and that is where its steel holds it", {}
    if code == Limit.NONE:
        return "that is what its pressures give", {}
    corners = " and ".join(side for side, at in zip(SIDES, held, strict=True) if at)
    end, height = ("lowest", bag.lowest) if code == Limit.LOWEST_HEIGHT else ("greatest", bag.highest)
    told: dict[Limit, tuple[str, Amounts]] = {
        Limit.LEAST_PRESSURE: ("its least pressure of {at}", {"at": (bag.least_pressure, "pressure")}),
        Limit.GREATEST_PRESSURE: ("its greatest pressure of {at}", {"at": (bag.greatest_pressure, "pressure")}),
        Limit.LOAD_RATING: ("its load rating of {at}", {"at": (bag.load_rating or 0.0, "load")}),
        Limit.LOWEST_HEIGHT: (f"the {end} height of its chart, {{at}}", {"at": (height, "length")}),
        Limit.HIGHEST_HEIGHT: (f"the {end} height of its chart, {{at}}", {"at": (height, "length")}),
    }
    limit, amounts = told[code]
    way_out = "lower" if rise < 0 else "higher"
    return f"the {name} {corners} bag is held at {limit}. Ask for a {way_out} stance there", amounts


def _air_mends(setup: Setup, ways: Ways, part: int, off: float, *, by_gauge: bool = True) -> bool:
    """Tell whether the planned pressures take something out of a rise or a lean that given ones leave over. [m]

    By gauge they do so at its whole steps, and only where pressure fixes all heights: else the truck, aired to them,
    may come to rest elsewhere.
    """
    if ways.plan is None:
        return False
    plan = ways.plan()
    if by_gauge and any(one.code.startswith("height-not-fixed") for one in plan.findings):
        return False
    stance = plan.set.stance if by_gauge else plan.stance
    return abs(float(stance_off_wanted(setup, stance)[part])) < abs(off) - BETTER * _tape(setup)


def _air(setup: Setup, answer: Answer, plan: Answer) -> tuple[str, Amounts]:
    """Return which corners to air up or down, and to what, so that the truck stands as planned."""
    axles, half = (setup.truck.front, setup.truck.rear), float(setup.truck.instruments.gauge_step) / 2.0
    words: list[str] = []
    amounts: Amounts = {}
    for k, name in enumerate(AXLES):
        joined = axles[k].plumbing == "joined"
        for i, side in enumerate(SIDES):
            now, to = float(answer.set.pressure[k, i]), float(plan.set.pressure[k, i])
            if axles[k].bag is None or (joined and i) or not abs(to - now) > half:
                continue
            key, bag = f"{name}_{side}", f"{name} bags" if joined else f"{name} {side}"
            words.append(f"air the {bag} up to {{{key}}}" if to > now else f"let the {bag} down to {{{key}}}")
            amounts[key] = (to, "step")  # a whole number of them
    return " and ".join((", ".join(words[:-1]), words[-1]) if len(words) > 1 else words) or "air it as planned", amounts


# Overload


class _Low(NamedTuple):
    """What sits low although a bag there may take no more.

    who : an axle or a side, in words
    by : how low [m]
    full : corners (axle, side) whose bags hold all the air or load they may
    """

    who: str
    by: float
    full: tuple[tuple[int, int], ...]


def _overloads(setup: Setup, answer: Answer, ways: Ways) -> dict[str, _Low]:
    """Return what is lower than level and wanted, at the best that air can do too, with a bag there that is full."""
    now = sits_low(setup, _state(answer.stance), np.ones((2, 2), bool))
    if not now.any():
        return {}
    best = _best(answer, ways)
    full = np.array([[at_most(setup, best, k, i) for i in (0, 1)] for k in (0, 1)])
    still = sits_low(setup, _state(best.stance), full)
    found = {}
    for n, corners in enumerate(full & corners_of_low(setup)):
        if now[n] and still[n]:
            found[LOW[n]] = _Low(LOW[n], float(now[n]), tuple((int(k), int(i)) for k, i in np.argwhere(corners)))
    return found


def _best(answer: Answer, ways: Ways) -> Answer:
    """Return the best that air can do: what is planned where pressures were given, else this answer."""
    return ways.plan() if ways.plan is not None else answer


def _too_much(setup: Setup, low: _Low, off: Unloading | None) -> Finding:
    """Return the finding of what may take no more air or load, and how much load must come off."""
    amounts: Amounts = {"value": (low.by, "length"), "limit": (_tape(setup), "length")}
    corners = " and ".join(f"{AXLES[k]} {SIDES[i]}" for k, i in low.full)
    bags = "bags hold" if len(low.full) > 1 else "bag holds"
    if off is None:
        loaded = bool(setup.cargo or setup.trailer)
        advice = "Taking all its load off does not bring it back" if loaded else "There is nothing on it to take off"
        advice += ": ask for a lower stance, or have bags and springs looked at"
    else:
        parts = []
        for name, weight in zip(off._fields, off, strict=True):
            if weight > 0:
                parts.append(f"{{off_{name}}} off the {name}")
                amounts[f"off_{name}"] = (weight, "weight")
        advice = f"Take {' and '.join(parts)}, evenly, to bring it back"
    return Finding(
        "stop",
        f"sits-low-{low.who.split()[0]}",
        f"The {low.who} sits {{value}} low, and the {corners} {bags} all the air or load allowed. {advice}. {AIR}",
        BAG_LIMIT,
        amounts,
    )
