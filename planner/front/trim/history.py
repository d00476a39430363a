"""What was read so far: gauge and tape over time at each corner, how near the plan was, and who asks for more air."""

from __future__ import annotations

import streamlit as st

from planner.front.session import state
from planner.front.widgets import fields, findings
from planner.front.widgets.picture import draw_picture
from planner.plans.reading_history import find_low_corner
from planner.plans.saved_state import standing
from planner.plans.track_record import track_record
from planner.show.drawings.reading_history import history_view
from planner.show.text.drift import low_corner_words
from planner.show.text.track_record import error_words, trust_words


def draw_readings() -> None:
    """Draw the readings of the profile; nothing where there are none, or the load has no answer."""
    work, system = state.work(), state.system()
    if not work.profile.readings:
        return
    try:
        history = standing(work.profile, work.truck, work.towed).history
    except (ValueError, ArithmeticError):  # which is said above
        return
    st.header("Readings so far", anchor=False)
    record = track_record(history)
    if trust := trust_words(record, system):
        fields.soft(f"Plan against tape: {trust}. {error_words(record, system)}")
    low_corner = find_low_corner(history)
    if low_corner is not None:
        findings.listed([findings.Said("caution", low_corner_words(low_corner, system))])
    with st.container(key="readings"):
        draw_picture(history_view(history, system, low_corner=low_corner))
