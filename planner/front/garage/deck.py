"""The deck as rows that work under a thumb: each opens to its fields, one waits to be added; and which way to slide."""

from __future__ import annotations

from functools import partial
from typing import Final

import streamlit as st
from pydantic import ValidationError

from planner.forms import trailer_form
from planner.front.garage import trailer, trailer_fields
from planner.front.session import state
from planner.front.widgets import fields as widgets
from planner.front.widgets import rows
from planner.front.widgets.text import html
from planner.plans.ratings import TONGUE_RANGES
from planner.plans.trailer_deck import slide_for
from planner.records import DeckItem, problems_of
from planner.show.drawings.trailer_side import slide_words
from planner.show.text.numbers import say
from planner.units.quantity import Refusal, System

LABELS: Final = {"name": "Name", "weight": "Weight", "ahead": "Ahead of axle centre", "left": "Left of centre"}
USUAL: Final = 0.12  # of a ball; elsewhere the middle of the usual range


def draw_deck_table() -> None:
    """Draw the items and the row to add."""
    work, system = trailer.work(), state.system()
    items, marked = dict(enumerate(work.good.deck)), rows.marked("deck", work.typed)
    rows.draw_rows(rows.Rows("deck", items, marked, trailer_fields.key_of, lambda item: _line(item, system), _row))
    waiting = any(key.startswith(f"{trailer_form.ADDED}.") for key in work.typed)
    with st.expander("Add an item", key="deck-add-box", icon=":material/add:", expanded=waiting):
        _fields(trailer_form.ADDED)
        if refusal := _incomplete():
            widgets.wrong("Not added", refusal)
        st.button("Add", key="deck-add", type="primary", on_click=_add)
    trailer_fields.text("left_share", "Left share of its own weight, before what lies off centre")


def draw_slide() -> None:
    """Draw which way to slide an item for a wanted tongue ratio."""
    work, system = trailer.work(), state.system()
    st.subheader("Slide to trim the tongue", anchor=False)
    name = state.seed(trailer_fields.key_of(trailer_form.SLIDE_ITEM), str(trailer_form.slide_place(work)))
    item, ratio = st.columns(2, wrap=False)
    with item:
        st.selectbox(
            "Item to slide",
            [str(place) for place in range(len(work.good.deck))],
            key=name,
            format_func=lambda place: work.good.deck[int(place)].name,
            filter_mode=None,
            on_change=trailer.typed,
            args=(trailer_form.SLIDE_ITEM, name),
        )
    with ratio:
        trailer_fields.text(trailer_form.SLIDE_RATIO, "Tongue ratio wanted", hint=say(_usual(), "share", system))
    _slide_answer(system)


def _slide_answer(system: System) -> None:
    """Say how far it goes, and offer to put it there."""
    work = trailer.work()
    try:
        ratio = trailer_form.wanted_ratio(work, _usual())
    except Refusal:  # said at its field
        return
    found = slide_for(work.good, trailer_form.slide_place(work), ratio)
    words = html(slide_words(found, system))
    st.html(f'<p class="slide{"" if found.possible else " caution"}" role="status"><b>{words}</b></p>')
    if found.possible and abs(found.by) > 1e-6:  # [m]
        st.button("Put it there", key="slide-it", on_click=_slide, args=(found.place, found.item, ratio))


def _usual() -> float:
    """Return the tongue ratio to start from: what is usual for the coupling."""
    least, greatest = TONGUE_RANGES[trailer.work().good.coupling]
    return USUAL if least < USUAL < greatest else (least + greatest) / 2


def _row(place: int) -> None:
    """Draw the fields of one item, and the way to take it off."""
    name = trailer.work().good.deck[place].name
    _fields(f"deck.{place}")
    st.button("Take it off", key=f"deck-off-{place}", icon=":material/delete:", on_click=_off, args=(place, name))


def _fields(row: str) -> None:
    """Draw the four fields of a row, two by two."""
    for one, other in (("name", "weight"), ("ahead", "left")):
        trailer_fields.pair((f"{row}.{one}", LABELS[one]), (f"{row}.{other}", LABELS[other]))


def _line(item: DeckItem, system: System) -> str:
    """Return weight and place of an item in words."""
    ahead = f"{say(abs(item.ahead), 'length', system)} {'ahead' if item.ahead >= 0 else 'behind'}"
    side = (
        "centred"
        if not item.left
        else f"{say(abs(item.left), 'length', system)} {'left' if item.left > 0 else 'right'}"
    )
    return f"{say(item.weight, 'weight', system)}, {ahead}, {side}"


def _off(place: int, name: str) -> None:
    """Take an item off, so that it can be put back."""
    trailer.act(partial(trailer_form.without_item, place=place, system=state.system()), f"{name} is off the deck.")


def _slide(place: int, name: str, ratio: float) -> None:
    """Put an item where it gives the wanted ratio."""
    trailer.act(partial(trailer_form.slide_item, place=place, ratio=ratio, system=state.system()), f"{name} is moved.")


def _add() -> None:
    """Put the waiting row on the deck, or say below it what it lacks."""
    try:
        trailer.replaced(trailer_form.with_added(trailer.work(), state.system()))
    except (ValidationError, Refusal):
        trailer.bench().lacking = True
    else:
        trailer.bench().lacking = False
        rows.show_row("deck", len(trailer.work().good.deck) - 1)


def _incomplete() -> Refusal | None:
    """Return what the waiting row lacks, once somebody has tried to add it."""
    if not trailer.bench().lacking:
        return None
    try:
        trailer_form.with_added(trailer.work(), state.system())
    except Refusal as refusal:
        return refusal
    except ValidationError as exc:
        problem = problems_of(exc, DeckItem, "")[0]
        label = LABELS.get(problem.field, problem.field).lower()
        return Refusal(f"{label} {problem.rule}", problem.value, problem.remedy)
    return None
