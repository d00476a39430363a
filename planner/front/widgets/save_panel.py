"""Saving what is open: under its name, under another, or not at all."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

import streamlit as st

from planner.forms.draft import NAME, NEW, bad_fields
from planner.front.session import state, unsaved_notice
from planner.front.session.open_record import OpenRecord
from planner.front.widgets import fields


class Words(NamedTuple):
    """What the panel of a kind of record says: on its two buttons, and what it calls the name of a new one."""

    save: str
    save_as: str
    name: str


def draw_save_panel(record: OpenRecord[Any], words: Words, draw_status: Callable[[], None]) -> None:
    """Draw the panel; `draw_status` says how the record differs from its file, and asks what is to be settled."""
    state.write_drafts()  # which may fail, and is told of below
    is_new = record.work.slug == NEW
    st.header("Save", anchor=False)
    draw_status()
    with st.container(horizontal=True, gap="small"):
        if not is_new:
            key = record.name_key("save")
            st.button(words.save, key=key, type="primary", on_click=state.save, args=(record, None))
        if record.work.worth_keeping:
            key = record.name_key("discard")
            st.button("Discard changes", key=key, on_click=state.discard, args=(record,))
    with st.container(horizontal=True, vertical_alignment="bottom", gap="small", key="save-as-row"):
        fields.text(record, NAME, words.name if is_new else "Another name", hint="")
        st.button(
            words.save_as,
            key=record.name_key("save-as"),
            type="primary" if is_new else "secondary",
            on_click=_save_as,
            args=(record,),
        )


def find_status(record: OpenRecord[Any], file: str) -> str:
    """Return how a record differs from its file, which is called so; empty where it does not."""
    if record.unkept:
        return unsaved_notice.STATUS
    if record.work.base is None:
        return f"A new {record.kind}, without a file yet. What you enter is kept on this machine meanwhile."
    if record.work.changed or bad_fields(record.work, state.system()):
        return f"Unsaved changes, kept on this machine meanwhile; the {file} stays as it was until you save."
    return ""


def _save_as(record: OpenRecord[Any]) -> None:
    """Save under the name typed."""
    state.save(record, record.work.typed.get(NAME, ""))
