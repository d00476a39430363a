"""A profile as it stands on its saved pressures, or on those that level it, and whether the saved ones still do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from planner.physics.validation import Array, Flags
from planner.plans.answer import CORNERS, Answer, Finding
from planner.plans.batch import answers_of
from planner.plans.findings import worst_first
from planner.plans.hitching import hitch_up, ways_to
from planner.plans.hitching_findings import NOSE, hitch_findings
from planner.plans.hitching_stages import HitchPlan, Way
from planner.plans.level import level_setup, settle_setup, taped_answer
from planner.plans.reading_history import ReadingHistory, reading_findings, reading_history
from planner.plans.setup import Setup
from planner.records import BadInput, Profile, Trailer, Truck

HAIR = 1e-6  # of a gauge step; a pressure written in its unit and read back is off by less


@dataclass(frozen=True, eq=False)
class OutdatedPressures:
    """Saved pressures that no longer level the truck, beside those that do.

    Attributes
    ----------
    old : as saved, gauge, shape (2, 2) [front, rear][left, right], NaN where none is saved [Pa]
    new : levelled now and rounded to the gauge's step, NaN at a corner with no bag [Pa]
    corners : names of those to set anew, in the order of the corners: one at least is more than a gauge step off
    """

    old: Array
    new: Array
    corners: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Standing:
    """What a profile says to set, and where the truck then stands.

    Attributes
    ----------
    profile : as read
    setup : what stands there
    answer : at the saved pressures, else at those that level it; on trimmed ones that suit it stands as the tape said
    saved : whether the pressures were saved with the profile
    """

    profile: Profile
    setup: Setup
    answer: Answer
    saved: bool

    def hitching(self) -> HitchPlan | None:
        """Return the way to its trailer, None with no trailer; ArithmeticError if a stage finds no rest."""
        on_road = self.answer if self.saved else None
        return hitch_up(self.setup, on_road) if _tows(self.setup) else None

    def way(self) -> Way | None:
        """Return how far each stage of hitching gets, in a tenth of the time; None with no trailer."""
        return ways_to([self.setup], [self.answer.set.stance])[0] if _tows(self.setup) else None

    def findings(self, plan: HitchPlan | Way | None) -> tuple[Finding, ...]:
        """Return what the owner should know of a profile, worst first: of truck, way to its trailer and readings."""
        on_way = list(hitch_findings(plan)) if plan else []
        if any(one.code.startswith(NOSE) for one in on_way) and self.find_outdated():  # air comes before another mount
            on_way = [one for one in on_way if not one.code.startswith(NOSE)]
        of_readings = reading_findings(self.history) if self.profile.readings else ()
        return worst_first((*on_way, *self.answer.findings, *of_readings))

    @cached_property
    def history(self) -> ReadingHistory:
        """What was read of it over time; ArithmeticError if the truck's numbers find no rest."""
        return reading_history(self.profile.readings, self.setup, self.answer)

    @cached_property
    def planned(self) -> Answer:
        """What levels it now, whatever is saved."""
        return level_setup(self.setup)

    def find_outdated(self) -> OutdatedPressures | None:
        """Return old and new pressures where the saved ones are out of date; None where they are not, or none are.

        They are out of date where a corner is more than one step of the gauge from what levels the truck now, or a bag
        has no pressure saved. What changed does not matter: truck, trailer, cargo or the wanted stance, in this program
        or by hand. Pressures that were trimmed are for the truck as it is, not as it is written down: they are out of
        date where what levels the truck on paper is no longer what it was when they were trimmed.

        Examples
        --------
        >>> from planner import open_folder
        >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
        >>> saved = {"front_left": "36 psi", "front_right": "34 psi", "rear_left": "45 psi", "rear_right": "36 psi"}
        >>> standing(mill.profile.replaced(pressures=saved), mill.truck, mill.trailer).find_outdated().corners
        ('rear_left',)
        """
        if not self.saved:
            return None
        saved = saved_pressures(self.profile)
        old = np.array([saved.get(corner, np.nan) for corner in CORNERS]).reshape(2, 2)
        new, then = self.planned.set.pressure, planned_then(self.profile)
        off = _off(self.setup, old if then is None else then, new)
        if not off.any():
            return None
        anew = off | _off(self.setup, old, new, steps=0.5)
        corners = tuple(name for name, is_anew in zip(CORNERS, anew.flat, strict=True) if is_anew)
        return OutdatedPressures(old, new, corners)


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


