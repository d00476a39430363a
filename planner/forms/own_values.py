"""Which values are typical, and one that its owner takes as his own."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from planner.forms.draft import D, Draft
from planner.store.kinds import R


def is_typical(draft: Draft[Any], key: str) -> bool:
    """Tell whether a field still holds a typical value."""
    return draft.form.path_of(key) in draft.form.guessed(draft.record)


def confirm(draft: D, path: str) -> D:
    """Return the draft with a typical value made the owner's own, the number staying as it is."""
    return replace(draft, record=confirmed(draft.record, path))


def confirmed(record: R, path: str) -> R:
    """Return the record with a typical value made the owner's own."""
    left = tuple(one for one in getattr(record, "typical", ()) if one != path)
    return record.replaced(typical=left)
