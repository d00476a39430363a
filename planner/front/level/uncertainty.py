"""How sure, on the Level page: the sentence, the drawing, what may be off by how much, and what a little more does."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

import streamlit as st

from planner.forms import profile_form
from planner.front.level.answer import Shown
from planner.front.session import state
from planner.front.shell import navigation
from planner.front.widgets import fields
from planner.front.widgets.picture import draw_picture
from planner.front.widgets.text import html
from planner.plans.level import level_setup
from planner.plans.setup import Setup
from planner.plans.uncertainty.measure_next import Measurement, next_measurement
from planner.plans.uncertainty.result import Certainty, Chance, find_uncertainty
from planner.plans.uncertainty.sensitivity import find_sensitivity
from planner.plans.uncertainty.spreads import Spreads, spreads_of
from planner.show.drawings.uncertainty import certainty_view
from planner.show.text.uncertainty import (
    LEAST_CHANCE,
    chance_words,
    measure_words,
    sensitivity_lines,
    sentences,
    spread_words,
)

LIKELY: Final = "What may happen, with numbers this unsure"
DEVIATION: Final = "Two times in three the true number is this close. Type 0 if you know it exactly."
SLOPES: Final = "Good for small changes while no bag is at a limit; the other bags stay as they are."


def draw_uncertainty(shown: Shown) -> None:
    """Draw how sure the answer is, the spreads with fields to change them, and what a little more of a thing does."""
    system = state.system()
    own = profile_form.own_spreads(shown.work, system)
    kept = tuple(sorted(own.items()))
    _band(_kept(shown.setup, kept))
    draw_next_measurement(shown.setup, kept)
    _spreads(spreads_of(shown.setup, own))
    _slopes(shown)


@lru_cache(maxsize=8)
def _kept(setup: Setup, own: tuple[tuple[str, float], ...]) -> Certainty:
    """Return how sure the answer to a setup is; kept, as most runs of the page change nothing in it."""
    return find_uncertainty(setup, level_setup(setup), dict(own))


@lru_cache(maxsize=8)
def _next(setup: Setup, own: tuple[tuple[str, float], ...]) -> Measurement | None:
    """Return what to find out next, kept in the same way."""
    return next_measurement(setup, level_setup(setup), _kept(setup, own), dict(own))


def draw_next_measurement(setup: Setup, own: tuple[tuple[str, float], ...] = ()) -> None:
    """Draw what to find out next, where there is anything worth it; own are spreads as set here, by key."""
    if (found := _next(setup, own)) is not None:
        fields.soft(measure_words(found, state.system()))
        if found.weighed:
            navigation.draw_page_button("weigh", None, "To the scale slips")


def _band(sure: Certainty) -> None:
    """Draw where the truck ends up, and how likely each finding is."""
    system = state.system()
    first, *rest = sentences(sure, system)
    st.html(f'<p class="answer sure">{html(first)}</p>')
    if sure.without_rest == 1.0:
        return
    fields.soft(" ".join(rest))
    draw_picture(certainty_view(sure, system))
    said = [html(chance_words(one)) for one in sure.chances if _worth_saying(one)]
    if said:
        st.html(
            f'<p class="label"><b>{LIKELY}</b></p><ul class="list">{"".join(f"<li>{one}</li>" for one in said)}</ul>'
        )


def _worth_saying(chance: Chance) -> bool:
    """Tell whether a chance is listed: every one of a stop; of cautions, what is likelier than one in two hundred."""
    return chance.level == "stop" or (chance.level == "caution" and chance.share >= LEAST_CHANCE)


def _spreads(spreads: Spreads) -> None:
    """Draw what may be off by how much, whose number each is, and the fields to change them."""
    asked = any(key.startswith(f"{profile_form.SPREAD}.") for key in state.work().typed)
    with st.expander("What may be off, and by how much", key="spread-box", expanded=asked):
        fields.soft(DEVIATION)
        for key, spread in spreads.items():
            said = spread_words(spread, state.system())
            fields.text(
                state.profile(), f"{profile_form.SPREAD}.{key}", f"{spread.label}, off by", hint=said.removeprefix("± ")
            )
            typical = "typical: " if spread.origin == "typical" else ""
            fields.soft(f"{said}, {typical}{spread.source}")


def _slopes(shown: Shown) -> None:
    """Draw what a little more of each thing does at each corner."""
    with st.expander("What a little more does: air, load, height", key="slopes-box"):
        try:
            lines = sensitivity_lines(find_sensitivity(shown.setup, shown.answer), state.system())
        except ArithmeticError:
            lines = ["Pressure alone does not hold this truck at one height: set it by tape, not by gauge."]
        st.html(f'<ul class="list">{"".join(f"<li>{html(one)}</li>" for one in lines)}</ul>')
        fields.soft(SLOPES)
