"""Standard atmosphere, bounce frequency and the checks: one law each."""

import numpy as np
import psychrolib
import pytest
from ambiance import Atmosphere
from numpy.testing import assert_allclose

from planner.physics.atmosphere import HIGHEST_ALTITUDE, LOWEST_ALTITUDE, standard_pressure
from planner.physics.ride import bounce_frequency
from planner.physics.validation import require_finite, require_positive


def test_pressure_is_hydrostatic_in_the_standard_lapse():
    # ISO 2533: T = 288.15 - 0.0065 z, dp/dz = -p g / (R T), R = 287.05287 J/(kg·K); by steps of a metre
    z = np.arange(-500.0, 11_001.0)
    hydrostatic = -9.80665 / (287.05287 * (288.15 - 0.0065 * z))
    log_pressure = np.log(standard_pressure(z))
    assert_allclose((log_pressure[2:] - log_pressure[:-2]) / 2.0, hydrostatic[1:-1], rtol=1e-5)


def test_pressure_is_that_of_a_reference_library():
    psychrolib.SetUnitSystem(psychrolib.SI)
    altitudes = np.linspace(-500.0, 11_000.0, 116)
    reference = [psychrolib.GetStandardAtmPressure(float(z)) for z in altitudes]
    assert_allclose(standard_pressure(altitudes), reference, rtol=1e-5)  # it has the exponent to five digits: 5.2559


def test_pressure_is_that_of_the_icao_atmosphere_by_a_second_library():
    # by geometric height, which that library turns into geopotential height as ICAO Doc 7488/3 does
    geometric = np.linspace(-499.0, 10_980.0, 60)
    icao = Atmosphere(geometric)
    assert_allclose(standard_pressure(icao.H), icao.pressure, rtol=2e-6)


def test_pressure_falls_with_height_over_the_whole_range():
    z = np.linspace(LOWEST_ALTITUDE, HIGHEST_ALTITUDE, 1000)
    assert (np.diff(standard_pressure(z)) < 0).all()
    assert standard_pressure(0.0) == 101_325.0


@pytest.mark.parametrize("altitude", [-500.1, 11_000.1, np.nan, [0.0, 12_000.0]])
def test_an_altitude_outside_the_troposphere_is_refused(altitude):
    with pytest.raises(ValueError, match=r"altitude must lie between -500 and 11000 m"):
        standard_pressure(altitude)


def test_frequency_is_that_of_the_oscillator():
    f = bounce_frequency(np.array([[1e4], [4e4]]), np.array([500.0, 2000.0]))
    omega = 2 * np.pi * f
    assert_allclose(omega**2 * np.array([500.0, 2000.0]), np.array([[1e4, 1e4], [4e4, 4e4]]), rtol=1e-13)


@pytest.mark.parametrize(("rate", "mass", "words"), [(0.0, 1.0, "wheel rate"), (1.0, -1.0, "sprung mass")])
def test_no_rate_or_no_mass_has_no_frequency(rate, mass, words):
    with pytest.raises(ValueError, match=f"{words} must be > 0"):
        bounce_frequency(rate, mass)


def test_checks_name_the_first_that_is_wrong():
    require_positive(("a", 1.0, "m"), ("b", [1.0, 2.0], "m"))
    require_finite(("a", 1.0, "m"), ("b", -2.0, "m"))
    with pytest.raises(ValueError, match=r"b must be > 0 m, got -3 m"):
        require_positive(("a", 1.0, "m"), ("b", [1.0, -3.0], "m"), ("c", 0.0, "m"))
    with pytest.raises(ValueError, match=r"b must be > 0 m, got nan m"):
        require_positive(("b", np.nan, "m"))
    with pytest.raises(ValueError, match=r"b must be a finite number of m, got a value that is not"):
        require_finite(("a", 1.0, "m"), ("b", [1.0, np.inf], "m"))
