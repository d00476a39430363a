"""Hyper-Pneumatics, an open teaching text: tyres and air suspension, air as a spring, sizing.

Ambient pressure 1.013 bar throughout. Tolerance: half the last printed digit.
"""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import solve_ivp

from planner.physics import levelling
from planner.physics.air_flow import FREE_AIR_PRESSURE, flow, temperature_after_fill
from planner.physics.air_spring import Bag, spring_rate
from planner.physics.constants import STANDARD_GRAVITY
from planner.physics.equilibrium import SealedAir
from planner.physics.ride import bounce_frequency
from planner.physics.truck_model import Rig

from .comparison import Compare

BAR, AMBIENT = 1e5, 1.013e5  # [Pa]
CELSIUS = 273.15  # [K] at 0 °C

BagMaker = Callable[..., Bag]
RigMaker = Callable[..., Rig]


# "Tyres and air suspension": 250 cm² carry 15 kN at 6 bar gauge.


def test_15_kn_on_250_cm2_take_6_bar(compare: Compare, make_bag: BagMaker, make_rig: RigMaker) -> None:
    rig = make_rig(make_bag(250e-4, 10e-3), corner_load=15e3)
    pressure = levelling.level(rig, rig.kerb, np.zeros(3)).pressure / BAR
    assert_allclose(pressure, pressure[0, 0])
    compare("pressure for 15 kN on 250 cm²", 6, pressure[0, 0], "bar", 6e-9)  # exact: 15000 / 0.025


# "A bus, empty and full": 300 cm², 10 L, n = 1.3; 9 kN at 3 bar gauge, 21 kN at 7 bar gauge.


def bus(gauge_bar: float) -> float:
    """Return the frequency [Hz] of the bus's air spring at a gauge pressure [bar]."""
    gauge = gauge_bar * BAR
    rate = spring_rate(gauge, 300e-4, 10e-3, area_slope=0.0, exponent=1.3, ambient_pressure=AMBIENT)
    return float(bounce_frequency(rate, gauge * 300e-4 / STANDARD_GRAVITY))


@pytest.mark.parametrize(
    ("gauge_bar", "frequency", "half_digit"),
    [(3, 1.14, 0.005), (7, 1.05, 0.005)],
)
def test_bus_frequency(compare: Compare, gauge_bar: float, frequency: float, half_digit: float) -> None:
    compare(f"bounce of a bus at {gauge_bar} bar", frequency, bus(gauge_bar), "Hz", half_digit)


@pytest.mark.parametrize(("gauge_bar", "load"), [(3, 9e3), (7, 21e3)])
def test_bus_pressure(compare: Compare, make_bag: BagMaker, make_rig: RigMaker, gauge_bar: float, load: float) -> None:
    rig = make_rig(make_bag(300e-4, 10e-3), corner_load=load)
    pressure = levelling.level(rig, rig.kerb, np.zeros(3)).pressure / BAR
    assert_allclose(pressure, pressure[0, 0])
    compare(f"pressure for {load / 1e3:g} kN on 300 cm²", gauge_bar, pressure[0, 0], "bar", gauge_bar * 1e-9)


def test_steel_sized_for_the_full_bus_is_hard_under_the_empty_one(compare: Compare) -> None:
    full, empty = 21e3 / STANDARD_GRAVITY, 9e3 / STANDARD_GRAVITY
    steel = full * (2 * np.pi * 1.05) ** 2  # sized for the printed 1.05 Hz
    compare("bounce of an empty bus on steel for a full one", 1.60, bounce_frequency(steel, empty), "Hz", 0.005)


# "Air as a spring": 7 bar absolute, 200 cm³, 20 cm², n = 1.4.


def test_rate_of_a_small_air_spring(compare: Compare) -> None:
    rate = spring_rate(7 * BAR - AMBIENT, 20e-4, 200e-6, area_slope=0.0, exponent=1.4, ambient_pressure=AMBIENT)
    compare("rate of 200 cm³ of air on 20 cm²", 19.6, rate / 1e3, "N/mm", 0.05)


def test_bulk_modulus_at_6_bar_is_0_98_mpa(compare: Compare) -> None:
    # per unit of area and volume the rate is n p_abs
    rate = spring_rate(6 * BAR, 1.0, 1.0, area_slope=0.0, exponent=1.4, ambient_pressure=AMBIENT)
    compare("bulk modulus of air at 6 bar", 0.98, rate / 1e6, "MPa", 0.005)


# Temperature: gas that is shut in at one height.


