"""What is being worked on as a zip that can be brought in again, where its draft cannot be written."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from planner.forms.profile_draft import Work
from planner.forms.trailer_draft import TrailerWork
from planner.records.file_header import Filed
from planner.store import PROFILE, TRAILER, TRUCK, Store
from planner.store.kinds import Kind
from planner.store.record_files import Shelf
from planner.store.slugs import is_slug
from planner.store.slugs import slug as slug_of
from planner.store.toml_layout import changed_text, new_text
from planner.store.transfer.preview import read_lying
from planner.store.transfer.zip_safety import pack_files


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
