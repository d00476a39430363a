"""The air supply of the profile's truck on the Air page: asked as the truck's form asks, and saved in its file."""

from __future__ import annotations

from dataclasses import replace

import streamlit as st

from planner.forms.air_fields import AIR
from planner.forms.draft import fault_of
from planner.forms.profile_draft import ProfileDraft
from planner.forms.saving import setup_of
from planner.forms.truck_questions import AIR_KEYS, AIR_WHERE
from planner.front.garage import air_supply, record_saving
from planner.front.session import state
from planner.front.session.tab import DISK
from planner.front.widgets import fields as widgets
from planner.plans.setup import Setup
from planner.plans.typical_air import with_typical_air
from planner.records import Truck


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


def draw_old_answer() -> None:
    """Say that the answer is the last good one, while a field of the supply has a text that is no value."""
    record = state.truck()
    if record.draft is not None and any(fault_of(record.work, key, state.system()) for key in AIR_KEYS):
        widgets.old_answer(record)


def draw_supply_fields() -> None:
    """Draw the numbers of the supply, as the truck's form asks for them, and the way to save them."""
    record = state.truck()
    if record.draft is None:
        return
    with st.expander(air_supply.box_words(), key="air-supply", expanded=bool(air_supply.count_typical())):
        widgets.soft(f"{AIR_WHERE} They belong to {record.work.record.name}.")
        air_supply.draw_air_fields()
        record_saving.draw_saving(record)
