"""The head of the pages that work on a profile: whose load this is."""

from __future__ import annotations

import streamlit as st

from planner.forms import choices
from planner.forms.draft import NEW
from planner.front.session import state
from planner.front.shell import navigation
from planner.front.widgets import fields, reply
from planner.front.widgets.problems import draw_problems
from planner.front.widgets.text import plain
from planner.store import TRUCK


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
    elif choices.lacks_truck(state.tab().store, state.profile().asked):
        _draw_trucks()
    navigation.draw_page_button("profiles", None, "To the list of profiles")


def _draw_trucks() -> None:
    """Ask for a truck in place of the one that cannot be read: its load may stand on another."""
    trucks = {one.slug: one.name for one in state.tab().store.entries(TRUCK) if one.brief is not None}
    if trucks:
        slug = fields.pick("Another truck in its place", list(trucks), "other-truck", trucks)
        reply.button("Use this truck", "use-truck", state.change_truck, (slug,), at="use-truck", type="primary")
        reply.draw_reply("use-truck")
    navigation.draw_truck_button("Enter a truck")
