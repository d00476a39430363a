"""Whether saved pressures still suit what they were saved for: truck, trailer or cargo may have changed since."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planner.physics.validation import Array
from planner.plans.answer import CORNERS
from planner.plans.level import level_setup
from planner.plans.saved_state import saved_pressures
from planner.plans.setup import Setup
from planner.records import Profile, Trailer, Truck

HAIR = 1e-6  # of a gauge step; a pressure written in its unit and read back is off by less


@dataclass(frozen=True, eq=False)
class OutdatedPressures:
    """Saved pressures that no longer level the truck, beside those that do.

    Attributes
    ----------
    old : as saved, gauge, shape (2, 2) [front, rear][left, right], NaN where none is saved [Pa]
    new : levelled now and rounded to the gauge's step, NaN at a corner with no bag [Pa]
    corners : names of those more than a gauge step off, in the order of the corners
    """

    old: Array
    new: Array
    corners: tuple[str, ...]


def find_outdated(profile: Profile, truck: Truck, trailer: Trailer | None = None) -> OutdatedPressures | None:
    """Return old and new pressures where the saved ones are out of date; None where they are not, or none are saved.

    They are out of date where a corner is more than one step of the gauge from what levels the truck now, or a bag
    has no pressure saved. What changed does not matter: truck, trailer, cargo or the wanted stance, in this program or
    by hand. Pressures that were trimmed are for the truck as it is, not as it is written down: they are out of date
    where what levels the truck on paper is no longer what it was when they were trimmed.

    Parameters
    ----------
    profile, truck, trailer
        The profile, and the truck and trailer it names; None where it names no trailer.

    Raises
    ------
    BadInput
        If the parts do not fit each other, saved pressures included.
    ArithmeticError
        If the truck's numbers find no rest.
    """
    setup = Setup.of(profile, truck, trailer)
    if profile.pressures is None:
        return None
    saved = saved_pressures(profile)
    old = np.array([saved.get(corner, np.nan) for corner in CORNERS]).reshape(2, 2)
    new = level_setup(setup).set.pressure
    most = float(truck.instruments.gauge_step) * (1 + HAIR)
    then = planned_then(profile)
    off = ~(np.abs(new - (old if then is None else then)) <= most) & ~np.isnan(new)  # a bag with none saved is off too
    corners = tuple(corner for corner, is_off in zip(CORNERS, off.ravel(), strict=True) if is_off)
    return OutdatedPressures(old, new, corners) if corners else None


def planned_then(profile: Profile) -> Array | None:
    """Return what levelling said when the saved pressures were trimmed, (2, 2) [Pa]; None where they were not.

    Examples
    --------
    >>> from planner import open_folder
    >>> planned_then(open_folder("profiles").read_outfit("mill-bed-empty").profile) is None
    True
    """
    trimmed = profile.trimmed
    if trimmed is None or trimmed.pressures != profile.pressures:
        return None
    given = (getattr(trimmed.planned, corner) for corner in CORNERS)
    return np.array([np.nan if one is None else float(one) for one in given]).reshape(2, 2)
