"""The answer of the Level page: the pressures to set, what is found, and the other views."""

from __future__ import annotations

import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property, partial
from typing import Final, TypeVar

import numpy as np
import streamlit as st

from planner.forms import choices
from planner.forms.draft import bad_fields
from planner.forms.profile_draft import ProfileDraft
from planner.forms.saving import setup_of
from planner.front.session import state
from planner.front.shell import navigation
from planner.front.widgets import fields, findings, reply
from planner.front.widgets.picture import draw_picture
from planner.front.widgets.problems import draw_problems
from planner.front.widgets.text import plain
from planner.plans.answer import AXLES, SIDES, Answer, Stance
from planner.plans.level import Shut, level_setup, settle_setup
from planner.plans.setup import Setup
from planner.records import BadInput, Problem
from planner.show.drawings.rating_bars import load_bars
from planner.show.drawings.rear_view import from_behind
from planner.show.drawings.side_view import from_side
from planner.show.drawings.top_view import from_above
from planner.show.text.numbers import sentence, write
from planner.show.text.words import AIR_MOVES, level_words, warm_words

ONE_SENDING: Final = 0.012  # [s] Streamlit's interval between two sendings, and the sending
FINE: Final = "Level, and nothing is over its rating."
NOT_LEVEL: Final = "Not level, and nothing is over its rating."
LIMITS = (
    "Never tow below the least pressure of a bag, and air raises no rating. Local law and the makers' manuals come "
    "first; have the work checked by a licensed shop."
)

Found = TypeVar("Found")


@dataclass(frozen=True)
class Shown:
    """The answer on the screen, and whether it is to what stands in the fields now."""

    work: ProfileDraft
    setup: Setup
    answer: Answer
    stale: bool

    @cached_property
    def before(self) -> Stance | None:
        """Where the truck sits if it was aired empty, its valves shut, then loaded; None if nothing was put on it.

        Found when it is first drawn, which is after the pressures: they are not to wait for it.
        """
        empty = self.setup.without_trailer().without_cargo()
        if empty == self.setup:
            return None
        with suppress(ValueError, ArithmeticError):  # then there is an answer, and no rest to set beside it
            return settle_setup(empty, {}, later=self.setup, shut=Shut()).stance
        return None

    @cached_property
    def warm(self) -> str:
        """What a day's temperature does with the valves shut; found when it is drawn, as above."""
        return warm_words(self.setup, self.answer, state.system())


def find_answer() -> Shown | None:
    """Return the answer to the work, else to the last work that had one; None if there was none."""
    return last_good(_answered)


def last_good(answered: Callable[[ProfileDraft, bool], Found | tuple[Problem, ...]]) -> Found | None:
    """Return what is answered to the work, else to the last work that had an answer, and say what is wrong.

    Parameters
    ----------
    answered : the answer to some work, stale or not; or why there is none
    """
    work = state.work()
    bad = bool(bad_fields(work, state.system()))
    shown = answered(work, bad)
    if not isinstance(shown, tuple):
        if not bad:
            state.profile().answered = work
        return shown
    draw_why_not(work, shown)
    last = state.profile().answered
    again = () if last is None else answered(last, True)
    return None if isinstance(again, tuple) else again


def draw_why_not(work: ProfileDraft, problems: tuple[Problem, ...]) -> None:
    """Say why there is no answer, and offer what mends it, also where the page has no field for it."""
    store = state.tab().store
    draw_problems(choices.why_no_trailer(store, work) or problems)
    if choices.fault(store, work, "hitch") is not None:
        for name in choices.fitting(work.truck, work.trailer):
            args = (state.profile(), partial(_on_hitch, name=name), f"On the {name} now.")
            reply.button(plain(f"Use {name}"), f"use-hitch-{name}", state.act, args, at="use-hitch")
        if slug := choices.truck_without_hitch(store, work):
            navigation.draw_hitch_button(slug)
    if state.tab().page != "level":  # which has every field of a load
        lost = choices.fault(store, work, "trailer") is not None
        navigation.draw_page_button("level", None, "Choose the trailer on Level" if lost else "Fix it on Level")


def _on_hitch(work: ProfileDraft, name: str) -> ProfileDraft:
    """Return the work on another hitch."""
    return work.with_profile(hitch=name)


def draw_answer(shown: Shown) -> None:
    """Draw the worst of what is found, the pressures to set, and the rest of the findings."""
    system = state.system()
    said = [findings.Said(one.level, sentence(one, system)) for one in shown.answer.findings]
    if shown.stale:
        fields.old_answer(state.profile())
    else:
        findings.verdict(said, fine=FINE if shown.answer.level else NOT_LEVEL)
    findings.listed(said[:1])  # above the fold, whatever the truck's length
    draw_picture(from_above(shown.setup, shown.answer, system))
    _let_go()
    navigation.draw_trim_button()
    fields.hazard(AIR_MOVES)
    findings.listed(said[1:])


def draw_views(shown: Shown) -> None:
    """Draw truck and trailer from the side and from behind, and what a day's temperature does."""
    system = state.system()
    draw_picture(from_side(shown.setup, shown.answer, system, before=shown.before))
    draw_picture(from_behind(shown.setup, shown.answer, system, before=shown.before))
    for words in (level_words(shown.setup, shown.answer, system), shown.warm):
        if words:
            fields.soft(words)
    if shown.before is not None:
        fields.soft("Dashed: aired for the empty truck, valves shut, then this load put on.")


def draw_ratings(shown: Shown) -> None:
    """Draw what everything carries against its rating."""
    st.header("Loads and ratings", anchor=False)
    draw_picture(load_bars(shown.setup, shown.answer, state.system()))
    fields.standing(LIMITS)


def draw_strip(shown: Shown) -> None:
    """Draw the four pressures again, for the foot of a narrow screen."""
    step = float(shown.setup.truck.instruments.gauge_step)
    cells = []
    for axle, pressures in zip(AXLES, shown.answer.set.pressure, strict=True):
        for side, pressure in zip(SIDES, pressures, strict=True):
            has_bag = bool(np.isfinite(pressure))
            number = write(float(pressure), "pressure", state.system(), step=step).number if has_bag else "steel"
            cells.append(f"<div><b>{number}</b><span>{axle} {side}</span></div>")
    with st.container(key="strip"):
        st.html(f'<div class="strip{" old" if shown.stale else ""}" aria-hidden="true">{"".join(cells)}</div>')


def _let_go() -> None:
    """Let the pressures go to the screen before the rest of the page is worked out.

    Streamlit sends what is drawn from a thread of its own, every hundredth of a second, and this one leaves it little
    room: without a pause the first numbers arrive with the last. `tests/bench/page.py` measures it.
    """
    time.sleep(ONE_SENDING)


def _answered(work: ProfileDraft, stale: bool) -> Shown | tuple[Problem, ...]:
    """Return the answer to some work, or why there is none."""
    try:
        setup = setup_of(work)
        return Shown(work, setup, level_setup(setup), stale)
    except (ValueError, ArithmeticError) as exc:
        return why_not(exc)


def why_not(exc: Exception) -> tuple[Problem, ...]:
    """Return why there is no answer: what is wrong with the records, or a sum of numbers that no truck has."""
    if isinstance(exc, BadInput):
        return exc.problems
    return (Problem("no answer", "", "", str(exc), "check weights and places for a typo"),)
