"""Answers to many setups of one truck, trailer and hitch at once: arrays of all together, then the findings of each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property, partial
from typing import Any

import numpy as np

from planner.physics import levelling
from planner.physics.equilibrium import HeldPressure, Settled, settle
from planner.physics.levelling import Levelled
from planner.physics.standing_truck import StandingTruck
from planner.physics.validation import Array, Codes, Flags
from planner.plans.answer import Answer
from planner.plans.gauge_rounding import round_many, step_that_does
from planner.plans.level import (
    NOTHING_HELD,
    answer_arrays,
    answer_of,
    given_pressures,
    setting_arrays,
    setting_of,
    with_findings,
)
from planner.plans.load_case import loads_of
from planner.plans.rating_findings import carried_of, labels_passed
from planner.plans.ratings import Check
from planner.plans.setup import Setup, rig_of
from planner.plans.stance_findings import Ways

Pressures = Mapping[str, float]


def answers_of(setups: Sequence[Setup], pressures: Sequence[Pressures]) -> list[Answer]:
    """Return the answers to many setups with one truck, one trailer and one hitch.

    Parameters
    ----------
    setups : sequence of Setup
    pressures : of each, as `settle_setup` takes them; where there are none, it is levelled. [Pa]

    Returns
    -------
    list of Answer
        Those of `settle_setup` and of `level_setup`.

    Raises
    ------
    Refusal
        If pressures of one of the setups are none that `settle_setup` takes.

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.setup import Setup
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> setup = Setup.of(mill.profile, mill.truck, mill.trailer)
    >>> [answer.level for answer in answers_of([setup, setup], [{}, {"rear_left": "10 psi"}])]
    [True, False]
    """
    rig = rig_of(setups[0].truck)
    load, wanted = loads_of(setups, rig), np.array([one.wanted for one in setups])
    levelled = levelling.level(rig, load, wanted)
    rounded = round_many(setups[0], rig, load, levelled, wanted)
    exact = StandingTruck(rig, load, levelled.state, levelled.pressure)
    planned = _States(setups, exact, rounded, levelled.converged)
    stands = _given(planned, pressures)
    found = list[Answer]()
    for n, given in enumerate(pressures):
        as_planned = partial(_as_planned, planned, levelled, n)
        found.append(stands.answer(n, NOTHING_HELD, plan=cache(as_planned)) if given else as_planned())
    return found


def _as_planned(planned: _States, levelled: Levelled, n: int) -> Answer:
    """Return one case as it was levelled, with its findings."""
    exact, one = planned.exact, Levelled(*(part[n] for part in levelled))
    finer = partial(step_that_does, planned.setups[n], exact.rig, exact.load.take(slice(n, n + 1)), one)
    return planned.answer(n, one.held, finer=finer)


@dataclass(frozen=True, eq=False)
class _States:
    """States of many setups, each of n cases.

    exact, rests : at the exact pressures, and whether each rests there
    settled : at the pressures that are set
    """

    setups: Sequence[Setup]
    exact: StandingTruck
    settled: Settled
    rests: Flags

    @cached_property
    def arrays(self) -> dict[str, Array]:
        """The arrays of their answers."""
        return answer_arrays(self.setups[0], self.exact)

    @cached_property
    def set_arrays(self) -> dict[str, Array]:
        """The arrays of their settings."""
        return setting_arrays(self.exact.rig, self.settled)

    @cached_property
    def passed(self) -> list[list[Check]]:
        """The labels that each passes."""
        return labels_passed(self.setups[0], carried_of(self.setups[0], self.arrays, self.set_arrays))

    def answer(self, n: int, held: Codes, **how: Any) -> Answer:
        """Return one case with its findings, held at limits; how: what else its `Ways` are."""
        setup, at_set = self.setups[n], {name: values[n] for name, values in self.set_arrays.items()}
        setting = setting_of(setup, self.settled.state[n], at_set)
        arrays = {name: values[n] for name, values in self.arrays.items()}
        converged = bool(self.rests[n]) and bool(self.settled.converged[n])
        answer = answer_of(setup, self.exact.state[n], arrays, setting, converged=converged)
        upright, passed = bool(self.exact.upright[n]), self.passed[n]
        return with_findings(setup, answer, Ways(held, self.settled.fixed[n], converged, upright, passed=passed, **how))


def _given(planned: _States, pressures: Sequence[Pressures]) -> _States:
    """Return levelled states with those settled at the pressures that were given, where some were."""
    given, exact = np.array([bool(one) for one in pressures]), planned.exact
    if not given.any():
        return planned
    truck, each = planned.setups[0].truck, zip(exact.pressure, pressures, strict=True)
    gauge = np.array([given_pressures(truck, levelled, one) for levelled, one in each if one])
    at_given = settle(exact.rig, exact.load.take(given), HeldPressure(gauge), exact.state[given])
    state, pressure, rests = exact.state.copy(), exact.pressure.copy(), planned.rests.copy()
    state[given], pressure[given], rests[given] = at_given.state, at_given.pressure, at_given.converged
    settled = planned.settled.of(np.ones_like(given))
    for part, other in zip(settled, at_given, strict=True):
        part[given] = other
    return _States(planned.setups, replace(exact, state=state, pressure=pressure), settled, rests)
