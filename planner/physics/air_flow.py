"""Compressed air between tank, valves, lines and bags: flow, free air, receivers, compressors."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from planner.errors import Refusal
from planner.physics.constants import HEAT_CAPACITY_RATIO_AIR, REFERENCE_TEMPERATURE, STANDARD_PRESSURE
from planner.physics.validation import Array, require_positive

FREE_AIR_PRESSURE: Final = 100e3  # [Pa] absolute: ISO 8778:2003, reference atmosphere 100 kPa, 20 °C, 65 % humidity
FREE_AIR_DENSITY: Final = 1.185  # [kg/m³] of that air: ISO 6358-1:2013, ρ0
GAS_CONSTANT_AIR: Final = 287.05  # [J/(kg·K)] of dry air: R* / M of the U.S. Standard Atmosphere, 1976
SHARP_EDGE: Final = 0.65  # [-] of a rounded hole's flow: "Discharge of air through an orifice", its usual table
PRESSURE_SLACK: Final = 1.0  # [Pa] rounding of the arithmetic, far below any gauge
TUBE_LOSS: Final = 0.029  # [m³/(s·Pa·m²)] of a tube, its two ends included: see tube_conductance
TUBE_ENDS: Final = 510.0  # [m^-0.25] length over bore^1.25 that a tube's ends are worth
TUBE_RATIO: Final = 474.0  # [s·Pa/m] critical ratio of a tube over C / d²


def free_air(pressure: ArrayLike, volume: ArrayLike, temperature: ArrayLike = REFERENCE_TEMPERATURE) -> Array:
    """Return the free air that a gas is, by ISO 8778: what it fills at 100 kPa and 20 °C. [m³]

    Parameters
    ----------
    pressure, volume, temperature : array_like, shapes that broadcast
        Absolute pressure [Pa], volume [m³] and temperature [K] of the gas.

    Notes
    -----
    V = p V_gas / 100 kPa · 293.15 K / T, the ideal-gas law. Up to 15 bar and from -20 to 60 °C air is off it by less
    than 1.3 % (tests hold it against CoolProp).

    Examples
    --------
    >>> round(float(free_air(801_325.0, 0.010)), 4)  # 10 L at 7 bar gauge
    0.0801
    """
    p, v, t = (np.asarray(value, float) for value in (pressure, volume, temperature))
    held: Array = p * v / FREE_AIR_PRESSURE * (REFERENCE_TEMPERATURE / t)
    return held


def flow(
    upstream: ArrayLike,
    downstream: ArrayLike,
    conductance: ArrayLike,
    critical_ratio: ArrayLike,
    temperature: ArrayLike = REFERENCE_TEMPERATURE,
) -> Array:
    """Return the flow of free air through a valve or a line; none where downstream is the higher. [m³/s]

    Parameters
    ----------
    upstream, downstream : array_like
        Absolute pressures. [Pa]
    conductance : array_like
        Sonic conductance C. [m³/(s·Pa)]
    critical_ratio : array_like
        Critical pressure ratio b, 0 to below 1. [-]
    temperature : array_like
        Of the air upstream. [K]

    Notes
    -----
    q = C p1 √(T0 / T1), the flow choked, where p2 / p1 ≤ b; above, times √(1 - ((p2/p1 - b) / (1 - b))²) [1]_. The mass
    flow is 1.185 kg/m³ times that.

    References
    ----------
    .. [1] ISO 6358-1:2013, Pneumatic fluid power, flow-rate characteristics of components, after F. E. Sanville.

    Examples
    --------
    >>> round(float(flow(8e5, 2e5, 1e-8, 0.3)), 5)  # choked
    0.008
    """
    p1, p2, c, b, t = (
        np.asarray(value, float) for value in (upstream, downstream, conductance, critical_ratio, temperature)
    )
    past = ((np.minimum(p2 / p1, 1.0) - b) / (1.0 - b)).clip(0.0)
    passed: Array = c * p1 * np.sqrt(REFERENCE_TEMPERATURE / t * (1.0 - past**2))
    return passed


def orifice_flow(
    upstream: ArrayLike, downstream: ArrayLike, area: ArrayLike, temperature: ArrayLike = REFERENCE_TEMPERATURE
) -> Array:
    """Return the flow of free air through a well-rounded hole; none where downstream is the higher. [m³/s]

    Parameters
    ----------
    upstream, downstream : array_like
        Absolute pressures. [Pa]
    area : array_like
        Of the hole; of a sharp-edged one SHARP_EDGE of it. [m²]
    temperature : array_like
        Of the air upstream. [K]

    Notes
    -----
    Isentropic flow of an ideal gas, choked below p2 / p1 = 0.528: with r = p2 / p1, at least 0.528,
    m = A p1 √(2 k / ((k - 1) R T) (r^(2/k) - r^((k+1)/k))), k = 1.4 (Çengel and Boles, Thermodynamics, 8th ed.,
    sec. 17-4). S. A. Moss' rule for choked air, 0.5303 A p1 / √T in lb/s, in², psia and °R (American Machinist, 1906),
    is 0.3 % below it.

    Examples
    --------
    >>> round(1e3 * float(orifice_flow(8e5, 1e5, 1e-6)), 2)  # L/s through 1 mm²
    1.59
    """
    p1, p2, a, t = (np.asarray(value, float) for value in (upstream, downstream, area, temperature))
    k = HEAT_CAPACITY_RATIO_AIR
    ratio = np.clip(p2 / p1, (2.0 / (k + 1.0)) ** (k / (k - 1.0)), 1.0)
    drop = ratio ** (2.0 / k) - ratio ** ((k + 1.0) / k)
    passed: Array = a * p1 * np.sqrt(2.0 * k / ((k - 1.0) * GAS_CONSTANT_AIR * t) * drop) / FREE_AIR_DENSITY
    return passed


def temperature_after_fill(
    before: ArrayLike,
    after: ArrayLike,
    temperature: ArrayLike = REFERENCE_TEMPERATURE,
    supply: ArrayLike = REFERENCE_TEMPERATURE,
) -> Array:
    """Return the temperature of air in a vessel that was filled so fast that it lost no heat. [K]

    Parameters
    ----------
    before, after : array_like
        Absolute pressures of the vessel. [Pa]
    temperature, supply : array_like
        Of the air in it before, and of the air that fills it. [K]

    Notes
    -----
    p2 / T2 = (p2 - p1) / (k T_supply) + p1 / T1: energy of an ideal gas that flows into a rigid vessel (Çengel and
    Boles, Thermodynamics, 8th ed., sec. 5-5). Cooled to T_supply again it is at p2 T_supply / T2.

    Examples
    --------
    >>> round(float(temperature_after_fill(1.013e5, 7.013e5)) - 273.15)
    115
    """
    p1, p2, t1, ts = (np.asarray(value, float) for value in (before, after, temperature, supply))
    warm: Array = p2 / ((p2 - p1) / (HEAT_CAPACITY_RATIO_AIR * ts) + p1 / t1)
    return warm


def tube_conductance(length: ArrayLike, bore: ArrayLike) -> tuple[Array, Array]:
    """Return the sonic conductance C [m³/(s·Pa)] and critical ratio b [-] of a plain tube.

    Parameters
    ----------
    length, bore : array_like
        Of the tube. [m]

    Raises
    ------
    Refusal
        If one is not > 0.

    Notes
    -----
    C = 0.029 d² / √(L / d^1.25 + 510), b = 474 C / d², all in SI: the approximation for plastic tube that goes with
    ISO 6358 (P. Beater, Pneumatic Drives, Springer 2007; from memory).

    Examples
    --------
    >>> c, b = tube_conductance(1.0, 0.004)
    >>> round(float(c) * 1e8, 2), round(float(b), 2)  # L/(s·bar)
    (1.2, 0.35)
    """
    require_positive(("length of the line", length, "m"), ("bore of the line", bore, "m"))
    long, d = np.asarray(length, float), np.asarray(bore, float)
    conductance: Array = TUBE_LOSS * d**2 / np.sqrt(long / d**1.25 + TUBE_ENDS)
    return conductance, TUBE_RATIO * conductance / d**2


def in_series(conductance: ArrayLike, critical_ratio: ArrayLike) -> tuple[Array, Array]:
    """Return C [m³/(s·Pa)] and b [-] of components one after the other, along the first axis of both.

    Notes
    -----
    1 / C³ = Σ 1 / C_i³ and b = 1 - C² Σ (1 - b_i) / C_i² (W. Eckersten's rule, as P. Beater gives it, Pneumatic Drives,
    Springer 2007; from memory). Against the pressures between two components worked out flow by flow it is off by a
    tenth at the most; a test holds it to that.

    Examples
    --------
    >>> c, b = in_series([1e-8, 2e-8], [0.3, 0.3])
    >>> round(float(c) * 1e8, 3), round(float(b), 3)
    (0.961, 0.191)
    """
    each, ratios = np.asarray(conductance, float), np.asarray(critical_ratio, float)
    require_positive(("sonic conductance", each, "m³/(s·Pa)"))
    whole: Array = np.sum(each**-3.0, axis=0) ** (-1.0 / 3.0)
    return whole, 1.0 - whole**2 * np.sum((1.0 - ratios) / each**2, axis=0)


def receiver_pressure(pressure: ArrayLike, volume: ArrayLike, taken: ArrayLike) -> Array:
    """Return the absolute pressure of a receiver at 20 °C from which free air was taken, < 0 put in. [Pa]

    Parameters
    ----------
    pressure, volume : array_like
        Absolute pressure before [Pa], volume [m³].
    taken : array_like
        Free air. [m³]

    Notes
    -----
    p2 = p1 - 100 kPa · V_taken / V: mass balance of an ideal gas at one temperature.

    Examples
    --------
    >>> round(float(receiver_pressure(8e5, 0.04, 0.080)))  # 40 L that give 80 L
    600000
    """
    p, v, given = (np.asarray(value, float) for value in (pressure, volume, taken))
    left: Array = p - FREE_AIR_PRESSURE * given / v
    return left


@dataclass(frozen=True, eq=False)
class Compressor:
    """What a compressor delivers against pressure.

    Attributes
    ----------
    pressures : gauge, strictly rising, shape (n,), n ≥ 2 [Pa]
    deliveries : free air at each, at sea level, shape (n,) [m³/s]
    ambient : absolute pressure of the air it draws in [Pa]

    Raises
    ------
    Refusal
        If the pressures do not rise or a delivery is not > 0.

    Notes
    -----
    Straight between the points. Higher up it fills its cylinders with thinner air: delivery × ambient / 101,325 Pa at
    the same gauge pressure (our choice: a piston compressor loses somewhat more, as its pressure ratio grows too).
    """

    pressures: Array
    deliveries: Array
    ambient: float = STANDARD_PRESSURE

    def __post_init__(self) -> None:
        """Check the chart against itself."""
        require_positive(
            ("step between pressures of delivery", np.diff(self.pressures), "Pa"),
            ("delivery", self.deliveries, "m³/s"),
            ("ambient pressure", self.ambient, "Pa"),
        )

    def delivery(self, gauge: ArrayLike) -> Array:
        """Return the free air delivered at a gauge pressure; below the chart its first point, which is less. [m³/s]

        Raises
        ------
        Refusal
            If the chart does not reach up to the pressure.

        Examples
        --------
        >>> pump = Compressor(np.array([0.0, 10e5]), np.array([9e-4, 4e-4]))
        >>> float(pump.delivery(5e5))
        0.00065
        """
        p, high = np.asarray(gauge, float), float(self.pressures[-1])
        if not (p <= high + PRESSURE_SLACK).all():
            rule = f"the delivery chart must reach the pressure, it goes up to {high:g} Pa"
            raise Refusal(rule, f"{p.max():g} Pa", "add the delivery there to the chart")
        return np.asarray(np.interp(p, self.pressures, self.deliveries) * (self.ambient / STANDARD_PRESSURE), float)

    def pump_up_time(self, volume: float, start: float, end: float) -> float:
        """Return how long it runs to bring a volume from one gauge pressure to a higher one. [s]

        Parameters
        ----------
        volume : float
            Of all that it fills. [m³]
        start, end : float
            Gauge pressures; the time is 0 where `end` is not above `start`. [Pa]

        Notes
        -----
        t = V / 100 kPa · ∫ dp / Q(p); in closed form between two points of the chart, where Q is straight:
        Δp ln(Q2 / Q1) / (Q2 - Q1).

        Examples
        --------
        >>> pump = Compressor(np.array([0.0, 10e5]), np.array([5e-4, 5e-4]))
        >>> round(pump.pump_up_time(0.05, 0.0, 7e5), 6)  # 350 L of free air at 0.5 L/s
        700.0
        """
        if not end > start:
            return 0.0
        inside = self.pressures[(self.pressures > start) & (self.pressures < end)]
        points = np.array([start, *inside, end])
        q = self.delivery(points)
        steps = np.diff(points) / _log_mean(q[:-1], q[1:])
        return float(volume / FREE_AIR_PRESSURE * steps.sum())


def _log_mean(one: Array, other: Array) -> Array:
    """Return the logarithmic mean of two values > 0: (b - a) / ln(b / a), or their mean where they are alike."""
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = (other - one) / np.log(other / one)
    alike = np.abs(other - one) < 1e-6 * one
    return np.where(alike, (one + other) / 2.0, mean)
