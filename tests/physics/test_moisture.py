"""Water in compressed air, with psychrolib and CoolProp as judges."""

import psychrolib
import pytest
from CoolProp.HumidAirProp import HAPropsSI
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.physics.moisture import FREE_AIR_DRY_DENSITY, condensed, humidity_ratio, saturation_pressure

temperatures = st.floats(233.15, 333.15)
humidities = st.floats(0.0, 1.0)
pressures = st.floats(1.5e5, 15e5)


@pytest.fixture(autouse=True)
def si():
    psychrolib.SetUnitSystem(psychrolib.SI)


@pytest.mark.parametrize("celsius", range(-60, 101, 10))
def test_saturation_is_that_of_the_reference_library(celsius):
    # the same formula; their change from ice to water is at the triple point, 0.01 K higher
    assert_allclose(saturation_pressure(celsius + 273.15), psychrolib.GetSatVapPres(celsius), rtol=2e-4)


@pytest.mark.parametrize("humidity", [0.1, 0.65, 1.0])
@pytest.mark.parametrize("celsius", [5.0, 20.0, 40.0])
def test_humidity_ratio_is_that_of_both_libraries(celsius, humidity):
    found = humidity_ratio(humidity * saturation_pressure(celsius + 273.15))
    assert_allclose(found, psychrolib.GetHumRatioFromRelHum(celsius, humidity, 101_325.0), rtol=1e-4)
    # real humid air holds up to half a percent more than ideal gases would: the enhancement factor
    assert_allclose(found, HAPropsSI("W", "T", celsius + 273.15, "P", 101_325.0, "R", humidity), rtol=0.006)


def test_dry_part_of_free_air_is_that_of_humid_air():
    assert_allclose(1.0 / HAPropsSI("Vda", "T", 293.15, "P", 100e3, "R", 0.65), FREE_AIR_DRY_DENSITY, rtol=1e-3)


@given(temperatures, humidities, pressures, temperatures)
def test_the_tank_keeps_no_more_than_was_drawn_in(temperature, humidity, pressure, tank):
    kept = condensed(temperature, humidity, pressure, tank)
    assert 0.0 <= kept <= humidity_ratio(humidity * saturation_pressure(temperature))


@given(temperatures, humidities, pressures, pressures, temperatures, temperatures)
def test_more_pressure_and_a_colder_tank_keep_more(temperature, humidity, one, other, tank, tank_too):
    (low, high), (cold, warm) = sorted((one, other)), sorted((tank, tank_too))
    assert condensed(temperature, humidity, high, cold) >= condensed(temperature, humidity, low, warm)


def test_what_makes_no_sense_is_refused():
    with pytest.raises(ValueError, match="humidity must be 0 to 1, got 65: give it as a share"):
        condensed(293.15, 65, 8e5, 293.15)
    with pytest.raises(ValueError, match=r"must lie between 173\.15 and 473\.15 K, got 20 to 20 K: give it in kelvin"):
        saturation_pressure(20.0)
    with pytest.raises(ValueError, match="below that of the air"):
        humidity_ratio(2e5)
