"""Truck & trailers: what have I got, and where does the trailer press?"""

import streamlit as st

from planner.front.garage import answer, deck, inputs, save_panel, trailer, trucks

trailer.begin()
st.title("Truck & trailers", anchor=False)
save_panel.draw_news()
if trailer.bench().work is None:
    inputs.draw_picker()
else:
    plan = answer.find_planned()
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
            save_panel.draw_save_panel()
trucks.draw_trucks()
