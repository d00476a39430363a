"""Saving, renaming, copying and deleting a truck or a trailer on its page, and which profiles that changes."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from typing import Any, Final

import streamlit as st

from planner.forms.draft import NEW
from planner.forms.names import Taken
from planner.forms.search import find_naming
from planner.front.session import draft_files, state
from planner.front.session.open_record import OpenRecord
from planner.front.widgets import fields, name_field, reply, save_panel
from planner.front.widgets.text import listed, plain
from planner.store import PROFILE, Receipt

RENAME: Final = "rename"


def draw_saving(record: OpenRecord[Any]) -> None:
    """Draw the panel, and for what has a file the ways to rename and to delete it."""
    kind = record.kind
    words = save_panel.Words(f"Save this {kind}", f"Save as a new {kind}", "Name")
    save_panel.draw_save_panel(record, words, lambda: fields.soft(_status(record)))
    if record.work.slug != NEW:
        fields.soft(f"File: {record.form.kind.file(record.work.slug)} in {state.tab().store.folder}")
        with st.expander("Rename or delete", key=record.name_key("file")):
            _draw_file(record)
    reply.draw_reply(record.name_key("gone"))


def users_of(record: OpenRecord[Any]) -> dict[str, str]:
    """Return the profiles that name a record: their names, by slug."""
    entries = state.tab().store.entries(PROFILE)
    return {one.slug: one.name for one in find_naming(entries, record.kind, record.work.slug)}


def _draw_file(record: OpenRecord[Any]) -> None:
    """Draw another name for the file, and the ways to delete it."""
    used, name = users_of(record), record.name_key(RENAME)
    state.seed(name, record.work.record.name)
    st.text_input("Another name for this file", key=name, live=True)
    key, kind, typed = record.name_key("rename-it"), record.form.kind, str(state.value(name) or "")
    taken = name_field.draw_remark(key, kind, typed, record.work.slug)
    with st.container(horizontal=True, gap="small"):
        label = "Rename" if taken is None else f"Rename to {taken.free}"
        reply.button(plain(label), key, _rename, (record, name, key, taken), at=key)
        if taken is not None:
            args = (record, taken.slug)
            reply.button(plain(f"Open {taken.name}"), record.name_key("open-named"), state.opened, args, at=key)
    reply.draw_reply(key)
    if used:
        fields.soft(f"Used by {listed(list(used.values()))}: they are deleted with it, or nothing is.")
    label = f"Delete with {len(used)} profile{'s' if len(used) > 1 else ''}" if used else f"Delete this {record.kind}"
    key, icon = record.name_key("delete"), ":material/delete:"
    reply.button(label, key, _delete, (record, used), at=record.name_key("gone"), icon=icon)


def _status(record: OpenRecord[Any]) -> str:
    """Say how a record differs from its file, and what a change of it changes."""
    words = save_panel.find_status(record, "file") or "Nothing changed."
    if record.unkept or record.work.slug == NEW:
        return words
    names = list(users_of(record).values())
    return f"{words} Used by {listed(names)}." if names else f"{words} No profile uses it yet."


def _rename(record: OpenRecord[Any], name: str, at: str, taken: Taken | None) -> None:
    """Give the file the name typed, or the one that the button showed; profiles that name it follow."""
    typed, slug = str(state.value(name) or ""), record.work.slug
    if taken is None and not name_field.is_usable(at, record.form.kind, typed, slug):
        return
    old, new = record.work.record.name, typed.strip() if taken is None else taken.free
    state.attempt(lambda: _renamed(record, new), lambda: _renamed(record, old), f"It is called {old} again.")


def _renamed(record: OpenRecord[Any], name: str) -> str:
    """Rename the file of an open record, what is not saved going with it, and say so."""
    work, store = record.work, state.tab().store
    slug = store.rename(work.slug, name, record.form.kind)
    saved = store.read(record.form.kind, slug)
    draft_files.remove_draft(record.home, work.slug)
    record.replace_draft(replace(work, slug=slug, base=saved, record=work.record.replaced(name=saved.name)))
    record.asked, record.tag, record.kept = slug, draft_files.GONE, None
    state.ask(record.kind, slug)
    return f"{work.record.name} is now called {saved.name}."


def _delete(record: OpenRecord[Any], used: Collection[str]) -> None:
    """Move the file into the bin, and the profiles that name it, so that all can be put back."""
    store, work, receipts = state.tab().store, record.work, list[Receipt]()

    def act() -> str:
        try:
            receipts.extend(store.delete(slug) for slug in used)
            receipts.append(store.delete(work.slug, record.form.kind))
        except Exception:
            back()
            raise
        draft_files.remove_draft(record.home, work.slug)
        state.opened(record, None)
        more = f", with {len(used)} profile{'s' if len(used) > 1 else ''}" if used else ""
        return f"{work.record.name} is deleted{more}. The files are in the folder bin."

    def back() -> None:
        while receipts:
            store.restore(receipts.pop())

    state.attempt(act, back)
