"""Saving a trailer on its page: into its file, or as a new one; and what to do when it was changed elsewhere."""

from __future__ import annotations

import streamlit as st

from planner.front import navigation, state, unkept, widgets
from planner.front.finding import towing
from planner.front.garage import bench, edit, fields
from planner.front.text import listed, plain
from planner.front.work import NEW
from planner.store import PROFILE


def panel() -> None:
    """Draw the panel."""
    work = bench.work()
    unsaved = work.changed or bool(edit.bad_fields(work, state.system()))
    st.subheader("Save", anchor=False)
    widgets.soft(_status(unsaved))
    with st.container(horizontal=True, gap="small"):
        if work.slug != NEW:
            st.button("Save this trailer", key="trailer-save", type="primary", on_click=bench.save, args=(None,))
        if work.worth_keeping:
            st.button("Discard changes", key="trailer-discard", on_click=bench.discard)
    with st.container(horizontal=True, vertical_alignment="bottom", gap="small", key="save-as-row"):
        fields.text(edit.SAVING_NAME, "Name" if work.slug == NEW else "Another name", hint="")
        st.button(
            "Save as a new trailer",
            key="trailer-save-as",
            type="primary" if work.slug == NEW else "secondary",
            on_click=_save_as,
        )


def news() -> None:
    """Say what is wrong with the file, and settle what clashes."""
    mine = bench.bench()
    if mine.trouble:
        navigation.problems(mine.trouble)
    if not mine.clash:
        return
    with st.container(key="trailer-clash", border=True):
        st.markdown(f"**{plain(mine.clash)}** Nothing is written until you choose.")
        with st.container(horizontal=True):
            st.button("Keep what is here", key="trailer-keep", on_click=bench.settle, args=(True,))
            st.button("Take the other", key="trailer-take", on_click=bench.settle, args=(False,))


def _save_as() -> None:
    """Save under the name typed."""
    bench.save(bench.work().typed.get(edit.SAVING_NAME, ""))


def _status(unsaved: bool) -> str:
    """Say how the work differs from its file, and what a change of it changes."""
    work = bench.work()
    if bench.bench().unkept:
        return unkept.STATUS
    if work.slug == NEW:
        return "A new trailer, without a file yet. What you enter is kept on this machine meanwhile."
    users = [entry.name for entry in towing(state.tab().store.entries(PROFILE), work.slug)]
    used = f" Used by {listed(users)}." if users else " No profile uses it yet."
    if unsaved:
        return f"Unsaved changes, kept on this machine meanwhile; the file stays as it was until you save.{used}"
    return f"Nothing changed.{used}"
