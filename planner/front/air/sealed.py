"""Cold morning, mountain pass: what the day and the road do to a truck with its valves shut."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

import streamlit as st

from planner.forms.air_use import SHUT, read_shut
from planner.front.air.address_fields import draw_field, texts_of
from planner.front.level.answer import why_not
from planner.front.session import state
from planner.front.widgets import fields, findings
from planner.front.widgets.problems import draw_problems
from planner.front.widgets.text import html
from planner.plans.level import Shut, level_setup
from planner.plans.setup import Setup
from planner.plans.temperature import SealedChange, sealed_change
from planner.show.text.numbers import sentence
from planner.show.text.sealed import HEADS, sealed_rows

HOW: Final = "Same load, valves shut, and long enough for the air in the bags to be as cold or as warm as the day."


def draw_sealed(setup: Setup) -> None:
    """Draw what temperature and altitude do at each corner, and what to do about it; behind its heading."""
    asked = any(name in texts_of(SHUT) for name in SHUT)
    with st.expander("Cold morning, mountain pass", key="sealed-box", expanded=asked, on_change="rerun") as box:
        if box.open:
            _draw(setup)


def _draw(setup: Setup) -> None:
    system = state.system()
    shut, wrong = read_shut(texts_of(SHUT), system)
    names = list(SHUT)
    for pair in (names[:2], names[2:]):
        for column, name in zip(st.columns(2, wrap=False), pair, strict=True):
            with column:
                draw_field(SHUT, name, wrong)
    try:
        found = _found(setup, shut)
    except (ValueError, ArithmeticError) as exc:
        draw_problems(why_not(exc))
        return
    findings.listed([findings.Said(one.level, sentence(one, system)) for one in found.findings])
    heads = "".join(f'<th scope="col">{html(head)}</th>' for head in HEADS)
    rows = "".join(
        f'<tr><th scope="row">{html(corner)}</th>' + "".join(f"<td>{html(one)}</td>" for one in words) + "</tr>"
        for corner, *words in sealed_rows(found, system)
    )
    st.html(f'<table class="plate"><tr><td></td>{heads}</tr>{rows}</table>')
    fields.soft(HOW)


@lru_cache(maxsize=8)
def _found(setup: Setup, shut: Shut) -> SealedChange:
    """Return what became of it; kept, as most runs of the page change nothing in it."""
    return sealed_change(setup, level_setup(setup), shut)
