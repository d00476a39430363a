"""Hitch up: how low do I drop to back under, and what are the steps?"""

import streamlit as st

from planner.front import answer, head, hitching, panel, state

state.open_any()
if state.tab().work is None:
    head.nothing("Hitch up")
else:
    head.draw()
    if state.work().profile.trailer is None:
        hitching.no_trailer()
    else:
        shown = answer.last_good(hitching.answered)
        if shown is not None:
            with st.container(key="answer"):
                hitching.answer(shown)
                hitching.stages(shown)
                hitching.steps()
        # As on Level: beside each other on a wide screen, in this order on a narrow one.
        with st.container(key="board"):
            with st.container(key="after"):
                if shown is not None:
                    hitching.found(shown)
                    hitching.share(shown)
                    hitching.towed(shown)
            with st.container(key="inputs"):
                hitching.fields()
                panel.draw(None if shown is None or shown.stale else shown.plan.stages[-1].answer)
            with st.container(key="unhitching"):
                hitching.way_back()
