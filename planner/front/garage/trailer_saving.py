"""Saving a trailer on its page, and which profiles a change of it changes."""

from __future__ import annotations

from planner.forms.draft import NEW
from planner.forms.search import find_towing
from planner.front.session import state
from planner.front.widgets import fields, save_panel
from planner.front.widgets.text import listed
from planner.store import PROFILE

WORDS = save_panel.Words("Save this trailer", "Save as a new trailer", "Name")


def draw_saving() -> None:
    """Draw the panel."""
    save_panel.draw_save_panel(state.trailer(), WORDS, lambda: fields.soft(_status()))


def _status() -> str:
    """Say how the trailer differs from its file, and what a change of it changes."""
    record = state.trailer()
    words = save_panel.find_status(record, "file") or "Nothing changed."
    if record.unkept or record.work.slug == NEW:
        return words
    users = [entry.name for entry in find_towing(state.tab().store.entries(PROFILE), record.work.slug)]
    return f"{words} Used by {listed(users)}." if users else f"{words} No profile uses it yet."
