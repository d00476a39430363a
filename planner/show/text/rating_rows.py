"""What carries what, beside what it may carry: the rows of the bars and of the command line's table.

Shown of the bags is what the findings judge: what is set, or with the valves shut what the gauges now read.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from planner.plans.answer import AXLES, SIDES, Answer, Kind
from planner.plans.ratings import is_over, is_under
from planner.plans.setup import Setup
from planner.plans.trailer_deck import heavier_tyre
from planner.records import Axle, Trailer
from planner.units.quantity import STANDARD_GRAVITY as G


class Rated(NamedTuple):
    """A load or a pressure and its rating, SI.

    label : what it is of
    value, limit : what it is now, and the most it may be
    kind : of both
    least : the least it may be, None where that is nought
    step : of the gauge that shows the value, None where none does
    """

    label: str
    value: float
    limit: float
    kind: Kind
    least: float | None = None
    step: float | None = None

    @property
    def over(self) -> float:
        """How far it is over its rating, 0 where it is not. [SI]"""
        return self.value - self.limit if is_over(self.value, self.limit, self.kind) else 0.0

    @property
    def under(self) -> float:
        """How far it is under its least, 0 where it is not. [SI]"""
        return self.least - self.value if self.least and is_under(self.value, self.least, self.kind) else 0.0


class Group(NamedTuple):
    """Rows that belong together, under a heading."""

    title: str
    rows: tuple[Rated, ...]


def rating_rows(setup: Setup, answer: Answer) -> tuple[Group, ...]:
    """Return everything that has a rating, in groups; a group with no row is left out."""
    groups = (
        Group("Truck", tuple(_truck(setup, answer))),
        Group("Tyres, the heavier side", tuple(_tyres(setup, answer))),
        Group("Air in the bags", tuple(_pressures(setup, answer))),
        Group("Bags, the fuller side", tuple(_bag_loads(setup, answer))),
        Group("Hitch and trailer", tuple(_towed(setup, answer))),
    )
    return tuple(group for group in groups if group.rows)


def _axles(setup: Setup) -> tuple[Axle, Axle]:
    return setup.truck.front, setup.truck.rear


def _truck(setup: Setup, answer: Answer) -> Iterator[Rated]:
    """Axles, truck, and truck with trailer."""
    truck, total = setup.truck, float(answer.axle_load.sum())
    for name, axle, load in zip(AXLES, _axles(setup), answer.axle_load, strict=True):
        yield Rated(f"{name} axle (GAWR)", float(load), axle.gawr * G, "load")
    yield Rated("truck (GVWR)", total, truck.gvwr * G, "load")
    if setup.trailer is not None:
        yield Rated("truck and trailer (GCWR)", total + answer.trailer_axle_load, truck.gcwr * G, "load")


def _tyres(setup: Setup, answer: Answer) -> Iterator[Rated]:
    """One tyre of the heavier side of each axle."""
    for name, axle, loads in zip(AXLES, _axles(setup), answer.tyre_load, strict=True):
        side, count = SIDES[int(loads[1] > loads[0])], axle.tyres.per_side
        label = f"{name} {side} tyre" if count == 1 else f"{name} {side} tyres, each"
        yield Rated(label, float(loads.max()) / count, axle.tyres.load_rating * G, "load")


def _pressures(setup: Setup, answer: Answer) -> Iterator[Rated]:
    """Every bag between its least and its greatest pressure."""
    step = float(setup.truck.instruments.gauge_step)
    for k, axle in enumerate(_axles(setup)):
        for i, side in enumerate(SIDES):
            if axle.bag is not None:
                least, greatest = float(axle.bag.least_pressure), float(axle.bag.greatest_pressure)
                yield Rated(f"{AXLES[k]} {side}", float(answer.set.pressure[k, i]), greatest, "pressure", least, step)


def _bag_loads(setup: Setup, answer: Answer) -> Iterator[Rated]:
    """The bag of each axle that carries more, where the maker rates it."""
    for name, axle, loads in zip(AXLES, _axles(setup), answer.set.bag_load, strict=True):
        if axle.bag is not None and axle.bag.load_rating is not None:
            side = SIDES[int(loads[1] > loads[0])]
            yield Rated(f"{name} {side} bag", float(loads.max()), float(axle.bag.load_rating), "load")


def _towed(setup: Setup, answer: Answer) -> Iterator[Rated]:
    """Hitch and trailer."""
    trailer, hitch = setup.trailer, setup.hitch
    if trailer is None or hitch is None:
        return
    gross = trailer.weight * G
    yield Rated("tongue on the hitch", gross * trailer.tongue_share, hitch.tongue_rating * G, "load")
    yield Rated("trailer on the hitch", gross, hitch.trailer_rating * G, "load")
    yield Rated("trailer (GVWR)", gross, trailer.gvwr * G, "load")
    yield from _trailer_wheels(trailer, answer.trailer_axle_load)


def _trailer_wheels(trailer: Trailer, load: float) -> Iterator[Rated]:
    """The trailer's axles and tyres; its load taken as even over its axles."""
    one_axle = load / trailer.axle_count
    label = "trailer axle" if trailer.axle_count == 1 else "trailer axles, each"
    yield Rated(label, one_axle, trailer.axle_rating * G, "load")
    if trailer.tyre_load_rating is not None:
        side, one_tyre = heavier_tyre(trailer, load)
        yield Rated(f"trailer {side} tyres, each", one_tyre, trailer.tyre_load_rating * G, "load")
