"""What is asked on the Trim page: gauge and tape at each corner, as a person walks round the truck."""

from __future__ import annotations

from typing import Final

import streamlit as st

from planner.forms import reading_form
from planner.forms.reading_form import HEIGHT, PRESSURE, WALK, WAY, TypedReading, reading_key
from planner.forms.ride_height import WAYS
from planner.front.session import state
from planner.front.widgets import fields
from planner.show.text.numbers import say

BEGIN: Final = "Walk round the truck from the driver's door: at each corner read the gauge, then tape the arch."
HINTS: Final = {"us": ("20.1", "20.1, or 3/4 low"), "metric": ("510", "510, or 15 low")}  # of a number, and in words


def draw_reading(typed: TypedReading | None) -> None:
    """Ask for the four corners, and say how each height was taken where that is more than what was typed."""
    record, system = state.profile(), state.system()
    st.header("What gauge and tape say", anchor=False)
    fields.soft(BEGIN)
    fields.few(record, WAY, WAYS, "Tape held from", now=reading_form.way_of(record.work))
    fields.soft(f"A height is a number such as {HINTS[system][1]}, as it differs from what is wanted.")
    for corner in WALK:
        with st.container(key=f"corner-{corner}", gap="xsmall"):
            st.markdown(f"**{_name(corner).capitalize()}**")
            for column, what in zip(st.columns(2, wrap=False), (PRESSURE, HEIGHT), strict=True):
                with column:
                    _field(corner, what)
            _taken(typed, corner)


def _field(corner: str, what: str) -> None:
    """Draw one number of a corner; nothing where there is no gauge to read."""
    record, system = state.profile(), state.system()
    key = reading_key(corner, what)
    if what == HEIGHT:
        fields.text(record, key, "Height", hint=HINTS[system][0], below=_name(corner))
        return
    axle = corner.partition("_")[0]
    fitted = record.work.truck.front if axle == "front" else record.work.truck.rear
    if fitted.bag is None:
        fields.soft("Steel: no gauge here.")
    elif not reading_form.asks_pressure(record.work, corner):
        fields.soft("On one line with the left.")
    else:
        us = system == "us"  # whole psi need no point, which the keypad of some telephones does not have
        fields.text(record, key, "Pressure", hint="40" if us else "2.8", keypad=us, below=_name(corner))


def _name(corner: str) -> str:
    """Return a corner in words."""
    return corner.replace("_", " ")


def _taken(typed: TypedReading | None, corner: str) -> None:
    """Say what a height was taken as, where it was not held from the hub, or why it is none."""
    if typed is None:
        return
    if refusal := typed.faults.get(corner):
        fields.wrong("Height", refusal)
        return
    text = state.work().typed.get(reading_key(corner, HEIGHT), "")
    taken = typed.heights.get(corner)
    if taken is not None and taken.text != text:
        fields.soft(f"taken as {say(float(taken), 'length', state.system())}, hub to arch")
