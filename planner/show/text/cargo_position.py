"""What if, in words: where an item makes the pressures even, and the most trailer."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from planner.plans.answer import AXLES, Finding
from planner.plans.cargo_position import AT_IT, EvenMove
from planner.plans.largest_trailer import OWN, MostTrailer, Room
from planner.show.drawings.svg import clean
from planner.show.text.numbers import say, sentence, write
from planner.units.quantity import Quantity, System, display, entry_unit, read

FELT: Final = 3500.0  # [Pa] half a psi: pressures that differ by less read the same on a gauge
LIMITS: Final[dict[str, str]] = {  # what a finding's code is the limit of; the rest of the code is the place
    "gvwr": "the truck's GVWR",
    "gcwr": "the GCWR of truck and trailer",
    "gawr": "the GAWR of the {place} axle",
    "tyre": "the rating of a {place} tyre",
    "pressure-high": "the greatest pressure of the {place} bag",
    "pressure-low": "the least pressure of the {place} bag",
    "bag-load": "the load rating of the {place} bag",
    "tongue-rating": "the hitch's tongue rating",
    "trailer-rating": "the hitch's trailer rating",
    "d-value": "the coupling's D-value",
    "v-value": "the coupling's V-value",
    "trailer-gvwr": "the trailer's own GVWR",
    "trailer-axle": "the rating of each axle of the trailer",
    "trailer-tyre": "the rating of each tyre of the trailer",
}


def move_words(move: EvenMove, system: System) -> str:
    """Return where an item makes the pressures even, or what it leaves uneven where no place of it does."""
    item = clean(move.item)
    if move.possible:
        if move.there:
            return f"{item} is where it should be: level, and even left and right."
        return f"Move {item} {_way(move, system)}, to {_place(move.x, move.y, system)}: level, and even left and right."
    best = f"At {_place(move.x, move.y, system)} {_left_over(move, system)}."
    more = "Move something heavier, or more than one."
    if move.why_not == "opposite sides":
        return (
            f"Moving {item} alone does not make it even: the axles are heavier on opposite sides, and one item lies on "
            f"one side. {best} {more}"
        )
    if move.why_not == "on the hitch":
        there = _place(move.x, move.y, system)
        return f"{item} would make it even at {there}, but the hitch is there. Move something else, or more than one."
    beyond = f"{say(abs(move.wanted), 'length', system)} {_side(move.wanted)} of centre, "
    beyond = beyond if abs(move.wanted) > abs(move.y) else ""
    return f"Moving {item} alone does not make it even: it would have to be {beyond}off the bed. {best} {more}"


def moved_words(move: EvenMove, x: float, y: float, system: System) -> str:
    """Return what was moved, which way, and to which place on the truck. [m]"""
    ahead, left = x - (move.x - move.ahead), y - (move.y - move.left)
    return f"{clean(move.item)} is moved {_parts(ahead, left, system)}, to {_place(x, y, system)}."


def across_words(move: EvenMove, system: System) -> str:
    """Return what is had by moving an item straight across; empty where that is the whole move."""
    if abs(move.ahead) < AT_IT:
        return ""
    by = move.left - move.y + move.across  # from where it lies
    if abs(by) < AT_IT:
        return f"Straight across there is nothing to gain: {_uneven(move.uneven_across, system)}."
    way = f"{say(abs(by), 'length', system)} {_side(by)}"
    return f"Straight across only, {way} to {_across(move.across, system)}: {_uneven(move.uneven_across, system)}."


def round_weight(weight: float, system: System) -> Quantity:
    """Return a weight without its part of a pound or kilogram, as a person would type it."""
    number, _ = display(weight, "weight", system)
    return read(f"{math.floor(number)} {entry_unit('weight', system)}", "weight")


def most_words(most: MostTrailer, system: System) -> str:
    """Return the most trailer, against what it weighs now, and what stops a heavier one."""
    stops = " and ".join(_stop(one, system) for one in most.stopped_by[:2]) or "the wanted stance"
    if not can_be_tried(most, system):
        return f"However light the trailer is loaded, something stops it: {stops}."
    weight = round_weight(most.weight, system)
    more = float(weight) - most.now
    against = f"{say(abs(more), 'weight', system)} {'more' if more > 0 else 'less'} than now"
    if write(abs(more), "weight", system).number == "0":
        against = "as now"
    grow = "Room to grow: up to" if more > 0 else "Up to"
    return f"{grow} {say(weight, 'weight', system)}, {against}. What stops a heavier one: {stops}."


def stronger_words(most: MostTrailer, system: System) -> str:
    """Return the most of a trailer of the same kind with better labels of its own."""
    stops = " and ".join(_stop(one, system) for one in most.stopped_by[:2]) or "the wanted stance"
    weight = say(round_weight(most.weight, system), "weight", system)
    return f"A stronger trailer of the same tongue ratio could weigh {weight}; then it is {stops}."


def can_be_tried(most: MostTrailer, system: System) -> bool:
    """Tell whether there is a weight to try at all."""
    return display(most.weight, "weight", system)[0] >= 1


def is_own(most: MostTrailer) -> bool:
    """Tell whether only labels on the trailer itself stop a heavier one, so that a stronger one may weigh more."""
    return bool(most.stopped_by) and all(one.code in OWN for one in most.stopped_by)


def room_words(rooms: tuple[Room, ...], system: System) -> str:
    """Return which label is nearest at the present load, and what there is to spare, or how many are passed."""
    first = rooms[0]
    name, spare = _limit(first.code), say(abs(first.spare), first.kind, system)
    value, limit = (say(amount, first.kind, system) for amount in (first.value, first.limit))
    if first.spare >= 0:
        return f"Nearest to its limit as it stands: {name}, {value} of {limit}, {spare} to spare."
    passed = sum(room.spare < 0 for room in rooms)
    others = f", and {passed - 1} more {'is' if passed == 2 else 'are'} passed" if passed > 1 else ""
    return f"Over as it stands: {name}, {value} against {limit}{others}."


def _stop(finding: Finding, system: System) -> str:
    """Return what stops a heavier trailer: the limit by its name, else the finding's own sentence."""
    name = _limit(finding.code)
    if name == finding.code or finding.limit is None:
        return sentence(finding, system).rstrip(".")
    return f"{name}, {say(*finding.amounts['limit'], system=system)}"


