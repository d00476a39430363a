"""The history of a profile: every change of its saved pressures, with date and reason; compare two, restore one.

It lies in ``history/`` of the profiles folder, one file a profile, one change a line (JSON), the newest last. What
cannot be read of it is left out and told of; the profile itself never depends on it. A profile that was changed without
the planner is found out when its history is next looked at: the last line then says something else than the profile.
"""

import json
import os
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final, Literal, get_args

from planner.errors import StoreError
from planner.records import CORNERS, BadInput, Pressures, Problem, Profile, check_together, read_record
from planner.store import atomic_write, times, trail
from planner.store.conflict import Expected
from planner.store.journal import Changes
from planner.store.kinds import PROFILE
from planner.store.reading import is_inside, read_bytes
from planner.store.record_files import Shelf
from planner.store.slugs import is_slug
from planner.store.store import Store

LARGEST: Final = 1_000_000  # bytes; some six thousand changes, then the oldest go
MOST_BAD: Final = 50  # lines that cannot be read; past them the rest is not tried
LONGEST_NOTE: Final = 120  # characters

Reason = Literal["saved", "trimmed", "imported", "restored", "by hand", "found"]
"""Why pressures changed. By hand: in the file, without the planner. Found: they were there when the history began."""


@dataclass(frozen=True)
class Kept:
    """One change of a profile's saved pressures: when, why, and what they have been since.

    Attributes
    ----------
    at : UTC
    pressures : None where the change took them out
    note : more about the reason, one short line; may be empty
    """

    at: datetime
    reason: Reason
    pressures: Pressures | None
    note: str = ""


@dataclass(frozen=True)
class History:
    """The changes of a profile's pressures, the newest first, and what could not be read of them."""

    kept: tuple[Kept, ...]
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True)
class CornerChange:
    """One corner before and after, quantities as typed [Pa]; None where nothing is or was set."""

    corner: str
    old: float | None
    new: float | None

    @property
    def difference(self) -> float | None:
        """How much more there is after; None where a side has nothing. [Pa]"""
        return None if self.old is None or self.new is None else self.new - self.old


def read_history(store: Store, slug: str) -> History:
    """Return the history of a profile; a change that was made without the planner is its first entry.

    A history that is damaged or not there has what can be read of it; nothing is raised but for a name that is none.
    """
    path = trail.trail_path(store.folder, slug)
    kept, problems = _parsed(*_raw(store.folder, path), trail.file(slug))
    now, at = _standing(store, slug)
    if at is not None and _texts(now) != (_texts(kept[-1].pressures) if kept else {}):
        kept.append(Kept(at, "by hand" if kept else "found", now))
    return History(tuple(reversed(kept)), tuple(problems))


def write_profile(
    store: Store,
    profile: Profile,
    slug: str | None = None,
    reason: Reason = "saved",
    *,
    expected: Expected = "any",
    note: str = "",
) -> str:
    """Write a profile as `Store.write` does, and put a change of its pressures into its history.

    Raises
    ------
    StoreError
        As `Store.write` does. A history that cannot be written is no reason: the profile is saved.
    """
    file = PROFILE.file(slug) if slug is not None and is_slug(slug) else PROFILE.name
    with store.alone(file):
        to = Shelf(store.folder, PROFILE).slug_of(profile.name) if slug is None else slug
        was, at = _standing(store, to) if is_slug(to) else (None, None)
        written = store.write(profile, to, expected)
        append_change(store.folder, written, was, at, Kept(datetime.now(UTC), reason, profile.pressures, note))
    return written


def save_profile_as(
    store: Store, profile: Profile, new_name: str, like: str | None = None, reason: Reason = "saved"
) -> str:
    """Write a profile under a name that no other has, as `Store.save_as` does; its history begins with it."""
    with store.alone(PROFILE.name):
        written = store.save_as(profile, new_name, like=like)
        trail.set_trail_aside(
            store.folder, trail.trail_path(store.folder, written)
        )  # of another profile that had the name, and went by hand
        append_change(store.folder, written, None, None, Kept(datetime.now(UTC), reason, profile.pressures))
    return written


def restore(store: Store, slug: str, kept: Kept, note: str = "") -> Pressures | None:
    """Save the pressures of an earlier time again, and return those that were saved until now.

    Raises
    ------
    BadInput
        If the profile, its truck or its trailer cannot be read, or the pressures no longer fit the truck.
    """
    return put_pressures(store, slug, kept.pressures, note or f"as of {kept.at.isoformat(timespec='minutes')}")


def put_pressures(store: Store, slug: str, pressures: Pressures | None, note: str = "") -> Pressures | None:
    """Save other pressures with a profile, as restored, and return those before; raises as `restore` does."""
    with store.alone(PROFILE.file(slug) if is_slug(slug) else PROFILE.name):
        old = store.read_profile(slug)
        new = old.replaced(pressures=pressures)
        trailer = None if old.trailer is None else store.read_trailer(old.trailer)
        check_together(new, store.read_truck(old.truck), trailer, PROFILE.file(slug))
        write_profile(store, new, slug, "restored", expected=old, note=note)
    return old.pressures


def compare_corners(old: Pressures | None, new: Pressures | None) -> tuple[CornerChange, ...]:
    """Return the four corners of two sets of pressures, front left first."""
    return tuple(CornerChange(corner, getattr(old, corner, None), getattr(new, corner, None)) for corner in CORNERS)


