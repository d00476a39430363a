"""Faces of saved profiles: the small one on its card, the large one to be read at arm's length.

They are made once for the same records, units and paper, and kept by what is in the records: a changed file makes a
new face, whoever changed it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import streamlit as st

from planner.front.widgets import fields
from planner.front.widgets.findings import Said
from planner.front.widgets.text import html
from planner.plans.answer import CORNERS
from planner.plans.reading_history import ReadingHistory, find_thirsty_corner, reading_history
from planner.plans.saved_state import Standing, standing
from planner.plans.track_record import track_record
from planner.records import Problem
from planner.show.drawings.profile_card import draw_card, draw_recall
from planner.show.drawings.svg import Drawing
from planner.show.text.drift import thirsty_words
from planner.show.text.numbers import say, sentence
from planner.show.text.track_record import trust_words
from planner.store import Outfit
from planner.units.quantity import System

NONE: Final = "none"
MOST_KEPT: Final = 2000  # a face is some 10 kB


@dataclass(frozen=True)
class Face:
    """What is shown of a profile, or why there is nothing to show.

    Attributes
    ----------
    drawing : its card, or its pressures in large type; None if there is no answer
    findings : worst first
    saved : whether the pressures are those saved with it; else they are planned now
    trust : how near plan and tape were, trip by trip; empty where nothing was measured
    thirsty : which corner keeps asking for more air; empty where none does
    stale : by corner that is out of date, its name, the saved and the new pressure; empty where none is
    problems : why there is no answer

    """

    drawing: Drawing | None = None
    findings: tuple[Said, ...] = ()
    saved: bool = False
    stale: tuple[tuple[str, str, str], ...] = ()
    trust: str = ""
    thirsty: str = ""
    problems: tuple[Problem, ...] = ()


def _content(outfit: Outfit) -> str:
    """Return what tells an outfit from others."""
    records = (outfit.profile, outfit.truck, outfit.trailer)
    return "\n".join("" if record is None else record.model_dump_json() for record in records)


@st.cache_data(max_entries=MOST_KEPT, show_spinner=False, hash_funcs={Outfit: _content})
def face_of_card(outfit: Outfit, system: System, dark: bool) -> Face:
    """Return the card of a profile as it is saved."""
    return _told(outfit, system, lambda stands: draw_card(stands, system, dark=dark))[0]


@st.cache_data(max_entries=MOST_KEPT, show_spinner=False, hash_funcs={Outfit: _content})
def face_of_recall(outfit: Outfit, system: System, dark: bool) -> Face:
    """Return the pressures of a profile as it is saved, in large type; with them which corner asks for air."""
    face, history = _told(outfit, system, lambda stands: draw_recall(stands, stands.hitching(), system, dark=dark))
    if history is None:
        return face
    corner = find_thirsty_corner(history)
    return face if corner is None else replace(face, thirsty=thirsty_words(corner, system))


def draw_stale(face: Face) -> None:
    """Say that saved pressures are out of date, the old and the new side by side."""
    say_stale(face)
    stale_table(face)


def say_trust(face: Face) -> None:
    """Say how near plan and tape were; nothing where nothing was measured."""
    if face.trust:
        fields.soft(f"Plan against tape: {face.trust}.")


def say_stale(face: Face) -> None:
    """Say that saved pressures are out of date, if they are."""
    if face.stale:
        st.html(
            '<p class="verdict caution"><b><span aria-hidden="true">▲</span> Re-level:</b> truck, trailer or load '
            "changed since these pressures were saved.</p>"
        )


def stale_table(face: Face) -> None:
    """Draw saved pressures that are out of date beside those that level the truck now."""
    if not face.stale:
        return
    rows = "".join(
        f'<tr><th scope="row">{html(corner)}</th><td>{html(old)}</td><td><b>{html(new)}</b></td></tr>'
        for corner, old, new in face.stale
    )
    heads = "".join(f'<th scope="col">{words}</th>' for words in ("", "saved", "levels it now"))
    st.html(f'<table class="stale"><tr>{heads}</tr>{rows}</table>')


def _told(outfit: Outfit, system: System, drawn: Callable[[Standing], Drawing]) -> tuple[Face, ReadingHistory | None]:
    """Return the face of a profile, or why it has none; and its readings over time, None where there are none."""
    try:
        stands = standing(outfit.profile, outfit.truck, outfit.trailer)
        stale = _stale(stands, system)
        drawing = drawn(stands)
        history = reading_history(stands) if outfit.profile.readings else None
    except (ValueError, ArithmeticError) as exc:  # the arithmetic of numbers that no truck has
        file = f'profile "{outfit.profile.name}"'
        return Face(problems=(Problem(file, "", "", str(exc), "check weights and places for a slip of the key"),)), None
    findings = tuple(Said(finding.level, sentence(finding, system)) for finding in stands.answer.findings)
    trust = "" if history is None else trust_words(track_record(history), system)
    return Face(drawing, findings, stands.saved, stale, trust), history


def _stale(stands: Standing, system: System) -> tuple[tuple[str, str, str], ...]:
    """Return the corners whose saved pressure is out of date, in words."""
    found = stands.find_outdated()
    if found is None:
        return ()
    step = float(stands.setup.truck.instruments.gauge_step)
    words = [
        [NONE if np.isnan(value) else say(float(value), "pressure", system, step=step) for value in values.ravel()]
        for values in (found.old, found.new)
    ]
    rows = zip(CORNERS, *words, strict=True)
    return tuple((corner.replace("_", " "), old, new) for corner, old, new in rows if corner in found.corners)
