"""The commissioning list on a truck's form: what was looked at and when, and a press for what was looked at today."""

from __future__ import annotations

from datetime import date
from functools import partial
from typing import Final

import streamlit as st

from planner.forms.commissioning import COMMISSIONING, last_checks, with_check
from planner.front.session import state
from planner.front.widgets import fields, reply
from planner.front.widgets.text import plain

BY: Final = "checked-by"
UNDER_IT: Final = "Stands under the frame, never the bags, before you reach under. Chock the wheels."


def draw_checks() -> None:
    """Draw the list."""
    found = last_checks(state.truck().work.record)
    open_ones = [name for name in COMMISSIONING if found[name] is None]
    words = f"Before it is driven: {len(open_ones)} of {len(COMMISSIONING)} to look at" if open_ones else "Looked at"
    with st.expander(words, key="commissioning"):
        fields.hazard(UNDER_IT)
        st.text_input("Looked at by", key=state.seed(BY, ""))
        for n, (name, last) in enumerate(found.items()):
            with st.container(horizontal=True, vertical_alignment="center", key=f"check-{n}"):
                by = f" by {last.by}" if last is not None and last.by else ""
                when = "not yet" if last is None else f"{last.on.isoformat()}{by}"
                how = COMMISSIONING.get(name, "")
                st.markdown(f"**{plain(name)}**: {plain(when)}. {plain(how[:1].upper() + how[1:])}", width="stretch")
                reply.button("Done today", f"check-done-{n}", _done, (name,), at=f"check-{n}")
            reply.draw_reply(f"check-{n}")


def _done(name: str) -> None:
    """Write down that something was looked at today."""
    by = str(state.value(BY) or "")
    state.act(state.truck(), partial(with_check, name=name, on=date.today(), by=by), f"{name}: looked at today.")
