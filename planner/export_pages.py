"""From files to what is taken away: zips of plain files, a table of all profiles. No streamlit in here."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any, Final

from planner.forms.profile_draft import Work
from planner.forms.trailer_draft import TrailerWork
from planner.plans.hitching_stages import Way
from planner.plans.saved_state import Standing, standings
from planner.records import BadInput, Profile
from planner.records.file_header import Filed
from planner.show.text.as_csv import Line, line_of, table
from planner.store import PROFILE, TRAILER, TRUCK, Entry, Store
from planner.store.atomic_write import written_on
from planner.store.kinds import Kind
from planner.store.record_files import Shelf
from planner.store.slugs import is_slug
from planner.store.slugs import slug as slug_of
from planner.store.toml_layout import changed_text, new_text
from planner.store.transfer.export import export_all, export_profiles
from planner.store.transfer.preview import read_lying
from planner.store.transfer.zip_safety import pack_files
from planner.units.quantity import System

TOGETHER: Final = 250  # profiles worked out at a time: long enough to be quick, short enough to be stopped


def zip_of(store: Store, slug: str) -> bytes:
    """Return one profile with its truck and trailer as a zip; it tells what it leaves out."""
    return export_profiles(store, (slug,)).data


def zip_of_all(store: Store) -> bytes:
    """Return everything as a zip; it tells what it leaves out."""
    return export_all(store).data


def zip_of_work(store: Store, work: Work) -> bytes:
    """Return a profile as it stands in a tab, with its truck and its trailer, as a zip that can be brought in again.

    The trailer has the numbers that were tried. Texts that are no values stand as comments on top of the profile.
    """
    slug = work.slug if is_slug(work.slug) else slug_of(work.profile.name)
    files = {
        PROFILE.file(slug): _told(work.typed) + _text(store, PROFILE, slug, work.profile),
        TRUCK.file(work.profile.truck): _text(store, TRUCK, work.profile.truck, work.truck),
    }
    if work.towed is not None and work.profile.trailer is not None:
        files[TRAILER.file(work.profile.trailer)] = _text(store, TRAILER, work.profile.trailer, work.towed)
    return pack_files({file: text.encode() for file, text in files.items()})


def zip_of_trailer(store: Store, work: TrailerWork) -> bytes:
    """Return a trailer as it stands in a tab as such a zip."""
    slug = work.slug if is_slug(work.slug) else slug_of(work.good.name)
    return pack_files({TRAILER.file(slug): (_told(work.typed) + _text(store, TRAILER, slug, work.good)).encode()})


def _text(store: Store, kind: Kind[Any], slug: str, record: Filed) -> str:
    """Return a record as its file would be: as its owner wrote it but for what was changed."""
    try:
        raw, old = read_lying(Shelf(store.folder, kind), slug), store.read(kind, slug)
        return changed_text(raw.decode("utf-8-sig"), old, record) if raw else new_text(record)
    except ValueError:  # there is none, or it is damaged
        return new_text(record)


def _told(typed: Mapping[str, str]) -> str:
    """Return texts that are no values as comments; empty where there are none."""
    lines = [f"# {json.dumps(key)}: {json.dumps(text)}\n" for key, text in typed.items()]
    return "".join(["# Typed, but not in use:\n", *lines]) if lines else ""


def table_of(store: Store, system: System) -> bytes:
    """Return all profiles as a table; one that cannot be used has its line, which says why."""
    entries = store.entries(PROFILE)
    parts = (entries[first : first + TOGETHER] for first in range(0, len(entries), TOGETHER))
    return table((line for part in parts for line in lines_of(store, part)), system)


def lines_of(store: Store, entries: Sequence[Entry[Profile]]) -> list[Line]:
    """Return the lines of some profiles in a table."""
    read = list(store.read_outfits(entry.slug for entry in entries))
    good = [(one.profile, one.truck, one.trailer) for one in read if not isinstance(one, BadInput)]
    found = iter(standings(good))
    stands = [one if isinstance(one, BadInput) else next(found) for one in read]
    return [_line(entry.name, one, _written(store, entry)) for entry, one in zip(entries, stands, strict=True)]


def _line(name: str, stands: tuple[Standing, Way | None] | Exception, on: date | None) -> Line:
    """Return the line of one profile, without numbers where it cannot be used."""
    if isinstance(stands, BadInput):
        return Line(profile=name, on=on, wrong=stands.problems[0].line())
    if isinstance(stands, Exception):  # the arithmetic of numbers that no truck has
        return Line(profile=name, on=on, wrong=str(stands))
    return line_of(*stands, on)


def _written(store: Store, entry: Entry[Profile]) -> date | None:
    """Return the day a profile was saved."""
    return written_on(store.folder / PROFILE.file(entry.slug))
