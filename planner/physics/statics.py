"""What the axles carry: levers, nothing else."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, fields, replace
from functools import partial
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from planner.errors import Refusal
from planner.physics.array_layout import by_axle, in_a_row, is_whole, some_of
from planner.physics.validation import Array, Flags, require_finite, require_positive


@dataclass(frozen=True, eq=False)
class Load:
    """What the suspension has to carry, as statics give it.

    Attributes
    ----------
    axle : array, shape (..., 2)
        Ground load of the front and the rear axle. [N]
    side_moment : array, shape (...)
        Moment of all loads about the centre line, left positive. [N·m]
    least_twist : array, shape (...)
        The front axle's part of it that twists a uniform frame least. [N·m]
    overturning : array, shape (...)
        Side moment that the loads lose per radian of roll, as they stand above the roll axis and swing out. [N·m/rad]
    overturning_front : array, shape (...)
        The front axle's part of it that twists a uniform frame least. [N·m/rad]
    """

    axle: Array
    side_moment: Array
    least_twist: Array
    overturning: Array = field(default_factory=partial(np.zeros, ()))
    overturning_front: Array = field(default_factory=partial(np.zeros, ()))

    def __add__(self, other: Load) -> Load:
        """Put one load on top of another: statics are linear."""
        return Load(*(getattr(self, name) + getattr(other, name) for name in _PARTS))

    def summed(self) -> Load:
        """Return the loads along the last axis of cases as one."""
        return Load(self.axle.sum(axis=-2), *(np.sum(getattr(self, name), axis=-1) for name in _PARTS[1:]))

    def spread(self, shape: tuple[int, ...]) -> Load:
        """Return the same load for every case of a shape, the cases in one row."""
        if len(shape) == 1 and all(getattr(self, name).shape[:1] == shape for name in _PARTS):
            return self
        return Load(in_a_row(self.axle, shape, (2,)), *(in_a_row(getattr(self, name), shape) for name in _PARTS[1:]))

    @staticmethod
    def joined(rows: Sequence[Load]) -> Load:
        """Return loads of cases in a row as one row."""
        return Load(*(np.concatenate([getattr(row, name) for row in rows]) for name in _PARTS))

    def column(self) -> Load:
        """Return the cases with one more axis, shape (..., 1), for what is tried with each of them."""
        return Load(self.axle[..., None, :], *(getattr(self, name)[..., None] for name in _PARTS[1:]))

    def take(self, cases: Flags | slice) -> Load:
        """Return some of the cases of a row."""
        if is_whole(cases, len(self.side_moment)):
            return self
        return Load(*(some_of(getattr(self, name), cases) for name in _PARTS))

    def case(self, number: int) -> Load:
        """Return one case of a row, of shape (); what is the same for all is that of each."""
        axle = self.axle if self.axle.ndim == 1 else self.axle[number]
        parts = (np.asarray(getattr(self, name)) for name in _PARTS[1:])
        return Load(axle, *(part if part.ndim == 0 else part[number] for part in parts))

    def moment_at(self, roll: Array) -> Array:
        """Return the side moment on both axles at a roll [rad], M - G φ, left positive, shape (...). [N·m]

        The weight swings out to the side that the truck leans to: T. D. Gillespie, Fundamentals of Vehicle Dynamics,
        SAE, 1992, ch. 6, has the roll angle with K_φ - W h in the denominator (from memory).
        """
        return self.side_moment - self.overturning * roll

    def least_twist_at(self, roll: Array) -> Array:
        """Return the front axle's part of it that twists a uniform frame least, shape (...). [N·m]"""
        return self.least_twist - self.overturning_front * roll

    def on_side_slope(self, slope: Array) -> Load:
        """Return the same load on ground whose left side is higher by a slope [rad], shape (...).

        Against the ground the weight leans over as if the truck had rolled by the slope, and so far it swings out over
        the roll axis. What the tyres alone feel of it, the slope times the height of the roll axis, is left out, as
        their part of the swing is: at a slope of 0.01 it lowers a side by some 0.1 mm.
        """
        return replace(self, side_moment=self.moment_at(slope), least_twist=self.least_twist_at(slope))


