"""Rows of words under their heads."""

from __future__ import annotations

from collections.abc import Iterable

import streamlit as st

from planner.front.widgets.text import html


def head_cells(heads: Iterable[str]) -> str:
    """Return the heads of a table's columns as HTML; one without words is none, or it is read out as empty."""
    return "".join(f'<th scope="col" style="width:auto">{html(head)}</th>' if head else "<td></td>" for head in heads)


def draw_table(heads: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> None:
    """Draw rows of words under their heads, the first of each its name."""
    body = "".join(
        f'<tr><th scope="row" style="width:auto">{html(name)}</th>'
        + "".join(f"<td>{html(one)}</td>" for one in rest)
        + "</tr>"
        for name, *rest in rows
    )
    st.html(f'<table class="plate"><tr>{head_cells(heads)}</tr>{body}</table>')
