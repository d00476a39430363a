"""Faces of saved profiles: the one on its card, and what is said of one alone to be read at arm's length.

They are made once for the same records and units, and kept by what is in the records: a changed file makes a
new face, whoever changed it. Both are HTML, which the page has before Streamlit's scripts are there to draw it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

import streamlit as st

from planner.front.widgets.picture import html_of_picture
from planner.front.widgets.text import html
from planner.plans.saved_state import standing
from planner.plans.track_record import track_record
from planner.records import BadInput, Problem, Profile
from planner.show.drawings.profile_card import draw_card
from planner.show.drawings.svg import Drawing
from planner.show.paper import card_html
from planner.show.text.card import Carried, card_of_state, outdated_words
from planner.show.text.track_record import trust_words
from planner.show.text.words import AIR_MOVES
from planner.store import PROFILE, Entry, Outfit, Store
from planner.store.atomic_write import written_on
from planner.units.quantity import System

MOST_KEPT: Final = 2000  # a face is some 10 kB
MOST: Final = 2  # findings besides those that say stop, the worst; the rest opens below them


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


def read_face(store: Store, entry: Entry[Profile], system: System) -> Face:
    """Return the card of a profile in a list as it is saved, or what is wrong with its files."""
    if entry.brief is None:
        return Face(problems=entry.problems)
    try:
        return face_of_card(store.read_outfit(entry.slug), system)
    except BadInput as exc:
        return Face(problems=exc.problems)


@st.cache_data(max_entries=MOST_KEPT, show_spinner=False, hash_funcs={Outfit: _content})
def face_of_card(outfit: Outfit, system: System) -> Face:
    """Return the card of a profile as it is saved."""
    try:
        stands = standing(outfit.profile, outfit.truck, outfit.trailer)
        trust = trust_words(track_record(stands.history), system)
        drawing = draw_card(stands, system, stands.findings(stands.way()))
        return Face(drawing, stands.saved, outdated_words(stands, system), trust)
    except (ValueError, ArithmeticError) as exc:
        return Face(problems=_no_answer(outfit, exc))


def read_carried(store: Store, slug: str, system: System) -> Carried | tuple[Problem, ...]:
    """Return what is said of a profile as it is saved, or what is wrong with its files."""
    try:
        outfit = store.read_outfit(slug)
    except BadInput as exc:
        return exc.problems
    return carried_of(outfit, system, written_on(store.folder / PROFILE.file(slug)))


@st.cache_data(max_entries=MOST_KEPT, show_spinner=False, hash_funcs={Outfit: _content})
def carried_of(outfit: Outfit, system: System, saved: date | None) -> Carried | tuple[Problem, ...]:
    """Return what is said of a profile as it is saved, its file written on that day; or why there is nothing to say."""
    try:
        return card_of_state(standing(outfit.profile, outfit.truck, outfit.trailer), system, saved=saved)
    except (ValueError, ArithmeticError) as exc:
        return _no_answer(outfit, exc)


def html_of_card(face: Face) -> str:
    """Return a card that has an answer: its drawing, and below it what to know of these pressures."""
    assert face.drawing is not None
    said = (
        "" if face.saved else "Worked out just now; no pressures saved.",
        f"Plan against tape: {face.trust}." if face.trust else "",
    )
    soft = "".join(f'<p class="soft">{html(words)}</p>' for words in said if words)
    stale = f'<div class="ramp">{card_html.stale(face.stale)}</div>' if face.stale else ""
    return f'<div class="card-body">{html_of_picture(face.drawing)}{soft}{stale}</div>'


def html_of_unusable(name: str) -> str:
    """Return the line that says a profile cannot be used; why stands below it."""
    return f'<p class="verdict stop"><b><span aria-hidden="true">■</span> {html(name)}</b> cannot be used.</p>'


def html_alone(carried: Carried) -> str:
    """Return a profile alone: what stops it or no longer suits comes before anybody reads a number."""
    rest = carried.others[MOST:]
    numbers = (card_html.corners(carried.rows), card_html.hazard(AIR_MOVES), card_html.heights(carried))
    parts = {
        "first": (card_html.halt(carried), card_html.stale(carried.stale)),
        "face": (card_html.named(carried, "h1"), *numbers, card_html.stage_table(carried)),
        "words": (
            card_html.listed(carried.others[:MOST]),
            f"<details><summary>and {len(rest)} more</summary>{card_html.listed(rest)}</details>" if rest else "",
            f"<p>Plan against tape: {html(carried.trust)}.</p>" if carried.trust else "",
        ),
    }
    halted = " halted" if carried.stopped else ""
    body = "".join(f'<div class="{name}">{"".join(said)}</div>' for name, said in parts.items())
    return f'<div class="ramp{halted}"><div class="sheet">{body}</div></div>'


def _no_answer(outfit: Outfit, exc: Exception) -> tuple[Problem, ...]:
    """Return why a profile has no answer: what its files say, or the arithmetic of numbers that no truck has."""
    if isinstance(exc, BadInput):
        return exc.problems
    file = f'profile "{outfit.profile.name}"'
    return (Problem(file, "", "", str(exc), "check weights and places for a typo"),)
