"""The inputs of the Level page: what the trailer weighs, where it presses, what it hangs on, the stance wanted."""

from __future__ import annotations

from typing import Any

import streamlit as st

from planner.forms import choices
from planner.forms.profile_draft import ProfileDraft
from planner.front.session import state
from planner.front.shell import navigation
from planner.front.widgets import fields, reply
from planner.front.widgets.picture import draw_picture
from planner.plans.trailer_deck import deck_plan
from planner.records import Hitch, Trailer
from planner.show.drawings.trailer_behind import trailer_behind
from planner.show.text.numbers import say
from planner.store import TRAILER, TRUCK, Kind
from planner.units.quantity import System

TYPICAL = {"gross_weight": "Weight", "tongue_ratio": "Tongue ratio", "left_share": "Side bias"}  # of a trailer
SWIVELS = "The coupling swivels: a lopsided trailer loads its own tyres, and the truck needs no air for it."
TILTS = (
    "This fifth wheel's head tilts sideways: a lopsided trailer loads its own tyres, the truck needs no air for it. "
    "If it does not tilt, say so at the hitch on Truck & trailers."
)
PASSES = "This coupling passes {share} of the side bias on to the truck, so the truck's air answers it."


def draw_first_three() -> None:
    """Draw trailer weight, tongue ratio and side bias, and the quick row of a load in the bed."""
    record, work, system = state.profile(), state.work(), state.system()
    st.header("Load", anchor=False)
    if choices.lacks_trailer(work):
        fields.soft("The trailer's file cannot be read: choose another trailer below.")
    elif work.trailer is None:
        fields.soft("No trailer: the truck alone. Choose a trailer below to weigh one.")
    elif work.trailer.deck:
        fields.soft(_of_deck(work.trailer, system))
    else:
        fields.text(record, "weight", "Trailer weight", steps=True)
        fields.text(record, "tongue", "Tongue ratio, share of the trailer's weight", steps=True)
        fields.text(record, "side", "Side bias: left share of the trailer", steps=True)
        _whose_numbers(work, system)
    _trailer_wheels(work, system)
    passes = _share_passed_on(work) > 0
    words = "Bed and hitch load: left share" if passes else "Is it the bed that leans? Its left share"
    fields.text(record, "left", words if work.trailer is not None else "Bed load: left share", steps=True)
    with st.container(horizontal=True, gap="small"):
        with st.container(key="bed-weight", width=170):
            fields.text(record, "bed.weight", "Bed load", hint="none")
        with st.container(key="bed-x", width=170):
            fields.text(record, "bed.x", "Ahead of rear axle", hint="0")
    _where_it_acts(work, system)


def draw_pickers() -> None:
    """Draw the choice of truck, trailer and hitch."""
    work = state.work()
    st.header("Truck, trailer and hitch", anchor=False)
    trucks, trailers = names_of(TRUCK), names_of(TRAILER)
    if len(trucks) > 1 or work.profile.truck not in trucks:
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
    shares = (say(trailer.tongue_share, "share", system), say(trailer.side_share, "share", system))
    file = f"{say(trailer.weight, 'weight', system)}, {shares[0]} on the tongue, {shares[1]} on the left"
    guessed = [name for name in TYPICAL if name in trailer.typical]
    if work.other_numbers:
        fields.soft(f"{tongue} on the tongue. Tried here only: the file of {trailer.name} says {file}.")
    else:
        whose = "typical, not yet your own" if guessed else f"as the file of {trailer.name} says"
        fields.soft(f"{tongue} on the tongue, {whose}.")
    at = "own-trailer"
    with st.container(horizontal=True, gap="small", key=at):
        for name in () if work.other_numbers else guessed:
            words, args = TYPICAL[name], (name, TYPICAL[name].lower())
            reply.button(f"{words}: it is so", f"own-{name}", state.take_trailer_as_own, args, at=at)
        if reply.is_here(at):
            reply.draw_reply(at)


def _share_passed_on(work: ProfileDraft) -> float:
    """Return what share of a side bias the coupling in use passes on to the truck; 0 without one."""
    hitch = _hitch_in_use(work)
    return 0.0 if hitch is None else hitch.roll_coupling


def _hitch_in_use(work: ProfileDraft) -> Hitch | None:
    """Return the hitch that the profile names; None if the truck has none of that name."""
    return next((one for one in work.truck.hitches if one.name == work.profile.hitch), None)


def _trailer_wheels(work: ProfileDraft, system: System) -> None:
    """Draw what the trailer's wheels carry left and right, and say what the truck needs for it, and why."""
    if work.towed is None:
        return
    draw_picture(trailer_behind(deck_plan(work.towed), system))
    if (share := _share_passed_on(work)) > 0:
        fields.soft(PASSES.format(share=say(share, "share", system)))
    else:
        hitch = _hitch_in_use(work)
        fields.soft(TILTS if hitch is not None and hitch.coupling == "fifth_wheel" else SWIVELS)


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
    fields.soft(f"The bed load acts {side}. Saved as the cargo item “{bed.name}”.")


def names_of(kind: Kind[Any]) -> dict[str, str]:
    """Return what there is of a kind: by slug, its name; a damaged file says so."""
    entries = state.tab().store.entries(kind)
    return {one.slug: one.name if one.brief is not None else f"{one.slug} (file damaged)" for one in entries}
