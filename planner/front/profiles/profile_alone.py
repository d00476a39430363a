"""One profile alone, at arm's length: what stops it, its pressures as the truck stands from above, and the way on."""

from __future__ import annotations

import streamlit as st

from planner.front.profiles import card
from planner.front.session import state
from planner.front.shell import navigation
from planner.front.widgets import fields
from planner.front.widgets.problems import draw_problems
from planner.records import Problem
from planner.show.text.card import Carried
from planner.store import favourites as at_hand


def draw_profile_alone() -> None:
    """Draw the profile that the address names."""
    now = state.tab()
    if now.profile.draft is None:
        _missing(now.profile.trouble)
        return
    slug = now.profile.draft.slug
    carried = card.read_carried(now.store, slug, now.system)
    if not isinstance(carried, Carried):
        _missing(carried, mended_on_level=True)
        return
    at_hand.was_used(now.store.folder, slug)
    with st.container(key="alone", gap="xsmall"):  # which the style sheet lays out
        st.html(card.html_alone(carried))
        if now.profile.draft.unsaved:
            fields.soft("Level has unsaved changes; they are not in these numbers.")
        _links(carried)


def _links(carried: Carried) -> None:
    """Draw the way on, under the thumb: to what is done next with this load."""
    with st.container(key="alone-links", horizontal=True, gap="small"):
        if carried.stages:
            navigation.draw_page_button("hitch", None, "Hitch up")
        navigation.draw_trim_button()
        navigation.draw_page_button("level", None, "Level")


def _missing(problems: tuple[Problem, ...], *, mended_on_level: bool = False) -> None:
    """Say why there is no profile, or nothing to say of it, and lead on."""
    st.title("Profiles", anchor=False)
    draw_problems(problems)
    if mended_on_level:
        navigation.draw_page_button("level", None, "Fix it on Level")
    navigation.draw_page_button("profiles", None, "To the list of profiles")
