"""From one profile to another: the corners as the truck stands seen from above, and what to do in which order."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from planner.physics.bag_limits import Limit
from planner.physics.validation import Codes
from planner.plans.answer import AXLES, SIDES
from planner.plans.changeover import ChangeOver, Move
from planner.show.drawings.corner_labels import CAP, NO_BAG, corner_rows
from planner.show.drawings.dimensioning import arrow
from planner.show.drawings.palette import LIGHT
from planner.show.drawings.profile_card import beside_truck, little_truck, place_beside
from planner.show.drawings.svg import Drawing, clean, document, line, text, text_width
from planner.show.text.numbers import say, write
from planner.units.quantity import System

SIZES: Final = (48.0, 44.0, 40.0, 36.0, 32.0, 28.0)  # of the pressures to set, the largest that fits is taken
AXLE_LINES: Final = (58.0, 158.0)
WORDS: Final = 16.0  # size of what each corner does
LINE: Final = 19.0
ARROW: Final = 16.0  # length
CUBIC_FOOT: Final = 0.3048**3  # [m³]
LITRE: Final = 1e-3  # [m³]
OUTSIDE: Final = {
    Limit.LEAST_PRESSURE: "below its least pressure",
    Limit.GREATEST_PRESSURE: "over its greatest pressure",
    Limit.LOAD_RATING: "over its load rating",
    Limit.LOWEST_HEIGHT: "at the lowest height of its chart, on its stop",
    Limit.HIGHEST_HEIGHT: "at the greatest height of its chart, on its stop",
}
NOTHING: Final = "No valve to open: the gauges already read right."
BY_STAGES: Final = "Hitching by the stages of Hitch up brings you to the same pressures."
WATCH: Final = "Level ground, wheels chocked, nobody under the truck. Other valves stay shut while one is open."


def change_drawing(change: ChangeOver, system: System) -> Drawing:
    """Return the pressures to come to, and at each corner how far up or down that is, by arrow and word."""
    step = _step(change)
    rows = corner_rows(change.end, system, step)
    body = list(little_truck((AXLE_LINES[0] - 26.0, AXLE_LINES[1] + 26.0), AXLE_LINES))
    body += beside_truck(rows, AXLE_LINES, SIZES)
    for k, y in enumerate(AXLE_LINES):
        for i in (0, 1):
            body += _beside(change, (k, i), y + CAP * SIZES[0] / 2, system)
    bottom = AXLE_LINES[1] + CAP * SIZES[0] / 2 + 2 * LINE + 10.0
    name = clean(change.after.profile.name)
    corners = (f"{AXLES[k]} {SIDES[i]} {rows[k][i] or NO_BAG}, {_said(change, k, i, system)}" for k, i in _CORNERS)
    alt = f"To {name}, as the truck stands seen from above: {'; '.join(corners)}."
    return document("change", bottom, f"To {name}", alt, body)


def aboard_words(change: ChangeOver) -> str:
    """Return which load is aboard while the pressures are changed."""
    setup, name = change.after.setup, clean(change.after.profile.name)
    if setup.trailer is None:
        return f"With the load of {name} on the truck and no trailer."
    return f"With the load of {name} on the truck and {clean(setup.trailer.name)} hitched. {BY_STAGES}"


def reads_words(change: ChangeOver, system: System) -> str:
    """Return what the gauges read before the first turn, and why that is not what was set."""
    step, axles = _step(change), []
    for k, axle in enumerate(AXLES):
        if math.isfinite(change.reads[k, 0]):
            left, right = (write(float(p), "pressure", system, step=step) for p in change.reads[k])
            both = left.number if _joined(change, k) else f"{left.number} left, {right.number} right"
            axles.append(f"{axle} {both}")
            unit = right.unit
    return (
        f"Gauges now read: {'; '.join(axles)} {unit}. The valves have been shut since before the load changed, "
        f"so the load has moved them; this is at the temperature at which the air was set.{_drift(change, system)}"
    )


def move_words(change: ChangeOver, move: Move, system: System) -> str:
    """Return one move: which corner, from what to what, up or down by how much."""
    parts = [_way(change, move, corner, system) for corner in move.corners]
    axle, side = AXLES[move.corners[0][0]], SIDES[move.corners[0][1]]
    if len(parts) == 1:
        return f"{axle.capitalize()} {side}: {parts[0]}."
    if _joined(change, move.corners[0][0]):
        return f"{axle.capitalize()}, both on one line: {parts[0]}."
    named = (f"{SIDES[corner[1]]}: {part}" for corner, part in zip(move.corners, parts, strict=True))
    return f"{axle.capitalize()}, both sides in turns, a little at a time: {'; '.join(named)}."


def end_words(change: ChangeOver, system: System) -> str:
    """Return how near the gauges then are to what they shall read."""
    step = say(_step(change), "pressure", system, step=_step(change))
    if change.together:
        return f"Then read all gauges again: each comes to within {step} of what is drawn above."
    return f"These steps do not bring all gauges to within {step}: read them again, and go on with what is off."


def facts(change: ChangeOver, system: System) -> Iterator[str]:
    """Yield what the way asks of the frame, the bags and the air."""
    yield from _outside(change)
    if change.moves:
        yield _twist(change, system)
    gained, lost = (air_words(value, system) for value in (change.air_needed, change.air_lost))
    if change.air_needed > 0 or change.air_lost > 0:
        yield f"Air needed: {gained}. Let out and lost: {lost}. Free air at 100 kPa and 20 °C (ISO 8778)."


def air_words(volume: float, system: System) -> str:
    """Return an amount of free air [m³] as the trade says it: "0.69 ft³", "19.5 L"."""
    return f"{volume / CUBIC_FOOT:.2f} ft³" if system == "us" else f"{volume / LITRE:.1f} L"


_CORNERS: Final = tuple((k, i) for k in (0, 1) for i in (0, 1))


def _step(change: ChangeOver) -> float:
    """Return what the owner's gauge can be set to. [Pa]"""
    return float(change.after.setup.truck.instruments.gauge_step)


