"""The inputs of the Level page: what the trailer weighs, where it presses, what it hangs on, the stance wanted."""

from __future__ import annotations

from typing import Any

import streamlit as st

from planner.forms import choices
from planner.forms.profile_draft import ProfileDraft
from planner.front.session import state
from planner.front.shell import navigation
from planner.front.widgets import fields
from planner.records import Trailer
from planner.show.text.numbers import say
from planner.store import TRAILER, TRUCK, Kind
from planner.units.quantity import System


def draw_first_three() -> None:
    """Draw trailer weight, tongue ratio and side bias, and the quick row of a load in the bed."""
    record, work, system = state.profile(), state.work(), state.system()
    st.header("Load", anchor=False)
    if work.trailer is None:
        fields.soft("No trailer: the truck alone. Choose a trailer below to weigh one.")
    elif work.trailer.deck:
        fields.soft(_of_deck(work.trailer, system))
    else:
        fields.text(record, "weight", "Trailer weight", steps=True)
        fields.text(record, "tongue", "Tongue ratio, share of the trailer's weight", steps=True)
        _whose_numbers(work, system)
    fields.text(record, "left", steps=True)
    with st.container(horizontal=True, gap="small"):
        with st.container(key="bed-weight", width=170):
            fields.text(record, "bed.weight", "Bed load", hint="none")
        with st.container(key="bed-x", width=170):
            fields.text(record, "bed.x", hint="0")
    _where_it_acts(work, system)


def draw_pickers() -> None:
    """Draw the choice of truck, trailer and hitch."""
    work = state.work()
    st.header("Truck, trailer and hitch", anchor=False)
    trucks, trailers = names_of(TRUCK), names_of(TRAILER)
    if len(trucks) > 1:
        fields.choice("truck", "Truck", list(trucks), lambda slug: trucks.get(slug, slug))
    navigation.draw_truck_button("My truck is not here")
    fields.choice(
        "trailer",
        "Trailer",
        [choices.ALONE, *trailers],
        lambda slug: trailers.get(slug, slug) if slug else "None: the truck alone",
    )
    if work.trailer is not None:
        fields.choice("hitch", "Hitch, of those that fit", choices.fitting(work.truck, work.trailer), str)


def draw_stance() -> None:
    """Draw the stance wanted, out of the way while it is level."""
    record, wanted = state.profile(), state.work().profile.stance
    asked = any((wanted.front, wanted.rear, wanted.lean)) or any(key.startswith("stance.") for key in record.work.typed)
    words = "Wanted stance: as set here" if asked else "Wanted stance: level"
    with st.expander(words, key="stance-box", expanded=asked):
        fields.text(record, "stance.front", steps=True)
        fields.text(record, "stance.rear", steps=True)
        fields.text(record, "stance.lean", steps=True)


def _of_deck(trailer: Trailer, system: System) -> str:
    """Say what a trailer weighs by the items on its deck, and why that is not changed here."""
    items = ", ".join(item.name for item in trailer.deck[:4]) + (", …" if len(trailer.deck) > 4 else "")
    weight, share = say(trailer.weight, "weight", system), say(trailer.tongue_share, "share", system)
    return (
        f"{trailer.name} weighs {weight}, {share} of it on the tongue. This is the sum of what is on its deck "
        f"({items}), so it is changed there: see Truck & trailers."
    )


def _whose_numbers(work: ProfileDraft, system: System) -> None:
    """Say what presses on the hitch, and whose numbers these are."""
    towed, trailer = work.towed, work.trailer
    if towed is None or trailer is None:
        return
    tongue = say(towed.weight * towed.tongue_share, "weight", system)
    file = f"{say(trailer.weight, 'weight', system)}, {say(trailer.tongue_share, 'share', system)}"
    if work.other_numbers:
        fields.soft(f"{tongue} on the tongue. Tried here only: the file of {trailer.name} says {file}.")
    else:
        fields.soft(f"{tongue} on the tongue, as the file of {trailer.name} says.")


def _where_it_acts(work: ProfileDraft, system: System) -> None:
    """Say where the side bias puts the load."""
    arm = work.side_arm(work.profile.left_share)
    bed = work.bed_load
    if bed is None:
        return
    side = (
        "on the centre line"
        if abs(arm) < 1e-4
        else f"{say(abs(arm), 'length', system)} {'left' if arm > 0 else 'right'} of centre"
    )
    fields.soft(f"The bed load acts {side}. It is saved as the cargo item “{bed.name}”.")


def names_of(kind: Kind[Any]) -> dict[str, str]:
    """Return what there is of a kind: by slug, its name; a damaged file says so."""
    entries = state.tab().store.entries(kind)
    return {one.slug: one.name if one.brief is not None else f"{one.slug} (file damaged)" for one in entries}
