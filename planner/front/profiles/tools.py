"""Below the list of profiles: from one to another, what is carried, taken away, brought in, and what is in the bin."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Final

import streamlit as st

from planner.forms.search import find_called, last_used_first
from planner.front.profiles import changeover, export_buttons, phone_link, transfer
from planner.front.session import state
from planner.front.shell import sharing
from planner.front.widgets import fields, reply
from planner.front.widgets.text import plain
from planner.records import Profile
from planner.store import Binned, Entry, Receipt
from planner.store import favourites as at_hand

AGES: Final = {7: "a week ago", 30: "30 days ago", 90: "90 days ago", 365: "a year ago"}  # days in the bin
MOST_BINNED: Final = 30
MOST_FIRST: Final = 4  # profiles to carry where nothing is a favourite: a sheet of cards
FROM, TO = "change-from", "change-to"


def draw_tools(entries: list[Entry[Profile]], shown: list[Entry[Profile]]) -> None:
    """Draw the parts that are seldom wanted, each behind its heading; `shown` are the profiles that are looked for."""
    sound = {entry.slug: entry.name for entry in entries if entry.brief is not None}
    if len(sound) > 1:
        with st.expander("Switch from one profile to another", key="change-box", on_change="rerun") as box:
            if box.open:
                _change(entries)
    if sound:
        words = "Cards and phone page"
        with st.expander(words, key="carry-box", on_change="rerun") as box:
            if box.open:  # thousands of names to choose from are not sent to one who does not want to choose
                _carry(find_called({entry.slug: entry.name for entry in shown if entry.brief is not None}))
    store = state.tab().store
    if len(store.trucks()) > 1 and store.trailers():
        words = "Fleet: which of my trucks takes this trailer today?"
        with st.expander(words, key="fleet-box", on_change="rerun") as box:
            if box.open:
                from planner.front.profiles import fleet  # it is seldom wanted

                fleet.draw_fleet()
    with st.expander("Back up and restore", key="moving-box", on_change="rerun") as box:
        if box.open:
            transfer.draw_transfer()
    if (shared := sharing.current()) is not None:
        with st.expander("Open on a phone", key="phone-box", on_change="rerun") as box:
            if box.open:
                phone_link.draw_phone_link(shared)
    if thrown := state.tab().store.binned():
        with st.expander(f"Bin: {len(thrown)} deleted", key="bin-box"):
            _bin(thrown)


def _change(entries: list[Entry[Profile]]) -> None:
    """Draw the choice of two profiles of one truck, and the way from one to the other."""
    briefs = {entry.slug: entry.brief for entry in entries if entry.brief is not None}
    names = find_called({slug: brief.name for slug, brief in briefs.items()})
    order = last_used_first(names, at_hand.read_favourites(state.tab().store.folder))
    with st.container(horizontal=True, key="change-pick"):
        first = fields.pick("From", order, FROM, names)
        others = [slug for slug in order if slug != first and briefs[slug].truck == briefs[first].truck]
        second = fields.pick("To", others, TO, names) if others else None
    if second is None:
        fields.soft("There is no other profile of this truck.")
    else:
        changeover.draw_changeover(first, second)


def _carry(names: dict[str, str]) -> None:
    """Draw the choice of what is carried, favourites to begin with, and its two buttons."""
    favourites = at_hand.read_favourites(state.tab().store.folder).favourites
    chosen = st.multiselect(
        "Profiles to carry",
        list(names),
        default=[slug for slug in names if slug in favourites] or list(names)[:MOST_FIRST],
        key="carry-pick",
        format_func=names.__getitem__,
    )
    if chosen:
        export_buttons.draw_export_buttons(chosen)
    else:
        fields.soft("Choose at least one.")


def _bin(thrown: list[Binned]) -> None:
    """Draw what was deleted, the last first, and the way to be rid of what is old."""
    for one in thrown[:MOST_BINNED]:
        with st.container(horizontal=True, vertical_alignment="center", gap="small"):
            when = f"{one.at.astimezone():%Y-%m-%d %H:%M}"
            st.markdown(plain(f"{one.name}, {one.receipt.kind.name}, deleted {when}"), width="stretch")
            reply.button("Bring back", f"unbin-{one.receipt.binned}", _restore, (one,), at="bin")
    if len(thrown) > MOST_BINNED:
        fields.soft(f"and {len(thrown) - MOST_BINNED} more, in the folder bin")
    with st.container(horizontal=True, vertical_alignment="bottom", gap="small", key="purge-row"):
        days = st.selectbox("Deleted more than", list(AGES), index=1, key="purge-age", format_func=AGES.__getitem__)
        old = sum(one.at < datetime.now(UTC) - timedelta(days=days) for one in thrown)
        if old:
            words = f"Take {old} {'file' if old == 1 else 'files'} out of the bin for good"
            sure = st.checkbox("Yes, they cannot be brought back", key="purge-sure")
            reply.button(words, "purge", _purge, (days,), at="bin", disabled=not sure)
        else:
            st.markdown("Nothing in the bin is that old.")
    reply.draw_reply("bin")


def _restore(one: Binned) -> None:
    """Bring a deleted file back."""
    store = state.tab().store

    def act() -> str:
        store.restore(one.receipt)
        return f"{one.name} is back."

    state.attempt(act, lambda: store.delete(one.receipt.slug, one.receipt.kind))


def _purge(days: int) -> None:
    """Take what is old out of the bin for good."""

    def act() -> str:
        gone: list[Receipt] = state.tab().store.purge(timedelta(days=days))
        return f"{len(gone)} {'file is' if len(gone) == 1 else 'files are'} gone for good."

    state.attempt(act)
    state.show("purge-sure", False)
