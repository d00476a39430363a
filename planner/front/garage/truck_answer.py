"""The answer of a truck's form: how the truck alone stands by what is known of it, and what is still typical."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Final

import streamlit as st

from planner.forms import truck_typical
from planner.forms.draft import bad_fields
from planner.forms.own_values import confirm
from planner.forms.truck_questions import questions
from planner.front.garage import calibration, record_saving, truck_checks, truck_questions
from planner.front.level import uncertainty
from planner.front.level.answer import why_not
from planner.front.session import state
from planner.front.widgets import fields, findings, reply
from planner.front.widgets.picture import draw_picture
from planner.front.widgets.problems import draw_problems
from planner.plans.answer import Answer
from planner.plans.level import level_setup
from planner.plans.setup import Setup
from planner.records import Problem
from planner.records.cautions import truck_cautions
from planner.show.drawings.top_view import from_above
from planner.show.text.numbers import sentence

LIMITS: Final = (
    "A rating is what the label says, and the lowest one governs; air raises none of them. Have the work checked by a "
    "licensed shop."
)
SHOWN: Final = 8  # typical values listed before the rest is behind a heading


@dataclass(frozen=True)
class TruckAnswer:
    """The truck alone, level: what it was asked, and what was answered; or why there is no answer."""

    setup: Setup | None
    answer: Answer | None
    problems: tuple[Problem, ...] = ()


def find_standing() -> TruckAnswer:
    """Return how the truck stands that is in the fields, or last was good."""
    try:
        setup = Setup(state.tab().store.with_charts(state.truck().work.record))
        return TruckAnswer(setup, level_setup(setup))
    except (ValueError, ArithmeticError) as exc:
        return TruckAnswer(None, None, why_not(exc))


def draw_answer(standing: TruckAnswer) -> None:
    """Draw the pressures of the truck alone, what is found, and how much of it is typical."""
    system = state.system()
    draw_problems(standing.problems) if standing.problems else None
    if bad_fields(state.truck().work, system):
        fields.old_answer(state.truck())
    if standing.setup is not None and standing.answer is not None:
        said = [findings.Said(one.level, sentence(one, system)) for one in standing.answer.findings]
        findings.verdict(said, fine="The truck alone stands level at these pressures.")
        draw_picture(from_above(standing.setup, standing.answer, system))
        findings.listed(said)
    count = len(state.truck().work.record.typical)
    for odd in truck_cautions(state.truck().work.record):
        fields.hazard(f"{odd.field} {odd.value}: {odd.rule}. Check again: {odd.remedy}.")
    if standing.setup is not None and standing.answer is not None:
        uncertainty.draw_next_measurement(standing.setup)
    fields.soft(f"{count} values are typical, not yet your own." if count else "Every value is your own.")
    fields.standing(LIMITS)


def draw_check() -> None:
    """Draw all questions with what is still typical in each, and the way to each value."""
    record = state.truck()
    with st.container(key="question-check"):
        st.header("Check your answers", anchor=False)
        for question in questions(record.work.record):
            count = truck_questions.count_typical(question)
            mend = " ✗ to fix" if truck_questions.has_fault(question) else ""
            with st.container(horizontal=True, vertical_alignment="center", key=f"checked-{question.name}"):
                yours = f"{count} typical" if count else "all yours"
                st.markdown(f"**{question.heading}** {yours}{mend}", width="stretch")
                truck_questions.draw_change(question.name)
        if record.work.record.typical:
            with st.expander("Typical values: what they are, and which are so", key="typical-values"):
                for path in record.work.record.typical:
                    _draw_typical(path)
        reply.draw_reply("typical")
        truck_checks.draw_checks()
        calibration.draw_calibration()
        record_saving.draw_saving(record)


def _draw_typical(path: str) -> None:
    """Draw a typical value with the press that makes it one's own."""
    words = truck_typical.typical_words(state.truck().work, path, state.system())
    with st.container(horizontal=True, vertical_alignment="center", key=f"typical-{path}"):
        fields.soft(words)
        reply.button("It is so", f"own-{path}", _confirm, (path, words), at="typical")


def _confirm(path: str, words: str) -> None:
    """Make a typical value the owner's own."""
    state.act(state.truck(), partial(confirm, path=path), f"Yours now: {words}")
