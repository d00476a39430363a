"""The link that lets a phone in, as a code to scan, where the app is shared with phones."""

from __future__ import annotations

import streamlit as st

from planner.front.shell.sharing import Sharing
from planner.front.widgets import fields
from planner.front.widgets.text import html, plain
from planner.show.drawings.svg import data_uri
from planner.show.paper.qr_code import code_svg

MEANS = "Anyone who opens this link can change your profiles. Nothing is encrypted: use it on your own network only."


def draw_phone_link(sharing: Sharing) -> None:
    """Draw the link for the next phone by the likeliest address, and in words by each."""
    first, *others = sharing.links()
    fields.hazard(MEANS)
    st.html(f'<img class="qr" src="{data_uri(code_svg(first))}" alt="Code to scan: {html(first)}">')
    st.markdown(plain("Scan it with the phone's camera. The phone must be on the same network as this machine."))
    for link in (first, *others):
        st.code(link, language=None, wrap_lines=True)
    st.button("It was used: show the next link", key="next-link")
