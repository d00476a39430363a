"""Rows of words under their heads."""

from __future__ import annotations

from collections.abc import Iterable

import streamlit as st

from planner.front.widgets.text import html


def draw_table(heads: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> None:
    """Draw rows of words under their heads, the first of each its name."""
    top = "".join(f'<th scope="col" style="width:auto">{html(head)}</th>' for head in heads)
    body = "".join(
        f'<tr><th scope="row" style="width:auto">{html(name)}</th>'
        + "".join(f"<td>{html(one)}</td>" for one in rest)
        + "</tr>"
        for name, *rest in rows
    )
    st.html(f'<table class="plate"><tr>{top}</tr>{body}</table>')
