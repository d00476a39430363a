"""Saving what is open: under its name, under another, or not at all."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

import streamlit as st

from planner.forms.draft import NAME, NEW, bad_fields
from planner.forms.names import Taken
from planner.front.session import state, unsaved_notice
from planner.front.session.open_record import OpenRecord
from planner.front.widgets import fields, name_field, reply
from planner.front.widgets.text import plain


class Words(NamedTuple):
    """What the panel of a kind of record says: on its two buttons, and what it calls the name of a new one."""

    save: str
    save_as: str
    name: str


def draw_save_panel(record: OpenRecord[Any], words: Words, draw_status: Callable[[], None]) -> None:
    """Draw the panel; `draw_status` says how the record differs from its file, and asks what is to be settled."""
    state.write_drafts()  # which may fail, and is told of below
    is_new, saving, saving_as = record.work.slug == NEW, record.name_key("saving"), record.name_key("saving-as")
    st.header("Save", anchor=False)
    draw_status()
    with st.container(horizontal=True, gap="small"):
        if not is_new:
            reply.button(words.save, record.name_key("save"), state.save, (record, None), at=saving, type="primary")
        if record.work.worth_keeping:
            key = record.name_key("discard")
            reply.button("Discard changes", key, state.discard, (record,), at=saving)
    reply.draw_reply(saving)
    with st.container(horizontal=True, vertical_alignment="bottom", gap="small", key="save-as-row"):
        with st.container(gap="xxsmall"):
            label = words.name if is_new else "Save under a new name"
            fields.text(record, NAME, label, hint="")
            taken = name_field.draw_remark(saving_as, record.form.kind, _name(record))
        look = "primary" if is_new else "secondary"
        label = words.save_as if taken is None else f"Save as {taken.free}"
        args = (record, saving_as, taken)
        reply.button(plain(label), record.name_key("save-as"), _save_as, args, at=saving_as, type=look)
        if taken is not None and taken.slug != record.work.slug:
            key = record.name_key("open-same")
            reply.button(plain(f"Open {taken.name}"), key, state.opened, (record, taken.slug), at=saving_as)
    reply.draw_reply(saving_as)


def find_status(record: OpenRecord[Any], file: str) -> str:
    """Return how a record differs from its file, which is called so; empty where it does not."""
    if record.unkept:
        return unsaved_notice.STATUS
    if record.work.base is None:
        return f"A new {record.kind}, not saved yet. What you type is kept on this machine."
    if record.work.changed or bad_fields(record.work, state.system()):
        return f"Unsaved changes, kept on this machine; the {file} stays as it was until you save."
    return ""


def _name(record: OpenRecord[Any]) -> str:
    """Return the name typed."""
    return str(record.work.typed.get(NAME, ""))


def _save_as(record: OpenRecord[Any], at: str, taken: Taken | None) -> None:
    """Save under the name typed; where that is another's, under the one that the button showed."""
    if taken is not None or name_field.is_usable(at, record.form.kind, _name(record)):
        state.save(record, _name(record) if taken is None else taken.free)
