"""Hitch up: how low do I drop to back under, and what are the steps?"""

import streamlit as st

from planner.front.hitch import hitching
from planner.front.level import answer, profile_saving
from planner.front.session import state
from planner.front.shell import page_header

state.open_any()
if state.profile().draft is None:
    page_header.draw_nothing_open("Hitch up")
else:
    page_header.draw_page_header()
    if state.work().profile.trailer is None:
        hitching.draw_no_trailer()
    else:
        shown = answer.last_good(hitching.find_answer)
        if shown is not None:
            with st.container(key="answer"):
                hitching.draw_answer(shown)
                hitching.draw_stages(shown)
                hitching.draw_steps()
        # As on Level: beside each other on a wide screen, in this order on a narrow one.
        with st.container(key="board"):
            with st.container(key="after"):
                if shown is not None:
                    hitching.draw_findings(shown)
                    hitching.draw_hitch_share(shown)
                    hitching.draw_towed(shown)
            with st.container(key="inputs"):
                hitching.draw_fields()
                profile_saving.draw_saving(None if shown is None or shown.stale else shown.plan.stages[-1].answer)
            with st.container(key="unhitching"):
                hitching.draw_way_back()
