"""The Method page: the model in words and formulas, what not to trust it for, and its figures beside published ones."""

from __future__ import annotations

from collections.abc import Collection

import streamlit as st

from planner.front.widgets import fields
from planner.show.text.method import (
    CHECKED,
    IN_SHORT,
    LEFT_OUT,
    NOT_FOR,
    count_words,
    read_checks,
    read_sections,
    source_html,
)


def draw_short() -> None:
    """Say in a few sentences where the numbers come from, and what not to trust them for."""
    _draw_sections((IN_SHORT, NOT_FOR))


def draw_left_out() -> None:
    """Say what the model leaves out."""
    _draw_sections((LEFT_OUT,))


def draw_model() -> None:
    """Tell the model part by part, with its formulas and their sources."""
    _draw_sections([name for name in read_sections() if name not in (IN_SHORT, NOT_FOR, LEFT_OUT)])


def draw_checks() -> None:
    """Draw our figures beside those of each source."""
    sources = read_checks()
    st.header(CHECKED, anchor=False)
    fields.soft(count_words(sources))
    st.html("".join(source_html(one) for one in sources))


def _draw_sections(names: Collection[str]) -> None:
    for name in names:
        st.header(name, anchor=False)
        st.markdown(read_sections()[name])
