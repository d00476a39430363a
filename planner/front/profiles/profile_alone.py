"""One profile alone, at arm's length: what stops it, its pressures as the truck stands from above, and the way on."""

from __future__ import annotations

from typing import Final

import streamlit as st

from planner.front.profiles import card
from planner.front.session import state
from planner.front.shell import navigation
from planner.front.widgets import fields
from planner.front.widgets.problems import draw_problems
from planner.front.widgets.text import html
from planner.records import BadInput, Problem
from planner.show.paper import card_html
from planner.show.text.card import Carried
from planner.show.text.words import AIR_MOVES
from planner.store import PROFILE
from planner.store import favourites as at_hand
from planner.store.atomic_write import written_on

MOST: Final = 2  # findings besides those that say stop, the worst; all of them are on the Level page


def draw_profile_alone() -> None:
    """Draw the profile that the address names."""
    now = state.tab()
    if now.profile.draft is None:
        _missing(now.profile.trouble)
        return
    try:
        outfit = now.store.read_outfit(now.profile.draft.slug)
    except BadInput as exc:
        _missing(exc.problems)
        return
    carried = card.carried_of(outfit, now.system, written_on(now.store.folder / PROFILE.file(outfit.slug)))
    if not isinstance(carried, Carried):
        _missing(carried)
        return
    at_hand.was_used(now.store.folder, outfit.slug)
    with st.container(key="alone", gap="xsmall"):  # which the style sheet lays out
        _draw(carried)
        if now.profile.draft.unsaved:
            fields.soft("Level has unsaved changes; they are not in these numbers.")
        _links(carried)


def _draw(carried: Carried) -> None:
    """Draw what is said of it: what stops it or no longer suits comes before anybody reads a number."""
    more = len(carried.others) - MOST
    numbers = (card_html.corners(carried.rows), card_html.hazard(AIR_MOVES), card_html.heights(carried))
    parts = {
        "first": (card_html.halt(carried), card_html.stale(carried.stale)),
        "face": (card_html.named(carried, "h1"), *numbers, card_html.stage_table(carried)),
        "words": (
            card_html.listed(carried.others[:MOST]),
            f"<p>and {more} more on Level</p>" if more > 0 else "",
            f"<p>Plan against tape: {html(carried.trust)}.</p>" if carried.trust else "",
        ),
    }
    halted = " halted" if carried.stopped else ""
    body = "".join(f'<div class="{name}">{"".join(said)}</div>' for name, said in parts.items())
    st.html(f'<div class="ramp{halted}"><div class="sheet">{body}</div></div>')


def _links(carried: Carried) -> None:
    """Draw the way on, under the thumb: to what is done next with this load."""
    with st.container(key="alone-links", horizontal=True, gap="small"):
        if carried.stages:
            navigation.draw_page_button("hitch", None, "Hitch up")
        navigation.draw_trim_button()
        navigation.draw_page_button("level", None, "Level")


def _missing(problems: tuple[Problem, ...]) -> None:
    """Say why there is no profile, and lead on."""
    st.title("Profiles", anchor=False)
    draw_problems(problems)
    navigation.draw_page_button("profiles", None, "To the list of profiles")