def append_change(home: Path, slug: str, was: Pressures | None, was_at: datetime | None, kept: Kept) -> None:
    """Put a change into a history, if the pressures did change; what the planner does not know of before it, too.

    Parameters
    ----------
    home, slug
        The profiles folder, whose lock the caller holds, and the profile.
    was, was_at
        The pressures before, and when that file was written; None if there was no file.
    kept
        The change. One that cannot be written down is no error: what was saved is saved.
    """
    path = trail.trail_path(home, slug)
    with suppress(OSError, StoreError):
        if not is_inside(path.parent, home):
            return
        raw, fault = _raw(home, path)
        if fault is not None:
            trail.set_trail_aside(home, path)
            raw = b""
        if (new := _appended(raw, slug, was, was_at, kept)) is not None:
            atomic_write.replace_file(path, new)


def lay_ready(
    home: Path, changes: Changes, slug: str, was: Pressures | None, was_at: datetime | None, kept: Kept
) -> bytes | None:
    """Lay a change ready in a history that `append` would put there at once, and return the history it was made from.

    None where the history is no plain file, which `append` sets aside, or its folder leads elsewhere: that is no
    reason not to do the rest.
    """
    path = trail.trail_path(home, slug)
    raw, fault = _raw(home, path)
    if fault is not None or not is_inside(path.parent, home) or path.parent.is_file():
        return None
    if (new := _appended(raw, slug, was, was_at, kept)) is not None:
        changes.put(trail.file(slug), new)
    return raw


def _appended(raw: bytes, slug: str, was: Pressures | None, was_at: datetime | None, kept: Kept) -> bytes | None:
    """Return a history with a change put into it; None if there is none to put."""
    known, _ = _parsed(raw, None, trail.file(slug))
    new = []
    if was_at is not None and _texts(was) != (_texts(known[-1].pressures) if known else {}):
        new.append(Kept(was_at, "by hand" if known else "found", was))
    if _texts(was) != _texts(kept.pressures):
        new.append(kept)
    return _with_lines(raw, [_line(one) for one in new]) if new else None


def standing_in(home: Path, slug: str) -> bytes:
    """Return the bytes of a history as it lies there now, nothing where it cannot be read."""
    return _raw(home, trail.trail_path(home, slug))[0]


def _standing(store: Store, slug: str) -> tuple[Pressures | None, datetime | None]:
    """Return the pressures in a profile's file and when that was written; (None, None) if it cannot be read."""
    try:
        profile = store.read_profile(slug)
        written = Shelf(store.folder, PROFILE).path(slug).stat().st_mtime
    except (BadInput, OSError):
        return None, None
    return profile.pressures, times.of_file(written) or datetime.now(UTC)


def _texts(pressures: Pressures | None) -> dict[str, str]:
    """Return pressures as typed, by corner."""
    found: dict[str, Any] = {change.corner: change.new for change in compare_corners(None, pressures)}
    return {corner: value.text for corner, value in found.items() if value is not None}


def _raw(home: Path, path: Path) -> tuple[bytes, str | None]:
    """Return the bytes of a history, and what is wrong with the whole of it, if anything."""
    if not os.path.lexists(path):
        return b"", None
    try:
        return read_bytes(path, path.name, home, LARGEST), None
    except FileNotFoundError:
        return b"", None
    except BadInput as exc:
        return b"", exc.problems[0].rule


def _parsed(raw: bytes, fault: str | None, file: str) -> tuple[list[Kept], list[Problem]]:
    """Return the entries of a history, the newest last, and what is wrong with it."""
    if fault is not None:
        remedy = "nothing to do; the profile is fine, and its next change starts a new history"
        return [], [Problem(file, "", "", fault, remedy)]
    lines = [line for line in raw.split(b"\n") if line.strip()]
    kept: list[Kept] = []
    bad = 0
    for line in reversed(lines):
        if bad == MOST_BAD:
            break
        one = _entry(line)
        kept += [one] if one is not None else []
        bad += one is None
    kept.reverse()
    if not bad:
        return kept, []
    looked_at = len(kept) + bad
    older = "" if looked_at == len(lines) else f"; the {len(lines) - looked_at} before them were not read"
    rule = f"has {bad} of {looked_at} lines that cannot be read{older}"
    return kept, [Problem(file, "", "", rule, "the profile is fine; fix or delete those lines in a text editor")]


def _entry(line: bytes) -> Kept | None:
    """Return one line of a history; None if it cannot be read."""
    try:
        said = json.loads(line)
        at, reason, note = times.of_text(said["at"]), said["reason"], said.get("note", "")
        if at is None or reason not in get_args(Reason) or not isinstance(note, str) or not _is_short(note):
            return None
        pressures = None if said["pressures"] is None else read_record(Pressures, said["pressures"], trail.FOLDER)
    except (ValueError, TypeError, LookupError, AttributeError, RecursionError):
        return None
    return Kept(at, reason, pressures, note)


def _is_short(note: str) -> bool:
    """Tell whether a note is one short line."""
    return len(note) <= LONGEST_NOTE and (not note or note.isprintable())


def _line(kept: Kept) -> bytes:
    """Return an entry as a line."""
    note = "".join(letter if letter.isprintable() else " " for letter in kept.note[:LONGEST_NOTE])
    said: dict[str, Any] = {
        "at": kept.at.isoformat(timespec="seconds"),
        "reason": kept.reason,
        "pressures": _texts(kept.pressures) or None,
    }
    return json.dumps(said | ({"note": note} if note else {}), ensure_ascii=False).encode("utf-8")


def _with_lines(raw: bytes, new: Sequence[bytes]) -> bytes:
    """Return a history with lines more, without its oldest ones where it would be too large; damaged ones stay."""
    lines = [line for line in raw.split(b"\n") if line.strip()] + list(new)
    room, first = LARGEST, len(lines)
    while first > 0 and (room := room - len(lines[first - 1]) - 1) >= 0:
        first -= 1
    return b"".join(line + b"\n" for line in lines[first:])
