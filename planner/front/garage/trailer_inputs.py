"""The trailer's own numbers: how its weight is known, what its labels say, how high it couples, bars."""

from __future__ import annotations

from typing import Final

import streamlit as st

from planner.forms.choices import COUPLINGS
from planner.forms.trailer_form import to_deck, to_weighed
from planner.front.session import state
from planner.front.widgets import fields as widgets

WEIGHED, LOADED = "weighed", "deck"
WAYS: Final = {WEIGHED: "Weighed", LOADED: "Deck items"}
WHAT: Final = {
    WEIGHED: "Weighed: the gross weight and the share of it on the coupling, from a scale. The surest way.",
    LOADED: "Deck items: each with its weight and its place; weight, tongue ratio and left share add up. The "
    "empty trailer is one of them: give what its wheels and tongue weigh empty.",
}
BARS: Final = (
    "Order of work with bars, common practice: air the truck to its unhitched ride height first, then set the bars. "
    "Air put in after the bars takes load off them."
)


def draw_ways() -> None:
    """Draw the choice between the two ways to say what it weighs."""
    way = LOADED if state.trailer().work.record.deck else WEIGHED
    name = state.seed(f"trailer.way-{state.trailer().generation}", way)
    st.segmented_control(
        "How its weight is known",
        list(WAYS),
        key=name,
        format_func=WAYS.__getitem__,
        required=True,
        on_change=_swap,
        args=(name,),
    )
    widgets.soft(WHAT[way])


def draw_weighed() -> None:
    """Draw gross weight, tongue ratio and left share."""
    record = state.trailer()
    widgets.pair(record, "gross_weight", "tongue_ratio")
    widgets.text(record, "left_share")


def draw_own() -> None:
    """Draw what the labels say, where it couples, bars, and what few need."""
    record = state.trailer()
    st.header("Labels", anchor=False)
    widgets.pair(record, "gvwr", "axle_rating")
    widgets.pair(record, "tyre_load_rating", "track")
    widgets.few(record, "axle_count", {str(n): str(n) for n in range(1, 5)})
    widgets.few(record, "tyres_per_side", {"1": "Single", "2": "Dual"})
    st.header("Coupling", anchor=False)
    widgets.few(record, "coupling", {key: words.capitalize() for key, words in COUPLINGS.items()})
    widgets.pair(record, "coupling_height", "parked_height")
    widgets.text(record, "axle_distance")
    _bars()
    _seldom()


def _bars() -> None:
    """Draw the restoration wanted from bars."""
    record = state.trailer()
    st.header("Weight-distribution bars", anchor=False)
    widgets.text(record, "bars")
    widgets.soft("0 %: no bars. 100 %: the front axle is back to its unhitched load; never more.")
    if record.work.record.bars or "bars" in record.work.typed:
        widgets.hazard(BARS)


def _seldom() -> None:
    """Draw the fields that only some trailers need."""
    record = state.trailer()
    seldom = ("underside", "axle_spacing", "axle_rate", "centre_height")
    asked = any(key in record.work.typed for key in seldom)
    with st.expander("Optional: pitch and clearance", key="seldom", expanded=asked):
        widgets.text(record, "underside")
        widgets.pair(record, "axle_spacing", "axle_rate")
        widgets.text(record, "centre_height")


def _swap(name: str) -> None:
    """Change the way to say what it weighs; nothing is lost."""
    if state.value(name) == LOADED:
        state.act(state.trailer(), to_deck, "Now given by deck items.")
    else:
        state.act(state.trailer(), to_weighed, "Now given by weight and ratio. The deck items are kept until you save.")
