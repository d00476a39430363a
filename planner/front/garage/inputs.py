"""The trailer's own numbers: which one, how its weight is known, what its labels say, how high it couples, bars."""

from __future__ import annotations

from typing import Final

import streamlit as st

from planner.front import state, widgets
from planner.front.choices import COUPLINGS
from planner.front.garage import bench, fields
from planner.front.garage.work import to_deck, to_weighed
from planner.front.inputs import names_of
from planner.front.work import NEW
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


def picker() -> None:
    """Draw the choice of a trailer."""
    mine = bench.bench()
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
        on_change=bench.opened,
        args=(name,),
    )


def ways() -> None:
    """Draw the choice between the two ways to say what it weighs."""
    way = LOADED if bench.work().good.deck else WEIGHED
    name = state.seed(f"trailer.way-{bench.bench().generation}", way)
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


def weighed() -> None:
    """Draw gross weight, tongue ratio and left share."""
    fields.pair(("gross_weight", "Gross weight"), ("tongue_ratio", "Tongue ratio"))
    fields.text("left_share", "Left share of its weight")


def own() -> None:
    """Draw what the labels say, where it couples, bars, and what few need."""
    st.subheader("Labels", anchor=False)
    fields.pair(("gvwr", "GVWR"), ("axle_rating", "Axle rating, each"))
    fields.pair(("tyre_load_rating", "Tyre load rating, each"), ("track", "Track, wheel to wheel"))
    fields.choice("axle_count", "Axles", {str(n): str(n) for n in range(1, 5)})
    fields.choice("tyres_per_side", "Tyres on each end of an axle", {"1": "Single", "2": "Twin"})
    st.subheader("Coupling", anchor=False)
    fields.choice("coupling", "Coupling", {key: words.capitalize() for key, words in COUPLINGS.items()})
    fields.pair(("coupling_height", "Coupling height, level"), ("parked_height", "Parked height, on its jack"))
    fields.text("axle_distance", "Coupling to axle centre")
    _bars()
    _seldom()


def _bars() -> None:
    """Draw the restoration wanted from bars."""
    st.subheader("Weight-distribution bars", anchor=False)
    fields.text("bars", "Put back of the load taken off the front axle")
    widgets.soft("0 % is without bars, 100 % brings the front axle back to its unhitched load: no more than that.")
    if bench.work().good.bars or "bars" in bench.work().typed:
        widgets.hazard(BARS)


def _seldom() -> None:
    """Draw the fields that only some trailers need."""
    seldom = ("underside", "axle_spacing", "axle_rate", "centre_height")
    work = bench.work()
    asked = any(key in work.typed for key in seldom)
    with st.expander("For pitch and clearance, where you know them", key="seldom", expanded=asked):
        fields.text("underside", "Gooseneck: underside above the coupling")
        fields.pair(("axle_spacing", "Axle spacing, not equalised"), ("axle_rate", "Rate of one axle, both sides"))
        fields.text("centre_height", "Centre of mass above the axles, loaded")


def _swap(name: str) -> None:
    """Change the way to say what it weighs; nothing is lost."""
    if state.value(name) == LOADED:
        bench.act(to_deck, "Now given by deck items.")
    else:
        bench.act(to_weighed, "Now given by weight and ratio. The deck items are kept until you save.")
