"""The trucks there are, in short and only to be read: ratings, hitches, and where the file is."""

from __future__ import annotations

from collections.abc import Iterator

import streamlit as st

from planner.forms.choices import COUPLINGS
from planner.front.session import state
from planner.front.shell import navigation
from planner.front.widgets import fields
from planner.front.widgets.text import html, plain
from planner.records import BadInput, Hitch, Truck
from planner.show.text.numbers import say
from planner.store import TRUCK, Entry
from planner.units.quantity import System


def draw_trucks() -> None:
    """Draw every truck."""
    entries = state.tab().store.entries(TRUCK)
    st.subheader("Trucks", anchor=False)
    folder = state.tab().store.folder / TRUCK.folder
    if entries:
        fields.soft(f"To be read here; change a truck in its file, with any text editor. The files lie in {folder}.")
    else:
        fields.soft(f"There is no truck yet. Its file belongs into {folder}.")
    for entry in entries:
        with st.expander(plain(entry.name), key=f"truck-{entry.slug}", expanded=bool(entry.problems)):
            _truck(entry)


def _truck(entry: Entry[Truck]) -> None:
    """Draw one truck, or what is wrong with its file."""
    if entry.record is None:
        navigation.draw_problems(entry.problems)
        return
    try:
        truck = state.tab().store.read_truck(entry.slug)
    except BadInput as exc:
        navigation.draw_problems(exc.problems)
        return
    rows = "".join(
        f"<tr><th scope='row'>{html(label)}</th><td>{html(words)}</td></tr>"
        for label, words in _rows(truck, state.system())
    )
    st.html(f'<table class="plate">{rows}</table>')
    fields.soft(f"File: {TRUCK.file(entry.slug)}")


def _rows(truck: Truck, system: System) -> Iterator[tuple[str, str]]:
    """Yield what the labels say, then the hitches."""

    def weight(value: float) -> str:
        return say(value, "weight", system)

    yield "GVWR", weight(truck.gvwr)
    yield "GCWR", weight(truck.gcwr)
    yield "GAWR front", weight(truck.front.gawr)
    yield "GAWR rear", weight(truck.rear.gawr)
    yield "Kerb weight", f"{weight(truck.kerb_weight)}, {weight(truck.kerb.front_axle)} of it in front"
    for name, axle in (("front", truck.front), ("rear", truck.rear)):
        count = 2 * axle.tyres.per_side
        springs = "steel" if axle.bag is None else f"bags to {say(axle.bag.greatest_pressure, 'pressure', system)}"
        yield f"Tyres {name}", f"{count} of {weight(axle.tyres.load_rating)} each; {springs}"
    for hitch in truck.hitches:
        yield f"Hitch, {hitch.name}", _hitch(hitch, system)


def _hitch(hitch: Hitch, system: System) -> str:
    """Return a hitch with its ratings in words."""
    height = say(hitch.height, "length", system)
    tongue, trailer = say(hitch.tongue_rating, "weight", system), say(hitch.trailer_rating, "weight", system)
    return f"{COUPLINGS[hitch.coupling]}, {height} high; {tongue} on the tongue, {trailer} trailer"