def standing(profile: Profile, truck: Truck, trailer: Trailer | None = None) -> Standing:
    """Return how a profile stands.

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

    Examples
    --------
    >>> from planner import open_folder
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> standing(mill.profile, mill.truck, mill.trailer).answer.converged
    True
    """
    setup, saved = Setup.of(profile, truck, trailer), saved_pressures(profile)
    answer = find_taped(profile, setup) or (settle_setup(setup, saved) if saved else level_setup(setup))
    return Standing(profile, setup, answer, bool(saved))


def find_taped(profile: Profile, setup: Setup) -> Answer | None:
    """Return how a profile stands on trimmed pressures that still suit: as the tape said; None where it has none.

    Examples
    --------
    >>> from planner import open_folder
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> setup = Setup.of(mill.profile, mill.truck, mill.trailer)
    >>> planned = {"front_left": "36 psi", "front_right": "34 psi", "rear_left": "37 psi", "rear_right": "36 psi"}
    >>> tape = planned | {"rear_left": "39 psi"}
    >>> trimmed = {"at": "2026-05-04T08:00", "planned": planned, "pressures": tape}
    >>> find_taped(mill.profile.replaced(pressures=tape, trimmed=trimmed), setup).level
    True
    """
    if (then := planned_then(profile)) is None:
        return None
    planned = level_setup(setup)
    if _off(setup, then, planned.set.pressure).any():
        return None
    return taped_answer(setup, planned, saved_pressures(profile))


def _off(setup: Setup, old: Array, new: Array, *, steps: float = 1.0) -> Flags:
    """Return which corners are further off what levels them than so many steps of the gauge, as is a bag with none."""
    most = steps * float(setup.truck.instruments.gauge_step) * (1 + HAIR)
    off: Flags = ~(np.abs(new - old) <= most) & ~np.isnan(new)
    return off


def standings(
    outfits: Sequence[tuple[Profile, Truck, Trailer | None]],
) -> list[tuple[Standing, Way | None] | ValueError | ArithmeticError]:
    """Return how many profiles stand, and the way of each to its trailer; or why one has no answer.

    Profiles with the very same truck, trailer and hitch are worked out together, in a small part of the time.
    """
    found: dict[int, tuple[Standing, Way | None] | ValueError | ArithmeticError] = {}
    alike: dict[tuple[int, int, str], dict[int, Setup]] = {}
    for place, (profile, truck, trailer) in enumerate(outfits):
        try:
            setup = Setup.of(profile, truck, trailer)
        except BadInput as exc:
            found[place] = exc
        else:
            hitch = setup.hitch.name if setup.hitch else ""
            alike.setdefault((id(truck), id(trailer), hitch), {})[place] = setup
    for some in alike.values():
        each = _together([outfits[place][0] for place in some], list(some.values()))
        found.update(zip(some, each, strict=True))
    return [found[place] for place in range(len(outfits))]


def _together(
    profiles: Sequence[Profile], setups: Sequence[Setup]
) -> list[tuple[Standing, Way | None] | ValueError | ArithmeticError]:
    """Return the same for those with one truck, trailer and hitch; one by one where one of them has no answer."""
    saved = [saved_pressures(profile) for profile in profiles]
    try:
        each = zip(profiles, setups, answers_of(setups, saved), strict=True)
        answers = [find_taped(profile, setup) or answer for profile, setup, answer in each]
        tows = [answer.set.stance for answer in answers]
        ways: Sequence[Way | None] = ways_to(setups, tows) if _tows(setups[0]) else [None] * len(setups)
    except (ValueError, ArithmeticError) as exc:
        if len(setups) == 1:
            return [exc]
        return [_together([profile], [setup])[0] for profile, setup in zip(profiles, setups, strict=True)]
    every = zip(profiles, setups, answers, saved, ways, strict=True)
    return [(Standing(profile, setup, answer, bool(kept)), way) for profile, setup, answer, kept, way in every]


def _tows(setup: Setup) -> bool:
    """Tell whether there is a trailer to hitch."""
    return setup.trailer is not None and setup.hitch is not None


def saved_pressures(profile: Profile) -> dict[str, float]:
    """Return the pressures saved with a profile, by corner; empty where none are. [Pa]

    Examples
    --------
    >>> from planner import open_folder
    >>> profile = open_folder("profiles").read_profile("mill-bed-empty")
    >>> saved_pressures(profile.replaced(pressures={"rear_left": "2 bar"}))
    {'rear_left': 200000.0}
    """
    kept = profile.pressures
    given = {corner: getattr(kept, corner) for corner in CORNERS} if kept is not None else {}
    return {corner: float(value) for corner, value in given.items() if value is not None}
