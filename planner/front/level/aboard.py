"""Who and what is aboard, place by place, against who was there when the truck was weighed."""

from __future__ import annotations

import streamlit as st

from planner.forms import profile_form
from planner.forms.parse import value_text
from planner.forms.profile_draft import ProfileDraft
from planner.front.session import state
from planner.front.widgets import fields, reply
from planner.front.widgets.text import plain
from planner.records import aboard_change_of
from planner.records.places import weights_at
from planner.show.text.numbers import say
from planner.units.quantity import System


def draw_aboard_box() -> None:
    """Draw a field for each place of the truck, out of the way while all is as it was weighed."""
    work, system = state.work(), state.system()
    marked = any(key.startswith(f"{profile_form.ABOARD}.") for key in work.typed)
    asked = bool(work.profile.aboard) or marked
    with st.expander(plain(_line(work, system)) + (" ✗" if marked else ""), key="aboard-box", expanded=asked):
        fields.soft(
            "A weight; for a tank, a share such as 50 %. Leave a place empty if it is as it was when the truck "
            "was weighed."
        )
        weighed = _weighed(work, system)
        for pair in _pairs(profile_form.places_of(work)):
            for column, place in zip(st.columns(2, wrap=False), pair, strict=False):
                with column:
                    _field(work, place, weighed.get(place, "empty"))
        if work.profile.aboard:
            _sum(work, system)
        if asked:
            reply.button("All as weighed", "as-weighed", _as_weighed, at="aboard", icon=":material/undo:")
        reply.draw_reply("aboard")


def _field(work: ProfileDraft, place: str, weighed: str) -> None:
    """Draw the field of one place; one that this truck does not have can only be emptied."""
    key, label = f"{profile_form.ABOARD}.{place}", place[:1].upper() + place[1:]
    fields.text(state.profile(), key, label, hint=weighed)
    named = any(one.place == place for one in work.profile.aboard)
    if named and key not in work.typed and (refusal := profile_form.place_fault(work, place)):
        fields.wrong(label, refusal)


def _line(work: ProfileDraft, system: System) -> str:
    """Return who is aboard in words."""
    if not work.profile.aboard:
        return "Aboard: as weighed"
    said = (
        f"{one.place} {value_text(one.share if one.weight is None else one.weight, system)}"
        for one in work.profile.aboard
    )
    return f"Aboard: {', '.join(said)}"


def _weighed(work: ProfileDraft, system: System) -> dict[str, str]:
    """Return who was there at the weighing in words, by place."""
    there = weights_at(work.truck.kerb_aboard, work.truck.every_place)
    return {place: f"{say(weight, 'weight', system)} as weighed" for place, weight in there.items() if weight}


def _sum(work: ProfileDraft, system: System) -> None:
    """Say how much more or less is aboard than at the weighing."""
    try:
        change = sum(one.weight for one in aboard_change_of(work.profile, work.truck))
    except KeyError:  # a place that this truck does not have, which is marked
        return
    more = say(abs(change), "weight", system)
    fields.soft(f"In all {more} {'more' if change >= 0 else 'less'} than when the truck was weighed.")


def _as_weighed() -> None:
    """Empty all places, so that it can be taken back."""
    state.act(state.profile(), profile_form.all_as_weighed, "All aboard as weighed.")


def _pairs(places: list[str]) -> list[list[str]]:
    """Return places two by two."""
    return [places[i : i + 2] for i in range(0, len(places), 2)]
