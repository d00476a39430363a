"""The trailer as a lever: what lies on its deck, how it pitches, what pitch does to axles that are not equalised."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from planner.errors import Refusal
from planner.physics.constants import STANDARD_GRAVITY
from planner.physics.validation import Array, require_positive

AIR_SPRUNG: Final = 1.8  # [m/s²] vertical acceleration at the coupling of a truck on air, or as good, and
OTHER_SPRUNG: Final = 2.4  # of any other


class Deck(NamedTuple):
    """What the items of a deck add up to: gross weight [kg], share of it on the coupling and on the left [-]."""

    gross: Array
    tongue_ratio: Array
    left_share: Array


def deck(weight: ArrayLike, ahead: ArrayLike, left: ArrayLike, axle_distance: ArrayLike, track: ArrayLike) -> Deck:
    """Return what items on a deck add up to; the empty trailer is one of them.

    Parameters
    ----------
    weight, ahead, left : array_like, shape (..., n)
        Weight of each item [kg], its place ahead of the axle centre and left of the centre line [m].
    axle_distance, track : array_like, shape (...)
        Coupling to axle centre, wheel to wheel. [m]

    Returns
    -------
    Deck
        Moments about the axle centre: ratio Σ w a / (L_t Σ w); about the centre line: left share 1/2 + Σ w y / (t Σ w).

    Raises
    ------
    Refusal
        If a weight, the axle distance or the track is not > 0.

    Examples
    --------
    >>> found = deck([500.0, 1500.0], [1.2, 0.4], [0.0, 0.1], 5.0, 1.8)
    >>> float(found[0])
    2000.0
    """
    w, a, y = (np.asarray(v, float) for v in (weight, ahead, left))
    require_positive(("weight of an item", w, "kg"), ("axle distance", axle_distance, "m"), ("track", track, "m"))
    gross = w.sum(axis=-1)
    ratio = (w * a).sum(axis=-1) / (np.asarray(axle_distance, float) * gross)
    return Deck(gross, ratio, 0.5 + (w * y).sum(axis=-1) / (np.asarray(track, float) * gross))


def wheel_sides(axle_load: ArrayLike, gross: ArrayLike, left_share: ArrayLike) -> Array:
    """Return the load on a trailer's left and right wheels when its coupling passes no side moment.

    Parameters
    ----------
    axle_load : array_like, shape (...)
        Load on all its axles. [N]
    gross : array_like, shape (...)
        Its whole load, on coupling and axles. [N]
    left_share : array_like, shape (...)
        Share of its weight left of centre, (s - 1/2) t the place of its centre of mass. [-]

    Returns
    -------
    ndarray, shape (..., 2)
        Moments about the centre line, where the coupling stands: A / 2 ± G (s - 1/2). A coupling on the centre line
        bears part of the weight and none of the moment, so the wheels' share is further from even than the weight's.

    Examples
    --------
    >>> wheel_sides(9000.0, 10000.0, 0.52).tolist()
    [4700.0, 4300.0]
    """
    half, off = np.asarray(axle_load, float) / 2, np.asarray(gross, float) * (np.asarray(left_share, float) - 0.5)
    return np.stack([half + off, half - off], axis=-1)


def slide(
    weight: ArrayLike, gross: ArrayLike, ratio: ArrayLike, wanted_ratio: ArrayLike, axle_distance: ArrayLike
) -> Array:
    """Return how far ahead one item must slide for a wanted tongue ratio.

    Parameters
    ----------
    weight : array_like
        Of the item. [kg]
    gross, ratio : array_like
        Weight of the loaded trailer [kg] and its present tongue ratio [-].
    wanted_ratio : array_like
        Tongue ratio to reach. [-]
    axle_distance : array_like
        Coupling to axle centre. [m]

    Returns
    -------
    ndarray
        Distance, ahead positive: (r_wanted - r) W L_t / w, the lever rule solved for the arm. [m]

    Raises
    ------
    Refusal
        If a weight or the axle distance is not > 0.

    Examples
    --------
    >>> round(float(slide(1000.0, 3000.0, 0.10, 0.12, 5.0)), 6)
    0.3
    """
    require_positive(("weight of the item", weight, "kg"), ("gross weight", gross, "kg"))
    require_positive(("axle distance", axle_distance, "m"))
    change = np.asarray(wanted_ratio, float) - np.asarray(ratio, float)
    distance: Array = change * np.asarray(gross, float) * np.asarray(axle_distance, float) / np.asarray(weight, float)
    return distance


class Pitched(NamedTuple):
    """What the pitch of a trailer does.

    pitch : nose down positive (ISO 8855) [rad]
    tongue_change : load gained by the coupling [N]
    axle_change : load gained by each axle, foremost first, shape (..., n) [N]
    """

    pitch: Array
    tongue_change: Array
    axle_change: Array


def pitched(
    rise: ArrayLike,
    axle_distance: ArrayLike,
    axle_places: ArrayLike,
    axle_rate: ArrayLike,
    *,
    weight: ArrayLike = 0.0,
    centre_height: ArrayLike = 0.0,
) -> Pitched:
    r"""Return what a coupling held above or below its level height does to a rigid trailer on sprung axles.

    Parameters
    ----------
    rise : array_like, shape (...)
        Coupling above the height at which the trailer is level. [m]
    axle_distance : array_like, shape (...)
        Coupling to axle centre. [m]
    axle_places : array_like, shape (n,)
        Each axle ahead of the axle centre; they sum to 0. One axle, or axles that an equaliser makes carry the same
        whatever the pitch, are one place, 0. [m]
    axle_rate : array_like, shape (...)
        Rate of one axle's springs and tyres, both sides together. [N/m]
    weight, centre_height : array_like, optional
        Gross load [N] and height of the centre of mass above the axles' springs [m]; 0 leaves its shift out.

    Returns
    -------
    Pitched

    Raises
    ------
    Refusal
        If the axle distance or the rate is not > 0, or the places do not sum to 0.

    Notes
    -----
    Rigid frame, u(x) = u_0 + θ x ahead of the axle centre, nose up positive, u(L_t) the rise. Springs lose k u(x_i);
    forces give ΔT = n k u_0; moments about the axle centre give :math:`ΔT L_t = k θ Σ x_i^2 - W h θ`. Three supports of
    which one is held: Jazar, Vehicle Dynamics, eqs 2.265-2.278, has the same system with three springs.

    Examples
    --------
    >>> round(float(pitched(0.05, 5.0, [0.4, -0.4], 200e3).pitch), 5)
    -0.00994
    """
    x, length, k = np.asarray(axle_places, float), np.asarray(axle_distance, float), np.asarray(axle_rate, float)
    require_positive(("axle distance", length, "m"), ("rate of an axle", k, "N/m"))
    if abs(float(x.sum())) > 1e-9:
        raise Refusal("axle places must sum to 0 m", f"{x.sum():g} m", "count them from their centre")
    stiff = np.sum(x**2) - np.asarray(weight, float) * np.asarray(centre_height, float) / k
    centre_per_angle = stiff / (x.size * length)
    angle = np.asarray(rise, float) / (length + centre_per_angle)
    centre = centre_per_angle * angle
    axle_change = -k[..., None] * (centre[..., None] + angle[..., None] * x)
    return Pitched(-angle, x.size * k * centre, axle_change)


def drawbar_value(truck: ArrayLike, trailer: ArrayLike) -> Array:
    """Return the D-value of a coupling for a drawbar trailer, D = g T R / (T + R). [N]

    Parameters
    ----------
    truck, trailer : array_like
        Permissible weight of the truck, and of the trailer (of a centre-axle trailer: on its axles). [kg]

    Raises
    ------
    Refusal
        If a weight is not > 0.

    Notes
    -----
    UN Regulation No. 55, annex 1 (as quoted by trade pages).

    Examples
    --------
    >>> round(float(drawbar_value(2000.0, 3500.0)) / 1e3, 1)
    12.5
    """
    t, r = np.asarray(truck, float), np.asarray(trailer, float)
    require_positive(("weight of the truck", t, "kg"), ("weight of the trailer", r, "kg"))
    value: Array = STANDARD_GRAVITY * t * r / (t + r)
    return value


def fifth_wheel_value(truck: ArrayLike, trailer: ArrayLike, on_plate: ArrayLike) -> Array:
    """Return the D-value of a fifth wheel, D = 0.6 g T R / (T + R - U). [N]

    Parameters
    ----------
    truck, trailer, on_plate : array_like
        Permissible weight of the truck, with U on it; of the trailer; on the plate. [kg]

    Raises
    ------
    Refusal
        If a weight, or what is left of both less the plate's load, is not > 0.

    Notes
    -----
    UN Regulation No. 55, annex 1 (as quoted in encyclopaedias).

    Examples
    --------
    >>> float(fifth_wheel_value(5000.0, 7000.0, 1200.0).round(1))
    19068.5
    """
    t, r, u = (np.asarray(v, float) for v in (truck, trailer, on_plate))
    require_positive(("weight of the truck", t, "kg"), ("weight of the trailer", r, "kg"))
    require_positive(("weight of truck and trailer less the plate's load", t + r - u, "kg"))
    value: Array = 0.6 * STANDARD_GRAVITY * t * r / (t + r - u)
    return value


def centre_axle_value(on_axles: ArrayLike, deck: ArrayLike, axle_distance: ArrayLike, acceleration: float) -> Array:
    """Return the V-value of a coupling for a centre-axle trailer over 3.5 t, V = a C x² / l², x² / l² >= 1. [N]

    Parameters
    ----------
    on_axles : array_like
        C, what its axles put on the ground when it weighs what it may. [kg]
    deck : array_like
        x, length of the loading area. [m]
    axle_distance : array_like
        l, coupling to axle centre. [m]
    acceleration : float
        a, AIR_SPRUNG or OTHER_SPRUNG. [m/s²]

    Raises
    ------
    Refusal
        If a weight, a length or the acceleration is not > 0.

    Notes
    -----
    UN Regulation No. 55, annex 1 (as a trade calculator quotes it), for no more than 10 % of the weight, and 1000 kg,
    on the coupling.

    Examples
    --------
    >>> round(float(centre_axle_value(5000.0, 6.0, 5.0, AIR_SPRUNG)))
    12960
    """
    c, x, length = (np.asarray(v, float) for v in (on_axles, deck, axle_distance))
    require_positive(("weight on the axles", c, "kg"), ("length of the loading area", x, "m"))
    require_positive(("axle distance", length, "m"), ("acceleration", acceleration, "m/s²"))
    value: Array = acceleration * c * np.maximum((x / length) ** 2, 1.0)
    return value
