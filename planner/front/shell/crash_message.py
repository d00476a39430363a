"""What a person sees when the planner itself has failed: plain words, and their work is safe."""

from __future__ import annotations

import streamlit as st


def in_plain_words(exc: Exception) -> bool:
    """Tell the person of a fault in the planner; Streamlit writes the details to the terminal."""
    st.error(
        f"The planner has a fault ({type(exc).__name__}). Your files and your unsaved changes are kept. "
        "Reload this page; if it comes back, open another profile, and send the lines in the terminal to whoever "
        "looks after the planner for you."
    )
    return True
