"""The trailer's own numbers: which one, how its weight is known, what its labels say, how high it couples, bars."""

from __future__ import annotations

from typing import Final

import streamlit as st

from planner.forms.choices import COUPLINGS
from planner.forms.profile_draft import NEW
from planner.forms.trailer_draft import to_deck, to_weighed
from planner.front.garage import trailer, trailer_fields
from planner.front.level.inputs import names_of
from planner.front.session import state
from planner.front.widgets import fields as widgets
from planner.store import TRAILER

WEIGHED, LOADED = "weighed", "deck"
WAYS: Final = {WEIGHED: "Weighed", LOADED: "Deck items"}
WHAT: Final = {
    WEIGHED: "Weighed: the gross weight and the share of it on the coupling, from a scale. The surest way.",
    LOADED: "Deck items: each with its weight and its place; weight, tongue ratio and left share are their sum. The "
    "empty trailer is one of them: give what its wheels and tongue weigh empty.",
}
BARS: Final = (
    "Order of work with bars, common practice: air the truck to its unhitched ride height first, then set the bars. "
    "Air put in after the bars takes load off them."
)


def draw_picker() -> None:
    """Draw the choice of a trailer."""
    mine = trailer.bench()
    names = names_of(TRAILER)
    options = [*names, NEW]
    name = state.seed(f"trailer.pick-{mine.generation}", mine.asked if mine.asked in options else None)
    st.selectbox(
        "Trailer",
        options,
        index=0 if mine.asked in options else None,
        key=name,
        format_func=lambda slug: names.get(slug, "A new trailer, from a typical one"),
        filter_mode=None,
        on_change=trailer.opened,
        args=(name,),
    )


def draw_ways() -> None:
    """Draw the choice between the two ways to say what it weighs."""
    way = LOADED if trailer.work().good.deck else WEIGHED
    name = state.seed(f"trailer.way-{trailer.bench().generation}", way)
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
    trailer_fields.pair(("gross_weight", "Gross weight"), ("tongue_ratio", "Tongue ratio"))
    trailer_fields.text("left_share", "Left share of its weight")


def draw_own() -> None:
    """Draw what the labels say, where it couples, bars, and what few need."""
    st.subheader("Labels", anchor=False)
    trailer_fields.pair(("gvwr", "GVWR"), ("axle_rating", "Axle rating, each"))
    trailer_fields.pair(("tyre_load_rating", "Tyre load rating, each"), ("track", "Track, wheel to wheel"))
    trailer_fields.choice("axle_count", "Axles", {str(n): str(n) for n in range(1, 5)})
    trailer_fields.choice("tyres_per_side", "Tyres on each end of an axle", {"1": "Single", "2": "Twin"})
    st.subheader("Coupling", anchor=False)
    trailer_fields.choice("coupling", "Coupling", {key: words.capitalize() for key, words in COUPLINGS.items()})
    trailer_fields.pair(("coupling_height", "Coupling height, level"), ("parked_height", "Parked height, on its jack"))
    trailer_fields.text("axle_distance", "Coupling to axle centre")
    _bars()
    _seldom()


def _bars() -> None:
    """Draw the restoration wanted from bars."""
    st.subheader("Weight-distribution bars", anchor=False)
    trailer_fields.text("bars", "Put back of the load taken off the front axle")
    widgets.soft("0 % is without bars, 100 % brings the front axle back to its unhitched load: no more than that.")
    if trailer.work().good.bars or "bars" in trailer.work().typed:
        widgets.hazard(BARS)


def _seldom() -> None:
    """Draw the fields that only some trailers need."""
    seldom = ("underside", "axle_spacing", "axle_rate", "centre_height")
    work = trailer.work()
    asked = any(key in work.typed for key in seldom)
    with st.expander("For pitch and clearance, where you know them", key="seldom", expanded=asked):
        trailer_fields.text("underside", "Gooseneck: underside above the coupling")
        trailer_fields.pair(
            ("axle_spacing", "Axle spacing, not equalised"), ("axle_rate", "Rate of one axle, both sides")
        )
        trailer_fields.text("centre_height", "Centre of mass above the axles, loaded")


def _swap(name: str) -> None:
    """Change the way to say what it weighs; nothing is lost."""
    if state.value(name) == LOADED:
        trailer.act(to_deck, "Now given by deck items.")
    else:
        trailer.act(to_weighed, "Now given by weight and ratio. The deck items are kept until you save.")
