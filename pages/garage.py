"""Truck & trailers: what have I got, and where does the trailer press?"""

import streamlit as st

from planner.front.garage import answer, deck, inputs, trailer_saving, trucks
from planner.front.session import state
from planner.front.shell import navigation

inputs.begin()
with st.container(key="garage-head"):  # in one piece, as what is above every page
    st.title("Truck & trailers", anchor=False)
    navigation.draw_record_news(state.trailer(), state.trailer().trouble)
if state.trailer().draft is None:
    inputs.draw_picker()
else:
    plan = answer.find_plan()
    # Laid out by the style sheet as on Level: side by side on a wide screen, the answer first on a narrow one.
    with st.container(key="board"):
        with st.container(key="answer"):
            inputs.draw_picker()
            answer.draw_answer(plan)
        with st.container(key="inputs"):
            st.subheader("Weight and deck", anchor=False)
            inputs.draw_ways()
            if plan.trailer.deck:
                deck.draw_deck_table()
                deck.draw_slide()
            else:
                inputs.draw_weighed()
            inputs.draw_own()
            trailer_saving.draw_saving()
trucks.draw_trucks()
