"""Flow of compressed air: what always holds, and CoolProp as a judge of the ideal gas."""

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.integrate import quad
from scipy.optimize import brentq

from planner.physics.air_flow import (
    FREE_AIR_DENSITY,
    Compressor,
    flow,
    free_air,
    in_series,
    orifice_flow,
    receiver_pressure,
    temperature_after_fill,
    tube_conductance,
)

CHART = Compressor(np.array([0.0, 7e5, 10.5e5]), np.array([8.5e-4, 5.2e-4, 3.8e-4]))
pressures = st.floats(1e5, 15e5)
ratios = st.floats(0.0, 0.6)
conductances = st.floats(1e-9, 1e-7)


@given(pressures, pressures, conductances, ratios)
def test_flow_goes_down_the_pressure_only_and_is_never_more_than_choked(p1, p2, c, b):
    passed = float(flow(p1, p2, c, b))
    assert 0.0 <= passed <= c * p1 * (1 + 1e-12)
    assert (passed == 0.0) == (p2 >= p1) or p2 > p1 * (1 - 1e-9)


@given(pressures, pressures, pressures, conductances, ratios)
def test_less_back_pressure_never_passes_less(p1, p2, p3, c, b):
    less, more = sorted((p2, p3))
    assert flow(p1, less, c, b) >= flow(p1, more, c, b)


@given(st.floats(0.1, 15.0), st.floats(0.1, 15.0), st.floats(0.003, 0.012))
def test_a_longer_tube_never_passes_more(one, other, bore):
    short, long = (tube_conductance(length, bore) for length in sorted((one, other)))
    assert long[0] <= short[0]
    assert long[1] <= short[1]
    assert 0.0 < short[1] < 1.0


@given(st.lists(st.tuples(conductances, ratios), min_size=2, max_size=4))
def test_components_in_series_pass_less_than_each_of_them_in_any_order(each):
    c, b = np.array(each).T
    whole, ratio = in_series(c, b)
    assert whole < c.min()
    assert_allclose(in_series(c[::-1], b[::-1]), (whole, ratio), rtol=1e-9)
    assert ratio < 1.0


def in_series_flow_by_flow(p1, p2, c, b):
    """Return the flow through two components from the pressure between them at which both pass the same."""
    between = brentq(lambda p: flow(p1, p, c[0], b[0]) - flow(p, p2, c[1], b[1]), p2, p1, xtol=1e-3)
    return float(flow(p1, between, c[0], b[0]))


@pytest.mark.parametrize("size", [0.3, 1.0, 3.0])
@pytest.mark.parametrize("back", [1.0, 3.0, 5.0, 7.0, 7.8])
def test_the_rule_for_series_is_near_the_flows_themselves(size, back):
    c, b = np.array([1e-8, size * 1e-8]), np.array([0.3, 0.35])
    assert_allclose(flow(8e5, back * 1e5, *in_series(c, b)), in_series_flow_by_flow(8e5, back * 1e5, c, b), rtol=0.1)


@pytest.mark.parametrize("celsius", [-20.0, 20.0, 60.0])
@pytest.mark.parametrize("bar", [1.0, 5.0, 10.0, 15.0])
def test_the_ideal_gas_is_near_real_air(celsius, bar):
    # 1.3 % at the most, at -20 °C and 15 bar: far below what is known of a tank's volume
    density = PropsSI("D", "P", bar * 1e5, "T", celsius + 273.15, "Air")
    held = density / PropsSI("D", "P", 1e5, "T", 293.15, "Air")
    assert_allclose(free_air(bar * 1e5, 1.0, celsius + 273.15), held, rtol=0.013)


def test_density_of_free_air_is_that_of_humid_air_at_its_reference():
    from CoolProp.HumidAirProp import HAPropsSI

    volume, ratio = (HAPropsSI(what, "T", 293.15, "P", 100e3, "R", 0.65) for what in ("Vda", "W"))
    assert_allclose((1.0 + ratio) / volume, FREE_AIR_DENSITY, rtol=0.003)  # the standard's is 0.25 % high


@given(pressures, pressures, st.floats(1e-8, 1e-4))
def test_a_hole_passes_air_down_the_pressure_only_and_twice_the_hole_twice_as_much(p1, p2, area):
    passed = float(orifice_flow(p1, p2, area))
    assert (passed == 0.0) == (p2 >= p1)
    assert_allclose(orifice_flow(p1, p2, 2 * area), 2 * passed)
    assert passed <= float(orifice_flow(p1, 1.0, area)) * (1 + 1e-12)


@given(pressures, pressures)
def test_a_fast_fill_warms_air_and_never_beyond_what_flows_in_would_be_alone(p1, p2):
    low, high = sorted((p1, p2))
    assert 293.15 * (1 - 1e-12) <= float(temperature_after_fill(low, high)) <= 1.4 * 293.15


@given(pressures, st.floats(1e-3, 0.5), st.floats(0.0, 0.5))
def test_a_receiver_and_what_it_gave_are_as_much_air_as_before(pressure, volume, share):
    given_away = share * float(free_air(pressure, volume))
    left = free_air(receiver_pressure(pressure, volume, given_away), volume)
    assert_allclose(left + given_away, free_air(pressure, volume), rtol=1e-12)


@given(st.tuples(*[st.floats(0.0, 10.5e5)] * 3))
def test_pumping_up_takes_as_long_in_one_go_as_in_two(ends):
    low, middle, high = sorted(ends)
    two = CHART.pump_up_time(0.04, low, middle) + CHART.pump_up_time(0.04, middle, high)
    assert_allclose(CHART.pump_up_time(0.04, low, high), two, rtol=1e-6, atol=1e-6)


def test_pump_up_time_is_the_integral_over_pressure():
    def slowness(pressure):
        return 0.04 / 100e3 / float(CHART.delivery(pressure))

    by_steps, _ = quad(slowness, 2e5, 10e5, points=[7e5])
    assert_allclose(CHART.pump_up_time(0.04, 2e5, 10e5), by_steps, rtol=1e-9)


def test_thin_air_takes_longer_to_pump():
    high = Compressor(CHART.pressures, CHART.deliveries, ambient=75_600.0)
    assert_allclose(high.pump_up_time(0.04, 2e5, 9e5), CHART.pump_up_time(0.04, 2e5, 9e5) * 101_325 / 75_600)


def test_nothing_is_read_above_the_chart():
    with pytest.raises(ValueError, match=r"must reach the pressure, it goes up to 1\.05e\+06 Pa"):
        CHART.delivery(11e5)
    with pytest.raises(ValueError, match="must be > 0"):
        Compressor(np.array([5e5, 0.0]), np.array([1e-3, 1e-3]))
    with pytest.raises(ValueError, match="bore of the line must be > 0 m"):
        tube_conductance(1.0, 0.0)
