"""The script that Streamlit runs. It stands alone in its folder, which is put first on Python's path."""

import sys

import streamlit as st

from planner.front.session import state, unsaved_notice
from planner.front.shell import navigation, theme
from planner.front.widgets import reply
from planner.front.widgets.problems import draw_problems
from planner.records import BadInput

# Before st.navigation: otherwise the browser asks another host for the page's icon.
st.set_page_config(page_icon=theme.ICON, layout="wide", initial_sidebar_state="collapsed")
page = st.navigation([navigation.page(name) for name in navigation.TITLES], position="hidden")
st.set_page_config(page_title=f"{page.title} · Planner")
try:
    state.begin(page.url_path)
    # In one piece: what comes and goes in it moves no field of the page. A field that is moved in the browser may send
    # what stood in it before, and undo a step.
    with st.container(key="page-top"):
        bar = st.container(key="nav", horizontal=True, vertical_alignment="center", gap="small")
        navigation.draw_news()
        warning, left_over = st.container(), st.container()
    try:
        page.run()
    except BadInput as exc:  # which is on the page then, so that this has its address too
        draw_problems(exc.problems)
    finally:
        state.write_drafts()
        # A run that Streamlit breaks off, by what is no Exception, is begun anew at once: what it did not come to is
        # not left over.
        if isinstance(sys.exception(), Exception | None):
            with warning:  # above the page, though it is known only now
                unsaved_notice.draw_unsaved_notice()
            with left_over:
                reply.draw_left_over()
            with bar:  # when the page is there, which was asked for
                navigation.draw_bar(page.title)
    state.write_address()
except BadInput as exc:
    draw_problems(exc.problems)
