"""The moves of the valves: where the truck stands between them, and what each takes from a tank."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, NamedTuple

import numpy as np

from planner.physics.air_flow import free_air
from planner.physics.truck_model import Rig
from planner.physics.validation import Array
from planner.plans.air_supply import Supply
from planner.plans.answer import Answer
from planner.plans.changeover import ChangeOver
from planner.plans.fill_time import Filling, Response, airs_at_rest, fill_alike, fill_along, responses
from planner.plans.hitching_stages import HitchPlan, Stage
from planner.plans.level import level_setup
from planner.plans.load_case import load_case
from planner.plans.setup import Setup, rig_of

CHANGE: Final = "change over"
ROUTES: Final = {  # move: from where over where to where the truck goes
    "clear": ("unhitched", "clear"),
    "meet": ("clear", "meet"),
    "lift": ("meet", "lift"),
    "tow": ("lift", "loaded"),
    "unhitch": ("loaded", "meet", "clear", "unhitched"),
    "level": ("empty", "loaded"),
    CHANGE: ("before", "after"),
}
CYCLE: Final = ("clear", "meet", "lift", "tow", "unhitch")


class Between(NamedTuple):
    """A 95 % band of a number, or of each of an array."""

    low: Array
    high: Array


@dataclass(frozen=True, eq=False)
class AirMove:
    """One move at the valves.

    Attributes
    ----------
    name : clear, meet, lift, tow, unhitch, level or change over
    fillings : what it takes, one after the other; unhitching has three, all others one
    supply : that feeds it
    band, corner_band : of the time of the whole move, and of each corner's; None where every number is sure [s]
    """

    name: str
    fillings: tuple[Filling, ...]
    supply: Supply
    band: Between | None = None
    corner_band: Between | None = None

    @property
    def free_air(self) -> Array:
        """Free air that goes into each corner, NaN with no bag, shape (2, 2). [m³]"""
        into: Array = np.sum([one.air_in for one in self.fillings], axis=0)
        return into

    @property
    def vented(self) -> Array:
        """Free air let out of each corner, which is lost, NaN with no bag, shape (2, 2). [m³]"""
        out: Array = np.sum([one.air_out for one in self.fillings], axis=0)
        return out

    @property
    def time(self) -> Array:
        """Time of each corner, waits included, NaN with no bag, inf where it never ends, shape (2, 2). [s]"""
        time: Array = np.sum([one.time for one in self.fillings], axis=0)
        return time

    @property
    def longest(self) -> float:
        """Time of the whole move. [s]"""
        return sum(one.longest for one in self.fillings)

    @property
    def tank_pressure(self) -> float:
        """The tank's gauge afterwards. [Pa]"""
        return self.fillings[-1].tank.pressure

    @property
    def compressor_time(self) -> float:
        """How long the compressor runs to put back what the move took. [s]"""
        into, after, supply = float(np.nansum(self.free_air)), self.tank_pressure, self.supply
        before = min(after + into / float(free_air(1.0, supply.volume)), supply.cut_out)
        return supply.time_to_deliver(into, max(min(after, before), 0.0), before)

    @property
    def stalled(self) -> Filling | None:
        """The first filling that the tank cannot feed without a wait; None where it feeds all."""
        return next((one for one in self.fillings if one.stalls), None)


class _Station(NamedTuple):
    """Where the truck stands between two moves: on which pressures, of which setup, how much of the tongue on it."""

    answer: Answer
    setup: Setup
    tongue_on: float | None = None  # its share; None on the road, bars set


def _stations(setup: Setup, plan: HitchPlan | None, change: ChangeOver | None) -> dict[str, _Station]:
    """Return where the truck stands: empty, with this load, and on the way to its trailer or from another profile."""
    bare, alone = setup.without_trailer().without_cargo(), setup.without_trailer()
    found = {"empty": _Station(level_setup(bare), bare)}
    found["loaded"] = _Station(plan.stages[-1].answer if plan else level_setup(setup), setup)
    if plan is not None:
        found["unhitched"] = _Station(level_setup(alone), alone)
        found |= {stage.name: _Station(stage.answer, setup, _tongue_on(stage)) for stage in plan.stages[:-1]}
    return found | (_stations_of_change(change) if change is not None else {})


def _stations_of_change(change: ChangeOver) -> dict[str, _Station]:
    """Return the two profiles of a change-over, as they stand."""
    both = {"before": change.before, "after": change.after}
    return {name: _Station(stands.answer, stands.setup) for name, stands in both.items()}


@dataclass(frozen=True, eq=False)
class Ways:
    """The moves of a truck with its load, and how it answers on each, whatever its tank, compressor and lines are.

    Attributes
    ----------
    rig : of the truck
    answers : by move, in their order, the response on each way from one rest to the next
    """

    rig: Rig
    answers: Mapping[str, Sequence[Response]]

    @classmethod
    def of(cls, setup: Setup, supply: Supply, plan: HitchPlan | None, change: ChangeOver | None) -> Ways:
        """Return the ways of a setup: to hitch by a plan, to level the empty truck, and from another profile.

        supply : which valve feeds which bags, and the pressure outside
        """
        return cls._between(supply, rig_of(setup.truck), _stations(setup, plan, change))

    @classmethod
    def of_change(cls, change: ChangeOver, supply: Supply) -> Ways:
        """Return the way from one profile to another alone."""
        return cls._between(supply, rig_of(change.after.setup.truck), _stations_of_change(change))

    @classmethod
    def _between(cls, supply: Supply, rig: Rig, stations: dict[str, _Station]) -> Ways:
        """Return the ways between the stations there are."""
        stood = [[*vars(one.answer.set.stance).values(), one.answer.side_moment[0]] for one in stations.values()]
        loads = [load_case(one.setup, rig, tongue_on=one.tongue_on).load for one in stations.values()]
        gauges = [one.answer.set.pressure for one in stations.values()]
        rests = airs_at_rest(rig, loads, gauges, [np.array(state) for state in stood], supply.ambient)
        aired = dict(zip(stations, rests, strict=True))
        routes = {name: route for name, route in ROUTES.items() if set(route) <= set(stations)}
        legs = [(aired[one], aired[other]) for route in routes.values() for one, other in pairwise(route)]
        known = iter(responses(rig, supply, legs))
        return cls(rig, {name: [next(known) for _ in pairwise(route)] for name, route in routes.items()})

    def moves(self, supply: Supply, like: Known | None = None) -> dict[str, AirMove]:
        """Return what every move takes from a supply, by name: those of the cycle one after the other.

        like : the moves with another supply, whose ways are taken where they serve (`fill_alike`)
        """
        tank, moves = supply.full, dict[str, AirMove]()
        for name, known in self.answers.items():
            tank = tank if name in CYCLE else supply.full
            fillings: list[Filling] = []
            for place, response in enumerate(known):
                as_it_was = like and fill_alike(like.moves[name].fillings[place], like.supply, supply, tank)
                fillings.append(as_it_was or fill_along(self.rig, supply, response, tank))
                tank = fillings[-1].tank
            moves[name] = AirMove(name, tuple(fillings), supply)
        return moves


class Known(NamedTuple):
    """A supply, and what every move takes from it."""

    supply: Supply
    moves: Mapping[str, AirMove]


def _tongue_on(stage: Stage) -> float | None:
    """Return the share of the tongue load on the truck at a stage; None on the road, bars set."""
    return {"clear": 0.0, "meet": 0.0, "lift": 1.0}.get(stage.name)
