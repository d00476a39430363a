"""How sure, in words: the sentences, the inputs and their spreads, the chances of findings, what a little more does."""

from __future__ import annotations

import math
from typing import Final

from planner.physics.validation import Array
from planner.plans.answer import AXLES, SIDES, Kind
from planner.plans.uncertainty.measure_next import Measurement
from planner.plans.uncertainty.result import WITHIN, Certainty, Chance
from planner.plans.uncertainty.sensitivity import HITCH, Sensitivity
from planner.plans.uncertainty.spreads import Spread
from planner.show.text.numbers import say, write
from planner.units.quantity import STANDARD_GRAVITY as G
from planner.units.quantity import Dimension, System, display, read

TIMES: Final = f"{10 * WITHIN:.0f} times in 10"
LOOSE: Final = 0.5  # from this share of the draws on, pressure is said not to fix a height
LEAST_CHANCE: Final = 0.005  # [-] below it a chance is "less than 1 %"
STEPS: Final[dict[Dimension, tuple[str, str]]] = {  # what "a little more" is: in US units, in metric ones
    "pressure": ("1 psi", "0.1 bar"),
    "weight": ("100 lb", "50 kg"),
    "length": ("1 in", "10 mm"),
}
FINDINGS: Final[dict[str, str]] = {  # codes of findings, with what follows the stem in its place
    "gvwr": "the truck is over its GVWR",
    "gcwr": "truck and trailer are over the GCWR",
    "gawr": "the {} axle is over its GAWR",
    "front-axle-light": "the front axle is too light to steer well",
    "tyre": "a {} tyre is over its rating",
    "wheel-lifts": "a {} wheel lifts",
    "pressure-high": "the {} bag is over its greatest pressure",
    "pressure-low": "the {} bag is under its least pressure",
    "bag-height-low": "the {} bag is down at the end of its chart",
    "bag-height-high": "the {} bag is up at the end of its chart",
    "bag-load": "the {} bag is over its load rating",
    "tongue-rating": "the tongue is over the hitch's rating",
    "trailer-rating": "the trailer is over the hitch's rating",
    "d-value": "truck and trailer are over the coupling's D-value",
    "v-value": "the trailer is over the coupling's V-value",
    "trailer-gvwr": "the trailer is over its GVWR",
    "trailer-axle": "an axle of the trailer is over its rating",
    "trailer-tyre": "a tyre of the trailer is over its rating",
    "trailer-side": "one side of the trailer carries too much of it",
    "tongue-ratio-low": "the tongue is too light",
    "tongue-ratio-high": "the tongue is too heavy",
    "lean-left-over": "a lean is left that a tape can tell",
    "frame-twist": "the frame holds a twist",
    "stance-not-reached": "the {} is off its height by more than a tape can tell",
    "sits-low": "the {} sits low with all the air that may go in",
    "gauge-too-coarse": "the gauge is too coarse for the wanted heights",
    "not-converged": "the truck does not settle",
    "tips-over": "the load tips it over",
    "headlamp-aim": "the headlights aim off",
    "height-not-fixed": "pressure alone does not fix the {} height",
    "side-bias-on-ball": "the side bias does not reach the truck",
}


ALMOST_ALWAYS: Final = 0.9  # [-] of cases


def sentences(sure: Certainty, system: System) -> list[str]:
    """Return what it comes to: how near level, how often a tape shows it off, and what is known least."""
    if sure.without_rest == 1.0:
        return ["With inputs off by as much as this the truck does not settle: make the spreads smaller."]
    loose = [name for name, share in zip(AXLES, sure.loose, strict=True) if share > LOOSE]
    by_tape = [f"Pressure alone does not fix the {name} height: set it by tape, not by gauge." for name in loose]
    most = least_known(sure)
    if most is None:
        exact = f"Every input is taken as exact: every corner is within {_near(sure, system)} of {goal(sure)}."
        return [*by_tape, exact, *_left_out(sure)]
    name, share = most
    first = (
        f"Within {_near(sure, system)} of {goal(sure)} at every corner, {TIMES}; "
        f"what you know least is the {name}: {percent(share)} of the spread comes from it."
    )
    if sure.out_of_level > ALMOST_ALWAYS:
        told = "By gauge alone you will almost always see a difference with a tape; trim by tape."
    else:
        told = f"By gauge alone you will see a difference with a tape {percent(sure.out_of_level)} of the time."
    return [*by_tape, first, told, *_left_out(sure)]


def _left_out(sure: Certainty) -> list[str]:
    """Return how many draws are not counted, as they come to no rest; nothing where all do."""
    if not sure.without_rest:
        return []
    return [f"In {percent(sure.without_rest)} of cases the truck does not settle; those are left out of all this."]


def goal(sure: Certainty) -> str:
    """Return what the heights are held against."""
    return "level" if sure.level_wanted else "the wanted stance"


def least_known(sure: Certainty) -> tuple[str, float] | None:
    """Return the group of inputs that matters most, and its share; None where nothing varies."""
    name = sure.shares.most
    return None if name is None else (name, float(sure.shares.total[sure.shares.groups.index(name)]))


