"""The trailer by itself: what it weighs, where it presses, what its labels say; and which way to slide what is on it.

Gross weight, tongue ratio and left share are the record's own (`Trailer.weight`, `tongue_share`, `side_share`): every
plan reads them there. `physics.trailer.deck` states the same levers for arrays, and a test holds the two together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planner.errors import Refusal
from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.trailer import deck, slide, wheel_sides
from planner.plans.answer import SIDES, Finding
from planner.plans.findings import worst_first
from planner.plans.rating_findings import trailer_findings
from planner.records import Trailer
from planner.records.trailer import GREATEST_TONGUE_RATIO

AT_IT = 1e-9  # [m] less than this past the end of its way is at the end


@dataclass(frozen=True)
class DeckPlan:
    """What a trailer presses on coupling and wheels, level and with the bars slack.

    Attributes
    ----------
    trailer : as its owner knows it
    gross : its weight [kg]
    tongue_ratio : share of the weight on the coupling [-]
    on_left : share of what the wheels carry on the left ones [-]
    tongue_load, axle_load : on the coupling, and on all axles together [N]
    one_axle : load of one axle, the axles taken as even [N]
    side_load : of one axle, left and right [N]
    heavier : the side that carries more; left where they are even
    tyre_load : of each tyre on that side [N]
    centre : of mass, ahead of the axle centre and left of the centre line [m]
    findings : worst first
    """

    trailer: Trailer
    gross: float
    tongue_ratio: float
    on_left: float
    tongue_load: float
    axle_load: float
    one_axle: float
    side_load: tuple[float, float]
    heavier: str
    tyre_load: float
    centre: tuple[float, float]
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class Slide:
    """How far one item goes for a wanted tongue ratio.

    Attributes
    ----------
    item, place : its name, and which of the deck's items it is
    wanted : tongue ratio [-]
    by, ahead : distance to slide, ahead positive; where it then is, ahead of the axle centre [m]
    possible : whether that is on the trailer: from the coupling to as far behind the axles
    furthest, nearest : the end of that way on the wanted side [m], and the ratio the item gives there [-]; where it is
        possible, the same as ``ahead`` and ``wanted``
    """

    item: str
    place: int
    wanted: float
    by: float
    ahead: float
    possible: bool
    furthest: float
    nearest: float


def deck_plan(trailer: Trailer) -> DeckPlan:
    """Return what a trailer presses on coupling and wheels, and what its labels say of it.

    One that would lift the hitch has no plan: the record refuses it, with its reason. Bars press more on the axles,
    by their moment over the axle distance; how much depends on the truck, so it is in the plan of truck and trailer.

    Examples
    --------
    >>> from planner import read_trailer
    >>> deck_plan(read_trailer("profiles/trailers/log-deck.toml")) is None
    False
    """
    gross, ratio, left = trailer.weight, trailer.tongue_share, trailer.side_share
    on_axles = gross * (1.0 - ratio) * G
    one_axle = on_axles / trailer.axle_count
    left_wheels, right_wheels = (wheel_sides(on_axles, gross * G, left) / trailer.axle_count).tolist()
    sides = (left_wheels, right_wheels)
    heavier, tyre_load = heavier_tyre(trailer, on_axles)
    return DeckPlan(
        trailer=trailer,
        gross=gross,
        tongue_ratio=ratio,
        on_left=left_wheels / one_axle,
        tongue_load=gross * ratio * G,
        axle_load=on_axles,
        one_axle=one_axle,
        side_load=sides,
        heavier=heavier,
        tyre_load=tyre_load,
        centre=(ratio * trailer.axle_distance, (left - 0.5) * trailer.track),
        findings=worst_first(trailer_findings(trailer, on_axles)),
    )


def heavier_tyre(trailer: Trailer, axle_load: float) -> tuple[str, float]:
    """Return the heavier side of a trailer and the load of each tyre there, its axles taken as even. [N]

    Examples
    --------
    >>> from planner import read_trailer
    >>> side, load = heavier_tyre(read_trailer("profiles/trailers/band-mill.toml"), 28e3)
    >>> side, round(load)
    ('left', 7320)
    """
    sides = wheel_sides(axle_load, trailer.weight * G, trailer.side_share).tolist()
    heavier = int(sides[0] < sides[1])
    return SIDES[heavier], sides[heavier] / trailer.axle_count / trailer.tyres_per_side


def slide_for(trailer: Trailer, item: str | int, ratio: float) -> Slide:
    """Return how far to slide one item of a trailer's deck for a wanted tongue ratio.

    Parameters
    ----------
    trailer
        Given by deck items.
    item
        Its name, or its place among the items from 0.
    ratio
        Wanted share of the gross weight on the coupling. [-]

    Raises
    ------
    Refusal
        If the ratio is not in 0 to 0.5, or the deck has no such item or several of that name.
    """
    if not 0.0 <= ratio <= GREATEST_TONGUE_RATIO:
        rule = f"wanted tongue ratio must be in 0 to {GREATEST_TONGUE_RATIO}"
        raise Refusal(rule, f"{ratio:g}", "0.10 to 0.15 is usual on a ball")
    place = _place(trailer, item)
    slid, length = trailer.deck[place], float(trailer.axle_distance)
    by = float(slide(slid.weight, trailer.weight, trailer.tongue_share, ratio, length))
    ahead = slid.ahead + by
    furthest = float(np.clip(ahead, -length, length))
    possible = abs(furthest - ahead) <= AT_IT
    nearest = ratio if possible else _ratio_with(trailer, place, furthest)
    return Slide(slid.name, place, ratio, by, ahead, possible, ahead if possible else furthest, nearest)


def _ratio_with(trailer: Trailer, place: int, ahead: float) -> float:
    """Return the tongue ratio with one item somewhere else; it may be none that a trailer can have."""
    weight, places, left = np.array([[one.weight, one.ahead, one.left] for one in trailer.deck], float).T
    places[place] = ahead
    return float(deck(weight, places, left, trailer.axle_distance, trailer.track).tongue_ratio)


def _place(trailer: Trailer, item: str | int) -> int:
    """Return the place of an item among those of the deck."""
    if not trailer.deck:
        raise Refusal(
            "a trailer must have deck items", f"only the weight and ratio of {trailer.name}", "give its items"
        )
    return place_of([one.name for one in trailer.deck], item, "slide", "on the deck")


def place_of(names: Sequence[str], item: str | int, what_for: str, where: str) -> int:
    """Return the place of an item, called by its name or by its place from 0; Refusal if not just one is called so."""
    found = [place for place, name in enumerate(names) if item in (name, place)]
    if len(found) != 1:
        what = "no such item" if not found else f"{len(found)} items of that name"
        raise Refusal(f"item to {what_for} must be one of {', '.join(names)}", repr(item), f"{what} {where}")
    return found[0]
