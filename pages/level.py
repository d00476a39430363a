"""Level: what pressures level this load, and is anything over its rating?"""

import streamlit as st

from planner.front.level import (
    aboard,
    answer,
    cargo,
    cargo_position,
    history,
    inputs,
    load_map,
    profile_saving,
    uncertainty,
)
from planner.front.session import state
from planner.front.shell import page_header

state.open_any()
if state.profile().draft is None:
    page_header.draw_nothing_open()
else:
    page_header.draw_page_header()
    shown = answer.find_answer()
    # Three parts that the style sheet lays out: side by side on a wide screen, in this order on a narrow one.
    with st.container(key="board"):
        with st.container(key="answer"):
            if shown is not None:
                answer.draw_answer(shown)
        with st.container(key="inputs"):
            inputs.draw_first_three()
            inputs.draw_pickers()
            cargo.draw_cargo_table()
            aboard.draw_aboard_box()
            inputs.draw_stance()
            profile_saving.draw_saving(None if shown is None or shown.stale else shown.answer)
        with st.container(key="ratings"):
            if shown is not None:
                answer.draw_ratings(shown)
    if shown is not None:
        answer.draw_strip(shown)
        with st.container(key="deeper"):  # what takes longer to find comes after the answer
            with st.container(key="map"):
                load_map.draw_load_map(shown)
            with st.container(key="certain"):
                uncertainty.draw_uncertainty(shown)
            with st.container(key="whatif"):
                cargo_position.draw_cargo_position(shown)
                history.draw_history_box(state.work())
