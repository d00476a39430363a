"""Things in a list, each with fields of its own: rows that open; of a long list one at a time, chosen by its name.

Streamlit looks through all it remembers for each text field it draws, so that time grows with the square of the fields:
four fields for each of 300 things took 15 s at every change. A list too long for a screen draws those of one.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Mapping
from typing import Final, Generic, NamedTuple, TypeVar

import streamlit as st

from planner.front.session import state
from planner.front.widgets import fields as widgets
from planner.front.widgets.text import html, listed, plain
from planner.records import Cargo, DeckItem
from planner.show.text.numbers import say

LONG: Final = 12  # things; a longer list is told of in short
MARK: Final = " ✗"


Thing = TypeVar("Thing", Cargo, DeckItem)


class Rows(NamedTuple, Generic[Thing]):
    """A list of things.

    Attributes
    ----------
    kind : begins the keys of their fields, as "cargo" does "cargo.3.weight"
    things : by place
    marked : places of those with a bad value
    keyed : the key of the widget for a field
    line : what is said of one beside its name
    fields : draws those of one place
    """

    kind: str
    things: Mapping[int, Thing]
    marked: Collection[int]
    keyed: Callable[[str], str]
    line: Callable[[Thing], str]
    fields: Callable[[int], None]


def marked(kind: str, typed: Iterable[str]) -> frozenset[int]:
    """Return the places of things that have a text which is no value, of all fields that have one."""
    return frozenset(int(key.split(".")[1]) for key in typed if key.startswith(f"{kind}."))


def draw_rows(rows: Rows[Thing]) -> None:
    """Draw a list of things."""
    if len(rows.things) > LONG:
        _one_of_many(rows)
        return
    for place, thing in rows.things.items():
        words = f"**{plain(thing.name)}** {plain(rows.line(thing))}" + (MARK if place in rows.marked else "")
        with st.expander(words, key=_key(rows, place), expanded=place in rows.marked):
            rows.fields(place)


def show_row(kind: str, place: int) -> None:
    """Have a thing open in a long list, such as one just added."""
    state.show(_chooser(kind), place)


def _one_of_many(rows: Rows[Thing]) -> None:
    """Draw what a long list weighs, the choice of one of it with its fields, and all of it as words if wanted."""
    things, names = rows.things, _told_apart(rows.things)
    together = say(sum(float(thing.weight) for thing in things.values()), "weight", state.system())
    widgets.soft(f"{len(things)} items, {together} together.")
    if rows.marked:
        widgets.soft(f"To mend:{MARK} {listed([name for place, name in names.items() if place in rows.marked])}")
    shown = {place: name + (MARK if place in rows.marked else "") for place, name in names.items()}
    order = sorted(things, key=lambda place: place not in rows.marked)
    chosen = widgets.pick("Item to change", order, _chooser(rows.kind), shown)
    with st.container(border=True, key=_key(rows, chosen)):
        st.markdown(f"**{plain(names[chosen])}** {plain(rows.line(things[chosen]))}")
        rows.fields(chosen)
    with st.expander(f"All {len(things)} items", key=f"{rows.kind}-all", on_change="rerun") as box:
        if box.open:
            lines = (f"<li><b>{html(shown[place])}</b> {html(rows.line(one))}</li>" for place, one in things.items())
            st.html(f'<ul class="list">{"".join(lines)}</ul>')


def _key(rows: Rows[Thing], place: int) -> str:
    """Return the key of the box about a thing."""
    return f"{rows.kind}-{rows.keyed(str(place))}"


def _told_apart(things: Mapping[int, Thing]) -> dict[int, str]:
    """Return names by place, with the place where two are alike: Streamlit takes those for one."""
    counts = Counter(thing.name for thing in things.values())
    return {
        place: thing.name if counts[thing.name] == 1 else f"{thing.name} ({place + 1})"
        for place, thing in things.items()
    }


def _chooser(kind: str) -> str:
    """Return the key of the choice in a long list."""
    return f"{kind}-chosen"