def _limit(code: str) -> str:
    """Return what the limit behind a finding's code is called; the code itself where it has no name here."""
    for rule, name in LIMITS.items():
        if code == rule or code.startswith(f"{rule}-"):
            return name.format(place=code.removeprefix(rule).strip("-").replace("-", " "))
    return code


def _way(move: EvenMove, system: System) -> str:
    """Return a move as its two parts: "4.1 in right and 10 in ahead"."""
    return _parts(move.ahead, move.left, system)


def _parts(ahead: float, left: float, system: System) -> str:
    """Return a way ahead and to the left as its two parts. [m]"""
    parts = ((left, _side(left)), (ahead, "ahead" if ahead > 0 else "back"))
    return " and ".join(f"{say(abs(by), 'length', system)} {way}" for by, way in parts if abs(by) >= AT_IT)


def _place(x: float, y: float, system: System) -> str:
    """Return a place on the truck: "6 in right of centre, 20 in ahead of the rear axle"."""
    ahead = f"{say(abs(x), 'length', system)} {'ahead of' if x >= 0 else 'behind'} the rear axle"
    return f"{_across(y, system)}, {ahead}"


def _across(y: float, system: System) -> str:
    """Return a place across the truck: "6 in right of centre"."""
    written = write(abs(y), "length", system)
    return "the centre line" if written.number == "0" else f"{written} {_side(y)} of centre"


def _side(y: float) -> str:
    """Return the side of a distance to the left."""
    return "left" if y > 0 else "right"


def _left_over(move: EvenMove, system: System) -> str:
    """Return what is left uneven with an item in its best place."""
    lean = write(abs(move.lean), "length", system)
    if lean.number == "0":
        return _uneven(move.uneven, system)
    return f"the {_side(move.lean)} side still stands {lean} higher"


def _uneven(uneven: tuple[float, float], system: System) -> str:
    """Return which bags then hold more than those across, by how much."""
    return " and ".join(_more(uneven, system)) or "the pressures are even on a gauge"


def _more(uneven: tuple[float, float], system: System) -> Iterator[str]:
    """Yield each axle whose pressures differ: "the front left bag holds 3 psi more than the right"."""
    for axle, difference in zip(AXLES, uneven, strict=True):
        if not math.isnan(difference) and abs(difference) >= FELT:
            more = say(abs(difference), "pressure", system)
            yield f"the {axle} {_side(difference)} bag holds {more} more than the {_side(-difference)}"
