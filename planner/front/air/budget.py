"""The Air page: is there air enough, how long does it take, and when to drain."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import streamlit as st

from planner.forms.air_use import USE, read_use
from planner.forms.profile_draft import ProfileDraft
from planner.front.air.address_fields import draw_field, texts_of
from planner.front.air.supply_inputs import draw_old_answer, setup_with_air
from planner.front.hitch.plan import find_plan
from planner.front.level.answer import why_not
from planner.front.session import state
from planner.front.widgets import fields as widgets
from planner.front.widgets import findings
from planner.front.widgets.picture import draw_picture
from planner.front.widgets.text import html, plain
from planner.plans.air_budget import AirBudget, Use, air_budget
from planner.plans.answer import AXLES, SIDES
from planner.plans.hitching_stages import HitchPlan
from planner.plans.setup import Setup
from planner.records import Problem
from planner.show.drawings.air import tank_curve
from planner.show.drawings.airing import airing_view
from planner.show.text.air import (
    FED,
    STEEL,
    all_moves,
    answer_sentences,
    compressor_sentences,
    corner_time,
    corner_words,
    demand_words,
    is_fed,
    move_words,
    water_sentences,
)
from planner.show.text.numbers import sentence

NO_DEMANDS: Final = "None. Add a horn, a tyre to fill or an air tool under Tank, compressor and lines."
CHECKS: Final = "Soap test, routing and tubing stand on the truck's list, under Truck & trailers."
HOW: Final = (
    "All valves open at once, each shut when its bag reads what it should; flow through valve and line by ISO 6358. "
    "Real times run a little longer: fittings and the hand at the valve are not counted."
)


@dataclass(frozen=True)
class Shown:
    """The budget on the screen, and whether it is of what stands in the fields now."""

    budget: AirBudget
    stale: bool


def find_answer(work: ProfileDraft, stale: bool) -> Shown | tuple[Problem, ...]:
    """Return the air budget of some work, or why there is none."""
    try:
        return Shown(find_budget(setup_with_air(work), _use()), stale)
    except (ValueError, ArithmeticError) as exc:
        return why_not(exc)


@lru_cache(maxsize=8)
def find_budget(setup: Setup, use: Use, plan: HitchPlan | None = None) -> AirBudget:
    """Return the budget of a setup, by a plan where it is known; kept, as most runs change nothing in it."""
    towed = setup.trailer is not None and setup.hitch is not None
    return air_budget(setup, use, plan=plan or (find_plan(setup) if towed else None))


def draw_answer(shown: Shown) -> None:
    """Say whether there is enough and how long it takes; draw the tank through the moves."""
    budget, system = shown.budget, state.system()
    if shown.stale:
        widgets.old_answer(state.profile())
    draw_old_answer()
    first, *rest = answer_sentences(budget, system)
    st.html(f'<p class="answer">{html(first)}</p>')
    for words in rest:
        st.markdown(plain(words))
    said = [findings.Said(one.level, sentence(one, system)) for one in budget.findings]
    if is_fed(budget):
        st.html(f'<p class="verdict">{html(FED)}</p>')
    findings.listed(said)
    draw_picture(tank_curve(budget, system))


def draw_corners(budget: AirBudget) -> None:
    """Draw how long each corner takes at each move, and what goes into it."""
    system, moves = state.system(), all_moves(budget)
    st.header("Time at each corner", anchor=False)
    heads = "".join(f'<th scope="col">{html(f"{axle} {side}")}</th>' for axle in AXLES for side in SIDES)
    rows = "".join(
        f'<tr><th scope="row">{html(move.name)}</th>'
        + "".join(
            f"<td>{_unbroken(corner_time(move, k, i)) if corner_words(move, k, i, system) else '–'}</td>"
            for k in (0, 1)
            for i in (0, 1)
        )
        + "</tr>"
        for move in moves
    )
    st.html(f'<table class="plate"><tr><td></td>{heads}</tr>{rows}</table>')
    widgets.soft(HOW)
    _draw_against_time(budget)
    with st.expander("Free air, move by move", key="air-moves"):
        for move in moves:
            st.markdown(plain(f"{move.name.capitalize()}: {move_words(move, system)}."))
            for k, axle in enumerate(AXLES):
                for i, side in enumerate(SIDES):
                    if words := corner_words(move, k, i, system):
                        widgets.soft(f"{axle} {side}: {words}")


def _unbroken(words: str) -> str:
    """Return a time as HTML that no line end parts: "0.6–2.3 s"."""
    return html(words).replace(" ", "&nbsp;").replace("–", "–&#8288;")


def _draw_against_time(budget: AirBudget) -> None:
    """Draw one move against time: the longest, or the one that was chosen."""
    moves = {move.name: move for move in all_moves(budget) if move.longest > 0}
    if not moves:
        return
    order = sorted(moves, key=lambda name: -moves[name].longest)
    chosen = widgets.pick("Against time", order, "air-move", {name: name.capitalize() for name in moves})
    track = float(budget.setup.truck.rear.track)
    draw_picture(airing_view(moves[chosen], track, state.system()))


def draw_supply(budget: AirBudget) -> None:
    """Say what the compressor makes of it, what else takes air, and how much water there is."""
    system = state.system()
    st.header("Compressor", anchor=False)
    for words in compressor_sentences(budget, system):
        st.markdown(plain(words))
    widgets.soft(CHECKS)
    st.header("Other users of the tank", anchor=False)
    for demand in budget.demands:
        st.markdown(plain(demand_words(demand, system)))
    if not budget.demands:
        widgets.soft(NO_DEMANDS)
    st.header("Water", anchor=False)
    st.markdown(plain(next(iter(water_sentences(budget, system)))))
    widgets.hazard(STEEL)


def draw_fields() -> None:
    """Draw where and how often the air is used."""
    st.header("Where and how often", anchor=False)
    _, wrong = read_use(texts_of(USE), state.system())
    for name in USE:
        draw_field(USE, name, wrong)


def _use() -> Use:
    """Return the use that the fields say."""
    return read_use(texts_of(USE), state.system())[0]
