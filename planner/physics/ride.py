"""How fast the body bounces on its springs."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from planner.physics.validation import Array, require_positive


def ride_rate(wheel_rate: ArrayLike, tyre_rate: ArrayLike) -> Array:
    r"""Return the rate that a body feels: its springs, at the wheel, in series with the tyres.

    Parameters
    ----------
    wheel_rate : array_like
        Rate of the springs at the wheel. [N/m]
    tyre_rate : array_like, a shape that broadcasts
        Rate of the tyres under them. [N/m]

    Returns
    -------
    ndarray
        :math:`k_w k_t / (k_w + k_t)`. [N/m]

    Raises
    ------
    Refusal
        If a rate is not > 0.

    Notes
    -----
    Gillespie, Fundamentals of Vehicle Dynamics, ch. 5, "ride rate" (from memory).

    Examples
    --------
    >>> float(ride_rate(30e3, 150e3))
    25000.0
    """
    springs, tyres = np.asarray(wheel_rate, float), np.asarray(tyre_rate, float)
    require_positive(("wheel rate", springs, "N/m"), ("tyre rate", tyres, "N/m"))
    rate: Array = springs * tyres / (springs + tyres)
    return rate


def bounce_frequency(wheel_rate: ArrayLike, sprung_mass: ArrayLike) -> Array:
    r"""Return the undamped bounce frequency of a mass on springs.

    Parameters
    ----------
    wheel_rate : array_like
        Rate at the wheel of all springs that carry the mass, tyres in series: see `ride_rate`. [N/m]
    sprung_mass : array_like, a shape that broadcasts
        Mass they carry. [kg]

    Returns
    -------
    ndarray
        Frequency. [Hz]

    Raises
    ------
    Refusal
        If a rate or a mass is not > 0.

    Notes
    -----
    :math:`f = \sqrt{k/m} / 2\pi`: OpenStax, College Physics, sec. 16.3.

    Examples
    --------
    >>> round(float(bounce_frequency(6.53e4, 900.0)), 2)
    1.36
    """
    k, m = np.asarray(wheel_rate, float), np.asarray(sprung_mass, float)
    require_positive(("wheel rate", k, "N/m"), ("sprung mass", m, "kg"))
    frequency: Array = np.sqrt(k / m) / (2.0 * np.pi)
    return frequency
