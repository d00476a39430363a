"""The cargo on the truck as rows that work under a thumb: each opens to its fields, and one waits to be added."""

from __future__ import annotations

import streamlit as st
from pydantic import ValidationError

from planner.forms import profile_form
from planner.front.session import state
from planner.front.widgets import fields, rows
from planner.records import Cargo, problems_of
from planner.show.text.numbers import say
from planner.units.quantity import Refusal, System

LABELS = {
    "name": "Name",
    "weight": "Weight",
    "at": "Lies at",
    "x": "Ahead of rear axle",
    "y": "Left of centre",
    "z": "Middle above ground",
}
HINTS = {"y": "centred", "z": "typical"}  # what is meant where nothing is typed


def draw_cargo_table() -> None:
    """Draw the cargo and the row to add."""
    work, system = state.work(), state.system()
    st.subheader("Cargo on the truck", anchor=False)
    bed = work.bed_place
    items = {place: item for place, item in enumerate(work.profile.cargo) if place != bed}
    marked = rows.marked("cargo", work.typed)
    rows.draw_rows(rows.Rows("cargo", items, marked, state.widget, lambda item: _line(item, system), _row))
    waiting = any(work.typed.get(f"{profile_form.ADDED}.{name}") for name in LABELS)
    with st.expander("Add cargo", key="add-box", icon=":material/add:", expanded=waiting):
        _fields(profile_form.ADDED)
        if refusal := _incomplete():
            fields.wrong("Not added", refusal)
        st.button("Add", key="add", type="primary", on_click=_add)


def _row(place: int) -> None:
    """Draw the fields of one item, and the way to take it off."""
    name = state.work().profile.cargo[place].name
    _fields(f"cargo.{place}")
    st.button("Take it off", key=f"off-{place}", icon=":material/delete:", on_click=_take_off, args=(place, name))


def _fields(row: str) -> None:
    """Draw the fields of a row, two by two; what lies at a place by its name needs no x and y."""
    by_name = bool(profile_form.text_of(state.work(), f"{row}.at", state.system()))
    for pair in (("name", "weight"), ("at", "z"), *(() if by_name else (("x", "y"),))):
        for column, name in zip(st.columns(2, wrap=False), pair, strict=True):
            with column:
                if name == "at":
                    fields.place(f"{row}.at", LABELS["at"], "numbers below")
                else:
                    fields.field(f"{row}.{name}", LABELS[name], hint=HINTS.get(name))


def _line(item: Cargo, system: System) -> str:
    """Return weight and place of an item in words."""
    if item.x is None:
        return f"{say(item.weight, 'weight', system)}, at {item.at}"
    ahead = f"{say(abs(item.x), 'length', system)} {'ahead' if item.x >= 0 else 'behind'}"
    side = "centred" if not item.y else f"{say(abs(item.y), 'length', system)} {'left' if item.y > 0 else 'right'}"
    return f"{say(item.weight, 'weight', system)}, {ahead}, {side}"


def _take_off(place: int, name: str) -> None:
    """Take an item off, so that it can be put back."""
    before = state.work()
    state.replace_work(profile_form.without_cargo(before, place))
    state.did(f"{name} is off the truck.", lambda: state.replace_work(before))


def _add() -> None:
    """Put the waiting row on the truck, or say below it what it lacks."""
    try:
        state.replace_work(profile_form.with_added(state.work(), state.system()))
    except (ValidationError, Refusal):
        state.tab().lacking = True
    else:
        state.tab().lacking = False
        rows.show_row("cargo", len(state.work().profile.cargo) - 1)


def _incomplete() -> Refusal | None:
    """Return what the waiting row lacks, once somebody has tried to add it."""
    if not state.tab().lacking:
        return None
    try:
        profile_form.with_added(state.work(), state.system())
    except Refusal as refusal:
        return refusal
    except ValidationError as exc:
        problem = problems_of(exc, Cargo, "")[0]
        label = LABELS.get(problem.field, problem.field).lower()
        return Refusal(f"{label} {problem.rule}", problem.value, problem.remedy)
    return None
