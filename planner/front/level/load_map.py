"""The map on the Level page: which loads it levels, over two inputs of the owner's choice."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

import streamlit as st

from planner.forms import profile_form
from planner.forms.draft import enter_text
from planner.front.level.answer import Shown
from planner.front.session import state
from planner.front.widgets import fields
from planner.front.widgets.picture import draw_picture
from planner.front.widgets.text import html, plain
from planner.plans.load_map import Axis, LoadMap, load_map
from planner.plans.map_inputs import Input, first_two, inputs_of
from planner.plans.setup import Setup
from planner.show.drawings.axes import axis_of
from planner.show.drawings.load_map import map_view
from planner.show.drawings.svg import Drawing
from planner.show.text.load_map import sentences
from planner.units.quantity import System

ACROSS: Final = f"{profile_form.MAP}.x"
UP: Final = f"{profile_form.MAP}.y"
READ: Final = (
    "Each point is a load levelled the same way; the rest stays as it is. Where several limits stop it, "
    "the map shows one: a bag's limit first, else the label passed by most."
)


def draw_load_map(shown: Shown) -> None:
    """Draw where this load stands among others, the map, and the choice of its two inputs."""
    inputs = inputs_of(shown.setup)
    across, up = chosen_inputs(shown, inputs)
    system = state.system()
    with st.spinner("Levelling the loads of the map"):  # says so only where it takes a while
        found = _kept(shown.setup, axis_of(inputs[across], system), axis_of(inputs[up], system))
    first, second = sentences(found, system)
    st.html(f'<p class="answer inside">{html(first)}</p>')
    st.markdown(plain(second))
    draw_picture(_drawn(found, system))
    fields.soft(READ)
    with st.container(horizontal=True, gap="small", key="map-axes"):
        _choice(ACROSS, "Across", inputs, across, UP, up)
        _choice(UP, "Up", inputs, up, ACROSS, across)


def chosen_inputs(shown: Shown, inputs: dict[str, Input]) -> tuple[str, str]:
    """Return the keys of the two inputs: those chosen while this load has them, else the first ones."""
    typed, first = shown.work.typed, first_two(shown.setup)
    across = typed.get(ACROSS, first[0])
    across = across if across in inputs else first[0]
    up = typed.get(UP, first[1])
    if up not in inputs or up == across:
        up = next(key for key in (*reversed(first), *inputs) if key != across)
    return across, up


def _choice(key: str, label: str, inputs: dict[str, Input], now: str, other: str, other_now: str) -> None:
    """Draw the choice of one input; choosing the other axis' input swaps the two."""
    name = state.widget(key)
    if state.value(name) != now:
        state.show(name, now)
    st.selectbox(
        label,
        list(inputs),
        key=name,
        format_func=lambda option: inputs[option].label,
        filter_mode=None,
        on_change=_choose,
        args=(key, now, other, other_now),
    )


def _choose(key: str, before: str, other: str, other_now: str) -> None:
    """Keep a choice; where it is the input of the other axis, that axis takes what this one had."""
    name = state.widget(key)
    if state.value(name) == other_now:
        state.put(state.profile(), enter_text(state.work(), other, before, state.system()))
    state.typed(state.profile(), key, name)


@lru_cache(maxsize=8)
def _kept(setup: Setup, x: Axis, y: Axis) -> LoadMap:
    """Return the map of a setup; kept, as most runs of the page change nothing in it."""
    return load_map(setup, x, y)


@lru_cache(maxsize=8)
def _drawn(found: LoadMap, system: System) -> Drawing:
    """Return a map drawn; kept by the very map, not by its numbers."""
    return map_view(found, system)
