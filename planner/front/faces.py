"""Faces of saved profiles: the small one on its card, the large one to be read at arm's length.

They are made once for the same records, units and paper, and kept by what is in the records: a changed file makes a
new face, whoever changed it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import streamlit as st

from planner.front.findings import Said
from planner.front.saving import saved_pressures, standing_answer
from planner.plans.answer import Answer
from planner.plans.setup import Setup
from planner.records import Problem, Profile
from planner.show.cards import card, recall
from planner.show.numbers import sentence
from planner.show.svg import Drawing
from planner.store import Outfit
from planner.units import System

MOST_KEPT: Final = 2000  # a face is some 10 kB


@dataclass(frozen=True)
class Face:
    """What is shown of a profile, or why there is nothing to show.

    Attributes
    ----------
    card, recall : small and large; None if there is no answer
    findings : worst first
    saved : whether the pressures are those saved with it; else they are planned now
    problems : why there is no answer

    """

    card: Drawing | None = None
    recall: Drawing | None = None
    findings: tuple[Said, ...] = ()
    saved: bool = False
    problems: tuple[Problem, ...] = ()


def _content(outfit: Outfit) -> str:
    """Return what tells an outfit from others."""
    records = (outfit.profile, outfit.truck, outfit.trailer)
    return "\n".join("" if record is None else record.model_dump_json() for record in records)


@st.cache_data(max_entries=MOST_KEPT, show_spinner=False, hash_funcs={Outfit: _content})
def face(outfit: Outfit, system: System, dark: bool) -> Face:
    """Return the face of a profile as it is saved."""
    profile = outfit.profile
    try:
        setup = Setup.of(profile, outfit.truck, outfit.trailer)
        answer = standing_answer(profile, outfit.truck, outfit.trailer)
    except (ValueError, ArithmeticError) as exc:  # the arithmetic of numbers that no truck has
        file = f'profile "{profile.name}"'
        return Face(problems=(Problem(file, "", "", str(exc), "check weights and places for a slip of the key"),))
    return _drawn(profile, setup, answer, system, dark)


def _drawn(profile: Profile, setup: Setup, answer: Answer, system: System, dark: bool) -> Face:
    """Return the face of an answer."""
    saved = bool(saved_pressures(profile))
    pressure, height = answer.set.pressure, answer.set.coupling_height
    step = float(setup.truck.instruments.gauge_step)
    coupling = setup.hitch.coupling if setup.hitch else None
    small = card(
        profile.name,
        setup.trailer.name if setup.trailer else None,
        pressure,
        height,
        answer.worst,
        system,
        coupling=coupling,
        trimmed=profile.readings[-1].at.date() if profile.readings else None,
        gauge_step=step,
        dark=dark,
    )
    large = recall(profile.name, pressure, height, system, coupling=coupling, gauge_step=step, dark=dark)
    findings = tuple(Said(finding.level, sentence(finding, system)) for finding in answer.findings)
    return Face(small, large, findings, saved)
