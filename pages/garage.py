"""Truck & trailers: what have I got, and where does the trailer press?"""

import streamlit as st

from planner.front.garage import answer, bench, deck, inputs, saving, trucks

bench.begin()
st.title("Truck & trailers", anchor=False)
saving.news()
if bench.bench().work is None:
    inputs.picker()
else:
    plan = answer.planned()
    # Laid out by the style sheet as on Level: side by side on a wide screen, the answer first on a narrow one.
    with st.container(key="board"):
        with st.container(key="answer"):
            inputs.picker()
            answer.draw(plan)
        with st.container(key="inputs"):
            st.subheader("Weight and deck", anchor=False)
            inputs.ways()
            if plan.trailer.deck:
                deck.table()
                deck.slide()
            else:
                inputs.weighed()
            inputs.own()
            saving.panel()
trucks.draw()
