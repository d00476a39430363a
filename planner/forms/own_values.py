"""A typical value that its owner takes as his own."""

from __future__ import annotations

from dataclasses import replace

from planner.forms.draft import D


def confirm(draft: D, path: str) -> D:
    """Return the draft with a typical value made the owner's own, the number staying as it is."""
    left = tuple(one for one in getattr(draft.record, "typical", ()) if one != path)
    return replace(draft, record=draft.record.replaced(typical=left))
