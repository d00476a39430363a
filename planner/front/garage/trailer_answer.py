"""The answer of the page: what the trailer weighs and where it presses, what is found, the drawings."""

from __future__ import annotations

import streamlit as st

from planner.forms.draft import bad_fields
from planner.front.session import state
from planner.front.widgets import fields, findings
from planner.front.widgets.picture import draw_picture
from planner.front.widgets.text import html
from planner.plans.trailer_deck import DeckPlan, deck_plan
from planner.show.drawings.trailer_side import axles_words, deck_side
from planner.show.drawings.trailer_top import deck_above
from planner.show.text.numbers import sentence, write
from planner.show.text.words import COUPLING_PARTS
from planner.units.quantity import System

FINE = "Nothing is over its rating, and the tongue is in its usual range."
LIMITS = (
    "A rating is what the label says, and the lowest one governs. Tie down what you slide. Local law and the makers' "
    "manuals come first."
)


def draw_answer(plan: DeckPlan) -> None:
    """Draw the numbers, what is found, and the trailer from above and from the side."""
    system = state.system()
    said = [findings.Said(one.level, sentence(one, system)) for one in plan.findings]
    st.html(_numbers(plan, system))
    if bad_fields(state.trailer().work, system):
        fields.old_answer(state.trailer())
    else:
        findings.verdict(said, fine=FINE)
    findings.listed(said)
    draw_picture(deck_side(plan, system))
    draw_picture(deck_above(plan, system))
    fields.standing(LIMITS)


def find_plan() -> DeckPlan:
    """Return the plan of the trailer as it is now, or last was good."""
    return deck_plan(state.trailer().work.record)


def _numbers(plan: DeckPlan, system: System) -> str:
    """Return the answer in large type: load on the coupling, gross weight, left share."""
    part = COUPLING_PARTS[plan.trailer.coupling]
    axles = f"{write(plan.axle_load, 'load', system)} {axles_words(plan, system)}"
    cells = (
        (f"On the {part}", *write(plan.tongue_load, "load", system), _share(plan, system)),
        ("Trailer, gross", *write(plan.gross, "weight", system), axles),
        ("On the left wheels", *write(plan.on_left, "share", system), _heavier(plan, system)),
    )
    return (
        '<dl class="figures">'
        + "".join(
            f"<div><dt>{html(label)}</dt><dd><b>{number}</b> <span>{unit}</span></dd><dd>{html(words)}</dd></div>"
            for label, number, unit, words in cells
        )
        + "</dl>"
    )


def _share(plan: DeckPlan, system: System) -> str:
    """Return the tongue ratio in words."""
    return f"{write(plan.tongue_ratio, 'share', system)} of the gross weight"


def _heavier(plan: DeckPlan, system: System) -> str:
    """Return what a tyre of the heavier side carries, in words."""
    load = write(plan.tyre_load, "load", system)
    return f"{load} on each {plan.heavier} tyre" if plan.on_left != 0.5 else f"{load} on each tyre"
