"""Profiles as a list for the terminal, a line each."""

from __future__ import annotations

from collections.abc import Sequence

from planner.records import CORNERS, Brief, Problem
from planner.show.text.numbers import say
from planner.units.quantity import System, entry_unit

NOTHING_THERE = 'No profiles here yet: "planner" opens the app, or copy a profile file into the folder.'


def profile_line(slug: str, width: int, profile: Brief, system: System) -> str:
    """Return a profile in one line: its file's name, its own name, what it tows, the pressures saved for it."""
    towed = f"{profile.truck} with {profile.trailer}" if profile.trailer else f"{profile.truck} alone"
    return f"{slug:<{width}}  {profile.name}: {towed}; {_saved(profile, system)}"


def _saved(profile: Brief, system: System) -> str:
    """Return the saved pressures in words: as the file has them, where that is in the unit of the system."""
    given = [(corner, getattr(profile.pressures, corner)) for corner in CORNERS] if profile.pressures else []
    unit = f" {entry_unit('pressure', system)}"
    told = [
        f"{corner.replace('_', ' ')} {value.text if value.text.endswith(unit) else say(value, 'pressure', system)}"
        for corner, value in given
        if value is not None
    ]
    return ", ".join(told) or "no pressures saved"


def damaged_line(slug: str, width: int, problems: Sequence[Problem]) -> str:
    """Return a file that cannot be read in one line: its first problem, and how many more there are."""
    more = f" (and {len(problems) - 1} more: planner check)" if len(problems) > 1 else ""
    return f"{slug:<{width}}  ■ {problems[0].line()}{more}"
