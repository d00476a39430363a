"""Saving and deleting slips on their page, and writing what was weighed into the files of truck and trailer."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from planner.forms.draft import NEW
from planner.forms.slip_form import SlipDraft, Used, take_back
from planner.front.session import draft_files, state
from planner.front.session.open_record import OpenRecord
from planner.front.widgets import fields, reply, save_panel
from planner.store import Receipt, Store

WORDS: Final = save_panel.Words("Save these slips", "Save as new slips", "Name")


def draw_saving(record: OpenRecord[SlipDraft]) -> None:
    """Draw the panel, and for what has a file the way to delete it."""
    status = lambda: fields.soft(save_panel.find_status(record, "file") or "Nothing changed.")  # noqa: E731
    save_panel.draw_save_panel(record, WORDS, status)
    if record.work.slug != NEW:
        fields.soft(f"File: {record.form.kind.file(record.work.slug)} in {state.tab().store.folder}")
        key, icon = record.name_key("delete"), ":material/delete:"
        reply.button("Delete these slips", key, _delete, (record,), at="gone", icon=icon)
    reply.draw_reply("gone")


def _delete(record: OpenRecord[SlipDraft]) -> None:
    """Move the file into the bin, so that it can be put back."""
    store, work, receipts = state.tab().store, record.work, list[Receipt]()

    def act() -> str:
        receipts.append(store.delete(work.slug, record.form.kind))
        draft_files.remove_draft(record.home, work.slug)
        state.opened(record, None)
        return f"{work.record.name} is deleted. The file is in the folder bin."

    state.attempt(act, lambda: store.restore(receipts.pop()))


def use_weighed(write: Callable[[Store], Used]) -> None:
    """Write what was weighed into the files of truck and trailer, so that it can be taken back."""
    store, done = state.tab().store, list[Used]()

    def act() -> str:
        done.append(write(store))
        return f"{done[0].names}: now as weighed."

    state.attempt(act, lambda: take_back(store, done[0]))
