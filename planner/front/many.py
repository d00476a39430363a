"""Below the list of profiles: from one to another, what is carried, taken away, brought in, and what is in the bin."""

from __future__ import annotations

from datetime import timedelta
from typing import Final

import streamlit as st

from planner.front import carry, change, moving, state, widgets
from planner.front.text import plain
from planner.records import Profile
from planner.store import Binned, Entry, Receipt
from planner.store import handy as at_hand

OLD: Final = timedelta(days=30)
MOST_BINNED: Final = 30


def draw(entries: list[Entry[Profile]]) -> None:
    """Draw the parts that are seldom wanted, each behind its heading."""
    sound = {entry.slug: entry.name for entry in entries if entry.brief is not None}
    if len(sound) > 1:
        with st.expander("Change over from one profile to another", key="change-box", on_change="rerun") as box:
            if box.open:
                _change(sound)
    if sound:
        with st.expander("Carry along: cards for the cab, a page for the phone", key="carry-box"):
            _carry(sound)
    with st.expander("Take away and bring in", key="moving-box", on_change="rerun") as box:
        if box.open:
            moving.draw()
    if thrown := state.tab().store.binned():
        with st.expander(f"Bin: {len(thrown)} deleted", key="bin-box"):
            _bin(thrown)


def _change(names: dict[str, str]) -> None:
    """Draw the choice of two profiles, and the way from one to the other."""
    used = at_hand.read(state.tab().store.folder).used
    order = sorted(names, key=lambda slug: -(used[slug].timestamp() if slug in used else 0.0))
    with st.container(horizontal=True, key="change-pick"):
        first = st.selectbox("From", order, key="change-from", format_func=names.__getitem__, filter_mode=None)
        second = st.selectbox("To", order, index=1, key="change-to", format_func=names.__getitem__, filter_mode=None)
    if first in names and second in names:
        change.draw(first, second)


def _carry(names: dict[str, str]) -> None:
    """Draw the choice of what is carried, favourites to begin with, and its two buttons."""
    favourites = at_hand.read(state.tab().store.folder).favourites
    chosen = st.multiselect(
        "Profiles to carry",
        list(names),
        default=[slug for slug in names if slug in favourites] or list(names)[:4],
        key="carry-pick",
        format_func=names.__getitem__,
    )
    if chosen:
        carry.draw(chosen)
    else:
        widgets.soft("Choose at least one.")


def _bin(thrown: list[Binned]) -> None:
    """Draw what was deleted, the last first, and the way to be rid of what is old."""
    for one in thrown[:MOST_BINNED]:
        with st.container(horizontal=True, vertical_alignment="center", gap="small"):
            when = one.at.strftime("%Y-%m-%d %H:%M")
            st.markdown(plain(f"{one.name}, {one.receipt.kind.name}, deleted {when} UTC"), width="stretch")
            st.button("Bring back", key=f"unbin-{one.receipt.binned}", on_click=_restore, args=(one,))
    if len(thrown) > MOST_BINNED:
        widgets.soft(f"and {len(thrown) - MOST_BINNED} more, in the folder bin")
    sure = st.checkbox("Yes, for good", key="purge-sure")
    st.button(f"Empty the bin of what is older than {OLD.days} days", key="purge", disabled=not sure, on_click=_purge)


def _restore(one: Binned) -> None:
    """Bring a deleted file back."""
    store = state.tab().store

    def act() -> str:
        store.restore(one.receipt)
        return f"{one.name} is back."

    state.attempt(act, lambda: store.delete(one.receipt.slug, one.receipt.kind))


def _purge() -> None:
    """Take what is old out of the bin for good."""

    def act() -> str:
        gone: list[Receipt] = state.tab().store.purge(OLD)
        return f"{len(gone)} files are gone for good." if gone else "Nothing in the bin is that old."

    state.attempt(act)
