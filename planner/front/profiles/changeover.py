"""From one profile to another on the screen: how far each corner goes up or down, and in which order."""

from __future__ import annotations

from contextlib import suppress

import streamlit as st

from planner.front.level.answer import why_not
from planner.front.session import state
from planner.front.widgets import fields
from planner.front.widgets.picture import draw_picture
from planner.front.widgets.problems import draw_problems
from planner.front.widgets.text import html, plain
from planner.plans.air_budget import change_over_air
from planner.plans.changeover import ChangeOver, change_over
from planner.plans.saved_state import Standing, standing
from planner.show.drawings.changeover import (
    NOTHING,
    WATCH,
    aboard_words,
    change_drawing,
    end_words,
    facts,
    move_words,
    reads_words,
)
from planner.show.text import air


def draw_changeover(from_slug: str, to_slug: str) -> None:
    """Draw the way from one profile to another, by slug; or why there is none."""
    try:
        change = change_over(_stands(from_slug), _stands(to_slug))
    except (ValueError, ArithmeticError) as exc:
        draw_problems(why_not(exc))
        return
    with st.container(key="change", gap="small"):
        _draw(change)


def _stands(slug: str) -> Standing:
    """Return how a profile stands."""
    outfit = state.tab().store.read_outfit(slug)
    return standing(outfit.profile, outfit.truck, outfit.trailer)


def _draw(change: ChangeOver) -> None:
    """Draw a change-over: the corners, the moves, what they ask."""
    system = state.system()
    draw_picture(change_drawing(change, system))
    if not change.moves:
        st.markdown(NOTHING)
        return
    fields.soft(aboard_words(change))
    st.markdown(plain(reads_words(change, system)))
    fields.hazard(WATCH)
    moves = "".join(f"<li>{html(move_words(change, move, system))}</li>" for move in change.moves)
    st.html(f'<ol class="list">{moves}</ol>')
    st.markdown(plain(end_words(change, system)))
    for words in facts(change, system):
        fields.soft(words)
    if words := _air_words(change):
        fields.soft(f"{words}.")


def _air_words(change: ChangeOver) -> str:
    """Return how long the air of it takes and what the tank has then; empty where it finds no rest on the way."""
    mark = air.typical_mark(change.after.setup.truck)
    with suppress(ValueError, ArithmeticError):  # there is an order of moves, and no rest with all valves open at once
        return f"Air{mark}, all valves open at once: {air.move_words(change_over_air(change), state.system())}"
    return ""
