"""Trim: it isn't level yet; what do I change?"""

import streamlit as st

from planner.front.session import state
from planner.front.shell import page_header
from planner.front.trim import answer, history, inputs, leak_test

state.open_any()
if state.profile().draft is None:
    page_header.draw_nothing_open("Trim")
else:
    page_header.draw_page_header()
    shown = answer.find_answer()
    # On a wide screen beside each other, as on Level. On a narrow one the fields come first: the answer comes with the
    # first height, and would push the others from under the finger.
    with st.container(key="board"):
        with st.container(key="inputs"):
            inputs.draw_reading(None if shown is None else shown.typed)
        with st.container(key="answer"):
            answer.draw_answer(shown)
        with st.container(key="ratings"):
            answer.draw_findings(shown)
        with st.container(key="accept"):
            answer.draw_accept(shown)
    with st.container(key="deeper"):
        with st.container(key="map"):
            history.draw_readings()
        with st.container(key="certain"):
            leak_test.draw_leak_test()
