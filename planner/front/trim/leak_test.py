"""Leak or cold: last night's gauges and this morning's, and what became of the air; behind its heading."""

from __future__ import annotations

from datetime import datetime
from functools import lru_cache
from typing import Final

import streamlit as st

from planner.forms import leak_form
from planner.forms.leak_form import AFTER, ALTITUDE, BEFORE, HOURS, LOADS, RESTED, STOOD, TEMPERATURE, leak_key
from planner.forms.reading_form import WALK, asks_pressure
from planner.front.level.answer import why_not
from planner.front.session import state
from planner.front.widgets import fields, findings, reply
from planner.front.widgets.problems import draw_problems
from planner.front.widgets.table import draw_table
from planner.front.widgets.text import html
from planner.plans.drift import Drift, find_drift
from planner.plans.setup import Setup
from planner.records.leak_test import LeakTest
from planner.show.text.drift import drift_rows, drift_sentence, drift_verdict, hole_words, rule_words

HEADING: Final = "Leak or cold?"
HOW: Final = (
    "Valves shut and the same load aboard all the time between. The temperature is that of the air, once truck and air "
    "stand as warm as each other; the altitude only if the truck was moved."
)
HEADS: Final = ("", "before", "after", "explained", "left over")
HINTS: Final = {TEMPERATURE: ("50", "10"), ALTITUDE: ("5200", "1600")}


def draw_leak_test() -> None:
    """Draw the leak test: what it tells, then what is asked for it."""
    typed = any(key in state.work().typed for key in leak_form.leak_keys())
    name = state.seed("leak-box", typed)
    with st.expander(HEADING, key=name, on_change="rerun") as box:
        if box.open:
            with st.container(key="leak-answer"):  # always there: fields that move lose what is being typed in them
                _draw_answer()
            _draw_fields()


@lru_cache(maxsize=8)
def _found(setup: Setup, test: LeakTest) -> Drift:
    """Return what a leak test tells; kept, as most runs of the page change nothing in it."""
    return find_drift(setup, test)


def _draw_answer() -> None:
    """Say what is found, or what is still to be typed."""
    work, system = state.work(), state.system()
    try:
        typed = leak_form.typed_leak_test(work, system)
        if typed.test is None:
            fields.soft(_still(typed.lacking))
            return
        drift = _found(typed.setup, typed.test)
    except (ValueError, ArithmeticError) as exc:
        draw_problems(why_not(exc))
        return
    st.html(f'<p class="answer" role="status"><b>{html(drift_verdict(typed.setup, drift))}</b></p>')
    findings.listed([findings.Said(one.level, drift_sentence(one, system)) for one in drift.findings])
    draw_table(HEADS, drift_rows(drift, system))
    for words in (rule_words(drift, system), *hole_words(drift)):
        fields.soft(words)
    fields.soft("Explained: what cold and altitude take, with every valve tight.")


def _still(lacking: tuple[str, ...]) -> str:
    """Return what is still to be typed."""
    if not lacking:
        return "This truck has no bags: there is no air to lose."
    if len(lacking) > 4:  # which is most of it
        return "Read every gauge in the evening and again in the morning, and the temperature with them."
    return f"Still missing: {', '.join(lacking)}."


def _draw_fields() -> None:
    """Ask for both readings, the hours between, and what stood there."""
    record, work, us = state.profile(), state.work(), state.system() == "us"
    gauges = [corner for corner in WALK if asks_pressure(work, corner)]
    columns = st.columns(2, wrap=False)
    for column, when, words in zip(columns, (BEFORE, AFTER), ("Last night", "This morning"), strict=True):
        with column:
            st.markdown(f"**{words}**")
            for corner in gauges:
                label, hint = corner.replace("_", " ").capitalize(), "40" if us else "2.8"
                fields.text(record, leak_key(when, corner), label, hint=hint, keypad=us, below=words.lower())
            for what in (TEMPERATURE, ALTITUDE):
                hint = HINTS[what][not us]
                fields.text(record, leak_key(when, what), what.capitalize(), hint=hint, below=words.lower())
    fields.text(record, HOURS, "Time between", hint="12 h, or 5 min")
    fields.text(record, RESTED, "Stood before the first reading, since air went in", hint="20 min")
    fields.few(record, STOOD, LOADS, "Load while it stood", now=leak_form.stood_with(work))
    fields.soft(HOW)
    with st.container(horizontal=True, gap="small", key="leak-steps"):
        if leak_form.last_gauges(work) is not None:
            reply.button("Last night: take the last reading", "leak-last", _take_last, at="leak")
        typed = any(key in work.typed for key in leak_form.leak_keys())
        reply.button("Clear the leak test", "leak-clear", _clear, at="leak", disabled=not typed)
    reply.draw_reply("leak")


def _take_last() -> None:
    """Put the profile's last gauges into the fields of last night."""
    now = datetime.now().astimezone()
    words = "The last reading is now last night's."
    state.act(state.profile(), lambda work: leak_form.with_last_reading(work, now), words)


def _clear() -> None:
    """Forget what is typed of the leak test."""
    state.act(state.profile(), leak_form.without_leak_test, "The leak test is cleared.")
