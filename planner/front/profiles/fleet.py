"""Below the profiles: which of my trucks takes this trailer today, and who takes what."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import streamlit as st

from planner.export import fleet_of
from planner.forms.search import find_called
from planner.front.session import state
from planner.front.widgets import fields
from planner.front.widgets.picture import draw_picture
from planner.front.widgets.problems import draw_problems
from planner.front.widgets.text import html, plain
from planner.plans.fleet import Fleet, judge_fleet
from planner.records import Trailer, Truck
from planner.show.drawings.fleet_matrix import MOST_COLUMNS, MOST_ROWS, SAID, Look, fleet_matrix, look_of
from planner.show.drawings.palette import MARKS
from planner.show.text.fleet import BARE, KINDS, Pair, by_most_taken, fleet_line, pair_sentences, trucks_for
from planner.show.text.numbers import say

MOST: Final = 400  # pairs on the page: they take a few seconds; more are for the command
TRAILER, KIND, ORDER, ONLY = "fleet-trailer", "fleet-kind", "fleet-order", "fleet-only"
ANY: Final = ""
ORDERS: Final = {"most": "Most first", "name": "By name"}
MARK: Final[dict[Look, str]] = {"level": "✓", "stays": "✓", "stopped": MARKS["stop"], "none": "–"}


def draw_fleet() -> None:
    """Draw the choice of a trailer with its trucks, and the matrix of all."""
    found, problems = fleet_of(state.tab().store)
    if problems:
        draw_problems(tuple(problems))
    count = found.code.size
    if count > MOST:
        words = f"{len(found.trucks):,} trucks with {len(found.trailers):,} trailers are {count:,} pairs."
        fields.soft(f"{words} For so many: planner fleet --out yard.html, or yard.csv")
        return
    if not count:
        fields.soft("There is no truck, or no trailer, that can be read.")
        return
    fleet = _judged(found.trucks, found.trailers)
    with st.container(key="fleet"):  # which the style sheet lays out beside each other where there is room
        with st.container(key="fleet-one"):
            _draw_trailer(fleet)
        with st.container(key="fleet-all"):
            _draw_matrix(fleet)
    fields.soft(BARE)


def _content(record: Truck | Trailer) -> str:
    return str(record.model_dump_json())


@st.cache_data(
    max_entries=4,
    show_spinner="Judging every truck with every trailer",
    hash_funcs={Truck: _content, Trailer: _content},
)
def _judged(trucks: tuple[Truck, ...], trailers: tuple[Trailer, ...]) -> Fleet:
    """Return a fleet, kept for the same records."""
    return judge_fleet(trucks, trailers)


def _draw_trailer(fleet: Fleet) -> None:
    """Draw the choice of a trailer, and which trucks take it."""
    names = find_called({str(n): one.name for n, one in enumerate(fleet.trailers)})
    trailer = int(fields.pick("Trailer", list(names), TRAILER, names))
    pairs, system = trucks_for(fleet, trailer, state.system()), state.system()
    count = sum(one.takes for one in pairs)
    weight = say(fleet.trailers[trailer].weight, "weight", system)
    verdict = f"{count} of {len(pairs)} trucks take it at {weight}." if count else f"No truck takes it at {weight}."
    st.markdown(plain(verdict))
    st.html(f'<ul class="findings">{"".join(_line(fleet, one) for one in pairs)}</ul>')


def _line(fleet: Fleet, one: Pair) -> str:
    """Return a truck's line: whether it takes the trailer, and what there is to say of it."""
    look = look_of(fleet, one.truck, one.trailer)
    mark = f'<span class="mark" aria-hidden="true">{MARK[look]}</span>'
    words, name = html(pair_sentences(one, state.system())), html(fleet.trucks[one.truck].name)
    return f'<li class="{"stop" if look == "stopped" else look}">{mark}<b>{name}</b> {SAID[look]}<br>{words}</li>'


def _draw_matrix(fleet: Fleet) -> None:
    """Draw what narrows and sorts the matrix, and the matrix."""
    kinds = sorted({one.coupling for one in fleet.trailers})
    with st.container(horizontal=True, vertical_alignment="bottom", key="fleet-narrow"):
        kind = st.selectbox(
            "Kind of coupling",
            [ANY, *kinds],
            key=KIND,
            format_func=lambda one: KINDS[one] if one else "any",
            filter_mode=None,
        )
        order = st.selectbox("Trucks", list(ORDERS), key=ORDER, format_func=ORDERS.__getitem__, filter_mode=None)
        only = st.checkbox("Only trucks that take one", key=ONLY)
    trailers = [n for n, one in enumerate(fleet.trailers) if kind in (ANY, one.coupling)]
    trucks = _sorted(fleet, order)
    if only:
        trucks = [truck for truck in trucks if fleet.takes[truck, trailers].any()]
    if not trucks:
        fields.soft("No truck takes any of them.")
        return
    draw_picture(fleet_matrix(fleet, trucks[:MOST_ROWS], trailers[:MOST_COLUMNS]))
    left = (len(trucks) - MOST_ROWS, "truck"), (len(trailers) - MOST_COLUMNS, "trailer")
    if more := [f"{count} more {what}s" for count, what in left if count > 0]:
        fields.soft(f"Not drawn: {' and '.join(more)}. planner fleet --out yard.html has them all.")
    st.markdown(plain(f"{fleet_line(fleet)}."))


def _sorted(fleet: Fleet, order: str) -> Sequence[int]:
    """Return the trucks in an order."""
    if order == "most":
        return by_most_taken(fleet)
    return sorted(range(fleet.done), key=lambda truck: fleet.trucks[truck].name.casefold())
