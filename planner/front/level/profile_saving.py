"""Saving a profile: which pressures are saved with it, and where a trailer's changed numbers go."""

from __future__ import annotations

import streamlit as st

from planner.forms.profile_draft import ProfileDraft
from planner.forms.saving import FATE, TRAILER_NAME, trimmed_on, with_pressures
from planner.forms.search import find_naming
from planner.front.session import state
from planner.front.widgets import fields, save_panel
from planner.front.widgets.text import listed, plain
from planner.plans.answer import Answer
from planner.plans.saved_state import saved_pressures
from planner.records import Trailer
from planner.store import PROFILE, TRAILER

WORDS = save_panel.Words("Save with these pressures", "Save as a profile", "Profile name")


def draw_saving(answer: Answer | None) -> None:
    """Draw the panel; the answer says which pressures would be saved."""
    save_panel.draw_save_panel(state.profile(), WORDS, lambda: _draw_status(answer))


def _draw_status(answer: Answer | None) -> None:
    """Say how the profile differs from its file, and ask where changed numbers shall go."""
    work = state.work()
    st.markdown(plain(save_panel.find_status(state.profile(), "profile") or _saved(work, answer)))
    if work.other_numbers and work.towed is not None:
        _numbers(work.towed)


def _saved(work: ProfileDraft, answer: Answer | None) -> str:
    """Say how the pressures that are saved compare with those of the answer."""
    saved = saved_pressures(work.profile)
    if not saved:
        return "Nothing changed. No pressures are saved with this profile yet."
    if answer is None:
        return "Nothing changed."
    if when := trimmed_on(work):
        return f"Nothing changed. The pressures trimmed on {when.isoformat()} are saved; those above are as planned."
    now = saved_pressures(with_pressures(work, answer).profile)
    if now and any(abs(now.get(corner, -1e9) - value) > 1.0 for corner, value in saved.items()):  # [Pa]
        return "The saved pressures differ from those above: the truck, trailer or load was changed since."
    return "Nothing changed; these pressures are saved."


def _numbers(trailer: Trailer) -> None:
    """Ask where the trailer's changed numbers shall go; nothing is chosen for its owner."""
    words = {
        "write": f"Into the trailer {plain(trailer.name)}{_also_used()}",
        "new": "Into a new trailer, named below",
        "drop": f"Nowhere: save with {plain(trailer.name)} as its file has it",
    }
    name = state.seed(state.widget(FATE), state.work().typed.get(FATE))
    st.radio(
        "You changed the trailer's numbers here. Where should they go?",
        list(words),
        index=None,
        key=name,
        format_func=words.__getitem__,
        on_change=state.typed,
        args=(state.profile(), FATE, name),
    )
    if state.work().typed.get(FATE) == "new":
        fields.text(state.profile(), TRAILER_NAME, "Name of the new trailer", hint="")


def _also_used() -> str:
    """Name the other profiles that a change of the trailer's file would change."""
    work = state.work()
    users = find_naming(state.tab().store.entries(PROFILE), TRAILER.name, work.profile.trailer)
    others = [plain(entry.name) for entry in users if entry.slug != work.slug]
    return f" (used by {listed(others)} too)" if others else ""