def gauge_after(
    make_bag: BagMaker, make_rig: RigMaker, gauge_bar: float, from_celsius: float, to_celsius: float
) -> float:
    """Return the gauge pressure [bar] of gas shut in at one temperature, at another."""
    rig = make_rig(make_bag(0.03, 0.01))
    height = rig.corners(rig.kerb, np.zeros(4)).spring_height
    air = SealedAir.shut(
        rig,
        height,
        np.full((2, 2), gauge_bar * BAR),
        ambient=np.asarray(AMBIENT),
        temperature=np.asarray(from_celsius + CELSIUS),
        ambient_now=np.asarray(AMBIENT),
        temperature_now=np.asarray(to_celsius + CELSIUS),
    )
    pressure = air.pressure(rig, height)
    assert_allclose(pressure, pressure[0, 0])
    return float(pressure[0, 0]) / BAR


@pytest.mark.parametrize(
    ("gauge", "from_celsius", "to_celsius", "printed"),
    [(2.3, 20, -10, 1.96), (2.3, 20, 60, 2.75), (2.0, 20, 50, 2.31)],
)
def test_a_cold_morning_and_a_hot_road(
    compare: Compare,
    make_bag: BagMaker,
    make_rig: RigMaker,
    gauge: float,
    from_celsius: float,
    to_celsius: float,
    printed: float,
) -> None:
    now = gauge_after(make_bag, make_rig, gauge, from_celsius, to_celsius)
    compare(f"{gauge} bar shut in at {from_celsius} °C, at {to_celsius} °C", printed, now, "bar", 0.005)


def test_cooling_after_a_fast_fill_looks_like_a_leak(compare: Compare, make_bag: BagMaker, make_rig: RigMaker) -> None:
    # filled from 1.013 to 7.013 bar absolute without loss of heat it is at 115 °C (114.8 °C before rounding)
    cooled = gauge_after(make_bag, make_rig, 6.0, 114.8, 20)
    compare("6 bar after a fast fill, cooled to 20 °C", 4.29, cooled, "bar", 0.005)
    warm = float(temperature_after_fill(1.013 * BAR, 7.013 * BAR, CELSIUS + 20.0, CELSIUS + 20.0))
    compare("air after a fast fill to 6 bar", 115, warm - CELSIUS, "°C", 0.5)
    compare("the same cooled to 20 °C, absolute", 5.30, 7.013 * (CELSIUS + 20.0) / warm, "bar", 0.005)


# "Function and control": flow through a valve by ISO 6358, L/min of free air. "Sizing": a tank blown down.

LITRE_PER_MINUTE = 1e-3 / 60


@pytest.mark.parametrize(
    ("conductance", "critical", "upstream", "downstream", "printed", "off"),
    [
        (2.0, 0.3, 7.0, 6.8, 238.0, 0.6),  # printed from 237.5
        (3.0, 0.35, 7.013, 1.013, 1262.0, 0.5),
        (3.0, 0.35, 7.013, 6.465, 600.0, 0.5),  # the pressure printed as 6.47 bar
    ],
)
def test_flow_through_a_valve(
    compare: Compare,
    conductance: float,
    critical: float,
    upstream: float,
    downstream: float,
    printed: float,
    off: float,
) -> None:
    passed = flow(upstream * BAR, downstream * BAR, conductance * 1e-3 / BAR, critical) / LITRE_PER_MINUTE
    what = f"flow from {upstream:g} to {downstream:g} bar absolute, C = {conductance:g} L/(s·bar), b = {critical:g}"
    compare(what, printed, passed, "L/min", off)


def test_a_tank_blown_down_is_choked_for_8_6_seconds(compare: Compare) -> None:
    # 50 L at 7 bar gauge, C = 5 L/(s·bar), b = 0.3, until 3.38 bar absolute; the text takes 1.013 bar outside
    volume, start, end = 0.05, 8.013 * BAR, AMBIENT / 0.3

    def fall(_: float, pressure: np.ndarray) -> np.ndarray:
        return -FREE_AIR_PRESSURE / volume * flow(pressure, AMBIENT, 5e-3 / BAR, 0.3)

    def choked(_: float, pressure: np.ndarray) -> float:
        return float(pressure[0] - end)

    choked.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(fall, (0.0, 60.0), [start], events=choked, rtol=1e-9)
    compare("a tank is blown down choked until, absolute", 3.38, end / BAR, "bar", 0.005)
    compare("a tank of 50 L at 7 bar is blown down choked for", 8.6, found.t_events[0][0], "s", 0.05)
