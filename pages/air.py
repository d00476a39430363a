"""Air: have I air enough, how long does it take, do I leak, and when do I drain?"""

import streamlit as st

from planner.front.air import budget, other_supply, sealed, supply_inputs
from planner.front.level import answer, inputs
from planner.front.session import state
from planner.front.shell import page_header
from planner.front.trim import leak_test

state.open_any()
if state.profile().draft is None:
    page_header.draw_nothing_open("Air")
else:
    page_header.draw_page_header()
    supply_inputs.open_truck()
    shown = answer.last_good(budget.find_answer)
    # As on Level: beside each other on a wide screen, in this order on a narrow one.
    with st.container(key="board"):
        with st.container(key="answer"):
            if shown is not None:
                budget.draw_answer(shown)
                budget.draw_corners(shown.budget)
        with st.container(key="inputs"):
            budget.draw_fields()
            supply_inputs.draw_supply_fields()
            inputs.draw_pickers()
        with st.container(key="ratings"):
            if shown is not None:
                budget.draw_supply(shown.budget)
    with st.container(key="deeper"):
        with st.container(key="map"):
            if shown is not None:
                other_supply.draw_other_supply(shown.budget)
        with st.container(key="certain"):
            leak_test.draw_leak_test()
            if shown is not None:
                sealed.draw_sealed(shown.budget.setup)
