"""What is being worked on as a zip that can be brought in again, where its draft cannot be written."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from planner.forms.draft import Draft
from planner.records.file_header import Filed
from planner.store import Store
from planner.store.kinds import TRUCK, Kind, names_in
from planner.store.record_files import Shelf
from planner.store.slugs import is_slug
from planner.store.slugs import slug as slug_of
from planner.store.toml_layout import changed_text, new_text
from planner.store.transfer.zip_safety import pack_files


def zip_draft(store: Store, draft: Draft[Any]) -> bytes:
    """Return a record as it stands in a tab, with what it needs, as a zip that can be brought in again.

    A profile's trailer has the numbers that were tried. Texts that are no values stand as comments on top.
    """
    texts: dict[str, bytes] = {}
    for kind, slug, record in draft.form.files(draft):
        own = slug if is_slug(slug) else slug_of(record.name)
        told = "" if texts else _told(draft.typed)
        texts[kind.file(own)] = (told + _text(store, kind, own, record)).encode()
        for bag, _, called in names_in(record) if kind is TRUCK else ():
            if is_slug(called) and (raw := Shelf(store.folder, bag).raw(called)) is not None:
                texts[bag.file(called)] = raw.decode("utf-8-sig").encode()
    return pack_files(texts)


def _text(store: Store, kind: Kind[Any], slug: str, record: Filed) -> str:
    """Return a record as its file would be: as its owner wrote it but for what was changed."""
    try:
        raw, old = Shelf(store.folder, kind).raw(slug), store.read(kind, slug)
        return changed_text(raw.decode("utf-8-sig"), old, record) if raw else new_text(record)
    except ValueError:  # there is none, or it is damaged
        return new_text(record)


def _told(typed: Mapping[str, str]) -> str:
    """Return texts that are no values as comments; empty where there are none."""
    lines = [f"# {json.dumps(key)}: {json.dumps(text)}\n" for key, text in typed.items()]
    return "".join(["# Typed, but not in use:\n", *lines]) if lines else ""
