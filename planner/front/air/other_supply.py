"""What another tank, two of them or another compressor buy: beside what there is."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

import streamlit as st

from planner.forms.air_use import AT, OTHER, USE, read_other, read_use
from planner.front.air.address_fields import draw_field, texts_of
from planner.front.level.answer import why_not
from planner.front.session import state
from planner.front.widgets import fields
from planner.front.widgets.picture import draw_picture
from planner.front.widgets.problems import draw_problems
from planner.plans.air_budget import AirBudget, Use, compare_supplies
from planner.plans.air_supply import Supply
from planner.plans.setup import Setup
from planner.show.drawings.air import tanks_beside
from planner.show.text.air import SUPPLY_HOW

Scales = tuple[tuple[str, tuple[tuple[str, float], ...]], ...]  # name, then field and factor
DOUBLE: Final = "Leave a field empty for twice the tank or twice the compressor."


def draw_other_supply(budget: AirBudget) -> None:
    """Draw other tanks and compressors beside the supply there is; behind its heading."""
    asked = any(name in texts_of(OTHER) for name in OTHER)
    heading = "Another tank, another compressor?"
    with st.expander(heading, key="other-box", expanded=asked, on_change="rerun") as box:
        if box.open:
            _draw(budget)


def _draw(budget: AirBudget) -> None:
    system, supply = state.system(), budget.supply
    pump = Supply.of(budget.setup.truck).compressor  # at sea level, as data sheets have it
    made = float(pump.delivery(min(AT, float(pump.pressures[-1]))))
    scales, wrong = read_other(texts_of(OTHER), system, supply.volume, made)
    for column, name in zip(st.columns(2), OTHER, strict=True):
        with column:
            draw_field(OTHER, name, wrong)
    key = tuple((name, tuple(scale.items())) for name, scale in scales.items())
    try:
        found = _found(budget.setup, read_use(texts_of(USE), system)[0], key)
    except (ValueError, ArithmeticError) as exc:
        draw_problems(why_not(exc))
        return
    draw_picture(tanks_beside(found, system))
    fields.soft(f"{SUPPLY_HOW} {DOUBLE}")


@lru_cache(maxsize=8)
def _found(
    setup: Setup, use: Use, scales: tuple[tuple[str, tuple[tuple[str, float], ...]], ...]
) -> dict[str, AirBudget]:
    """Return the budgets to set beside each other; kept, as most runs of the page change nothing in them."""
    return compare_supplies(setup, use, {name: dict(scale) for name, scale in scales})
