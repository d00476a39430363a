"""Fields of the Air page that belong to no file: what is typed is in the page's address, so that a reload keeps it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import streamlit as st

from planner.forms.air_use import UseField
from planner.front.session import state
from planner.front.widgets import fields as widgets
from planner.units.quantity import Refusal

PAGE: Final = "air"  # its path
LONGEST: Final = 40  # characters
UNTIL: Final = "Until it is fixed, it counts as if nothing were typed."


def texts_of(asked: Mapping[str, UseField]) -> dict[str, str]:
    """Return what was typed into some fields, by name."""
    kept = state.tab().address.setdefault(PAGE, {})
    for name in asked:
        if name not in kept and (text := state.asked(name)):
            kept[name] = text[:LONGEST]
    return kept


def draw_field(asked: Mapping[str, UseField], name: str, wrong: Mapping[str, Refusal]) -> None:
    """Draw one field, with what is wrong in it."""
    system, one = state.system(), asked[name]
    key = state.seed(f"air-{name}-{system}", texts_of(asked).get(name, ""))
    st.text_input(
        one.label,
        key=key,
        placeholder=one.default(system),
        live=widgets.PAUSE,
        on_change=_typed,
        args=(asked, name, key),
    )
    if name in wrong:
        widgets.wrong(one.label, wrong[name])
        widgets.soft(UNTIL)


def _typed(asked: Mapping[str, UseField], name: str, key: str) -> None:
    """Keep what was typed; what is empty is not in the address."""
    text, kept = str(state.value(key) or ""), texts_of(asked)
    if text:
        kept[name] = text
        state.ask(name, text)
    else:
        kept.pop(name, None)
        state.drop(name)
