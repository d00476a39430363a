"""What was just done or refused, said beside the button that was pressed, with the way back.

A place for it is always there, empty but for one: so nothing on the page moves to another place in the browser, where a
field would lose what is being typed in it. The style sheet keeps it in view.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import streamlit as st

from planner.front.session import state
from planner.front.widgets.problems import draw_problems
from planner.front.widgets.text import plain


def button(
    label: str, key: str, act: Callable[..., object], args: tuple[Any, ...] = (), *, at: str | None = None, **look: Any
) -> None:
    """Draw a button whose reply is drawn at a place: right below it, if none is named.

    at : a place that `draw_reply` draws, for a button in a row, or one that may be gone when it was pressed
    look : what else st.button takes
    """
    st.button(label, key=key, on_click=state.press, args=(at or key, act, *args), **look)
    if at is None:
        draw_reply(key)


def draw_reply(at: str) -> None:
    """Draw the place of a reply, and the reply if it belongs there."""
    with st.container(key=f"reply-{at}"):
        if is_here(at):
            _draw()


def is_here(at: str) -> bool:
    """Tell whether the last reply belongs at a place: for one that nothing stands below."""
    return state.tab().has_reply and state.tab().at == at


def draw_left_over() -> None:
    """Draw the reply if the page, which is drawn by then, had no place for it: its button is gone, or elsewhere."""
    now = state.tab()
    if now.has_reply and not now.told:
        with st.container(key="reply"):  # which the style sheet puts over the foot of the page
            _draw()
    now.told = False  # in the next run it is told again


def _draw() -> None:
    """Draw what was said or what was wrong, once a run."""
    now = state.tab()
    if now.told:
        return
    now.told = True
    if now.problems:
        draw_problems(now.problems)
    with st.container(key="said", horizontal=True, vertical_alignment="center", gap="small"):
        if now.said:
            st.markdown(plain(now.said), width="stretch")
        if now.undo is not None:
            st.button("Undo", key="undo", on_click=state.undo)
        st.button("Close", key="close-reply", on_click=state.close_reply)
