"""What the scale showed: ways to weigh, each with its fields, and which scale and truck it was."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import streamlit as st

from planner.front.level.inputs import names_of
from planner.front.session import state
from planner.front.widgets import fields as widgets
from planner.front.widgets.picture import draw_picture
from planner.records import Slip, Truck
from planner.show.drawings.weighing import BEAM_NOTE, PASS_WORDS, draw_lever
from planner.store import TRAILER, TRUCK

SLIP, PADS, JACK, BEAM = "slip", "pads", "jack", "beam"
WAYS: Final = {SLIP: "Scale slips", PADS: "Wheel pads", JACK: "Jack on the scale", BEAM: "Beam and bathroom scale"}
HOW: Final = {
    SLIP: "As printed, axle by axle; leave out what you don't have. The same people and fuel aboard each time, level "
    "ground, brakes off, engine off.",
    PADS: "Wheel by wheel, or one wheel after the other on one pad with shims of its height under the others: then the "
    "left shares are told too.",
    JACK: "The trailer unhitched and level, wheels blocked: all of it on the scale, its jack alone on it, or its axles "
    "alone.",
    BEAM: "One end of a beam on a pivot, the other on a bathroom scale, the tongue on it between them.",
}
NOBODY_UNDER: Final = "Block the wheels before you unhook. Nobody under the tongue, and hands off while the jack moves."
WAY: Final = "weigh-way"


def draw_inputs(truck: Truck | None) -> None:
    """Draw what was weighed, by the way chosen, then the scale, then truck and trailer."""
    st.header("What the scale showed", anchor=False)
    way = _draw_ways(state.slip().work.record)
    widgets.soft(HOW[way])
    {SLIP: _draw_slips, PADS: _draw_pads, JACK: _draw_jack, BEAM: _draw_beam}[way]()
    _draw_scale()
    _draw_names(truck)


def _draw_ways(slip: Slip) -> str:
    """Draw the choice of a way to weigh, that of what is written down to begin with, and return it."""
    name = state.seed(f"{WAY}-{state.slip().generation}", _way_of(slip))
    st.segmented_control("How it is weighed", list(WAYS), key=name, format_func=WAYS.__getitem__, required=True)
    return str(state.value(name))


def _way_of(slip: Slip) -> str:
    """Return the way by which a slip was weighed."""
    passes = [one for one in (slip.alone, slip.hitched, slip.hitched_with_bars) if one is not None]
    if any(one.wheels(axle) for one in passes for axle in ("front", "rear", "trailer")):
        return PADS
    if passes:
        return SLIP
    return JACK if slip.trailer_alone is not None else BEAM if slip.lever is not None else SLIP


def _draw_slips() -> None:
    """Draw the axles of each slip."""
    record = state.slip()
    for name, words in PASS_WORDS.items():
        st.markdown(f"**{words}**")
        widgets.pair(record, f"{name}.front_axle", f"{name}.rear_axle", below=words.lower())
        if name != "alone":
            widgets.text(record, f"{name}.trailer_axles", below=words.lower())
    drafts = [f"{name}.truck" for name in PASS_WORDS]
    there = any(record.work.typed.get(key) for key in drafts) or _has(record.work.record, "truck")
    with st.expander("The truck weighed in one draft", key="one-draft", expanded=there):
        widgets.soft("For a scale that takes all of the truck, the trailer off its deck.")
        for name, words in PASS_WORDS.items():
            widgets.text(record, f"{name}.truck", words)


def _has(slip: Slip, field: str) -> bool:
    """Tell whether a slip has a field on one of its passes."""
    passes = (slip.alone, slip.hitched, slip.hitched_with_bars)
    return any(one is not None and getattr(one, field) is not None for one in passes)


def _draw_pads() -> None:
    """Draw the wheels of each slip."""
    record = state.slip()
    for name, words in PASS_WORDS.items():
        st.markdown(f"**{words}**")
        for axle in ("front", "rear") if name == "alone" else ("front", "rear", "trailer"):
            widgets.pair(record, f"{name}.{axle}_left", f"{name}.{axle}_right", below=words.lower())


def _draw_jack() -> None:
    """Draw what is weighed of the trailer unhitched."""
    record = state.slip()
    widgets.hazard(NOBODY_UNDER)
    widgets.pair(record, "trailer_alone.gross", "trailer_alone.axles")
    widgets.pair(record, "trailer_alone.jack", "trailer_alone.jack_behind")
    widgets.soft(
        "A jack behind the coupling carries more than the coupling would; the trailer named below says how much."
    )


def _draw_beam() -> None:
    """Draw the beam, what the bathroom scale showed, and the arms."""
    record = state.slip()
    widgets.hazard(BEAM_NOTE)
    draw_picture(draw_lever(record.work.record.lever, state.system()))
    widgets.pair(record, "lever.reading", "lever.beam")
    widgets.pair(record, "lever.tongue_arm", "lever.scale_arm")
    widgets.text(record, "lever.resolution")


def _draw_scale() -> None:
    """Draw which scale it was, how finely it shows, and the day."""
    record = state.slip()
    st.header("The scale", anchor=False)
    widgets.pair(record, "resolution", "tolerance")
    widgets.soft("Leave its greatest error empty for a truck scale in use: one division for each 500 of them.")
    widgets.pair(record, "on", "scale")


def _draw_names(truck: Truck | None) -> None:
    """Draw the choice of truck, trailer and hitch."""
    st.header("What stood on it", anchor=False)
    widgets.soft("Name them: the truck's own lengths then help, and the numbers can be saved in their files.")
    _pick("truck", names_of(TRUCK))
    _pick("trailer", names_of(TRAILER))
    _pick("hitch", {} if truck is None else {one.name: one.name for one in truck.hitches})


def _pick(key: str, names: Mapping[str, str]) -> None:
    """Draw the choice of a name, or of none."""
    record = state.slip()
    current = getattr(record.work.record, key) or ""
    options = ["", *names, *([current] if current and current not in names else [])]
    name = record.name_widget(key, state.system())
    state.show(name, current)
    st.selectbox(
        key.capitalize(),
        options,
        key=name,
        format_func=lambda option: names.get(option, option) or "not named",
        filter_mode=None,
        on_change=state.typed,
        args=(record, key, name),
    )
