"""A truck's air supply as numbers: the tank, the compressor where it stands, and what each valve lets through."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final, NamedTuple

import numpy as np

from planner.physics.air_flow import Compressor, free_air, in_series, tube_conductance
from planner.physics.atmosphere import standard_pressure
from planner.physics.validation import Array
from planner.plans.answer import CORNERS
from planner.records import Air, BadInput, Problem, Truck

# Air-brake tubing by SAE J844 (1998): working gauge pressure, printed as 1030 kPa (150 psi), and temperatures
TUBE_LIMIT: Final = 1030e3  # [Pa]
TUBE_PSI: Final = 150.0  # as it is printed beside that
TUBE_COLDEST: Final = -40  # °C and °F
TUBE_HOTTEST: Final = (200, 93)  # °F, °C
# What [air] needs, and where it is read
NEEDED: Final = tuple((name, info.description or "") for name, info in Air.model_fields.items() if info.is_required())

SCALED: Final = ("tank_volume", "cut_in", "cut_out", "delivery", "duty", "line_length", "line_bore")
SAME: Final = dict.fromkeys(SCALED, np.ones(()))

Corner = tuple[int, int]  # axle, side


class Port(NamedTuple):
    """One valve with its line.

    corners : the bags it feeds: one, or both of an axle whose bags share a line
    conductance, critical_ratio : C and b of valve and line in series [m³/(s·Pa), -]
    """

    corners: tuple[Corner, ...]
    conductance: float
    critical_ratio: float


class Tank(NamedTuple):
    """The tank at one time: gauge pressure [Pa], and whether the compressor runs."""

    pressure: float
    running: bool = False


@dataclass(frozen=True, eq=False)
class Supply:
    """The air supply of one truck at one altitude.

    Attributes
    ----------
    volume : of the tank [m³]
    cut_in, cut_out : gauge [Pa]
    compressor : as it delivers there
    duty : share of time that it may run [-]
    ports : the valves with their lines
    ambient : absolute pressure outside [Pa]
    """

    volume: float
    cut_in: float
    cut_out: float
    compressor: Compressor
    duty: float
    ports: tuple[Port, ...]
    ambient: float

    @classmethod
    def of(cls, truck: Truck, altitude: float = 0.0, scale: Mapping[str, Array] | None = None) -> Supply:
        """Return the supply of a truck at an altitude [m], some of its numbers scaled, by field of [air].

        Raises
        ------
        BadInput
            If the truck's file has no [air].

        Examples
        --------
        >>> from planner import read_truck
        >>> supply = Supply.of(read_truck("profiles/trucks/ridge-truck.toml"))
        >>> round(1e3 * supply.volume, 1), len(supply.ports)  # L
        (37.9, 4)
        """
        air, by = supply_record(truck), {**SAME, **(scale or {})}
        ambient = float(standard_pressure(altitude))
        pressures, deliveries = (np.array(values, float) for values in (air.delivery_pressure, air.delivery))
        lengths = np.array([float(getattr(air.line_length, corner)) for corner in CORNERS])
        lines = tube_conductance(lengths * by["line_length"], air.line_bore * by["line_bore"])
        return cls(
            volume=float(air.tank_volume * by["tank_volume"]),
            cut_in=float(air.cut_in * by["cut_in"]),
            cut_out=float(air.cut_out * by["cut_out"]),
            compressor=Compressor(pressures, deliveries * by["delivery"], ambient),
            duty=float(air.duty * by["duty"]),
            ports=tuple(_ports(truck, air, lines)),
            ambient=ambient,
        )

    @property
    def full(self) -> Tank:
        """The tank just pumped up."""
        return Tank(self.cut_out)

    @property
    def usable(self) -> float:
        """Free air between cut-out and cut-in: what the tank gives before the compressor starts. [m³]"""
        return float(free_air(self.cut_out - self.cut_in, self.volume))

    @cached_property
    def valves(self) -> tuple[Array, Array]:
        """C [m³/(s·Pa)] and b [-] of the port of each corner, 1 and 0 with no bag, shape (2, 2)."""
        c, b = np.ones((2, 2)), np.zeros((2, 2))
        for port in self.ports:
            for corner in port.corners:
                c[corner], b[corner] = port.conductance, port.critical_ratio
        return c, b

    def pump_up_time(self, start: float, end: float) -> float:
        """Return how long the compressor runs from one gauge pressure of the tank to another. [s]"""
        return self.compressor.pump_up_time(self.volume, start, end)

    def time_to_deliver(self, amount: float, start: float, end: float) -> float:
        """Return how long the compressor runs for some free air [m³] while the gauge goes from start to end. [s]

        The pressure rises evenly with what is delivered.
        """
        if amount <= 0.0:
            return 0.0
        if not end > start:
            return amount / float(self.compressor.delivery(start))
        return self.compressor.pump_up_time(amount / float(free_air(end - start, 1.0)), start, end)


def supply_record(truck: Truck) -> Air:
    """Return the [air] of a truck's file; BadInput that says what it needs where there is none."""
    if truck.air is None:
        remedy = "add [air] with " + "; ".join(f"{names} ({where})" for names, where in NEEDED)
        raise BadInput([Problem("truck", "air", "", "is needed to work out the air", remedy)])
    return truck.air


def _ports(truck: Truck, air: Air, lines: tuple[Array, Array]) -> list[Port]:
    """Return a port for each bag, one for both of an axle whose bags share a line; lines : C and b by corner."""
    found = []
    for k, axle in enumerate((truck.front, truck.rear)):
        if axle.bag is None:
            continue
        c, b = (values.reshape(2, 2)[k] for values in lines)
        if axle.plumbing == "joined":  # the valve, then both lines beside each other
            found.append(_port(((k, 0), (k, 1)), air, c.sum(), np.sum(c * b) / c.sum()))
        else:
            found += [_port(((k, i),), air, c[i], b[i]) for i in (0, 1)]
    return found


def _port(corners: tuple[Corner, ...], air: Air, conductance: Array, ratio: Array) -> Port:
    """Return a line behind its valve; where the valve's C is not known, the line alone."""
    if air.valve_conductance is None:
        return Port(corners, float(conductance), float(ratio))
    both = in_series(
        [float(air.valve_conductance), float(conductance)], [float(air.valve_critical_ratio), float(ratio)]
    )
    return Port(corners, float(both[0]), float(both[1]))
