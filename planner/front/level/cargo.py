"""The cargo on the truck as rows that work under a thumb: each opens to its fields, and one waits to be added."""

from __future__ import annotations

import streamlit as st

from planner.forms.draft import text_of
from planner.front.session import state
from planner.front.widgets import fields, rows
from planner.records import Cargo
from planner.show.text.numbers import say
from planner.units.quantity import System

HINTS = {"y": "centred", "z": "typical"}  # what is meant where nothing is typed


def draw_cargo_table() -> None:
    """Draw the cargo and the row to add."""
    work, system = state.work(), state.system()
    st.header("Cargo on the truck", anchor=False)
    bed = work.bed_place
    items = {place: item for place, item in enumerate(work.profile.cargo) if place != bed}
    off = "is off the truck."
    rows.draw_rows(
        rows.Rows(state.profile(), "cargo", items, "Add cargo", "", off, lambda item: _line(item, system), _fields)
    )


def _fields(row: str) -> None:
    """Draw the fields of a row, two by two; what lies at a place by its name needs no x and y."""
    by_name = bool(text_of(state.work(), f"{row}.at", state.system()))
    for pair in (("name", "weight"), ("at", "z"), *(() if by_name else (("x", "y"),))):
        for column, name in zip(st.columns(2, wrap=False), pair, strict=True):
            with column:
                if name == "at":
                    fields.place(f"{row}.at", "see below")
                else:
                    fields.text(state.profile(), f"{row}.{name}", hint=HINTS.get(name))


def _line(item: Cargo, system: System) -> str:
    """Return weight and place of an item in words."""
    if item.x is None:
        return f"{say(item.weight, 'weight', system)}, at {item.at}"
    ahead = f"{say(abs(item.x), 'length', system)} {'ahead' if item.x >= 0 else 'behind'}"
    side = "centred" if not item.y else f"{say(abs(item.y), 'length', system)} {'left' if item.y > 0 else 'right'}"
    return f"{say(item.weight, 'weight', system)}, {ahead}, {side}"
