"""Saving a trailer on its page: into its file, or as a new one; and what to do when it was changed elsewhere."""

from __future__ import annotations

import streamlit as st

from planner.forms import trailer_form
from planner.forms.profile_draft import NEW
from planner.forms.search import find_towing
from planner.front.garage import trailer, trailer_fields
from planner.front.session import state, unsaved_notice
from planner.front.shell import navigation
from planner.front.widgets import fields as widgets
from planner.front.widgets.text import listed, plain
from planner.store import PROFILE


def draw_save_panel() -> None:
    """Draw the panel."""
    work = trailer.work()
    unsaved = work.changed or bool(trailer_form.bad_fields(work, state.system()))
    st.subheader("Save", anchor=False)
    widgets.soft(_status(unsaved))
    with st.container(horizontal=True, gap="small"):
        if work.slug != NEW:
            st.button("Save this trailer", key="trailer-save", type="primary", on_click=trailer.save, args=(None,))
        if work.worth_keeping:
            st.button("Discard changes", key="trailer-discard", on_click=trailer.discard)
    with st.container(horizontal=True, vertical_alignment="bottom", gap="small", key="save-as-row"):
        trailer_fields.text(trailer_form.SAVING_NAME, "Name" if work.slug == NEW else "Another name", hint="")
        st.button(
            "Save as a new trailer",
            key="trailer-save-as",
            type="primary" if work.slug == NEW else "secondary",
            on_click=_save_as,
        )


def draw_news() -> None:
    """Say what is wrong with the file, and settle what clashes."""
    mine = trailer.bench()
    if mine.trouble:
        navigation.draw_problems(mine.trouble)
    if not mine.clash:
        return
    with st.container(key="trailer-clash", border=True):
        st.markdown(f"**{plain(mine.clash)}** Nothing is written until you choose.")
        with st.container(horizontal=True):
            st.button("Keep what is here", key="trailer-keep", on_click=trailer.settle, args=(True,))
            st.button("Take the other", key="trailer-take", on_click=trailer.settle, args=(False,))


def _save_as() -> None:
    """Save under the name typed."""
    trailer.save(trailer.work().typed.get(trailer_form.SAVING_NAME, ""))


def _status(unsaved: bool) -> str:
    """Say how the work differs from its file, and what a change of it changes."""
    work = trailer.work()
    if trailer.bench().unkept:
        return unsaved_notice.STATUS
    if work.slug == NEW:
        return "A new trailer, without a file yet. What you enter is kept on this machine meanwhile."
    users = [entry.name for entry in find_towing(state.tab().store.entries(PROFILE), work.slug)]
    used = f" Used by {listed(users)}." if users else " No profile uses it yet."
    if unsaved:
        return f"Unsaved changes, kept on this machine meanwhile; the file stays as it was until you save.{used}"
    return f"Nothing changed.{used}"
