"""Which slip the page is on: as the address says, else the first there is, else a new one."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import streamlit as st

from planner.forms.draft import NEW
from planner.forms.slip_form import SlipDraft
from planner.front.level.inputs import names_of
from planner.front.session import state
from planner.front.session.open_record import OpenRecord
from planner.front.session.tab import DISK
from planner.store import SLIP

NEW_ONE: Final = "New slips, from the scale"


def open_asked() -> OpenRecord[SlipDraft]:
    """Return the slip that the page is on, in step with the disk; a new one is of the profile's truck and trailer."""
    now, mine = state.tab(), state.slip()
    asked = state.asked(SLIP.name)
    with DISK:
        mine.visit(asked)
        if mine.draft is None and not asked:
            mine.load(NEW)
    now.address[now.page] = {SLIP.name: mine.asked}
    profile = None if now.profile.draft is None else now.profile.draft.profile
    draft = mine.draft
    if draft is not None and profile is not None and draft.slug == NEW and not draft.worth_keeping:
        names = {"truck": profile.truck, "trailer": profile.trailer, "hitch": profile.hitch}
        if any(getattr(draft.record, key) != name for key, name in names.items()) and draft.record.truck is None:
            mine.draft = replace(draft, record=draft.record.replaced(**names))
    return mine


def draw_choice(mine: OpenRecord[SlipDraft]) -> None:
    """Draw the choice of a slip, or of a new one."""
    names = names_of(SLIP)
    options = [NEW, *names]
    name = state.seed(f"slip.pick-{mine.generation}", mine.asked if mine.asked in options else None)
    st.selectbox(
        "Slips",
        options,
        index=0 if mine.asked in options else None,
        key=name,
        format_func=lambda slug: names.get(slug, NEW_ONE),
        filter_mode=None,
        on_change=_open,
        args=(mine, name),
    )


def _open(mine: OpenRecord[SlipDraft], name: str) -> None:
    """Open what is chosen in a widget."""
    state.opened(mine, str(state.value(name) or ""))
