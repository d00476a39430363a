"""What an owner keeps at hand: favourite profiles, and when each was last used. A side file that may be lost.

It lies beside the profiles as `.handy.json`. Nothing in it is a number to set: one that makes no sense keeps nobody
from a profile. `planner check` tells of it, and what is next noted sets it aside.
"""

from __future__ import annotations

import contextlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Final

from planner.errors import StoreError
from planner.records import BadInput, Problem
from planner.store import atomic_write, times
from planner.store.locking import alone
from planner.store.os_errors import told_errors
from planner.store.reading import read_bytes
from planner.store.slugs import is_slug

FILE: Final = ".handy.json"
LARGEST: Final = 2_000_000  # bytes
_SENSELESS: Final = Problem(
    FILE,
    "",
    "",
    "is damaged",
    "nothing to do; your favourites may be lost, and the next one you mark starts a new file",
)
SAME_USE: Final = timedelta(minutes=5)  # a profile looked at again within this was used once


@dataclass(frozen=True)
class Handy:
    """Favourites, and the last use of each profile by slug (UTC)."""

    favourites: frozenset[str] = frozenset()
    used: Mapping[str, datetime] = field(default_factory=dict)


def read_favourites(folder: Path) -> Handy:
    """Return what is kept at hand in a profiles folder; nothing where that cannot be read."""
    try:
        given = _given(folder)
    except BadInput:
        return Handy()
    if not isinstance(given, dict):
        return Handy()
    return Handy(frozenset(_slugs(given.get("favourites"))), _times(given.get("used")))


def problems_of_favourites(folder: Path) -> list[Problem]:
    """Return what is wrong with what is kept at hand, nothing where there is none."""
    try:
        return [] if isinstance(_given(folder), dict | None) else [_SENSELESS]
    except BadInput as exc:
        return list(exc.problems)


def with_favourite(folder: Path, slug: str, on: bool) -> None:
    """Make a profile a favourite, or none; StoreError if the disk refuses."""
    with alone(folder, FILE), told_errors(FILE, "written"):
        now = read_favourites(folder)
        _write(folder, replace(now, favourites=now.favourites | {slug} if on else now.favourites - {slug}))


def rename_favourite(folder: Path, slug: str, to: str) -> None:
    """Let a profile keep its place at hand under another slug; a disk that refuses is no reason not to rename it."""
    with contextlib.suppress(OSError, StoreError), alone(folder, FILE):
        now = read_favourites(folder)
        if slug in now.favourites or slug in now.used:
            used = {to if one == slug else one: at for one, at in now.used.items()}
            favourites = frozenset(to if one == slug else one for one in now.favourites)
            _write(folder, Handy(favourites, used))


def was_used(folder: Path, slug: str, at: datetime | None = None) -> None:
    """Note that a profile is used, unless another program is writing: nobody waits for a note to see the numbers."""
    at = at or datetime.now(UTC)
    last = read_favourites(folder).used.get(slug)
    if last is not None and timedelta(0) <= at - last < SAME_USE:
        return
    with contextlib.suppress(OSError, StoreError), alone(folder, FILE, patience=0.0):
        now = read_favourites(folder)
        _write(folder, replace(now, used={**now.used, slug: at}))


def _write(folder: Path, handy: Handy) -> None:
    """Write what is kept at hand, whole or not at all."""
    if problems_of_favourites(folder):
        atomic_write.set_aside(folder / FILE)
    used = {slug: at.isoformat(timespec="seconds") for slug, at in sorted(handy.used.items())}
    content = {"favourites": sorted(handy.favourites), "used": used}
    atomic_write.replace_file(folder / FILE, json.dumps(content, indent=1).encode())


def _given(folder: Path) -> Any:
    """Return what the file says, None if there is none; BadInput if it is none of ours."""
    try:
        return json.loads(read_bytes(folder / FILE, FILE, folder, LARGEST))
    except FileNotFoundError:
        return None
    except (ValueError, RecursionError) as exc:
        if isinstance(exc, BadInput):
            raise
        raise BadInput([_SENSELESS]) from exc


def _slugs(given: Any) -> list[str]:
    """Return what may be slugs."""
    return [one for one in given if isinstance(one, str) and is_slug(one)] if isinstance(given, list) else []


def _times(given: Any) -> dict[str, datetime]:
    """Return the times that can be read."""
    found: dict[str, datetime] = {}
    for slug, text in given.items() if isinstance(given, dict) else ():
        at = times.of_text(text)
        if is_slug(slug) and at is not None:
            found[slug] = at
    return found
