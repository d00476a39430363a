"""Pressure of the standard atmosphere."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from planner.errors import Refusal
from planner.physics.constants import STANDARD_PRESSURE
from planner.physics.validation import Array

LOWEST_ALTITUDE, HIGHEST_ALTITUDE = -500.0, 11_000.0  # [m] the troposphere of ISO 2533, from below sea level


def standard_pressure(altitude: ArrayLike) -> Array:
    """Return the absolute pressure of the standard atmosphere.

    Parameters
    ----------
    altitude : array_like
        Geopotential altitude above mean sea level, -500 to 11,000. [m]

    Returns
    -------
    ndarray
        Absolute pressure. [Pa]

    Raises
    ------
    Refusal
        If an altitude is outside the troposphere (NaN is).

    Notes
    -----
    p = 101325 (1 - 2.25577e-5 z)^5.25588: ASHRAE Handbook, Fundamentals, 2017, ch. 1, eq. 3, which is the
    troposphere layer of ISO 2533:1975 (288.15 K, 6.5 K/km).

    Examples
    --------
    >>> round(float(standard_pressure(1500.0)))
    84556
    """
    z = np.asarray(altitude, float)
    if not np.all((z >= LOWEST_ALTITUDE) & (z <= HIGHEST_ALTITUDE)):
        rule = f"altitude must lie between {LOWEST_ALTITUDE:g} and {HIGHEST_ALTITUDE:g} m"
        raise Refusal(rule, f"{np.min(z):g} to {np.max(z):g} m", "the formula holds there only")
    pressure: Array = STANDARD_PRESSURE * (1.0 - 2.25577e-5 * z) ** 5.25588
    return pressure
