"""Things in a list, each with fields of its own: rows that open; of a long list one at a time, chosen by its name.

Streamlit looks through all it remembers for each text field it draws, so that time grows with the square of the fields:
four fields for each of 300 things took 15 s at every change. A list too long for a screen draws those of one.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from functools import partial
from typing import Any, Final, Generic, NamedTuple, TypeVar

import streamlit as st
from pydantic import ValidationError

from planner.forms.draft import with_added, without_row
from planner.forms.fields import row_fields
from planner.front.session import state
from planner.front.session.open_record import OpenRecord
from planner.front.widgets import fields as widgets
from planner.front.widgets import reply
from planner.front.widgets.text import html, listed, plain
from planner.records import Cargo, DeckItem, problems_of
from planner.show.text.numbers import say
from planner.units.quantity import Refusal

LONG: Final = 12  # things; a longer list is told of in short
MARK: Final = " ✗"


Thing = TypeVar("Thing", Cargo, DeckItem)


class Rows(NamedTuple, Generic[Thing]):
    """A list of things of a record.

    Attributes
    ----------
    record : that is open
    kind : the list's field, which begins the keys of theirs, as "cargo" does "cargo.3.weight"
    things : by place
    add : words of the box with a thing to add
    prefix : of the keys of boxes and buttons
    off : what is said of one taken off, after its name
    line : what is said of one beside its name
    fields : draws those of one, by how their keys begin
    """

    record: OpenRecord[Any]
    kind: str
    things: Mapping[int, Thing]
    add: str
    prefix: str
    off: str
    line: Callable[[Thing], str]
    fields: Callable[[str], None]

    @property
    def marked(self) -> frozenset[int]:
        """Places of those that have a text which is no value, of all fields that have one."""
        typed = self.record.work.typed
        return frozenset(int(key.split(".")[1]) for key in typed if key.startswith(f"{self.kind}."))

    @property
    def waiting(self) -> str:
        """How the keys begin of the one that is not added yet."""
        return str(self.record.form.rows[self.kind])


def draw_rows(rows: Rows[Thing]) -> None:
    """Draw a list of things, and the one to add."""
    if len(rows.things) > LONG:
        _one_of_many(rows)
    else:
        for place, thing in rows.things.items():
            words = f"**{plain(thing.name)}** {plain(rows.line(thing))}" + (MARK if place in rows.marked else "")
            with st.expander(words, key=_key(rows, place), expanded=place in rows.marked):
                _row(rows, place)
    reply.draw_reply(f"{rows.prefix}off")
    waiting = any(key.startswith(f"{rows.waiting}.") for key in rows.record.work.typed)
    with st.expander(rows.add, key=f"{rows.prefix}add-box", icon=":material/add:", expanded=waiting):
        rows.fields(rows.waiting)
        if rows.record.lacking and (refusal := _incomplete(rows)):
            widgets.wrong("Not added", refusal)
        st.button("Add", key=f"{rows.prefix}add", type="primary", on_click=_add, args=(rows,))


def _row(rows: Rows[Thing], place: int) -> None:
    """Draw the fields of one thing, and the way to take it off."""
    rows.fields(f"{rows.kind}.{place}")
    key, icon = f"{rows.prefix}off-{place}", ":material/delete:"
    reply.button("Take it off", key, _take_off, (rows, place), at=f"{rows.prefix}off", icon=icon)


def _take_off(rows: Rows[Thing], place: int) -> None:
    """Take a thing off, so that it can be put back."""
    change = partial(without_row, rows=rows.kind, place=place, system=state.system())
    state.act(rows.record, change, f"{rows.things[place].name} {rows.off}")


def _add(rows: Rows[Thing]) -> None:
    """Put the waiting row into the list, or say below it what it lacks."""
    try:
        state.replace_draft(rows.record, with_added(rows.record.work, rows.kind, state.system()))
    except (ValidationError, Refusal):
        rows.record.lacking = True
    else:
        rows.record.lacking = False
        state.show(_chooser(rows.kind), len(getattr(rows.record.work.record, rows.kind)) - 1)  # open in a long list


def _incomplete(rows: Rows[Thing]) -> Refusal | None:
    """Return what the waiting row lacks, once somebody has tried to add it."""
    try:
        with_added(rows.record.work, rows.kind, state.system())
    except Refusal as refusal:
        return refusal
    except ValidationError as exc:
        cls = rows.record.form.row_model(rows.kind)
        problem = problems_of(exc, cls, "", percent=True)[0]
        asked = row_fields(cls).get(problem.field)
        label = (asked.label if asked else problem.field).lower()
        return Refusal(f"{label} {problem.rule}", problem.value, problem.remedy)
    return None


def _one_of_many(rows: Rows[Thing]) -> None:
    """Draw what a long list weighs, the choice of one of it with its fields, and all of it as words if wanted."""
    things, names = rows.things, _told_apart(rows.things)
    together = say(sum(float(thing.weight) for thing in things.values()), "weight", state.system())
    widgets.soft(f"{len(things)} items, {together} together.")
    if rows.marked:
        widgets.soft(f"To fix:{MARK} {listed([name for place, name in names.items() if place in rows.marked])}")
    shown = {place: name + (MARK if place in rows.marked else "") for place, name in names.items()}
    order = sorted(things, key=lambda place: place not in rows.marked)
    chosen = widgets.pick("Item to change", order, _chooser(rows.kind), shown)
    with st.container(border=True, key=_key(rows, chosen)):
        st.markdown(f"**{plain(names[chosen])}** {plain(rows.line(things[chosen]))}")
        _row(rows, chosen)
    with st.expander(f"All {len(things)} items", key=f"{rows.kind}-all", on_change="rerun") as box:
        if box.open:
            lines = (f"<li><b>{html(shown[place])}</b> {html(rows.line(one))}</li>" for place, one in things.items())
            st.html(f'<ul class="list">{"".join(lines)}</ul>')


def _key(rows: Rows[Thing], place: int) -> str:
    """Return the key of the box about a thing."""
    return f"{rows.kind}-{rows.record.name_widget(str(place), state.system())}"


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
