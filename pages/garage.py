"""Truck & trailers: what have I got, what does it weigh, and where does it press?"""

import streamlit as st

from planner.front.garage import (
    deck,
    record_choice,
    record_saving,
    trailer_answer,
    trailer_inputs,
    truck_answer,
    truck_questions,
)
from planner.front.session import state
from planner.front.shell import navigation
from planner.store import TRUCK

mine = record_choice.open_asked()
with st.container(key="garage-head"):  # in one piece, as what is above every page
    st.title("Truck & trailers", anchor=False)
    navigation.draw_record_news(mine, mine.trouble)
if mine.draft is None:
    record_choice.draw_choice(mine)
elif mine.kind == TRUCK.name:
    board, steps = st.container(key="board"), st.container()
    with steps:
        truck_questions.draw_steps()
    standing = truck_answer.find_standing()
    with board:
        with st.container(key="answer"):
            record_choice.draw_choice(mine)
            truck_answer.draw_answer(standing)
        with st.container(key="inputs"):
            truck_questions.draw_questions(standing.setup, standing.answer)
            truck_answer.draw_check()
else:
    plan = trailer_answer.find_plan()
    # Laid out by the style sheet as on Level: side by side on a wide screen, the answer first on a narrow one.
    with st.container(key="board"):
        with st.container(key="answer"):
            record_choice.draw_choice(mine)
            trailer_answer.draw_answer(plan)
        with st.container(key="inputs"):
            st.header("Weight and deck", anchor=False)
            trailer_inputs.draw_ways()
            if plan.trailer.deck:
                deck.draw_deck_table()
                deck.draw_slide()
            else:
                trailer_inputs.draw_weighed()
            trailer_inputs.draw_own()
            record_saving.draw_saving(state.trailer())
