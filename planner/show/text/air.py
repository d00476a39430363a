"""The air budget in words: is there enough, how long does it take, when to drain."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import replace
from typing import Any, Final

import numpy as np

from planner.plans.air_budget import MOST_CYCLES, AirBudget, DemandAnswer, air_budget
from planner.plans.air_moves import AirMove, Between
from planner.plans.answer import AXLES, CORNERS
from planner.plans.hitching_stages import HitchPlan
from planner.plans.setup import Setup
from planner.plans.typical_air import air_estimates, typical_numbers, with_typical_air
from planner.records import Truck
from planner.show.drawings.svg import clean
from planner.show.text.as_json import corners, finding_object, number
from planner.show.text.numbers import say, write_time
from planner.show.text.report import LINE, finding_lines
from planner.show.text.words import marked
from planner.units.quantity import System, display

LITRE, CUBIC_FOOT, OUNCE = 1e-3, 0.028316846592, 0.0295735295625  # [m³, m³, kg of water in a US fluid ounce]
STEEL: Final = (
    "Water rusts a plain steel tank from inside, and the flakes jam valves (common practice). Drain it at its lowest "
    "point, the pressure let down first."
)
SUPPLY_HEADS: Final = ("cycles", "running", "pump-up", "from 0", "waits")
SUPPLY_HOW: Final = (
    "Cycles: from a full tank before the compressor must run; running: back to back with it. Pump-up: from cut-in, and "
    "from empty. Waits: at the first move that the tank cannot feed, and for how long in all."
)
FED: Final = "The tank feeds every move without a wait."
NO_STAGES: Final = "With no trailer there is nothing to hitch; what is told is a levelling."


def air_lines(name: str, budget: AirBudget, system: System) -> list[str]:
    """Return the air budget as lines for a terminal."""
    lines = [clean(name), *_wrapped(answer_sentences(budget, system)), ""]
    width = max(len(corner) for corner in CORNERS)
    for move in all_moves(budget):
        lines.append(f"{move.name.upper()}  {move_words(move, system)}")
        for k, axle in enumerate(AXLES):
            for i, side in enumerate(("left", "right")):
                words = corner_words(move, k, i, system)
                lines += [f"  {f'{axle} {side}':<{width}}  {words}"] if words else []
    lines += _wrapped(demand_words(demand, system) for demand in budget.demands)
    lines += ["", *_wrapped(compressor_sentences(budget, system)), *_wrapped(water_sentences(budget, system)), ""]
    return [*lines, *([FED] if is_fed(budget) else []), *finding_lines(budget.findings, system)]


def is_fed(budget: AirBudget) -> bool:
    """Tell whether the tank feeds every move without a wait."""
    return all(move.stalled is None for move in all_moves(budget))


def _wrapped(sentences: Iterable[str]) -> list[str]:
    """Return sentences as lines, each beginning a line of its own."""
    return [line for sentence in sentences for line in textwrap.wrap(sentence, LINE)]


def answer_sentences(budget: AirBudget, system: System) -> list[str]:
    """Return whether there is enough and how long it takes, in one sentence or two."""
    if not budget.moves:
        return [NO_STAGES, f"Levelling from the empty truck takes {_took(budget.levelling, system)}."]
    stalls = [move.name for move in budget.moves if move.stalled is not None]
    if stalls:
        return [f"The tank runs short at {', '.join(stalls)}."]
    each = sum(float(np.nansum(move.free_air)) for move in budget.moves)
    count = budget.cycles or 0
    few, many = _cycles_between(budget)
    counted = f"{few} to {many}" if few < many else f"{count}"
    enough = (
        f"The tank gives {counted} hitching {'cycle' if counted == '1' else 'cycles'} before the compressor must run"
        if many
        else "The compressor must run before one hitching cycle is done"
    )
    return [f"{enough}; a cycle takes {say_free_air(each, system)} of free air.", cycle_times(budget)]


def _cycles_between(budget: AirBudget) -> tuple[int, int]:
    """Return how many whole cycles the tank gives at the least and at the most, 19 times in 20."""
    count = budget.cycles or 0
    band = budget.band.get("cycles")
    return (count, count) if band is None else (int(band.low), int(band.high))


def cycle_times(budget: AirBudget) -> str:
    """Return how long the air of each move of hitching takes, in a sentence; empty with no trailer."""
    times = [f"{move.name} {time_words(move.longest, move.band)}" for move in budget.moves]
    return f"Air time{typical_mark(budget.setup.truck)}: {', '.join(times)}." if times else ""


def supply_row(budget: AirBudget) -> tuple[str, ...]:
    """Return what a supply gives, in the few words that stand under SUPPLY_HEADS."""
    stalls = [move for move in all_moves(budget) if move.stalled is not None]
    waits = [move.stalled.wait for move in stalls if move.stalled is not None]
    return (
        "–" if budget.cycles is None else str(budget.cycles),
        "–" if budget.cycles_with_compressor is None else _many(budget.cycles_with_compressor),
        time_words(budget.pump_up_time),
        time_words(budget.first_pump_up_time),
        f"{stalls[0].name}: {time_words(sum(waits))}" if stalls else "none",
    )


def _many(count: int) -> str:
    """Return a number of cycles, which are looked at up to a most."""
    return f"{count} or more" if count >= MOST_CYCLES else str(count)


def compressor_sentences(budget: AirBudget, system: System) -> Iterator[str]:
    """Yield what the compressor does: from cut-in to cut-out, from empty, its rest, how soon the next cycle."""
    supply, band = budget.supply, budget.band
    low, high = (say(value, "pressure", system) for value in (supply.cut_in, supply.cut_out))
    yield (
        f"Compressor: {low} to {high} in {time_words(budget.pump_up_time, band.get('pump_up_time'))}, from empty in "
        f"{time_words(budget.first_pump_up_time, band.get('first_pump_up_time'))}."
        + (
            f" Its duty of {say(supply.duty, 'share', system)} asks for "
            f"{time_words(budget.rest, band.get('rest'))} of rest after that."
            if budget.rest > 0
            else ""
        )
    )
    if budget.cycle_interval is not None and budget.cycles_with_compressor is not None:
        many = budget.cycles_with_compressor
        count = f"{many} or more cycles" if many >= MOST_CYCLES else f"{many} {'cycle' if many == 1 else 'cycles'}"
        yield (
            f"With it running: {count} back to back without a wait, or one every "
            f"{time_words(budget.cycle_interval, band.get('cycle_interval'))} for as long as you like."
        )


def water_sentences(budget: AirBudget, system: System) -> Iterator[str]:
    """Yield how much water the tank collects and when to drain it."""
    use, water = budget.use, budget.water
    number, unit = display(use.temperature, "temperature", system)
    yield (
        f"Water: {water_words(water.per_day, system)} a day, {water_words(water.per_week, system)} a week, at "
        f"{number:.0f} {unit}, {say(use.humidity, 'share', system)} humidity and {use.cycles:g} "
        f"{'cycle' if use.cycles == 1 else 'cycles'} a day; leaks add to it. Drain it every "
        f"{time_words(water.drain_every)} at the latest."
    )
    yield f"{marked('caution')} {STEEL}"


def all_moves(budget: AirBudget) -> list[AirMove]:
    """Return the moves of the cycle, then the levelling and the change-over where there is one."""
    return [*budget.moves, budget.levelling, *([budget.change_over] if budget.change_over else [])]


def move_words(move: AirMove, system: System) -> str:
    """Return what a move takes from the tank and leaves in it."""
    lost = float(np.nansum(move.vented))
    return (
        f"{_took(move, system)}; tank then at {say(move.tank_pressure, 'pressure', system)}"
        f"{f'; {say_free_air(lost, system)} let out and lost' if lost >= 0.05 * LITRE else ''}"
    )


def _took(move: AirMove, system: System) -> str:
    """Return what a move takes and how long that lasts; where it only lets air out, how long alone."""
    time = time_words(move.longest, move.band)
    if not np.nansum(move.free_air) > 0.0:
        return f"none needed, {time} to let it out" if move.longest > 0 else "none needed"
    return f"{say_free_air(float(np.nansum(move.free_air)), system)} of free air in {time}"


def stage_words(budget: AirBudget, name: str, system: System) -> str:
    """Return the air of one move of hitching, by its name: what goes in or out, how long, what the tank has then.

    Empty where there is no such move.
    """
    found = [move for move in budget.moves if move.name == name]
    return f"Air{typical_mark(budget.setup.truck)}: {move_words(found[0], system)}" if found else ""


def stages_in_words(setup: Setup, system: System, plan: HitchPlan | None = None) -> dict[str, str]:
    """Return the air of each move of hitching in words, by its name, from a typical supply where none is known.

    Empty where the truck finds no rest on the way from one stage to the next.
    """
    with suppress(ArithmeticError):
        budget = air_budget(replace(setup, truck=with_typical_air(setup.truck)), plan=plan)
        return {move.name: stage_words(budget, move.name, system) for move in budget.moves}
    return {}


def typical_mark(truck: Truck) -> str:
    """Return what stands behind a word on a truck's air: whether its supply is typical, or partly; empty where neither.

    Examples
    --------
    >>> from planner import read_truck
    >>> truck = read_truck("profiles/trucks/yard-truck.toml")
    >>> typical_mark(truck), typical_mark(with_typical_air(truck).replaced(typical=("air.duty",)))
    (' (typical)', ' (partly typical)')
    """
    supplied = with_typical_air(truck)
    count = len(typical_numbers(supplied))
    return "" if not count else " (typical)" if count == len(air_estimates(supplied)) else " (partly typical)"


def corner_words(move: AirMove, k: int, i: int, system: System) -> str:
    """Return what goes into and out of a corner, and how long that takes; empty where nothing does."""
    into, out, time = (float(part[k, i]) for part in (move.free_air, move.vented, move.time))
    if math.isnan(time) or not into + out > 0.0:
        return ""
    parts = [f"{say_free_air(part, system)} {way}" for part, way in ((into, "in"), (out, "out")) if part > 0.0]
    return f"{', '.join(parts)}, {corner_time(move, k, i)}"


def corner_time(move: AirMove, k: int, i: int) -> str:
    """Return how long a corner takes."""
    band = move.corner_band
    one = None if band is None else Between(band.low[k, i], band.high[k, i])
    return time_words(float(move.time[k, i]), one)


def demand_words(demand: DemandAnswer, system: System) -> str:
    """Return what another user takes from the tank."""
    words = f"{clean(demand.name)}: {say_free_air(demand.free_air, system)} of free air"
    if demand.kept_up:
        return f"{words}; the compressor keeps up with it."
    if demand.tank_pressure < 0.0:
        return f"{words}, more than the tank holds: empty after {time_words(demand.dry_after)}."
    return (
        f"{words}; tank then at {say(demand.tank_pressure, 'pressure', system)}, back at cut-out in "
        f"{time_words(demand.compressor_time)}; to cut-in it lasts {time_words(demand.lasts)}."
    )


def time_words(seconds: float, band: Between | None = None) -> str:
    """Return a time as a person waits for it, "no time" where nothing is done, "never" where it does not end.

    With a band it is told from and to, where that shows.

    Examples
    --------
    >>> time_words(0.0), time_words(4.21), time_words(math.inf)
    ('no time', '4.2 s', 'never')
    >>> time_words(290.0, Between(np.array(238.0), np.array(353.0)))
    '4–5.9 min'
    """
    if seconds == 0.0:
        return "no time"
    if not math.isfinite(seconds):
        return "never"
    if band is not None:
        if not math.isfinite(band.high):
            return f"{time_words(float(band.low))} or more"
        most = write_time(max(float(band.high), 0.05))
        least = write_time(float(band.low), unit=most.unit)
        if least.number != most.number:
            return f"{least.number}–{most}"
    return say(seconds, "time", "metric") if seconds >= 0.05 else "less than 0.1 s"


def say_free_air(volume: float, system: System) -> str:
    """Return free air in litres or cubic feet.

    Examples
    --------
    >>> say_free_air(0.036, "metric"), say_free_air(0.036, "us")
    ('36 L', '1.27 ft³')
    """
    if system == "us":
        feet = volume / CUBIC_FOOT
        return f"{feet:.2f} ft³" if feet >= 0.0995 else f"{feet:.3f} ft³"
    litres = volume / LITRE
    return f"{litres:.0f} L" if litres >= 9.95 else f"{litres:.1f} L"


def water_words(mass: float, system: System) -> str:
    """Return water [kg] in millilitres or fluid ounces.

    Examples
    --------
    >>> water_words(0.0051, "metric"), water_words(0.0051, "us")
    ('5.1 mL', '0.17 fl oz')
    """
    return f"{mass / OUNCE:.2g} fl oz" if system == "us" else f"{1e3 * mass:.2g} mL"


def air_object(budget: AirBudget, system: System) -> dict[str, Any]:
    """Return the air budget as an object: free air m³, time s, gauge pressure Pa, water kg; text in words.

    The moves are those of the cycle, and the change-over where one was asked for; a time that never ends is null.
    """
    moves = [*budget.moves, *([budget.change_over] if budget.change_over else [])]
    return {
        "moves": [_move_object(move) for move in moves],
        "cycles": budget.cycles,
        "pump_up_time": budget.pump_up_time,
        "water_per_week": budget.water.per_week,
        "findings": [finding_object(one, system) for one in budget.findings],
    }


def _move_object(move: AirMove) -> dict[str, Any]:
    """Return one move."""
    return {
        "name": move.name,
        "free_air": corners(move.free_air),
        "vented": corners(move.vented),
        "time": corners(np.where(np.isfinite(move.time), move.time, np.nan)),
        "tank_pressure": move.tank_pressure,
        "compressor_time": number(move.compressor_time),
    }
