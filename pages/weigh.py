"""Weigh: what does the trailer really put on my truck?"""

import streamlit as st

from planner.front.session import state
from planner.front.shell import navigation
from planner.front.weigh import bag_scale, slip_choice, weighing_answer, weighing_inputs, weighing_saving

mine = slip_choice.open_asked()
with st.container(key="weigh-head"):  # in one piece, as what is above every page
    st.title("Weigh", anchor=False)
    navigation.draw_record_news(mine, mine.trouble)
if mine.draft is None:
    slip_choice.draw_choice(mine)
else:
    found = weighing_answer.find_weighed()
    # Laid out by the style sheet as on Level: side by side on a wide screen, the answer first on a narrow one.
    with st.container(key="board"):
        with st.container(key="answer"):
            slip_choice.draw_choice(mine)
            weighing_answer.draw_answer(found)
        with st.container(key="inputs"):
            weighing_inputs.draw_inputs(found.truck)
            weighing_saving.draw_saving(state.slip())
    bag_scale.draw_bag_scale()
