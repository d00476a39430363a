"""The bags as a scale: gauges and tapes, before and after hooking or loading, read as loads."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import partial
from typing import Final, NamedTuple

import numpy as np

from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.least_squares import Cases, Fit, fit_with_prior, slopes_of
from planner.physics.statics import Load, point_load
from planner.physics.validation import Array
from planner.plans.answer import Finding
from planner.plans.level import level_setup
from planner.plans.setup import Setup
from planner.plans.trim import Estimate, blind_findings, readings_of
from planner.plans.uncertainty.reading_fit import (
    SOFT_STOPS,
    STATE_SPREAD,
    Freedom,
    Gauges,
    Readings,
    Unknowns,
    design_heights,
    first_states,
    setup_tracks,
    shown_and_error,
)
from planner.plans.uncertainty.trim_pressures import NINETY_FIVE
from planner.records import Reading

ANY_LOAD: Final = 1.0  # [-] of an axle's rating, one deviation: what came on may be anything
ANY_TONGUE: Final = 3.0  # [-] of the hitch's tongue rating, one deviation: the rating is no reason to read less


class ScaleRows(NamedTuple):
    """What n pairs of readings say, or how far that may be off (one standard deviation).

    axle_load : after, shape (n, 2) [N]
    side_moment : of all, after, left positive, shape (n,) [N·m]
    added : came on each axle, shape (n, 2) [N]
    added_side_moment : came on, shape (n,) [N·m]
    added_load : all that came on; the hitch load where a trailer was hooked on, shape (n,) [N]
    side_share : of what stands on the wheels after, on the left, shape (n,) [-]
    """

    axle_load: Array
    side_moment: Array
    added: Array
    added_side_moment: Array
    added_load: Array
    side_share: Array

    @classmethod
    def of_rows(cls, rows: Array) -> ScaleRows:
        """Return the same from rows side by side, shape (n, 8)."""
        return cls(rows[:, :2], rows[:, 2], rows[:, 3:5], rows[:, 5], rows[:, 6], rows[:, 7])


@dataclass(frozen=True, eq=False)
class BagScale:
    """What gauges and tapes say is carried, before and after.

    Attributes
    ----------
    axle_load : on the front and the rear axle, after [N]
    side_moment, side_share : of all that stands on the wheels, after [N·m, -]
    added_axle_load, added_load, added_side_moment : what came on [N, N, N·m]
    hitch_load, hitch_side : where a trailer came on, its load and where it acts left of centre [N, m]; else None
    findings : what steel or a shared line keeps from being seen
    """

    axle_load: tuple[Estimate, Estimate]
    side_moment: Estimate
    side_share: Estimate
    added_axle_load: tuple[Estimate, Estimate]
    added_load: Estimate
    added_side_moment: Estimate
    hitch_load: Estimate | None
    hitch_side: Estimate | None
    findings: tuple[Finding, ...]


def bags_as_scale(
    setup: Setup,
    after: Reading,
    before: Reading | None = None,
    *,
    hooked: bool = False,
    own: Mapping[str, float] | None = None,
) -> BagScale:
    """Return what gauges and tapes say the axles carry, and what came on between two readings.

    Parameters
    ----------
    setup : Setup
        The truck as it stood before: its trailer is left off, and what else is on it is taken as known within its
        spreads.
    after, before : Reading
        With the load on, and without; with no reading before, the truck as it is said to be stands for it.
    hooked : bool
        Whether what came on is the load of the setup's hitch alone, so that one number is sought, and where it acts
        sideways; else any load on both axles.
    own : mapping of key to one standard deviation, optional
        Spreads that go before those of the files and typical ones. [SI]

    Returns
    -------
    BagScale

    Raises
    ------
    BadInput
        If a reading does not fit the truck.

    Notes
    -----
    The most likely truck and load behind both readings at once (`fit_with_prior`): what the truck's own numbers are off
    by is the same in both, so most of it falls out of the difference.

    Examples
    --------
    >>> from datetime import datetime
    >>> from planner import open_folder
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> setup = Setup.of(mill.profile, mill.truck, mill.trailer)
    >>> level = {"pressure": "37 psi", "ride_height": "20 in"}
    >>> corners = {f"{axle}_{side}": level for axle in ("front", "rear") for side in ("left", "right")}
    >>> found = bags_as_scale(setup, Reading(at=datetime(2026, 5, 4), **corners))
    >>> found.axle_load[1].value > found.axle_load[1].half_width > 0
    True
    """
    pairs = _paired(setup, before), readings_of(setup, after)
    found = weigh_pairs(setup, *pairs, hooked=hooked, own=own)
    value, off = (ScaleRows.of_rows(part) for part in found[:2])

    def told(name: str, *place: int) -> Estimate:
        at = (0, *place)
        return Estimate(float(getattr(value, name)[at]), NINETY_FIVE * float(getattr(off, name)[at]))

    load, moment = told("added_load"), told("added_side_moment")
    axles = told("axle_load", 0), told("axle_load", 1)
    return BagScale(
        axle_load=axles,
        side_moment=told("side_moment"),
        side_share=told("side_share"),
        added_axle_load=(told("added", 0), told("added", 1)),
        added_load=load,
        added_side_moment=moment,
        hitch_load=load if hooked else None,
        hitch_side=_arm(moment, load) if hooked else None,
        findings=tuple(blind_findings(setup, axles)),
    )


def _paired(setup: Setup, before: Reading | None) -> Readings:
    """Return the reading before, or none at all as one that says nothing."""
    if before is not None:
        return readings_of(setup, before)
    return Readings(np.full((1, 2, 2), np.nan), np.full((1, 2, 2), np.nan))


def _arm(moment: Estimate, load: Estimate) -> Estimate:
    """Return where a load acts, left of centre [m]: its side moment over the load."""
    if not load.value > 0:
        return Estimate(0.0, np.inf)
    arm = moment.value / load.value
    return Estimate(arm, float(np.hypot(moment.half_width, arm * load.half_width)) / load.value)


def weigh_pairs(
    setup: Setup, before: Readings, after: Readings, *, hooked: bool, own: Mapping[str, float] | None = None
) -> tuple[Array, Array, Fit]:
    """Return what n pairs of readings say (rows of `ScaleRows`), one deviation of each, both (n, 8), and the fit."""
    scale = _Scale.of(setup, before, after, hooked=hooked, own=own)
    start = np.zeros((len(after.pressure), scale.count))
    for stop_rate in SOFT_STOPS:
        fit = fit_with_prior(partial(scale.rows, stop_rate=stop_rate), start)
        start = fit.value
    rows, slope = slopes_of(scale.told, fit.value)
    variance = np.diagonal(fit.covariance_of(slope), axis1=-2, axis2=-1)
    return rows, np.sqrt(np.maximum(variance, 0.0)), fit


@dataclass(frozen=True, eq=False)
class _Scale:
    """Pairs of readings, and what is sought: state before, state after, the truck's numbers, the load that came on."""

    unknowns: Unknowns
    gauges: Gauges
    readings: tuple[Readings, Readings]
    first: tuple[Array, Array]
    hooked: bool
    any_load: Freedom

    @classmethod
    def of(
        cls, setup: Setup, before: Readings, after: Readings, *, hooked: bool, own: Mapping[str, float] | None
    ) -> _Scale:
        alone = setup.without_trailer()
        unknowns = Unknowns(alone, level_setup(alone), Freedom(0.0, 0.0, 0.0), own)
        truck = setup.truck
        front, rear = (ANY_LOAD * float(axle.gawr) * G for axle in (truck.front, truck.rear))
        if hooked and setup.hitch is not None:
            rear = ANY_TONGUE * float(setup.hitch.tongue_rating) * G
        side = rear * float(truck.rear.track) / 2.0
        first = first_states(unknowns, before), first_states(unknowns, after)
        hooked = hooked and setup.hitch is not None
        return cls(unknowns, Gauges.of(setup), (before, after), first, hooked, Freedom(front, rear, side))

    @property
    def count(self) -> int:
        """How many numbers are sought."""
        return 2 * 4 + self.unknowns.count + len(self.any_load)

    def added(self, value: Array) -> Load:
        """Return the load that came on, of values in one row."""
        front, rear, side = (value[:, -3:] * np.array(self.any_load)).T
        plain = self.unknowns.plain
        hitch = self.unknowns.setup.hitch
        if self.hooked and hitch is not None:
            on = point_load(rear, np.asarray(float(hitch.x)), np.zeros(()), plain.wheelbase)
            share = float(np.clip(hitch.x / plain.wheelbase, 0.0, 1.0))
            return replace(on, side_moment=side, least_twist=share * side)
        nothing = np.zeros_like(side)
        kerb = plain.kerb.axle - plain.unsprung_load
        return Load(np.stack([front, rear], axis=-1), side, side * kerb[0] / kerb.sum(), nothing, nothing)

    def rows(self, value: Array, cases: Cases, stop_rate: float) -> Array:
        """Return what gauges and tapes of both readings of some pairs are off by, in their errors, (c, k, 16)."""
        count, tried, _ = value.shape
        flat = value.reshape(count * tried, -1)
        found = []
        for time, (readings, first) in enumerate(zip(self.readings, self.first, strict=True)):
            state = np.repeat(first[cases], tried, axis=0) + flat[:, 4 * time : 4 * time + 4] * STATE_SPREAD
            trucks = self.unknowns.trucks(flat[:, 8:-3], state)
            if time:
                trucks = trucks._replace(load=trucks.load + self.added(flat))
            pressure = np.repeat(readings.pressure[cases], tried, axis=0)
            shown, error = shown_and_error(self.unknowns, self.gauges, pressure)
            error = np.where(np.isnan(pressure), np.inf, error)  # what was not read says nothing of a load
            rests = self.gauges.rests(trucks, shown, error, stop_rate)
            height = np.repeat(readings.ride_height[cases], tried, axis=0)
            off = (design_heights(self.unknowns.setup) + trucks.ride_heights() - height) / self.gauges.tape
            found += [rests, np.where(np.isnan(height), 0.0, off).reshape(-1, 4)]
        return np.concatenate(found, axis=-1).reshape(count, tried, -1)

    def told(self, value: Array) -> Array:
        """Return the rows of `ScaleRows`, shape (n, k, 8)."""
        flat = value.reshape(-1, value.shape[-1])
        on = self.added(flat)
        state = np.zeros((len(flat), 4))
        load = self.unknowns.trucks(flat[:, 8:-3], state).load + on
        share = 0.5 + load.side_moment / (load.axle * setup_tracks(self.unknowns.setup)).sum(axis=-1)
        total = on.axle.sum(axis=-1)
        rows = np.column_stack([load.axle, load.side_moment, on.axle, on.side_moment, total, share])
        return rows.reshape(*value.shape[:2], -1)