def percent(share: float) -> str:
    """Return a share as people say a chance: "41 %", "less than 1 %", "all"."""
    if share >= 1.0 - LEAST_CHANCE:
        return "nearly 100 %" if share < 1.0 else "100 %"
    return f"{100 * share:.0f} %" if share >= LEAST_CHANCE else "less than 1 %"


def finding_words(code: str) -> str:
    """Return what a finding says, in a few words, by its code."""
    stem = code if code in FINDINGS else max((one for one in FINDINGS if code.startswith(f"{one}-")), key=len)
    return FINDINGS[stem].format(code.removeprefix(f"{stem}-").replace("-", " "))


def chance_words(chance: Chance) -> str:
    """Return how likely a finding is: "18 %: the rear axle is over its GAWR", and whether the plan has it already."""
    planned = " (the plan has it already)" if chance.now else ""
    return f"{percent(chance.share)}: {finding_words(chance.code)}{planned}."


def spread_words(spread: Spread, system: System) -> str:
    """Return one standard deviation as people write it: "± 216 lb", "± 1 %", "± 3 % of its own"."""
    own = " of its own" if spread.relative else ""
    if spread.kind == "rate":
        shown, unit = display(spread.value, "spring rate", system)
        return f"± {shown:.3g} {unit}" if shown < 1000 else f"± {shown:,.0f} {unit}"
    exact = 0 < spread.value < _least_shown(spread.kind, system)
    return f"± {say(spread.value, spread.kind, system, exact=exact)}{own}"


def sensitivity_lines(found: Sensitivity, system: System) -> list[str]:
    """Return what a little more of each thing does, a line each."""
    lines = [f"Pressure does not fix the {name} height: set this axle by tape, not by gauge." for name in found.by_tape]
    if found.roll_by_tape:
        return [*lines, "Nor does it fix how the truck leans: set all corners by tape."]
    psi, hundred, inch = (_step(kind, system) for kind in STEPS)
    for name, heights in found.by_pressure.items():
        both = "" if " " in name else " (both bags, one line)"
        lines.append(f"{psi[0]} more in the {name}{both}: {_moves(heights * psi[1], 'length', system)}.")
    for place, effect in found.by_load.items():
        where = "on the hitch" if place == HITCH else "in the bed over the rear axle"
        moves = f"{hundred[0]} more {where}: {_moves(effect.ride_height * hundred[1] * G, 'length', system)}"
        if effect.pressure is not None:
            moves += f"; to stand as before, {_moves(effect.pressure * hundred[1] * G, 'pressure', system)}"
        lines.append(f"{moves}.")
    for name, pressure in found.by_height.items():
        lines.append(f"{inch[0]} higher at the {name}: {_moves(pressure * inch[1], 'pressure', system)}.")
    return lines


def _near(sure: Certainty, system: System) -> str:
    """Return the distance that 9 in 10 stay within."""
    exact = sure.within < _least_shown("length", system)
    return say(sure.within, "length", system, exact=exact)


def _least_shown(kind: Kind, system: System) -> float:
    """Return below which SI value a number needs one more decimal to say something."""
    return {"length": 0.005 if system == "us" else 0.002, "weight": 2.0, "pressure": 7000.0}.get(kind, 0.0)


def _step(kind: Dimension, system: System) -> tuple[str, float]:
    """Return how much "a little more" is, as text and in SI."""
    said = STEPS[kind][system == "metric"]
    return said, float(read(said, kind))


def _moves(corners: Array, kind: Kind, system: System) -> str:
    """Return what changes at the corners: alike ones named once, those that do not move left to the end."""
    words: dict[str, list[str]] = {}
    for k, axle in enumerate(AXLES):
        said = [_move(float(corners[k, i]), kind, system) for i in (0, 1)]
        if said[0] == said[1]:
            words.setdefault(said[0], []).append(axle)
        else:
            for i, side in enumerate(SIDES):
                words.setdefault(said[i], []).append(f"{axle} {side}")
    still = words.pop("", [])
    moved = [f"{' and '.join(names)} {said}" for said, names in words.items()]
    if not moved:
        return "nothing that shows"
    return ", ".join(moved) + (f", {' and '.join(still)} as before" if still else "")


def _move(value: float, kind: Kind, system: System) -> str:
    """Return one change: "up 0.12 in", "down 0.04 in"; empty where it does not show or there is nothing to set."""
    if not math.isfinite(value):
        return ""
    written = write(abs(value), kind, system, exact=True)
    if not written.number.strip("0."):
        return ""
    return f"{'up' if value > 0 else 'down'} {written}"


def measure_words(next_one: Measurement, system: System) -> str:
    """Return what to find out next, and what it would be worth."""
    now, then = (say(value, "length", system) for value in (next_one.now, next_one.then))
    return (
        f"What to find out next: {next_one.group}. It takes you from within {now} to within {then}. To find "
        f"it out, {next_one.how}."
    )
