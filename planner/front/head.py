"""The head of the pages that work on a profile: whose load this is."""

from __future__ import annotations

import streamlit as st

from planner.front import navigation, state, widgets
from planner.front.text import plain
from planner.front.work import NEW


def draw() -> None:
    """Name the profile, and say what is not saved."""
    work = state.work()
    title = "New profile" if work.slug == NEW else work.profile.name
    with st.container(key="head", gap="xxsmall"):
        st.title(plain(title), anchor=False)
        rig = work.truck.name
        if work.trailer is not None and work.profile.hitch:
            rig += f", {work.trailer.name} on the {work.profile.hitch}"
        widgets.soft(f"{rig}{' · unsaved changes' if work.worth_keeping else ''}")


def nothing(page: str = "Level") -> None:
    """Say why a page has nothing to work on."""
    st.title(page, anchor=False)
    if trouble := state.tab().trouble:
        navigation.problems(trouble)
    navigation.button("profiles", None, "To the list of profiles")
