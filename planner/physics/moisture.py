"""Water in compressed air: the vapour drawn in, and what of it the tank turns to water."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from planner.errors import Refusal
from planner.physics.constants import STANDARD_PRESSURE
from planner.physics.validation import Array

MASS_RATIO: Final = 0.621945  # [-] molar mass of water over that of dry air: ASHRAE 2017, ch. 1, eq. 20
FREE_AIR_DRY_DENSITY: Final = 1.170  # [kg/m³] dry air in free air by ISO 8778: (100 kPa - 65 % · 2339 Pa) / (R T)
FREEZING: Final = 273.15  # [K] over ice below, over water above
COLDEST, HOTTEST = 173.15, 473.15  # [K] of the formula
# ASHRAE Handbook, Fundamentals, 2017, ch. 1, eq. 5 (ice) and 6 (water), after R. W. Hyland and A. Wexler 1983:
# ln p = c0 / T + c1 + c2 T + c3 T² + c4 T³ + c5 T⁴ + c6 ln T
OVER_ICE: Final = (-5.6745359e3, 6.3925247, -9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13, 4.1635019)
OVER_WATER: Final = (-5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 0.0, 6.5459673)


def saturation_pressure(temperature: ArrayLike) -> Array:
    """Return the pressure of water vapour that air can hold at a temperature [K]. [Pa]

    Raises
    ------
    Refusal
        If a temperature is outside -100 to 200 °C (NaN is).

    References
    ----------
    ASHRAE Handbook, Fundamentals, 2017, ch. 1, eq. 5 and 6, after R. W. Hyland and A. Wexler.

    Examples
    --------
    >>> round(float(saturation_pressure(298.15)), 1)
    3169.2
    """
    t = np.asarray(temperature, float)
    if not np.all((t >= COLDEST) & (t <= HOTTEST)):
        rule = f"temperature of moist air must lie between {COLDEST:g} and {HOTTEST:g} K"
        raise Refusal(rule, f"{np.min(t):g} to {np.max(t):g} K", "give it in kelvin")
    return np.where(t < FREEZING, _by_formula(t, OVER_ICE), _by_formula(t, OVER_WATER))


def _by_formula(t: Array, c: tuple[float, ...]) -> Array:
    """Return the pressure by the seven numbers of the formula. [Pa]"""
    powers = c[1] + t * (c[2] + t * (c[3] + t * (c[4] + t * c[5])))
    pressure: Array = np.exp(c[0] / t + powers + c[6] * np.log(t))
    return pressure


def humidity_ratio(vapour_pressure: ArrayLike, pressure: ArrayLike = STANDARD_PRESSURE) -> Array:
    """Return the water vapour in air by the mass of its dry part, 0.622 e / (p - e). [kg/kg]

    Parameters
    ----------
    vapour_pressure, pressure : array_like
        Of the vapour, and of all the air, absolute. [Pa]

    References
    ----------
    ASHRAE Handbook, Fundamentals, 2017, ch. 1, eq. 20.

    Examples
    --------
    >>> round(float(humidity_ratio(0.5 * saturation_pressure(293.15))), 4)
    0.0073
    """
    e, p = np.asarray(vapour_pressure, float), np.asarray(pressure, float)
    if not np.all((e >= 0.0) & (e < p)):
        raise Refusal("vapour pressure must be >= 0 and below that of the air", f"{np.max(e):g} Pa", "check both")
    ratio: Array = MASS_RATIO * e / (p - e)
    return ratio


def condensed(
    temperature: ArrayLike,
    humidity: ArrayLike,
    tank_pressure: ArrayLike,
    tank_temperature: ArrayLike,
    ambient_pressure: ArrayLike = STANDARD_PRESSURE,
) -> Array:
    """Return the water that the tank keeps of the air that is pumped into it, by mass of dry air. [kg/kg]

    Parameters
    ----------
    temperature, humidity, ambient_pressure : array_like
        Of the air drawn in [K, 0 to 1, Pa].
    tank_pressure, tank_temperature : array_like
        Absolute pressure [Pa] and temperature [K] to which the air comes in the tank.

    Raises
    ------
    Refusal
        If the humidity is not 0 to 1.

    Notes
    -----
    What is drawn in less what saturated air holds there, nothing where that is more. Liquid or ice alike.

    Examples
    --------
    >>> round(float(condensed(293.15, 0.65, 10e5, 293.15)), 4)
    0.008
    """
    rh = np.asarray(humidity, float)
    if not np.all((rh >= 0.0) & (rh <= 1.0)):
        raise Refusal("humidity must be 0 to 1", f"{np.max(rh):g}", "give it as a share, 0.65 for 65 %")
    taken = humidity_ratio(rh * saturation_pressure(temperature), ambient_pressure)
    kept: Array = taken - humidity_ratio(saturation_pressure(tank_temperature), tank_pressure)
    return np.maximum(kept, 0.0)
