"""How fast the body bounces on its springs."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from planner.physics.checks import Array, require_positive


def bounce_frequency(wheel_rate: ArrayLike, sprung_mass: ArrayLike) -> Array:
    r"""Return the undamped bounce frequency of a mass on springs.

    Parameters
    ----------
    wheel_rate : array_like
        Rate at the wheel of all springs that carry the mass; tyres taken as stiff. [N/m]
    sprung_mass : array_like, a shape that broadcasts
        Mass they carry. [kg]

    Returns
    -------
    ndarray
        Frequency. [Hz]

    Raises
    ------
    ValueError
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
