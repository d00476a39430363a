"""What lies nowhere but in this tab, because the disk refuses drafts: why, and all of it as a file to take away."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Final

import streamlit as st

from planner.forms import draft_export
from planner.front.session import state
from planner.front.widgets.text import plain
from planner.records import Problem

LOST: Final = "A reload of this page would lose what you typed: save it as a file, or fix this first."
STATUS: Final = "Unsaved changes, not kept on this machine: see the top of the page."


def draw_unsaved_notice() -> None:
    """Say what is not kept and why, for as long as it is so, with a button that makes a file of it."""
    for one in state.tab().records:
        if one.unkept and one.draft is not None:
            _warning(one.kind, one.unkept, partial(draft_export.zip_draft, one.store, one.draft))


def _warning(what: str, why: tuple[Problem, ...], data: Callable[[], bytes]) -> None:
    """Draw the lasting line about a profile or a trailer, and its button."""
    told = "; ".join(f"{one.file} {one.rule}, {one.remedy}" for one in why)
    st.error(f"**The {what} is not kept.** {plain(told)}. {LOST}")
    st.download_button(
        f"Save the {what} as typed (zip)",
        data,
        file_name=f"{what}-as-typed.zip",
        mime="application/zip",
        key=f"unkept-{what}",
        on_click="ignore",
    )
