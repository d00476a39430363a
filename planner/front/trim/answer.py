"""The answer of the Trim page: what to set, where each corner is and will be, and the reading accepted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Final

import streamlit as st

from planner.forms import reading_form
from planner.forms.draft import bad_fields
from planner.forms.profile_draft import ProfileDraft
from planner.forms.reading_form import TypedReading, time_of_reading, typed_reading
from planner.front.level.answer import draw_why_not, why_not
from planner.front.session import state
from planner.front.widgets import fields, findings, reply
from planner.front.widgets.picture import draw_picture
from planner.front.widgets.problems import draw_problems
from planner.front.widgets.text import html
from planner.plans.trim import Trim, trim
from planner.records import BadInput, Problem
from planner.show.drawings.trim import trim_view
from planner.show.text.numbers import sentence
from planner.show.text.trim import SAME_WAY, carried_rows, verdict
from planner.show.text.words import AIR_MOVES

NEED: Final = "One height is enough for an answer; each further number makes it surer."
AGAIN: Final = "look at the new ones, then press once more"


@dataclass(frozen=True)
class Shown:
    """What is typed, and what it asks; nothing yet where no height reads, or where it makes no sense, and why."""

    typed: TypedReading
    found: Trim | None
    problems: tuple[Problem, ...] = ()


def find_answer() -> Shown | None:
    """Return what the reading asks; None, and why, where the load itself has no answer."""
    work, system = state.work(), state.system()
    try:
        typed = typed_reading(work, system, time_of_reading(work, datetime.now().astimezone()))
    except (ValueError, ArithmeticError) as exc:
        draw_why_not(work, why_not(exc))
        return None
    if typed.reading is None or not typed.heights:
        return Shown(typed, None)
    try:
        return Shown(typed, trim(typed.setup, typed.reading, file="reading"))
    except BadInput as exc:
        return Shown(typed, None, exc.problems)


def draw_answer(shown: Shown | None) -> None:
    """Say what to do, and draw it; before a height is typed, say what it needs."""
    if shown is None:
        return
    if _load_is_old():
        fields.old_answer(state.profile())
    if shown.problems:
        draw_problems(shown.problems)
        return
    if shown.found is None:
        st.html(f'<p class="answer">{html(NEED)}</p>')
        return
    system = state.system()
    st.html(f'<p class="answer" role="status"><b>{html(verdict(shown.found))}</b></p>')
    draw_picture(trim_view(shown.found, system))
    if shown.found.leave is None:
        fields.soft(SAME_WAY)
        fields.hazard(AIR_MOVES)


def _load_is_old() -> bool:
    """Tell whether a field of the load holds what cannot be used, so that the reading is held against the last good."""
    return bool(bad_fields(state.work(), state.system()))


def draw_findings(shown: Shown | None) -> None:
    """Say what the reading tells of the load, and list the findings, worst first."""
    if shown is None or shown.found is None:
        return
    system = state.system()
    rows = "".join(
        f'<tr><th scope="row">{html(label.capitalize())}</th><td>{html(words)}</td></tr>'
        for label, words in carried_rows(shown.found, system)
    )
    st.header("Loads by this reading", anchor=False)
    st.html(f'<table class="plate">{rows}</table>')
    fields.soft("Within ± 19 times in 20.")
    if shown.found.findings:
        st.header("Findings", anchor=False)
        findings.listed([findings.Said(one.level, sentence(one, system)) for one in shown.found.findings])


def draw_accept(shown: Shown | None) -> None:
    """Draw the button that puts the reading and its pressures into the profile."""
    work = state.work()
    unsaved = work.base is None or work.changed or _load_is_old()
    typed = any(key in work.typed for key in reading_form.reading_keys())
    with st.container(key="trim-steps", horizontal=True, gap="small"):
        found = None if shown is None else shown.found
        words = "Set: keep in the profile" if found is None or found.leave is None else "Left: keep the reading"
        reply.button(
            words,
            "trim-accept",
            _accept,
            (shown, reading_form.texts_of_reading(work)),
            at="trim",
            type="primary",
            width="stretch",
            disabled=found is None or unsaved,
        )
        reply.button("Clear", "trim-clear", _clear, at="trim", disabled=not typed)
        reply.draw_reply("trim")  # in the bar: under the thumb on a phone
    if unsaved:
        fields.soft("The load was changed and is not saved: save it on Level, then keep the reading. It stays here.")


def _accept(shown: Shown, texts: Mapping[str, str]) -> None:
    """Write the reading and its pressures; undo brings back both the profile and what was typed.

    Not when a number was typed since they were drawn: who presses has not seen the pressures that follow from it.
    """
    record, store, before = state.profile(), state.tab().store, state.work()
    after: list[ProfileDraft] = []

    def act() -> str:
        assert shown.found is not None  # else there is nothing to press
        if texts != reading_form.texts_of_reading(before):
            raise BadInput([Problem("not kept yet", "", "", "your last number came after these pressures", AGAIN)])
        new = reading_form.accept_trim(store, before, shown.typed, shown.found)
        after.append(new)
        record.replace_draft(new)
        return f"{new.record.name} has the reading and its pressures; the old ones are in its history."

    def undo() -> None:
        record.replace_draft(reading_form.take_back_trim(store, before, after[0]))

    state.attempt(act, undo)


def _clear() -> None:
    """Forget what is typed of the reading."""
    state.act(state.profile(), reading_form.without_reading, "The reading is cleared.")
