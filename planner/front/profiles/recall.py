"""One profile recalled: the pressures as the truck stands seen from above, at arm's length, and nothing else."""

from __future__ import annotations

from typing import Final

import streamlit as st

from planner.front.profiles import card
from planner.front.session import state
from planner.front.shell import navigation
from planner.front.widgets import fields, findings
from planner.records import BadInput, Problem
from planner.store import favourites as at_hand

MOST: Final = 2  # findings, the worst; all of them are on the Level page


def draw_recall() -> None:
    """Draw the profile that the address names."""
    now = state.tab()
    if now.profile.draft is None:
        _missing(now.profile.trouble)
        return
    try:
        outfit = now.store.read_outfit(now.profile.draft.slug)
        face = card.face_of_recall(outfit, now.system, state.dark())
    except BadInput as exc:
        _missing(exc.problems)
        return
    if face.drawing is None:
        _missing(face.problems)
        return
    at_hand.was_used(now.store.folder, outfit.slug)
    with st.container(key="recall", gap="xsmall"):  # which the style sheet lays out
        with st.container(key="recall-first"):  # before anybody reads a pressure that no longer suits
            card.say_stale(face)
        with st.container(key="recall-face"):
            st.image(face.drawing.svg, width="stretch", alt=face.drawing.alt)
        with st.container(key="recall-words", gap="xsmall"):
            _words(face, now.profile.draft.worth_keeping)


def _words(face: card.Face, unsaved: bool) -> None:
    """Draw what is to be known of the pressures."""
    card.stale_table(face)
    findings.listed(face.findings[:MOST])
    if face.thirsty:
        findings.listed([findings.Said("caution", face.thirsty)])
    card.say_trust(face)
    navigation.draw_trim_button()
    if not face.saved:
        fields.soft("Planned now from its load; not saved yet.")
    if unsaved:
        fields.soft("There are unsaved changes on the Level page; they are not in this.")


def _missing(problems: tuple[Problem, ...]) -> None:
    """Say why there is nothing to recall, and lead on."""
    st.title("Profiles", anchor=False)
    navigation.draw_problems(problems)
    navigation.draw_page_button("profiles", None, "To the list of profiles")
