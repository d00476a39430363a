"""Which truck or trailer the page is on: as the address says, else as the profile has it; and the choice of another."""

from __future__ import annotations

from typing import Any, Final

import streamlit as st

from planner.forms.draft import NEW
from planner.front.level.inputs import names_of
from planner.front.session import state
from planner.front.session.open_record import OpenRecord
from planner.front.session.tab import DISK
from planner.front.shell.navigation import QUESTION
from planner.store import TRAILER, TRUCK

WHAT: Final = {TRUCK.name: "Trucks", TRAILER.name: "Trailers"}
NEW_ONE: Final = {
    TRUCK.name: "My truck is not here: enter it",
    TRAILER.name: "A new trailer, from a typical one",
}


def open_asked() -> OpenRecord[Any]:
    """Return the truck or trailer that the page is on, in step with the disk.

    The one of the address, else that of the profile; a folder without trucks opens on a new one.
    """
    now = state.tab()
    on_trucks = bool(state.asked(TRUCK.name)) or not (state.asked(TRAILER.name) or now.store.trucks())
    mine = now.truck if on_trucks else now.trailer
    asked = state.asked(mine.kind)
    profile = None if now.profile.draft is None else now.profile.draft.profile
    named = None if profile is None else getattr(profile, mine.kind)
    with DISK:
        mine.visit(asked)
        if mine.draft is None and not asked:
            mine.open_any(named)
    address = {mine.kind: mine.asked}
    if not on_trucks and not asked and mine.asked == (named or next(iter(now.store.trailers()), "")):
        address = {}  # what a reload opens without being asked
    if on_trucks and (question := state.asked(QUESTION)):
        address[QUESTION] = question
    now.address[now.page] = address
    return mine


def draw_choice(mine: OpenRecord[Any]) -> None:
    """Draw the choice between trucks and trailers, and of one of them."""
    key = "garage-kind"
    state.show(key, mine.kind)
    st.segmented_control(
        "What to look at",
        list(WHAT),
        key=key,
        format_func=WHAT.__getitem__,
        required=True,
        label_visibility="collapsed",
        on_change=_switch,
        args=(key,),
    )
    names = names_of(mine.form.kind)
    options = [*names, NEW]
    name = state.seed(f"{mine.kind}.pick-{mine.generation}", mine.asked if mine.asked in options else None)
    st.selectbox(
        mine.kind.capitalize(),
        options,
        index=0 if mine.asked in options else None,
        key=name,
        format_func=lambda slug: names.get(slug, NEW_ONE[mine.kind]),
        filter_mode=None,
        on_change=_open,
        args=(mine, name),
    )


def _switch(key: str) -> None:
    """Go to the trucks, or to the trailers, as the page last had them."""
    now, wanted = state.tab(), state.value(key)
    mine = now.truck if wanted == TRUCK.name else now.trailer
    for name in (*WHAT, QUESTION):
        state.drop(name)
    first = next(iter(now.store.slugs(mine.form.kind)), NEW)
    profile = None if now.profile.draft is None else now.profile.draft.profile
    state.ask(mine.kind, mine.asked or (profile and getattr(profile, mine.kind)) or first)


def _open(mine: OpenRecord[Any], name: str) -> None:
    """Open what is chosen in a widget."""
    state.drop(QUESTION)
    state.opened(mine, str(state.value(name) or ""))
