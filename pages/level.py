"""Level: what pressures level this load, and is anything over its rating?"""

import streamlit as st

from planner.front import aboard, answer, cargo, certain, head, history, inputs, mapping, panel, state, whatif

state.open_any()
if state.tab().work is None:
    head.nothing()
else:
    head.draw()
    shown = answer.find()
    # Three parts that the style sheet lays out: side by side on a wide screen, in this order on a narrow one.
    with st.container(key="board"):
        with st.container(key="answer"):
            if shown is not None:
                answer.draw(shown)
        with st.container(key="inputs"):
            inputs.first_three()
            inputs.pickers()
            cargo.table()
            aboard.box()
            inputs.stance()
            panel.draw(None if shown is None or shown.stale else shown.answer)
        with st.container(key="ratings"):
            if shown is not None:
                answer.ratings(shown)
    if shown is not None:
        answer.strip(shown)
        with st.container(key="deeper"):  # what takes longer to find comes after the answer
            with st.container(key="map"):
                mapping.draw(shown)
            with st.container(key="certain"):
                certain.draw(shown)
            with st.container(key="whatif"):
                whatif.draw(shown)
                history.boxed(state.work())
