"""The Profiles page as a list: a card a profile; what is damaged keeps to its own row, and the others work."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from planner.front import actions, drafts, faces, navigation, state, widgets
from planner.front.text import html, plain
from planner.front.work import NEW
from planner.records import BadInput, Problem, Profile
from planner.store import PROFILE, Entry
from planner.store.slugs import is_slug


def draw() -> None:
    """Draw all profiles."""
    entries = state.tab().store.entries(PROFILE)
    kept = drafts.kept(state.tab().store.folder)
    with st.container(horizontal=True, vertical_alignment="center", key="top"):
        st.title("Profiles", anchor=False)
        if entries:
            navigation.button("level", NEW, "Go on with the new load" if NEW in kept else "Level a new load")
    if not entries:
        _empty()
        return
    with st.container(key="cards"):  # which the style sheet lays out beside each other where there is room
        for entry in entries:
            with st.container(border=True, key=f"card-{entry.slug}", gap="small"):
                _card(entry, entry.slug in kept)


def _empty() -> None:
    """Say what to do in a folder without profiles."""
    folder = state.tab().store.folder
    st.markdown("There are no profiles here yet. A profile is a truck, its trailer and its load, saved under a name.")
    if state.tab().store.trucks():
        navigation.button("level", NEW, "Level a load, then save it as a profile")
    else:
        widgets.soft(
            f"Put the files of your truck and trailers into trucks and trailers in the folder {folder}, or start the "
            "planner on another folder with --profiles."
        )


def _card(entry: Entry[Profile], unsaved: bool) -> None:
    """Draw one card."""
    profile, problems = entry.record, entry.problems
    if profile is not None:
        try:
            outfit = state.tab().store.read_outfit(entry.slug)
            face = faces.face(outfit, state.system(), state.dark())
            problems = face.problems
            if face.card is not None:
                st.image(face.card.svg, width="stretch", alt=face.card.alt)
                if not face.saved:
                    widgets.soft("Planned now from its load; not saved yet.")
        except BadInput as exc:
            problems = exc.problems
    if problems:
        _damaged(entry.name, problems)
    if unsaved:
        widgets.soft("Has unsaved changes: see Level.")
    with st.container(horizontal=True, gap="small", vertical_alignment="center"):
        if profile is not None and not problems:
            navigation.button("profiles", entry.slug, "Recall")
        if profile is not None:
            navigation.button("level", entry.slug, "Level this")
        if is_slug(entry.slug):
            st.space("stretch")
            _more(entry)


def _damaged(name: str, problems: tuple[Problem, ...]) -> None:
    """Say what is wrong with a profile, and how to mend it."""
    st.html(f'<p class="verdict stop"><b><span aria-hidden="true">■</span> {html(name)}</b> cannot be used.</p>')
    navigation.problems(problems)


def _more(entry: Entry[Profile]) -> None:
    """Draw what is done with a card now and then."""
    slug, sound = entry.slug, entry.record is not None
    with st.popover("More", key=f"more-{slug}"):
        if sound:
            key = state.seed(f"name-{slug}-{state.tab().generation}", state.tab().names.get(slug, ""))
            # Streamlit's own pause: any other makes it import pandas, and this is the first page that is seen.
            st.text_input("Another name", key=key, live=True, on_change=state.named, args=(slug, key))
            with st.container(horizontal=True):
                _button("Save a copy", f"copy-{slug}", actions.save_as, slug, key)
                _button("Rename", f"rename-{slug}", actions.rename, slug, key)
        st.button(f"Delete {plain(entry.name)}", key=f"delete-{slug}", on_click=actions.delete, args=(slug,))


def _button(label: str, key: str, action: Callable[[str, str], None], slug: str, name: str) -> None:
    """Draw a button that takes the name typed above it."""
    st.button(label, key=key, on_click=_act, args=(action, slug, name))


def _act(action: Callable[[str, str], None], slug: str, field: str) -> None:
    """Do something with the name typed; it stays in its field if it could not be done."""
    action(slug, str(state.value(field) or ""))
    if not state.tab().problems:
        state.show(field, "")
        state.tab().names.pop(slug, None)
