"""The deck as rows that work under a thumb: each opens to its fields, one waits to be added; and which way to slide."""

from __future__ import annotations

from functools import partial
from typing import Final

import streamlit as st

from planner.forms import trailer_form
from planner.front.session import state
from planner.front.widgets import fields as widgets
from planner.front.widgets import reply, rows
from planner.front.widgets.text import html
from planner.plans.ratings import TONGUE_RANGES
from planner.plans.trailer_deck import slide_for
from planner.records import DeckItem
from planner.show.drawings.trailer_side import slide_words
from planner.show.text.numbers import say
from planner.units.quantity import Refusal, System

USUAL: Final = 0.12  # of a ball; elsewhere the middle of the usual range


def draw_deck_table() -> None:
    """Draw the items and the row to add."""
    record, system = state.trailer(), state.system()
    items, off = dict(enumerate(record.work.record.deck)), "is off the deck."
    rows.draw_rows(
        rows.Rows(record, "deck", items, "Add an item", "deck-", off, lambda item: _line(item, system), _fields)
    )
    widgets.text(record, "left_share", "Left share of its own weight, before what lies off centre")


def draw_slide() -> None:
    """Draw which way to slide an item for a wanted tongue ratio."""
    record, system = state.trailer(), state.system()
    st.header("Slide to trim the tongue", anchor=False)
    item, ratio = st.columns(2, wrap=False)
    with item:
        names = [one.name for one in record.work.record.deck]
        place = trailer_form.slide_place(record.work)
        widgets.row(record, trailer_form.SLIDE_ITEM, "Item to slide", names, place)
    with ratio:
        hint = say(_usual(), "share", system)
        widgets.text(record, trailer_form.SLIDE_RATIO, "Tongue ratio wanted", hint=hint)
    _slide_answer(system)
    reply.draw_reply("slide")


def _slide_answer(system: System) -> None:
    """Say how far it goes, and offer to put it there."""
    work = state.trailer().work
    try:
        ratio = trailer_form.wanted_ratio(work, _usual())
    except Refusal:  # said at its field
        return
    found = slide_for(work.record, trailer_form.slide_place(work), ratio)
    words = html(slide_words(found, system))
    st.html(f'<p class="slide{"" if found.possible else " caution"}" role="status"><b>{words}</b></p>')
    if found.possible and abs(found.by) > 1e-6:  # [m]
        reply.button("Put it there", "slide-it", _slide, (found.place, found.item, ratio), at="slide")


def _usual() -> float:
    """Return the tongue ratio to start from: what is usual for the coupling."""
    least, greatest = TONGUE_RANGES[state.trailer().work.record.coupling]
    return USUAL if least < USUAL < greatest else (least + greatest) / 2


def _fields(row: str) -> None:
    """Draw the four fields of a row, two by two."""
    for one, other in (("name", "weight"), ("ahead", "left")):
        widgets.pair(state.trailer(), f"{row}.{one}", f"{row}.{other}")


def _line(item: DeckItem, system: System) -> str:
    """Return weight and place of an item in words."""
    ahead = f"{say(abs(item.ahead), 'length', system)} {'ahead' if item.ahead >= 0 else 'behind'}"
    side = (
        "centred"
        if not item.left
        else f"{say(abs(item.left), 'length', system)} {'left' if item.left > 0 else 'right'}"
    )
    return f"{say(item.weight, 'weight', system)}, {ahead}, {side}"


def _slide(place: int, name: str, ratio: float) -> None:
    """Put an item where it gives the wanted ratio."""
    state.act(
        state.trailer(),
        partial(trailer_form.slide_item, place=place, ratio=ratio, system=state.system()),
        f"{name} is moved.",
    )
