"""The Profiles page as a list: a card a profile; what is damaged keeps to its own row, and the others work."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import streamlit as st

from planner.forms.draft import NEW, from_json
from planner.forms.names import Taken
from planner.forms.profile_form import PROFILE_FORM
from planner.forms.search import find_profiles
from planner.front.profiles import actions, card
from planner.front.session import draft_files, state
from planner.front.shell import navigation
from planner.front.widgets import fields, name_field, reply
from planner.front.widgets.problems import draw_problems
from planner.front.widgets.text import html, listed, plain, shorten
from planner.records import BadInput, Problem, Profile
from planner.store import PROFILE, TRUCK, Entry
from planner.store import TRAILER as TRAILERS
from planner.store import favourites as at_hand
from planner.store.slugs import is_slug

FIRST: Final = 24  # cards drawn at once
FIND, TRAILER, MOST = "find", "by-trailer", "cards-shown"
ANY: Final = ""
WHAT_FOR: Final = "The air to put in each bag so your load sits level, and what is over its rating."


def draw_profile_list() -> None:
    """Draw the profiles that are looked for, and below them what is done with many."""
    store = state.tab().store
    entries = store.entries(PROFILE)
    if state.tab().first and not entries and not store.trucks():
        navigation.go_to_new_truck()
    kept = draft_files.kept(store.folder)
    with st.container(horizontal=True, vertical_alignment="center", key="top"):
        st.title("Profiles", anchor=False)
        if entries:
            navigation.draw_page_button("level", NEW, name_new_load(kept))
    shown: list[Entry[Profile]] = []
    if not at_hand.read_favourites(store.folder).used:  # for who opens it first
        fields.soft(WHAT_FOR)
    if entries:
        shown = _list(entries, kept)
    else:
        _empty()
    from planner.front.profiles import tools  # when the cards are on the screen

    tools.draw_tools(entries, shown)


def name_new_load(kept: frozenset[str]) -> str:
    """Return the words of the link to a new load, some of which may be typed already."""
    return "Go on with the new load" if NEW in kept else "Level a new load"


def _list(entries: list[Entry[Profile]], kept: frozenset[str]) -> list[Entry[Profile]]:
    """Draw what narrows the list, and the cards; return the profiles that were looked for, in their order."""
    store, handy = state.tab().store, at_hand.read_favourites(state.tab().store.folder)
    trailers = {entry.slug: entry.name for entry in store.entries(TRAILERS)}
    names = trailers | {entry.slug: entry.name for entry in store.entries(TRUCK)}
    narrow = st.container(horizontal=True, vertical_alignment="bottom", key="narrow")  # filled when the cards are there
    words, trailer = str(state.value(FIND) or ""), str(state.value(TRAILER) or ANY)
    shown = find_profiles(entries, handy, words, trailer, names)
    most = int(state.value(MOST) or FIRST)
    if not shown:
        asked = f" has “{shorten(words)}” in its name, truck, trailer or cargo" if words.strip() else " is"
        st.markdown(plain(f"No profile{asked}{f' with {trailers.get(trailer, trailer)}' if trailer else ''}."))
    _out_of_sight(entries, shown[:most])
    with st.container(key="cards"):  # which the style sheet lays out beside each other where there is room
        for place, entry in enumerate(shown[:most]):
            _draw_gone(place)
            with st.container(border=True, key=f"card-{entry.slug}", gap="small"):
                _card(entry, place, entry.slug in kept and _is_unsaved(entry), entry.slug in handy.favourites)
        _draw_gone(len(shown[:most]))
    if len(entries) > 1:
        with narrow:
            _asked(trailers)
    if len(shown) > most:
        more = f"Show {min(FIRST, len(shown) - most)} more of {len(shown) - most}"
        st.button(more, key="show-more", on_click=state.show, args=(MOST, most + FIRST))
    return shown


def _out_of_sight(entries: list[Entry[Profile]], seen: list[Entry[Profile]]) -> None:
    """Name the damaged profiles whose cards are not drawn: a fault must not hide behind a long list."""
    drawn = {entry.slug for entry in seen}
    hidden = [entry.name for entry in entries if entry.brief is None and entry.slug not in drawn]
    if hidden:
        st.html(
            f'<p class="verdict stop"><b><span aria-hidden="true">■</span> Cannot be used:</b> {html(listed(hidden))}. '
            "Look for the name to see what is wrong.</p>"
        )


def _asked(trailers: dict[str, str]) -> None:
    """Draw the field and the choice that narrow the list."""
    st.text_input("Find a profile", key=FIND, live=True, placeholder="find by name or load")
    st.selectbox(
        "Trailer",
        [ANY, *trailers],
        key=TRAILER,
        format_func=lambda slug: trailers.get(slug, "any trailer"),
        filter_mode=None,
    )


def _empty() -> None:
    """Say what to do in a folder without profiles."""
    folder = state.tab().store.folder
    st.markdown("There are no profiles here yet. A profile is a truck, its trailer and its load, saved under a name.")
    if state.tab().store.trucks():
        navigation.draw_page_button("level", NEW, "Level a load, then save it as a profile")
    else:
        navigation.draw_truck_button("Enter your truck")
        fields.soft(
            f"Or put the files of your truck and trailers into trucks and trailers in the folder {folder}, or start "
            "the planner on another folder with --profiles."
        )


def _is_unsaved(entry: Entry[Profile]) -> bool:
    """Tell whether a profile's draft has what its file lacks; weighings of the bars, say, never go there."""
    store = state.tab().store
    content = draft_files.read_draft(store.folder, entry.slug).content
    try:
        return content is None or from_json(PROFILE_FORM, store, entry.slug, content).unsaved
    except (BadInput, ValueError, TypeError, KeyError, AttributeError):
        return True  # which is told of where it is opened


