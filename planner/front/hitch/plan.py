"""The way to a trailer, which Hitch up and Air ask for alike."""

from __future__ import annotations

from functools import lru_cache

from planner.plans.hitching import hitch_up
from planner.plans.hitching_stages import HitchPlan
from planner.plans.setup import Setup


@lru_cache(maxsize=8)
def find_plan(setup: Setup) -> HitchPlan:
    """Return the stages of hitching a setup; kept, as most runs of a page change nothing in it.

    Raises
    ------
    BadInput, ArithmeticError
        If there is none.
    """
    return hitch_up(setup)
