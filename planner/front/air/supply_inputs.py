"""The air supply of the profile's truck on the Air page: asked as the truck's form asks, and saved in its file."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import streamlit as st

from planner.forms.air_fields import AIR, CHART, KEYS, QUESTION, confirm_air
from planner.forms.draft import field_of
from planner.forms.own_values import is_typical
from planner.forms.profile_draft import ProfileDraft
from planner.forms.saving import setup_of
from planner.forms.truck_typical import estimate_of, why_words
from planner.front.garage import record_saving
from planner.front.session import state
from planner.front.session.tab import DISK
from planner.front.widgets import fields as widgets
from planner.front.widgets import reply
from planner.plans.setup import Setup
from planner.plans.typical_air import with_typical_air
from planner.records import Truck

EVEN = "Two tanks count as one: add their sizes."


def open_truck() -> None:
    """Open the profile's truck beside it, with what is not saved of it yet."""
    with DISK:
        state.truck().visit(state.work().profile.truck)


def setup_with_air(work: ProfileDraft) -> Setup:
    """Return the work as plans take it, its truck with the air supply in the fields, typical where there is none."""
    setup = setup_of(work)
    return replace(setup, truck=with_typical_air(_with_fields(setup.truck)))


def _with_fields(truck: Truck) -> Truck:
    """Return a truck with the air supply that its draft has."""
    draft = state.truck().draft
    if draft is None or draft.record.air is None or draft.slug != state.work().profile.truck:
        return truck
    others = [path for path in truck.typical if not path.startswith(f"{AIR}.")]
    guessed = [path for path in draft.record.typical if path.startswith(f"{AIR}.")]
    new: Truck = truck.replaced(air=draft.record.air, typical=(*others, *guessed))
    return new


def draw_supply_fields() -> None:
    """Draw the numbers of the supply, where each is found, what is typical of it, and the way to save them."""
    record = state.truck()
    if record.draft is None:
        return
    count = sum(is_typical(record.work, key) for key in KEYS)
    words = "Tank, compressor and lines" + (f": {count} of {len(KEYS)} typical" if count else "")
    with st.expander(words, key="air-supply", expanded=bool(count)):
        widgets.soft(f"{QUESTION.where} They belong to {record.work.record.name}. {EVEN}")
        left = list(KEYS)
        while left:
            key = left.pop(0)
            twin = key.replace("left", "right")
            if twin != key:
                left.remove(twin)
                for column, one in zip(st.columns(2, wrap=False), (key, twin), strict=True):
                    with column:
                        widgets.text(record, one)
            elif key == CHART:
                widgets.table(record, key, field_of(record.work, key).label)
            else:
                widgets.text(record, key)
            _draw_where(*dict.fromkeys((key, twin)))
        record_saving.draw_saving(record)


def _draw_where(*keys: str) -> None:
    """Say where numbers are found and, while one is typical, how far off it may be and why."""
    draft = state.truck().work
    asked = field_of(draft, keys[0])
    widgets.soft(f"{asked.help[:1].upper()}{asked.help[1:]}.")
    guessed = [key for key in keys if is_typical(draft, key)]
    if guessed:
        why = estimate_of(draft.record, draft.form.path_of(guessed[0]))
        with st.container(horizontal=True, vertical_alignment="center", key=f"air-typical-{keys[0]}"):
            widgets.soft(f"Typical{why_words(why, state.system())}." if why else "Typical.")
            change, said = partial(confirm_air, keys=guessed), f"Yours now: {asked.label}"
            at = f"air-own-{keys[0]}"
            reply.button("It is so", at, state.act, (state.truck(), change, said), at=at)
    reply.draw_reply(f"air-own-{keys[0]}")
