"""Where the rear axle goes on its links: a height and a lean to try, both views, what turns, and what the bars do."""

from __future__ import annotations

import math
from contextlib import suppress
from typing import Final

import streamlit as st

from planner.forms.truck_links import WANTED, WANTED_LABELS, read_wanted
from planner.front.session import state
from planner.front.widgets import fields, findings
from planner.front.widgets.picture import draw_picture
from planner.front.widgets.text import html
from planner.plans.linkage import bar_effects, bars_for, move_axle, travel_of
from planner.plans.linkage_findings import linkage_findings
from planner.records import Truck
from planner.show.drawings.linkage import linkage_from_behind, linkage_from_side
from planner.show.text.linkage import CAUTIONS, ONE_MORE, bar_lines, motion_lines, wanted_lines
from planner.show.text.numbers import sentence
from planner.units.quantity import Refusal, display, entry_unit

STEPS: Final = {"us": 0.25, "metric": 5.0}  # in, mm: of the sliders, by an arrow key
HAIR: Final = 1e-6  # of a step, of rounding
LEANS: Final = {"us": 3.0, "metric": 75.0}  # in, mm: left over right, over the track, at the most


def draw_linkage(truck: Truck) -> None:
    """Draw what the links of a truck do, if it has any."""
    if truck.rear.linkage is None:
        return
    system = state.system()
    st.header("How the rear axle moves", anchor=False)
    rise, lean = _draw_sliders(truck)
    roll = lean / float(truck.rear.track)
    try:
        motion = move_axle(truck, rise, roll)
        draw_picture(linkage_from_side(truck, rise, roll, system))
        draw_picture(linkage_from_behind(truck, rise, roll, system))
    except Refusal as exc:
        fields.wrong("rear.linkage", exc)
        return
    heights = float(truck.rear.ride_height) + rise + lean / 2, float(truck.rear.ride_height) + rise - lean / 2
    found = linkage_findings(truck, heights, on_road=False)
    findings.listed([findings.Said(one.level, sentence(one, system)) for one in found])
    _draw_lines(list(motion_lines(truck, motion, system)))
    with st.expander("What the bars do, and which to turn", key="links-bars"):
        _draw_lines(list(bar_lines(bar_effects(truck, ONE_MORE[system]), system)))
        _draw_wanted(truck)
    for words in CAUTIONS:
        fields.hazard(words)


def _draw_sliders(truck: Truck) -> tuple[float, float]:
    """Draw height and lean, in steps that arrow keys take; return them. [m]"""
    system = state.system()
    per_metre, unit = display(1.0, "length", system)
    step, most = STEPS[system], LEANS[system]
    low, high = (step * math.ceil(abs(end) * per_metre / step - HAIR) for end in travel_of(truck))
    height = st.slider(
        f"Rear ride height against design, {unit}: bump to droop", -low, high, step=step,
        key=state.seed(f"links-height-{system}", 0.0),
    )  # fmt: skip
    lean = st.slider(
        f"Left side over right, {unit}", -most, most, step=step, key=state.seed(f"links-lean-{system}", 0.0)
    )
    return height / per_metre, lean / per_metre


def _draw_lines(lines: list[str]) -> None:
    """Draw sentences as a list."""
    st.html(f'<ul class="list">{"".join(f"<li>{html(one)}</li>" for one in lines)}</ul>')


def _draw_wanted(truck: Truck) -> None:
    """Draw the wish for pinion and wheelbase, and which bars by how much."""
    record, system = state.truck(), state.system()
    for name in WANTED_LABELS:
        hint = "such as 3 deg" if name == "pinion_up" else f"such as 0.5 {entry_unit('length', system)}"
        fields.text(record, f"{WANTED}.{name}", hint=hint)
    if any(key.startswith(f"{WANTED}.") for key in record.work.typed):
        with suppress(Refusal):  # said at its field
            _draw_lines(list(wanted_lines(bars_for(truck, *read_wanted(record.work, system)), system)))
