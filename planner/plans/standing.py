"""A profile as it stands on its saved pressures, or on those that level it where none are saved."""

from __future__ import annotations

from dataclasses import dataclass

from planner.plans.answer import CORNERS, Answer, Finding
from planner.plans.findings import worst_first
from planner.plans.hitch import hitch_up
from planner.plans.hitch_findings import hitch_findings
from planner.plans.level import level_setup, settle_setup
from planner.plans.setup import Setup
from planner.plans.stages import HitchPlan
from planner.records import Profile, Trailer, Truck


@dataclass(frozen=True, eq=False)
class Standing:
    """What a profile says to set, and where the truck then stands.

    Attributes
    ----------
    profile : as read
    setup : what stands there
    answer : at the saved pressures, else at those that level it
    saved : whether the pressures were saved with the profile
    """

    profile: Profile
    setup: Setup
    answer: Answer
    saved: bool

    def hitching(self) -> HitchPlan | None:
        """Return the way to its trailer, None with no trailer; ArithmeticError if a stage finds no rest."""
        return hitch_up(self.setup) if self.setup.trailer is not None and self.setup.hitch is not None else None

    def findings(self, plan: HitchPlan | None) -> tuple[Finding, ...]:
        """Return what the owner should know of the truck as it stands, and of the way to its trailer, worst first."""
        return worst_first((*(hitch_findings(plan) if plan else ()), *self.answer.findings))


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
    """
    setup, saved = Setup.of(profile, truck, trailer), saved_pressures(profile)
    return Standing(profile, setup, settle_setup(setup, saved) if saved else level_setup(setup), bool(saved))


def saved_pressures(profile: Profile) -> dict[str, float]:
    """Return the pressures saved with a profile, by corner; empty where none are. [Pa]"""
    kept = profile.pressures
    given = {corner: getattr(kept, corner) for corner in CORNERS} if kept is not None else {}
    return {corner: float(value) for corner, value in given.items() if value is not None}
