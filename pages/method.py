"""Method: where do the numbers come from, and what must I not trust them for?"""

import streamlit as st

from planner.front.method import model

st.title("Method", anchor=False)
# Laid out by the style sheet as on Level: side by side on a wide screen, in this order on a narrow one.
with st.container(key="board"):
    with st.container(key="answer"):
        model.draw_short()
    with st.container(key="inputs"):
        model.draw_left_out()
with st.container(key="deeper"):
    with st.container(key="map"):
        model.draw_model()
    with st.container(key="certain"):
        model.draw_checks()