_PARTS: Final = tuple(field.name for field in fields(Load))


def height_over_roll_axis(height: ArrayLike, x: ArrayLike, wheelbase: ArrayLike, roll_axis_height: ArrayLike) -> Array:
    """Return how high a load stands over the roll axis, shape (...). [m]

    Parameters
    ----------
    height, x : array_like, shape (...)
        Of its centre of mass above ground and ahead of the rear axle. [m]
    wheelbase : array_like
        Distance between the axles. [m]
    roll_axis_height : array_like, shape (..., 2)
        Of the roll axis above ground at the front and the rear axle; straight between them and on past them. [m]

    Examples
    --------
    >>> float(height_over_roll_axis(0.9, 1.5, 3.0, [0.0, 0.4]))
    0.7
    """
    front, rear = (np.asarray(roll_axis_height, float)[..., k] for k in (0, 1))
    share = np.asarray(x, float) / np.asarray(wheelbase, float)
    over: Array = np.asarray(height, float) - rear - (front - rear) * share
    return over


def kerb_load(
    axle_load: ArrayLike,
    sprung_load: ArrayLike,
    left_share: ArrayLike,
    track: ArrayLike,
    over_roll_axis: ArrayLike = (0.0, 0.0),
) -> Load:
    """Return the load of the truck as weighed.

    Parameters
    ----------
    axle_load, sprung_load, track : array_like, shape (..., 2)
        Ground load [N], load on the springs [N] and track [m] of the front and the rear axle.
    left_share : array_like, shape (...)
        Share of the weight on the left wheels. [-]
    over_roll_axis : array_like, shape (..., 2)
        Height of the sprung masses' centre over the roll axis at the front and the rear axle. [m]

    Returns
    -------
    Load
        Side moment (s - 1/2)(W_f t_f + W_r t_r); the least-twist part of the front axle in the ratio of sprung loads.
        What swings out is the sprung load of each axle, over that axle.

    Examples
    --------
    >>> kerb_load([20e3, 14e3], [18e3, 12e3], 0.5, [1.7, 1.7]).axle
    array([20000., 14000.])
    """
    w, s, t = (np.asarray(x, float) for x in (axle_load, sprung_load, track))
    side = (np.asarray(left_share, float) - 0.5) * np.sum(w * t, axis=-1)
    out = s * np.asarray(over_roll_axis, float)
    return Load(w, side, side * s[..., 0] / np.sum(s, axis=-1), np.sum(out, axis=-1), out[..., 0])


def point_load(
    load: ArrayLike, x: ArrayLike, y: ArrayLike, wheelbase: ArrayLike, over_roll_axis: ArrayLike = 0.0
) -> Load:
    """Return what a load at one place adds to the axles.

    Parameters
    ----------
    load : array_like
        Load [N], down positive.
    x, y : array_like
        Place ahead of the rear axle and left of the centre line. [m]
    wheelbase : array_like
        Distance between the axles. [m]
    over_roll_axis : array_like
        Height of its centre of mass over the roll axis there. [m]

    Returns
    -------
    Load
        Front w x / L, rear w (1 - x/L), side moment w y, overturning w h. For the least frame twist the side moment
        goes to the axles in the ratio of its place, clipped to the wheelbase: strain energy of a uniform shaft with end
        reactions is least there (Castigliano).

    Raises
    ------
    Refusal
        If the wheelbase is not > 0, or a value is not finite.

    Examples
    --------
    >>> point_load(100.0, 1.33, 0.0, 2.14).axle.round(2).tolist()
    [62.15, 37.85]
    """
    require_positive(("wheelbase", wheelbase, "m"))
    w, share, left = np.asarray(load, float), np.asarray(x, float) / np.asarray(wheelbase, float), np.asarray(y, float)
    if not w.shape == share.shape == left.shape:
        w, share, left = np.broadcast_arrays(w, share, left)
    require_finite(("load", w, "N"), ("place", share, "m"), ("place to the left", left, "m"))
    side, at_front, out = w * left, share.clip(0.0, 1.0), w * np.asarray(over_roll_axis, float)
    return Load(by_axle(w * share, w * (1.0 - share)), side, side * at_front, out, out * at_front)