def _draw_gone(place: int) -> None:
    """Say that a card was deleted, where it was."""
    if reply.is_here(at := f"gone-{place}"):
        reply.draw_reply(at)


def _card(entry: Entry[Profile], place: int, unsaved: bool, favourite: bool) -> None:
    """Draw one card."""
    face = card.read_face(state.tab().store, entry, state.system())
    sound, problems = entry.brief is not None, face.problems
    if face.drawing is not None:
        st.html(card.html_of_card(face))
    if problems:
        _damaged(entry.name, problems)
    if unsaved:
        fields.soft("Has unsaved changes: see Level.")
    with st.container(key=f"foot-{entry.slug}", gap="small"):  # in one piece: those of a row of cards on one line
        with st.container(horizontal=True, gap="small", vertical_alignment="center"):
            if sound and not problems:
                navigation.draw_page_button("profiles", entry.slug, "Set these")
            if sound:
                navigation.draw_page_button("level", entry.slug, "Level this")
            if is_slug(entry.slug):
                st.space("stretch")
                words = "Less" if state.tab().menu == entry.slug else "★ More" if favourite else "More"
                st.button(words, key=f"more-{entry.slug}", on_click=_turn_menu, args=(entry.slug,))
        if state.tab().menu == entry.slug:  # in the card, and not over it: so all of it is in reach on a phone
            with st.container(key="menu", gap="small"):
                _draw_menu(entry, favourite, place)
        if reply.is_here(at := f"card-{place}"):
            reply.draw_reply(at)


def _damaged(name: str, problems: tuple[Problem, ...]) -> None:
    """Say what is wrong with a profile, and how to mend it."""
    st.html(card.html_of_unusable(name))
    draw_problems(problems)


def _turn_menu(slug: str) -> None:
    """Open the menu of a card, or close it."""
    now = state.tab()
    now.menu = "" if now.menu == slug else slug
    if now.undo is None:
        now.forget_action()  # which else stays in view, over other cards


def _draw_menu(entry: Entry[Profile], favourite: bool, place: int) -> None:
    """Draw what is done with a card now and then."""
    slug, at = entry.slug, f"card-{place}"
    words = "★ Favourite" if favourite else "☆ Make favourite"
    reply.button(words, f"star-{slug}", actions.set_favourite, (slug, not favourite), at=at)
    if entry.brief is not None:
        key = state.seed(f"name-{slug}-{state.profile().generation}", state.tab().names.get(slug, ""))
        # Streamlit's own pause: any other makes it import pandas, and this is the first page that is seen.
        st.text_input("Another name", key=key, live=True, on_change=state.named, args=(slug, key))
        taken = name_field.draw_remark(at, PROFILE, str(state.value(key) or ""))
        others = taken if taken is not None and taken.slug != slug else None  # its own it may write otherwise
        with st.container(horizontal=True, gap="small"):
            words = "Save a copy" if taken is None else f"Save a copy as {taken.free}"
            copy = (actions.save_as, slug, key, at, None, taken)
            reply.button(plain(words), f"copy-{slug}", _act, copy, at=at)
            words = "Rename" if others is None else f"Rename to {others.free}"
            args = (actions.rename_profile, slug, key, at, slug, others)
            reply.button(plain(words), f"rename-{slug}", _act, args, at=at)
            if others is not None:
                navigation.link("profiles", others.slug, plain(f"Open {others.name}"))
    words, icon = f"Delete {plain(shorten(entry.name))}", ":material/delete:"
    reply.button(words, f"delete-{slug}", actions.delete_profile, (slug,), at=f"gone-{place}", icon=icon)


def _act(act: Callable[[str, str], None], slug: str, field: str, at: str, own: str | None, taken: Taken | None) -> None:
    """Do something with the name typed, or the one that the button showed; it stays if that could not be done."""
    typed = str(state.value(field) or "")
    if taken is None and not name_field.is_usable(at, PROFILE, typed, own):
        return
    act(slug, typed if taken is None else taken.free)
    if not state.tab().problems:
        state.show(field, "")
        state.tab().names.pop(slug, None)
