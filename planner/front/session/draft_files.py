"""Unsaved work on disk, so that neither a reload of the page nor a stopped server loses it. No streamlit in here.

A draft lies in ``drafts/`` of the profiles folder, one file a profile. Several tabs may have the same profile open:
each knows the tag of the draft it last read or wrote, and does not write over another's.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any, Final

from planner.records import BadInput, Problem
from planner.store import StoreError, atomic_write, is_slug
from planner.store.locking import refuse_gone
from planner.store.os_errors import told_errors
from planner.store.reading import read_bytes

FOLDER: Final = "drafts"
LARGEST: Final = 2_000_000  # bytes; a profile may have 1 MB, and a draft holds two states of it
GONE: Final = ""  # the tag of no draft
UNREAD: Final = "unread"  # the tag where the disk does not tell what is there


@dataclass(frozen=True)
class Draft:
    """A draft as read, and the tag that tells it from any other; no content if there is none or it is damaged."""

    tag: str
    content: dict[str, Any] | None


def read_draft(folder: Path, slug: str) -> Draft:
    """Return the draft of a profile; one that is damaged, or no plain file, has a tag and no content."""
    if _leads_out(folder):
        return Draft(GONE, None)
    try:
        raw = _raw(folder, slug)
    except BadInput as exc:
        return Draft(_tag_of(exc), None)
    if raw is None:
        return Draft(GONE, None)
    try:
        content = json.loads(raw)
    except (ValueError, RecursionError):
        content = None
    return Draft(_tag(raw), content if isinstance(content, dict) else None)


def tag_of(folder: Path, slug: str) -> str:
    """Return the tag of the draft that lies there now."""
    if _leads_out(folder):
        return GONE
    try:
        raw = _raw(folder, slug)
    except BadInput as exc:
        return _tag_of(exc)
    return GONE if raw is None else _tag(raw)


def is_others(folder: Path, slug: str, seen: str, *, unkept: bool) -> bool:
    """Tell whether somebody else wrote a draft, or took it away, since a tab last saw it.

    Where the disk does not tell, nobody did. Where no draft is there and the tab's own is not kept, it is for want of a
    disk that takes it: the next one may be written.
    """
    there = tag_of(folder, slug)
    return there not in (seen, UNREAD) and not (there == GONE and unkept)


def make_home(folder: Path, home: Path) -> None:
    """Make the folder of a kind of record in a profiles folder that is there but has none of them yet."""
    if home != folder and folder.is_dir():
        with told_errors(home.name, "written"):
            home.mkdir(exist_ok=True)


def write_draft(folder: Path, slug: str, content: dict[str, Any]) -> str:
    """Write a draft and return its tag; StoreError if the disk refuses."""
    raw = json.dumps(content, ensure_ascii=False, indent=1).encode("utf-8", "surrogatepass")
    refuse_gone(folder)
    with told_errors(_name(slug), "written"):
        atomic_write.replace_file(draft_path(folder, slug), raw)
    return _tag(raw)


def remove_draft(folder: Path, slug: str) -> None:
    """Take a draft away, if there is one; StoreError if the disk refuses."""
    with told_errors(_name(slug), "removed"):
        draft_path(folder, slug).unlink(missing_ok=True)


def set_draft_aside(folder: Path, slug: str) -> str:
    """Give a damaged draft another name, so that nothing writes over it, and return that name."""
    place = draft_path(folder, slug)
    aside = place.with_suffix(f".{tag_of(folder, slug)[:8]}.damaged")
    with told_errors(_name(slug), "set aside"):
        place.replace(aside)
    return f"{FOLDER}/{aside.name}"


def not_used(folder: Path, slug: str, instead: str) -> tuple[Problem, ...]:
    """Set a draft aside that makes no sense, and return what to say of it; `instead` is what is there in its place."""
    try:
        called = set_draft_aside(folder, slug)
    except StoreError as exc:
        return exc.problems
    return (Problem(called, "", "", "the unsaved changes could not be read, and are set aside", instead),)


def kept(folder: Path) -> frozenset[str]:
    """Return the profiles that have a draft."""
    return frozenset() if _leads_out(folder) else frozenset(one.stem for one in (folder / FOLDER).glob("*.json"))


def draft_path(folder: Path, slug: str) -> Path:
    """Return where the draft of a profile lies; nothing but a slug is ever joined to the folder."""
    if not is_slug(slug.removeprefix("_")):
        raise StoreError(FOLDER, "a draft needs the name of a profile", "open a profile first")
    if _leads_out(folder):
        raise StoreError(FOLDER, "is a link that leads out of the profiles folder", "put a folder in its place")
    return folder / FOLDER / f"{slug}.json"


def _leads_out(folder: Path) -> bool:
    """Tell whether the drafts would lie elsewhere: a folder unpacked from anywhere may hold such a link."""
    return not (folder / FOLDER).resolve().is_relative_to(folder.resolve())


def _raw(folder: Path, slug: str) -> bytes | None:
    """Return the bytes of a draft, None if there is none; BadInput if it is no plain file of the folder."""
    try:
        return read_bytes(draft_path(folder, slug), _name(slug), folder, LARGEST)
    except FileNotFoundError:
        return None


def _name(slug: str) -> str:
    """Return what messages call a draft."""
    return f"{FOLDER}/{slug}.json"


def _tag_of(fault: BadInput) -> str:
    """Return the tag of something that is no draft: a link, a pipe, a giant; or of what the disk does not tell."""
    return UNREAD if isinstance(fault.__cause__, OSError) else _tag(str(fault).encode())


def _tag(raw: bytes) -> str:
    """Return what tells these bytes from any others."""
    return sha256(raw).hexdigest()