def pitch_moment(moment: ArrayLike, wheelbase: ArrayLike) -> Load:
    """Return what a pure pitch moment [N·m], nose down positive, adds to the axles: ± M / L.

    Examples
    --------
    >>> pitch_moment(3e3, 4.0).axle
    array([ 750., -750.])
    """
    couple = np.asarray(moment, float) / np.asarray(wheelbase, float)
    nothing = np.zeros_like(couple)
    return Load(by_axle(couple, -couple), nothing, nothing)


class Hitched(NamedTuple):
    """Loads between truck, trailer and ground: hitch load [N], bars' moment [N·m], load on the trailer's axles [N]."""

    hitch_load: Array
    bar_moment: Array
    trailer_axle_load: Array


def hitched_loads(
    gross_load: ArrayLike, tongue_load: ArrayLike, overhang: ArrayLike, axle_distance: ArrayLike, restoration: ArrayLike
) -> Hitched:
    """Return the loads of a hitched trailer, with or without weight-distribution bars.

    Parameters
    ----------
    gross_load, tongue_load : array_like
        Weight of the trailer and its load on the hitch with bars slack. [N]
    overhang : array_like
        Hitch behind the rear axle, positive to the rear. [m]
    axle_distance : array_like
        Coupling to the trailer's axle centre. [m]
    restoration : array_like
        Part of the load the hitch took off the front axle that the bars put back, 0 for slack bars. [-]

    Returns
    -------
    Hitched
        M = r T d / (1 + d / L_t), V = T - M / L_t, trailer axles gross - T + M / L_t. The bars are a pure pitch moment
        between truck and trailer, so the three sum to the same weight. Checked by Beer & Johnston, Vector Mechanics:
        Statics, problem 6.96.

    Raises
    ------
    Refusal
        If the axle distance is not > 0, or bars are asked for at a hitch that takes no load off the front axle.

    Examples
    --------
    >>> float(hitched_loads(32e3, 4e3, 1.2, 5.0, 0.0).trailer_axle_load)
    28000.0
    """
    gross, t, d, length, r = (
        np.asarray(v, float) for v in (gross_load, tongue_load, overhang, axle_distance, restoration)
    )
    require_positive(("distance from coupling to trailer axle", length, "m"))
    if np.any((r != 0) & (d <= 0)):
        rule = "weight-distribution bars need a hitch behind the rear axle (overhang > 0 m)"
        raise Refusal(rule, f"{np.min(d):g} m", "set the restoration to 0")
    reach = np.where(d > 0, d, 0.0)
    moment = r * t * reach / (1.0 + reach / length)
    return Hitched(t - moment / length, moment, gross - t + moment / length)


def restoration(front_alone: ArrayLike, front_hitched: ArrayLike, front_with_bars: ArrayLike) -> Array:
    """Return the part of the load taken off the front axle that bars put back, from three weighings.

    Parameters
    ----------
    front_alone, front_hitched, front_with_bars : array_like
        Front axle's load of the truck alone, hitched with the bars slack, and with the bars set. [N, or any one unit]

    Returns
    -------
    ndarray
        (F_wd - F_h) / (F_alone - F_h): 0 slack, 1 as if unhitched; what `hitched` takes. [-]

    Raises
    ------
    Refusal
        If a load is not a finite number, or hitching took no load off the front axle: there is nothing to put back.

    Examples
    --------
    >>> float(restoration(4300.0, 3900.0, 4100.0))
    0.5
    """
    alone, slack, bars = (np.asarray(load, float) for load in (front_alone, front_hitched, front_with_bars))
    for name, load in (("alone", alone), ("hitched", slack), ("hitched with bars", bars)):
        require_finite((f"front axle {name}", load, "N"))
    if not np.all(alone > slack):
        remedy = "a hitch over or ahead of the rear axle takes no load off it; check which slip is which"
        raise Refusal("front axle alone must be > front axle hitched", f"{np.min(alone - slack):g} N more", remedy)
    part: Array = (bars - slack) / (alone - slack)
    return part
