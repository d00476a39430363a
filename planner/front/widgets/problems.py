"""What is wrong with a file or an action, in one box."""

from __future__ import annotations

import streamlit as st

from planner.front.widgets.text import plain
from planner.records import Problem


def draw_problems(found: tuple[Problem, ...]) -> None:
    """Say what is wrong: where, what, and what to do; for each, one paragraph."""
    st.error("\n\n".join(_words(problem) for problem in found))


def _words(problem: Problem) -> str:
    where = f"{problem.file}: {problem.field}" if problem.field else problem.file
    got = f", got {problem.value}" if problem.value else ""
    return f"**{plain(where)}**: {plain(problem.rule + got)}. {plain(_sentence(problem.remedy))}"


def _sentence(words: str) -> str:
    """Return words with a capital and a full stop."""
    return words[:1].upper() + words[1:] + ("" if words.endswith((".", "?", "!")) else ".")
