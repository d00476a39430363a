"""What temperature and altitude do to a truck with its valves shut, and what puts it back."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from planner.physics.air_flow import free_air
from planner.physics.atmosphere import standard_pressure
from planner.physics.constants import REFERENCE_TEMPERATURE
from planner.physics.equilibrium import SealedAir, settle
from planner.physics.validation import Array
from planner.plans.answer import AXLES, CORNERS, Answer, Finding, Kind
from planner.plans.findings import worst_first
from planner.plans.level import Shut, settle_setup
from planner.plans.setup import Setup, rig_of
from planner.records.fields import PRESSURE_SLACK

RIDE: Final = "valves shut: P V / T constant"
A_DAY: Final = 15.0  # [K] from a morning to an afternoon: common practice


def rise_when_warmer(setup: Setup, answer: Answer, by: float = A_DAY) -> tuple[float, float]:
    """Return how far front and rear rise on the pressures that are set, the valves shut and the air warmer. [m]

    Parameters
    ----------
    setup, answer
        What was asked, and its answer.
    by : float
        How much warmer than when the valves were shut. [K]

    Examples
    --------
    >>> from planner import level, read_truck
    >>> answer = level(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> front, rear = rise_when_warmer(answer.setup, answer, by=20.0)
    >>> round(1e3 * front, 1), round(1e3 * rear, 1)  # mm
    (7.9, 8.4)
    """
    rig = rig_of(setup.truck)
    load, stance = setup.load(rig), answer.set.stance
    ambient, temperature = np.full(2, standard_pressure(0.0)), REFERENCE_TEMPERATURE + np.array([0.0, by])
    height = np.where(rig.has_bag[:, None], answer.set.bag_height, rig.design_height)
    air = SealedAir.shut(
        rig,
        height,
        np.nan_to_num(answer.set.pressure),
        ambient=ambient,
        temperature=np.full(2, REFERENCE_TEMPERATURE),
        ambient_now=ambient,
        temperature_now=temperature,
    )
    start = np.array([stance.front, stance.rear, stance.roll, answer.side_moment[0]])
    cool, warm = settle(rig, load, air, np.broadcast_to(start, (2, 4))).state
    return float(warm[0] - cool[0]), float(warm[1] - cool[1])


@dataclass(frozen=True, eq=False)
class SealedChange:
    """A truck that was level at one place and time, its valves shut since; corner arrays are NaN with no bag.

    Attributes
    ----------
    then, now : where it stood on the pressures that are set, and where it sits
    rise : of the arch lip over its wheel, < 0 down, steel corners too, shape (2, 2) [m]
    gauge : by how much the gauge rose, shape (2, 2) [Pa]
    free_air : that brings a corner back to its set pressure and height, < 0 to let out, shape (2, 2) [m³]
    findings : worst first
    """

    then: Answer
    now: Answer
    rise: Array
    gauge: Array
    free_air: Array
    findings: tuple[Finding, ...]


def sealed_change(setup: Setup, answer: Answer, shut: Shut) -> SealedChange:
    """Return what became of a truck that was set to an answer's pressures, its valves shut since.

    Parameters
    ----------
    setup, answer
        What was asked, and its answer.
    shut : Shut
        Where and how warm it was then, and is now.

    Raises
    ------
    ArithmeticError
        If it finds no rest.

    Notes
    -----
    Both rests are those of `settle_setup` with the air shut in. Set to the same gauges again it stands as it stood: a
    bag carries its load by gauge pressure, wherever it is.

    Examples
    --------
    >>> from planner import level, read_truck
    >>> answer = level(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> cold = sealed_change(answer.setup, answer, Shut(temperature="20 degF"))
    >>> bool((cold.rise < 0).all()), bool((cold.free_air > 0).all())
    (True, True)
    """
    pairs = zip(CORNERS, answer.set.pressure.ravel(), strict=True)
    given = {corner: float(pressure) for corner, pressure in pairs if np.isfinite(pressure)}
    as_set = Shut(shut.set_temperature, shut.set_altitude, shut.set_temperature, shut.set_altitude)
    then, now = (settle_setup(setup, given, shut=one) for one in (as_set, shut))
    if not (then.converged and now.converged):
        raise ArithmeticError("the truck does not settle with the valves shut: set it by tape, not by gauge")
    volume = rig_of(setup.truck).gas_volume(np.nan_to_num(then.bag_height, nan=1.0))
    held, needed = (
        free_air(answer.set.pressure + standard_pressure(height), volume, warm)
        for height, warm in ((shut.set_altitude, shut.set_temperature), (shut.altitude, shut.temperature))
    )
    rise, gauge = now.ride_height - then.ride_height, now.pressure - then.pressure
    found = SealedChange(then, now, rise, gauge, needed - held, ())
    return replace(found, findings=worst_first(tuple(_advice(setup, found))))


def _advice(setup: Setup, found: SealedChange) -> Iterator[Finding]:
    """Yield what to do about it."""
    bags = np.isfinite(found.gauge)
    tape = float(setup.truck.instruments.tape_error)
    most = float(found.rise[bags][np.abs(found.rise[bags]).argmax()]) if bags.any() else 0.0
    if abs(most) <= tape:
        words = "It moves {value} at the most, hardly enough for a tape to show: leave it as it is."
        yield Finding("note", "sealed-leave", words, RIDE, {"value": (abs(most), "length")})
    elif most < 0:
        words = (
            "It sinks by {value} at the most, and no air is lost: do not look for a leak. To tow now, set the planned "
            "pressures again; when it is warmer or lower down it then stands too high: set them once more."
        )
        yield Finding("note", "sealed-sinks", words, RIDE, {"value": (-most, "length")})
    else:
        words = (
            "It rises by {value} at the most. To tow now, let out to the planned pressures; before the cold or the way "
            "down put that air back."
        )
        yield Finding("note", "sealed-rises", words, RIDE, {"value": (most, "length")})
    for name, axle, gauge in zip(AXLES, (setup.truck.front, setup.truck.rear), found.now.pressure, strict=True):
        if axle.bag is None or float(gauge.min()) >= float(axle.bag.least_pressure) - PRESSURE_SLACK:
            continue
        words = f"The {name} is at {{value}} then, under its least pressure of {{limit}}: air it before driving."
        amounts: dict[str, tuple[float, Kind]] = {
            "value": (float(gauge.min()), "pressure"),
            "limit": (float(axle.bag.least_pressure), "pressure"),
        }
        yield Finding("caution", f"sealed-under-least-{name}", words, "the bag's least pressure", amounts)
