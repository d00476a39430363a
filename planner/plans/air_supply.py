"""A truck's air supply as numbers: the tank, the compressor where it stands, and what each valve lets through."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np

from planner.physics.air_flow import Compressor, free_air, in_series, tube_conductance
from planner.physics.atmosphere import standard_pressure
from planner.physics.validation import Array
from planner.plans.answer import CORNERS
from planner.records import Air, BadInput, Problem, Truck

NEEDED: Final = (  # what [air] needs, and where it is read
    ("tank_volume", "on the tank's plate, or length and diameter worked out"),
    ("cut_in, cut_out", "the pressures at which the pressure switch starts and stops the compressor"),
    ("delivery_pressure, delivery", "two points or more of the compressor's data sheet, free air against pressure"),
    ("duty", "the share of time that the compressor may run, from its data sheet; 1.0 where it may run on"),
    ("line_length", "from the valve to each bag, along the line with a tape"),
    ("line_bore", "inside the line, not outside: 1/4 in tube has a bore of 0.17 in, common practice"),
)

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
    def of(cls, truck: Truck, altitude: float = 0.0) -> Supply:
        """Return the supply of a truck at an altitude [m].

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
        air = supply_record(truck)
        ambient = float(standard_pressure(altitude))
        pressures, deliveries = (np.array(values, float) for values in (air.delivery_pressure, air.delivery))
        return cls(
            volume=float(air.tank_volume),
            cut_in=float(air.cut_in),
            cut_out=float(air.cut_out),
            compressor=Compressor(pressures, deliveries, ambient),
            duty=float(air.duty),
            ports=tuple(_ports(truck, air)),
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
        raise BadInput([Problem("truck", "air", "", "is needed to reckon with air", remedy)])
    return truck.air


def _ports(truck: Truck, air: Air) -> list[Port]:
    """Return a port for each bag, one for both of an axle whose bags share a line."""
    found = []
    for k, axle in enumerate((truck.front, truck.rear)):
        if axle.bag is None:
            continue
        lengths = [float(getattr(air.line_length, CORNERS[2 * k + i])) for i in (0, 1)]
        lines = [tube_conductance(length, float(air.line_bore)) for length in lengths]
        if axle.plumbing == "joined":  # the valve, then both lines beside each other
            whole = sum(float(c) for c, _ in lines)
            ratio = sum(float(c) * float(b) for c, b in lines) / whole
            found.append(_port(((k, 0), (k, 1)), air, np.array(whole), np.array(ratio)))
        else:
            found += [_port(((k, i),), air, *line) for i, line in enumerate(lines)]
    return found


def _port(corners: tuple[Corner, ...], air: Air, conductance: Array, ratio: Array) -> Port:
    """Return a line behind its valve; where the valve's C is not known, the line alone."""
    if air.valve_conductance is None:
        return Port(corners, float(conductance), float(ratio))
    both = in_series(
        [float(air.valve_conductance), float(conductance)], [float(air.valve_critical_ratio), float(ratio)]
    )
    return Port(corners, float(both[0]), float(both[1]))
