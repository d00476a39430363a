"""Buttons for what is carried: cards for the cab as a PDF, profiles as one page for a phone.

The files are made when a button is pressed, not before: no other press on the page waits for a PDF. What goes wrong
then could no longer be shown on the page, so a profile that cannot be read is told of in the file itself.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import streamlit as st

from planner import export
from planner.front.session import state


def draw_export_buttons(profiles: Sequence[str]) -> None:
    """Draw the two buttons for some profiles, by slug."""
    if not profiles:
        return
    store, system, chosen = state.tab().store, state.system(), tuple(profiles)
    with st.container(horizontal=True, key="carry"):
        draw_download(
            "Cards for the cab (PDF)", "cab.pdf", "application/pdf", lambda: export.pdf_of(store, chosen, system)
        )
        draw_download("Page for the phone", "pocket.html", "text/html", lambda: export.page_of(store, chosen, system))


def draw_download(label: str, file: str, mime: str, data: Callable[[], bytes]) -> None:
    """Draw a button that makes its file when it is pressed; the page need not run again for it."""
    st.download_button(label, data, file_name=file, mime=mime, key=f"take-{file}", on_click="ignore")