def _joined(change: ChangeOver, k: int) -> bool:
    """Tell whether both bags of an axle share one line."""
    truck = change.after.setup.truck
    return (truck.front, truck.rear)[k].plumbing == "joined"


def _steps(change: ChangeOver, amount: float) -> float:
    """Return an amount in whole steps of the gauge. [Pa]"""
    return round(amount / _step(change)) * _step(change)


def _said(change: ChangeOver, k: int, i: int, system: System) -> str:
    """Return what a corner does: "up 3 psi", "down 3 psi", "stays", "set again" after a drift; steel does nothing."""
    if not math.isfinite(change.change[k, i]):
        return "no bag"
    amount = _steps(change, float(change.change[k, i]))
    if amount == 0:
        return "set again" if any((k, i) in move.corners for move in change.moves) else "stays"
    return f"{'up' if amount > 0 else 'down'} {write(abs(amount), 'pressure', system, step=_step(change))}"


def _from(change: ChangeOver, k: int, i: int, system: System) -> str:
    """Return what a corner reads first; empty where it stays."""
    amount = float(change.change[k, i])
    if not math.isfinite(amount) or not _steps(change, amount):
        return ""
    return f"from {say(float(change.end[k, i]) - _steps(change, amount), 'pressure', system, step=_step(change))}"


def _way(change: ChangeOver, move: Move, corner: tuple[int, int], system: System) -> str:
    """Return one corner of a move: "53 → 37 psi"."""
    after, amount = float(move.pressure[corner]), float(move.pressure[corner] - move.before[corner])
    by = math.copysign(max(abs(_steps(change, amount)), _step(change)), amount)
    old, new = (write(value, "pressure", system, step=_step(change)) for value in (after - by, after))
    return f"{old.number} → {new}"


def _beside(change: ChangeOver, corner: tuple[int, int], y: float, system: System) -> Iterator[str]:
    """What stands under a corner's pressure: an arrow with its word, and where it comes from."""
    words, before = _said(change, *corner, system), _from(change, *corner, system)
    x, anchor = place_beside(corner[1])
    if not before:
        yield text(words, x, y + LINE, LIGHT.soft, anchor=anchor)
        return
    yield text(words, x, y + LINE, LIGHT.air, size=WORDS, anchor=anchor, bold=True)
    yield text(before, x, y + 2 * LINE, LIGHT.soft, anchor=anchor)
    room = text_width(words, WORDS, bold=True) + 12.0
    at = x - room if anchor == "end" else x + room
    tip, foot = y + LINE - ARROW + 2.0, y + LINE + 2.0
    up = change.change[corner] > 0
    yield line(at, tip, at, foot, LIGHT.air, 2.0)
    yield arrow(at, tip if up else foot, math.pi / 2 * (-1 if up else 1), LIGHT.air, 2.0)


def _drift(change: ChangeOver, system: System) -> str:
    """Return how far gauges move while their own valves are shut; empty where no gauge shows it."""
    if change.drift < _step(change) / 2.0:
        return ""
    drift = say(change.drift, "pressure", system, step=_step(change))
    return (
        f" As one bag is aired the gauges of the others move too, by up to {drift}: each step says what is read then."
    )


def _twist(change: ChangeOver, system: System) -> str:
    """Return how far the frame is twisted before the first turn, from there on, and in the worst order."""
    first, peak, worst = (
        say(value, "moment", system) for value in (abs(change.start_twist), change.peak_twist, change.worst_twist)
    )
    on = "no more" if peak == first else f"{peak} at the most"
    words = f"The frame is twisted by {first} before the first turn, and by {on} from there to the end"
    if change.orders == 1:
        return f"{words}."
    if worst == peak:
        return f"{words}; none of the {change.orders} orders compared twists it more."
    return f"{words}; in the worst of {change.orders} orders it would be {worst}."


def _outside(change: ChangeOver) -> Iterator[str]:
    """Yield which bags are outside a limit at the start, on the way of a move, and at its end."""
    states: list[tuple[str, Codes]] = [("With the new load on and all valves still shut", change.start_outside)]
    for n, move in enumerate(change.moves, start=1):
        states += [(f"During step {n}", move.passed), (f"After step {n}", move.outside)]
    for when, codes in states:
        for k, i in _CORNERS:
            if code := int(codes[k, i]):
                yield f"{when} the {AXLES[k]} {SIDES[i]} bag is {OUTSIDE[Limit(code)]}."
