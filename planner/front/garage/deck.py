"""The deck as rows that work under a thumb: each opens to its fields, one waits to be added; and which way to slide."""

from __future__ import annotations

from functools import partial
from typing import Final

import streamlit as st
from pydantic import ValidationError

from planner.front import rows, state, widgets
from planner.front.garage import bench, edit, fields
from planner.front.text import html
from planner.plans.deck import slide_for
from planner.plans.labels import TONGUE_RANGES
from planner.records import DeckItem, problems_of
from planner.show.deck import slide_words
from planner.show.numbers import say
from planner.units import Refusal, System

LABELS: Final = {"name": "Name", "weight": "Weight", "ahead": "Ahead of axle centre", "left": "Left of centre"}
USUAL: Final = 0.12  # of a ball; elsewhere the middle of the usual range


def table() -> None:
    """Draw the items and the row to add."""
    work, system = bench.work(), state.system()
    items, marked = dict(enumerate(work.good.deck)), rows.marked("deck", work.typed)
    rows.draw(rows.Rows("deck", items, marked, fields.key_of, lambda item: _line(item, system), _row))
    waiting = any(key.startswith(f"{edit.ADDED}.") for key in work.typed)
    with st.expander("Add an item", key="deck-add-box", icon=":material/add:", expanded=waiting):
        _fields(edit.ADDED)
        if refusal := _incomplete():
            widgets.wrong("Not added", refusal)
        st.button("Add", key="deck-add", type="primary", on_click=_add)
    fields.text("left_share", "Left share of its own weight, before what lies off centre")


def slide() -> None:
    """Draw which way to slide an item for a wanted tongue ratio."""
    work, system = bench.work(), state.system()
    st.subheader("Slide to trim the tongue", anchor=False)
    name = state.seed(fields.key_of(edit.SLIDE_ITEM), str(edit.slide_place(work)))
    item, ratio = st.columns(2, wrap=False)
    with item:
        st.selectbox(
            "Item to slide",
            [str(place) for place in range(len(work.good.deck))],
            key=name,
            format_func=lambda place: work.good.deck[int(place)].name,
            filter_mode=None,
            on_change=bench.typed,
            args=(edit.SLIDE_ITEM, name),
        )
    with ratio:
        fields.text(edit.SLIDE_RATIO, "Tongue ratio wanted", hint=say(_usual(), "share", system))
    _slide_answer(system)


def _slide_answer(system: System) -> None:
    """Say how far it goes, and offer to put it there."""
    work = bench.work()
    try:
        ratio = edit.wanted_ratio(work, _usual())
    except Refusal:  # said at its field
        return
    found = slide_for(work.good, edit.slide_place(work), ratio)
    words = html(slide_words(found, system))
    st.html(f'<p class="slide{"" if found.possible else " caution"}" role="status"><b>{words}</b></p>')
    if found.possible and abs(found.by) > 1e-6:  # [m]
        st.button("Put it there", key="slide-it", on_click=_slide, args=(found.place, found.item, ratio))


def _usual() -> float:
    """Return the tongue ratio to start from: what is usual for the coupling."""
    least, greatest = TONGUE_RANGES[bench.work().good.coupling]
    return USUAL if least < USUAL < greatest else (least + greatest) / 2


def _row(place: int) -> None:
    """Draw the fields of one item, and the way to take it off."""
    name = bench.work().good.deck[place].name
    _fields(f"deck.{place}")
    st.button("Take it off", key=f"deck-off-{place}", icon=":material/delete:", on_click=_off, args=(place, name))


def _fields(row: str) -> None:
    """Draw the four fields of a row, two by two."""
    for one, other in (("name", "weight"), ("ahead", "left")):
        fields.pair((f"{row}.{one}", LABELS[one]), (f"{row}.{other}", LABELS[other]))


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
    bench.act(partial(edit.without_item, place=place, system=state.system()), f"{name} is off the deck.")


def _slide(place: int, name: str, ratio: float) -> None:
    """Put an item where it gives the wanted ratio."""
    bench.act(partial(edit.slid, place=place, ratio=ratio, system=state.system()), f"{name} is moved.")


def _add() -> None:
    """Put the waiting row on the deck, or say below it what it lacks."""
    try:
        bench.replaced(edit.with_added(bench.work(), state.system()))
    except (ValidationError, Refusal):
        bench.bench().lacking = True
    else:
        bench.bench().lacking = False
        rows.show("deck", len(bench.work().good.deck) - 1)


def _incomplete() -> Refusal | None:
    """Return what the waiting row lacks, once somebody has tried to add it."""
    if not bench.bench().lacking:
        return None
    try:
        edit.with_added(bench.work(), state.system())
    except Refusal as refusal:
        return refusal
    except ValidationError as exc:
        problem = problems_of(exc, DeckItem, "")[0]
        label = LABELS.get(problem.field, problem.field).lower()
        return Refusal(f"{label} {problem.rule}", problem.value, problem.remedy)
    return None
