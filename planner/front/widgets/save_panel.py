"""Saving on the Level page: under its name, under another, or not at all; and where a trailer's changed numbers go."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import streamlit as st

from planner.forms import profile_form
from planner.forms.profile_draft import NEW, Work
from planner.forms.saving import FATES, check_savable, save_profile, with_pressures
from planner.forms.search import find_towing
from planner.front.session import draft_files, state, unsaved_notice
from planner.front.widgets import fields
from planner.front.widgets.text import listed, plain
from planner.plans.answer import Answer
from planner.plans.saved_state import saved_pressures
from planner.records import BadInput, Problem, Trailer
from planner.store import PROFILE
from planner.store.conflict import Overtaken

FATE, NAME, TRAILER_NAME = (
    f"{profile_form.SAVING}.fate",
    f"{profile_form.SAVING}.name",
    f"{profile_form.SAVING}.trailer",
)
ELSEWHERE: Final = Problem(
    "not saved", "", "", "the profile was changed in another tab or on another device", "look at it again, then save"
)


def draw_save_panel(answer: Answer | None) -> None:
    """Draw the panel; the answer says which pressures would be saved."""
    state.write_draft()  # which may fail, and is told of below
    work = state.work()
    st.subheader("Save", anchor=False)
    st.markdown(plain(_status(work, answer)))
    if work.other_numbers and work.towed is not None:
        _numbers(work.towed)
    with st.container(horizontal=True, gap="small"):
        if work.slug != NEW:
            st.button("Save with these pressures", key="save", type="primary", on_click=_save, args=(False,))
        if work.worth_keeping:
            st.button("Discard changes", key="discard", on_click=_discard)
    with st.container(horizontal=True, vertical_alignment="bottom", gap="small", key="save-as-row"):
        fields.field(NAME, "Profile name" if work.slug == NEW else "Another name", hint="")
        st.button(
            "Save as a profile",
            key="save-as",
            type="primary" if work.slug == NEW else "secondary",
            on_click=_save,
            args=(True,),
        )


def _status(work: Work, answer: Answer | None) -> str:
    """Say how the work differs from its file."""
    if state.tab().unkept:
        return unsaved_notice.STATUS
    if work.base is None:
        return "A new profile, without a file yet. What you enter is kept on this machine meanwhile."
    if work.changed or profile_form.bad_fields(work, state.system()):
        return "Unsaved changes, kept on this machine meanwhile; the profile stays as it was until you save."
    saved = saved_pressures(work.profile)
    if not saved:
        return "Nothing changed. No pressures are saved with this profile yet."
    now = {} if answer is None else saved_pressures(with_pressures(work, answer).profile)
    if now and any(abs(now.get(corner, -1e9) - value) > 1.0 for corner, value in saved.items()):  # [Pa]
        return "The pressures saved with this profile differ from those above: something it names was changed since."
    return "Nothing changed; these pressures are saved."


def _numbers(trailer: Trailer) -> None:
    """Ask where the trailer's changed numbers shall go; nothing is chosen for its owner."""
    words = {
        "write": f"Into the trailer {plain(trailer.name)}{_also_used()}",
        "new": "Into a new trailer, named below",
        "drop": f"Nowhere: save with the numbers that the file of {plain(trailer.name)} has",
    }
    name = state.seed(state.widget(FATE), state.work().typed.get(FATE))
    st.radio(
        "The trailer's numbers were changed. Where shall they go?",
        list(words),
        index=None,
        key=name,
        format_func=words.__getitem__,
        on_change=state.typed,
        args=(FATE, name),
    )
    if state.work().typed.get(FATE) == "new":
        fields.field(TRAILER_NAME, "Name of the new trailer", hint="")


def _also_used() -> str:
    """Name the other profiles that a change of the trailer's file would change."""
    work = state.work()
    users = find_towing(state.tab().store.entries(PROFILE), work.profile.trailer)
    others = [plain(entry.name) for entry in users if entry.slug != work.slug]
    return f" (used by {listed(others)} too)" if others else ""


def _save(under_another_name: bool) -> None:
    """Save, and say so."""
    state.attempt(lambda: _saved(under_another_name))


def _saved(under_another_name: bool) -> str:
    """Write the work; BadInput if it cannot be."""
    shown = state.work()
    if not state.in_step() or not _same(shown, state.work()):
        raise BadInput([ELSEWHERE])
    work = replace(shown, base=state.work().base)  # what its owner saw; the base as the file writes it
    fate = next((one for one in FATES if one == work.typed.get(FATE)), None)
    check_savable(work, fate, state.system())
    name = work.typed.get(NAME, "").strip() if under_another_name else None
    if name == "":
        raise BadInput([Problem("not saved", "name", "", "a profile needs a name", "type one beside the button")])
    try:
        new = save_profile(state.tab().store, work, name, fate, work.typed.get(TRAILER_NAME, ""))
    except Overtaken:
        state.replace_work(work.without_typed(FATE))  # it was chosen without knowing of the other's change
        raise
    state.saved(new.without_typed(FATE, NAME, TRAILER_NAME))
    return f"{new.profile.name} is saved, with the pressures to set."


def _same(shown: Work, now: Work) -> bool:
    """Tell whether the work is what was on the screen; it is another where the draft of another tab was taken up."""
    return (shown.profile, shown.what_if, shown.typed) == (now.profile, now.what_if, now.typed)


def _discard() -> None:
    """Drop what is not saved, so that it can be put back."""
    before = state.work()
    if state.attempt(lambda: _dropped(before)):
        state.did("The unsaved changes are dropped.", lambda: state.replace_work(before))


def _dropped(work: Work) -> str:
    draft_files.remove_draft(state.tab().store.folder, work.slug)
    state.opened(work.slug)
    return ""
