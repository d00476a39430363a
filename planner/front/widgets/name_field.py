"""What is wrong with a name that is typed, said at its field: none, too long a one, or one that another has."""

from __future__ import annotations

from typing import Any

import streamlit as st

from planner.forms.names import NO_NAME, Taken, find_taken, name_fault
from planner.front.session import state
from planner.front.widgets import fields
from planner.front.widgets.text import html
from planner.store.kinds import Kind


def is_usable(at: str, kind: Kind[Any], name: str, own: str | None = None) -> bool:
    """Tell whether a file may have a name; if not, it is said at the field and nothing else is done.

    at : the field, as for `draw_remark`
    own : the file that may have it
    """
    state.tab().forget_action()
    state.tab().nameless = "" if name.strip() else at
    return bool(name.strip()) and name_fault(name) is None and _taken(kind, name, own) is None


def draw_remark(at: str, kind: Kind[Any], name: str, own: str | None = None) -> Taken | None:
    """Say what is wrong with the name typed; return whose it is if another has it, as that is asked about."""
    if not name.strip() and state.tab().nameless == at:
        fields.wrong("Name", NO_NAME)
    elif refusal := name_fault(name):
        fields.wrong("Name", refusal)
    elif taken := _taken(kind, name, own):
        st.html(f'<p class="wrong" role="alert"><b>There is already {html(taken.name)}.</b> Open it, or keep both.</p>')
        return taken
    return None


def _taken(kind: Kind[Any], name: str, own: str | None) -> Taken | None:
    """Return which file has a name; no file is looked at while there is none."""
    return None if not name.strip() else find_taken(state.tab().store.entries(kind), name, own)
