"""Faces of saved profiles: the one on its card, and what is said of one alone to be read at arm's length.

They are made once for the same records, units and paper, and kept by what is in the records: a changed file makes a
new face, whoever changed it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

import streamlit as st

from planner.plans.saved_state import standing
from planner.plans.track_record import track_record
from planner.records import BadInput, Problem
from planner.show.drawings.profile_card import draw_card
from planner.show.drawings.svg import Drawing
from planner.show.paper import card_html
from planner.show.text.card import Carried, card_of_state, outdated_words
from planner.show.text.track_record import trust_words
from planner.store import Outfit
from planner.units.quantity import System

MOST_KEPT: Final = 2000  # a face is some 10 kB


@dataclass(frozen=True)
class Face:
    """What is shown of a profile in the list, or why there is nothing to show.

    Attributes
    ----------
    drawing : its card; None if there is no answer
    saved : whether the pressures are those saved with it; else they are planned now
    stale : by corner that is out of date, its name, the saved and the new pressure; empty where none is
    trust : how near plan and tape were, trip by trip; empty where nothing was measured
    problems : why there is no answer

    """

    drawing: Drawing | None = None
    saved: bool = False
    stale: tuple[tuple[str, str, str], ...] = ()
    trust: str = ""
    problems: tuple[Problem, ...] = ()


def _content(outfit: Outfit) -> str:
    """Return what tells an outfit from others."""
    records = (outfit.profile, outfit.truck, outfit.trailer)
    return "\n".join("" if record is None else record.model_dump_json() for record in records)


@st.cache_data(max_entries=MOST_KEPT, show_spinner=False, hash_funcs={Outfit: _content})
def face_of_card(outfit: Outfit, system: System, dark: bool) -> Face:
    """Return the card of a profile as it is saved."""
    try:
        stands = standing(outfit.profile, outfit.truck, outfit.trailer)
        trust = trust_words(track_record(stands.history), system)
        drawing = draw_card(stands, system, stands.findings(stands.way()), dark=dark)
        return Face(drawing, stands.saved, outdated_words(stands, system), trust)
    except (ValueError, ArithmeticError) as exc:
        return Face(problems=_no_answer(outfit, exc))


@st.cache_data(max_entries=MOST_KEPT, show_spinner=False, hash_funcs={Outfit: _content})
def carried_of(outfit: Outfit, system: System, saved: date | None) -> Carried | tuple[Problem, ...]:
    """Return what is said of a profile as it is saved, its file written on that day; or why there is nothing to say."""
    try:
        return card_of_state(standing(outfit.profile, outfit.truck, outfit.trailer), system, saved=saved)
    except (ValueError, ArithmeticError) as exc:
        return _no_answer(outfit, exc)


def draw_stale(stale: tuple[tuple[str, str, str], ...]) -> None:
    """Say that saved pressures are out of date, the old and the new side by side, if they are."""
    if stale:
        st.html(f'<div class="ramp">{card_html.stale(stale)}</div>')


def _no_answer(outfit: Outfit, exc: Exception) -> tuple[Problem, ...]:
    """Return why a profile has no answer: what its files say, or the arithmetic of numbers that no truck has."""
    if isinstance(exc, BadInput):
        return exc.problems
    file = f'profile "{outfit.profile.name}"'
    return (Problem(file, "", "", str(exc), "check weights and places for a typo"),)
