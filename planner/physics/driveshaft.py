"""Universal joints: the angles a driveshaft works at, and how evenly it turns what it drives."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from planner.errors import Refusal
from planner.physics.linkage import angle_between
from planner.physics.validation import Array, require_finite


def working_angles(directions: ArrayLike) -> Array:
    """Return the angle at which each joint works, shape (..., n - 1). [rad]

    Parameters
    ----------
    directions : array_like, shape (..., n, 3)
        Of the shafts one behind the other, from the one that drives; unit vectors.

    Raises
    ------
    Refusal
        If there are fewer than two shafts.

    Examples
    --------
    >>> working_angles([[-1.0, 0.0, 0.0], [-0.8, 0.0, -0.6]]).round(4).tolist()
    [0.6435]
    """
    shafts = _shafts(directions)
    return angle_between(shafts[..., :-1, :], shafts[..., 1:, :])


def residual_angle(directions: ArrayLike) -> Array:
    r"""Return the angle of the one joint that would turn the last shaft as unevenly as all do, shape (...). [rad]

    Parameters
    ----------
    directions : array_like, shape (..., n, 3)
        Of the shafts one behind the other, from the one that drives; unit vectors. The yokes at both ends of each
        shaft between are in line.

    Raises
    ------
    Refusal
        If there are fewer than two shafts.

    Notes
    -----
    A joint at a small angle β turns its second shaft ahead and back by :math:`\tfrac14\beta^2\sin 2\theta`, θ from the
    plane of the bend; a bend in a plane turned by α shifts θ by α, so the joint counts as :math:`\beta^2 e^{2i\alpha}`.
    With yokes in line each joint meets the next a quarter turn on, so that signs change from joint to joint:
    :math:`\beta_r = |\sum_k (-1)^k \beta_k^2 e^{2i\alpha_k}|^{1/2}`. Equal angles of parallel end shafts cancel. Next
    order: :math:`\beta^4`; under 1 % of it to 10°.

    References
    ----------
    .. [1] Universal Joint and Driveshaft Design Manual, SAE AE-7, 1979, sec. 3.1, "multiple joint arrangements" (from
       memory).

    Examples
    --------
    >>> down = [-np.cos(0.1), 0.0, -np.sin(0.1)]
    >>> round(float(residual_angle([[-1, 0, 0], down, [-1, 0, 0]])), 9)
    0.0
    >>> round(float(residual_angle([[-1, 0, 0], down])), 9)
    0.1
    """
    shafts = _shafts(directions)
    axis = np.cross(shafts[..., :-1, :], shafts[..., 1:, :])
    across = axis[..., 1] + 1j * axis[..., 2]
    size = np.abs(across)
    bend = working_angles(shafts) * np.where(size > 0, across / np.where(size > 0, size, 1.0), 0.0)
    signs = (-1.0) ** np.arange(bend.shape[-1])
    left: Array = np.sqrt(np.abs((signs * bend**2).sum(axis=-1)))
    return left


def speed_ratio(angle: ArrayLike, turned: ArrayLike) -> Array:
    r"""Return the speed of a joint's second shaft over that of its first, shape (...). [-]

    Parameters
    ----------
    angle : array_like
        At which the joint works, within ± π/2. [rad]
    turned : array_like, a shape that broadcasts
        Of the first shaft, from where its yoke lies in the plane of the bend. [rad]

    Raises
    ------
    Refusal
        If an angle is a right angle or more: the joint does not turn there.

    Notes
    -----
    :math:`\cos\beta / (1 - \sin^2\beta \cos^2\theta)` [1]_.

    References
    ----------
    .. [1] J. E. Shigley and J. J. Uicker, Theory of Machines and Mechanisms, McGraw-Hill, 1980, ch. 3 (from memory).

    Examples
    --------
    >>> speed_ratio(0.3, [0.0, np.pi / 2]).round(4).tolist()
    [1.0468, 0.9553]
    """
    bend, theta = np.asarray(angle, float), np.asarray(turned, float)
    require_finite(("angle of a joint", bend, "rad"))
    if not (np.abs(bend) < np.pi / 2).all():
        raise Refusal("angle of a joint must be under 90°", f"{np.abs(bend).max():g} rad", "check the joint's place")
    ratio: Array = np.cos(bend) / (1.0 - np.sin(bend) ** 2 * np.cos(theta) ** 2)
    return ratio


def _shafts(directions: ArrayLike) -> Array:
    """Return directions of two shafts or more as an array."""
    shafts = np.asarray(directions, float)
    if shafts.ndim < 2 or shafts.shape[-1] != 3 or shafts.shape[-2] < 2:
        raise Refusal("shafts must have shape (..., n, 3), n >= 2", f"{shafts.shape}", "give one direction a shaft")
    return shafts
