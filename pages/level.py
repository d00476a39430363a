"""Level: what pressures level this load, and is anything over its rating?"""

import streamlit as st

from planner.front.level import (
    aboard,
    answer,
    cargo,
    cargo_position,
    exact_numbers,
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
    # Parts that the style sheet lays out: in two columns on a wide screen, in this order on a narrow one.
    with st.container(key="columns"):
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
        if shown is not None:
            with st.container(key="ratings"):
                answer.draw_ratings(shown)
            with st.container(key="views"):
                answer.draw_views(shown)
    if shown is not None:
        answer.draw_strip(shown)
        with st.container(key="deeper"):  # found when it is asked for: else each change of a field waits for all of it
            st.header("Dig deeper", anchor=False)
            for words, key, draw in (
                ("Which loads it levels: the map", "map-box", load_map.draw_load_map),
                ("How sure", "sure-box", uncertainty.draw_uncertainty),
                ("What if: move cargo, tow more", "whatif-box", cargo_position.draw_cargo_position),
                ("Exact numbers, before rounding to the gauge", "exact-box", exact_numbers.draw_exact_numbers),
            ):
                with st.expander(words, key=key, on_change="rerun") as box:
                    if box.open:
                        draw(shown)
            history.draw_history_box(state.work())
