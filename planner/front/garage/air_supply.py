"""The numbers of a truck's air supply, as its form and the Air page ask for them: each typical until it is answered."""

from __future__ import annotations

from functools import partial

import streamlit as st

from planner.forms.air_fields import confirm_air
from planner.forms.draft import field_of
from planner.forms.own_values import is_typical
from planner.forms.truck_questions import AIR_CHART, AIR_DEMANDS, air_keys
from planner.forms.truck_typical import estimate_of, why_words
from planner.front.session import state
from planner.front.widgets import fields as widgets
from planner.front.widgets import reply

EVEN = "Two tanks count as one: add their sizes."


def count_typical() -> int:
    """Return how many numbers of the open truck's air supply are typical."""
    return sum(is_typical(state.truck().work, key) for key in _keys())


def box_words() -> str:
    """Return what stands on the box that the fields are in."""
    count = count_typical()
    return "Tank, compressor and lines" + (f": {count} of {len(_keys())} typical" if count else "")


def draw_air_fields() -> None:
    """Draw the numbers of the supply, where each is found and what is typical of it."""
    record, left = state.truck(), list(_keys())
    widgets.soft(EVEN)
    while left:
        key = left.pop(0)
        twin = key.replace("left", "right")
        if twin != key:
            left.remove(twin)
            for column, one in zip(st.columns(2, wrap=False), (key, twin), strict=True):
                with column:
                    widgets.text(record, one)
        elif key in (AIR_CHART, AIR_DEMANDS):
            widgets.table(record, key, field_of(record.work, key).label)
        else:
            widgets.text(record, key)
        _draw_where(*dict.fromkeys((key, twin)))


def _keys() -> tuple[str, ...]:
    """Return what is asked of the open truck's air supply."""
    return air_keys(state.truck().work.record)


def _draw_where(*keys: str) -> None:
    """Say where numbers are found and, while one is typical, how far off it may be and why."""
    draft = state.truck().work
    asked = field_of(draft, keys[0])
    widgets.soft(f"{asked.help[:1].upper()}{asked.help[1:]}.")
    guessed = [key for key in keys if is_typical(draft, key)]
    if guessed:
        why = estimate_of(draft.record, draft.form.path_of(guessed[0]))
        with st.container(horizontal=True, vertical_alignment="center", key=f"air-typical-{keys[0]}"):
            widgets.soft(f"Typical{why_words(why, state.system())}." if why else "Typical.")
            change, said = partial(confirm_air, keys=guessed), f"Yours now: {asked.label}"
            at = f"air-own-{keys[0]}"
            reply.button("It is so", at, state.act, (state.truck(), change, said), at=at)
    reply.draw_reply(f"air-own-{keys[0]}")
