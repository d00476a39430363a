"""Weight-distribution bars as they are: what three weighings of the front axle say of them."""

from __future__ import annotations

from typing import NamedTuple

from planner.errors import Refusal
from planner.physics import statics
from planner.physics.constants import STANDARD_GRAVITY as G
from planner.plans.setup import Setup


class Bars(NamedTuple):
    """Part of the front axle's lost load that bars put back [-], the load lost [N], and the bars' moment [N·m]."""

    restoration: float
    lost: float
    moment: float


def bars_from_weighings(setup: Setup, alone: float, hitched: float, with_bars: float) -> Bars:
    """Return what bars put back, and by which moment, from what the front axle weighs.

    Parameters
    ----------
    setup : Setup
        With a trailer on a hitch behind the rear axle.
    alone, hitched, with_bars : float
        Weight on the front axle of the truck alone, hitched with the bars slack, and with the bars set. [kg]

    Returns
    -------
    Bars
        Restoration r = (F_bars - F_hitched) / (F_alone - F_hitched); the front gains ΔF = M (1 + d / L_t) / L of a
        moment M, so M = ΔF L / (1 + d / L_t): the weighings alone, without the tongue load that the records state.

    Raises
    ------
    Refusal
        If there is no hitch behind the axle, or hitching took no load off the front axle.

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.setup import Setup
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> setup = Setup.of(mill.profile, mill.truck, mill.trailer)
    >>> bars = bars_from_weighings(setup, alone=1950.0, hitched=1770.0, with_bars=1860.0)  # kg
    >>> bars.restoration, round(bars.moment)
    (0.5, 2705)
    """
    hitch, trailer = setup.hitch, setup.trailer
    if hitch is None or trailer is None or hitch.x >= 0:
        raise Refusal("bars must hang on a hitch behind the rear axle", "none", "choose such a hitch, or set bars = 0")
    part = float(statics.restoration(alone * G, hitched * G, with_bars * G))
    stretch = 1.0 - float(hitch.x) / float(trailer.axle_distance)
    moment = (with_bars - hitched) * G * float(setup.truck.wheelbase) / stretch
    return Bars(part, (alone - hitched) * G, moment)
