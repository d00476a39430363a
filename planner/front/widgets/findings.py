"""Findings on the screen: mark, word, sentence; never colour alone."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import streamlit as st

from planner.front.widgets.text import html
from planner.plans.answer import SEVERITIES, Severity
from planner.show.drawings.palette import MARKS, WORDS


class Said(NamedTuple):
    """A finding as a sentence in the units shown."""

    level: Severity
    text: str


def verdict(found: Sequence[Said], fine: str = "") -> None:
    """Say in a line what the worst of the findings is, and how many; `fine` is said where none takes it back."""
    counts = {level: sum(one.level == level for one in found) for level in SEVERITIES}
    worst = next((level for level in SEVERITIES if counts[level]), None)
    if worst is None:
        st.html(f'<p class="verdict">{html(fine)}</p>')
        return
    below = ", ".join(f"{count} {level}{'s' if count > 1 else ''}" for level, count in counts.items() if count)
    mark = (
        f'<b><span aria-hidden="true">{MARKS[worst]}</span>{" Stop: do not drive like this." * (worst == "stop")}</b>'
    )
    first = f"{html(fine)} " if worst == "note" else ""  # a note takes nothing back of it
    st.html(f'<p class="verdict {worst}">{first}{mark} {below}.</p>')


def listed(found: Sequence[Said]) -> None:
    """Draw the findings, in the order given."""
    if found:
        lines = [f'<li class="{one.level}"><span>{_word(one.level)} {html(one.text)}</span></li>' for one in found]
        st.html(f'<ul class="findings">{"".join(lines)}</ul>')


def _word(level: Severity) -> str:
    """Return a severity as its mark and word."""
    return f'<b><span class="mark" aria-hidden="true">{MARKS[level]}</span> {WORDS[level]}</b>'
