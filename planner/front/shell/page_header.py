"""The head of the pages that work on a profile: whose load this is."""

from __future__ import annotations

import streamlit as st

from planner.forms.draft import NEW
from planner.front.session import state
from planner.front.shell import navigation
from planner.front.widgets import fields
from planner.front.widgets.problems import draw_problems
from planner.front.widgets.text import plain


def draw_page_header() -> None:
    """Name the profile, and say what is not saved."""
    work = state.work()
    title = "New profile" if work.slug == NEW else work.profile.name
    with st.container(key="head", gap="xxsmall"):
        st.title(plain(title), anchor=False)
        rig = work.truck.name
        if work.trailer is not None and work.profile.hitch:
            rig += f", {work.trailer.name} on the {work.profile.hitch}"
        fields.soft(f"{rig}{' · unsaved changes' if work.unsaved else ''}")


def draw_nothing_open(page: str = "Level") -> None:
    """Say why a page has nothing to work on."""
    st.title(page, anchor=False)
    if trouble := state.profile().trouble:
        draw_problems(trouble)
    if not state.tab().store.trucks():
        navigation.draw_truck_button("Enter your truck")
    navigation.draw_page_button("profiles", None, "To the list of profiles")
