"""The answer of the page: what the trailer puts on the truck, how sure, what is found; and its use in the files."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

import streamlit as st

from planner.forms import trailer_form, truck_form
from planner.forms.draft import bad_fields
from planner.forms.slip_form import Offer, find_offers, use_slip
from planner.front.session import state
from planner.front.weigh.weighing_saving import use_weighed
from planner.front.widgets import fields, findings, reply
from planner.front.widgets.picture import draw_picture
from planner.front.widgets.problems import draw_problems
from planner.front.widgets.text import html, plain
from planner.plans.weighing import Weighed, weigh
from planner.records import BadInput, Problem, Truck
from planner.show.drawings.weighing import draw_weighing
from planner.show.text.numbers import sentence
from planner.show.text.weighing import range_words, told_rows, untold_lines, way_lines
from planner.store import SLIP
from planner.store.slip_files import with_named

LARGE: Final = ("tongue", "tongue_ratio", "gross", "restoration")
NOTHING_YET: Final = "Nothing weighed yet: type what the scale showed."
FINE: Final = "The tongue is in its usual range."
SURE: Final = "Give or take: 95 %, from the scale's division and its tolerance (NIST Handbook 44, from memory)."


@dataclass(frozen=True)
class Found:
    """What the slip tells, or why it does not; and the truck it names, where there is such a one."""

    weighed: Weighed | None
    truck: Truck | None
    problems: tuple[Problem, ...] = ()


def find_weighed() -> Found:
    """Return what the slip in the fields tells, or last told; what it names and is not there is said and left out."""
    slip, store = state.slip().work.record, state.tab().store
    problems: tuple[Problem, ...] = ()
    try:
        named = with_named(store, slip, SLIP.file(state.slip().work.slug))
    except BadInput as exc:
        problems = exc.problems
        named = with_named(store, slip.replaced(truck=None, trailer=None, hitch=None), slip.name)
    try:
        return Found(weigh(*named), named.truck, problems)
    except BadInput as exc:
        return Found(None, named.truck, (*problems, *exc.problems))


def draw_answer(found: Found) -> None:
    """Draw the numbers in large type, what is found, the ways, what is missing, the drawing, and the use of it."""
    system, weighed = state.system(), found.weighed
    if found.problems:
        draw_problems(found.problems)
    if weighed is None:
        return
    if bad_fields(state.slip().work, system):
        fields.old_answer(state.slip())
    if weighed.slip.is_empty:
        fields.soft(NOTHING_YET)
    else:
        st.html(_numbers(weighed))
        said = [findings.Said(one.level, sentence(one, system)) for one in weighed.findings]
        if said or "tongue_ratio" in weighed.told:
            findings.verdict(said, fine=FINE)
        findings.listed(said)
    _draw_scene(weighed)
    if not weighed.slip.is_empty:
        _draw_more(weighed)
        _draw_use(weighed)


def _numbers(found: Weighed) -> str:
    """Return what is told of the tongue and the trailer in large type, the rest of it as lines."""
    system = state.system()
    rows = told_rows(found, system)
    usual = {"tongue_ratio": f" · {range_words(found, system)}"}
    cells = "".join(
        f"<div><dt>{html(row.label)}</dt><dd><b>{html(number)}</b> <span>{html(unit)}</span></dd>"
        f"<dd>{html(row.sure + usual.get(row.name, ''))}</dd></div>"
        for row in rows
        if row.name in LARGE
        for number, unit in [row.value.rsplit(" ", 1)]
    )
    small = "".join(
        f"<li>{html(row.label)}: <b>{html(row.value)}</b> {html(row.sure)}</li>"
        for row in rows
        if row.name not in LARGE
    )
    return f'<dl class="figures">{cells}</dl>' + (f'<ul class="list">{small}</ul>' if small else "")


def _draw_scene(found: Weighed) -> None:
    """Draw truck and trailer on the scale; a typical truck where none is named."""
    truck, trailer, hitch = found.truck, found.trailer, found.hitch
    typical = truck is None or (trailer is not None and hitch is None)
    if truck is None:
        truck = truck_form.typical()
        trailer, hitch = trailer_form.typical(), truck.hitches[0]
    elif trailer is not None and hitch is None:
        trailer = None
    picture = draw_weighing(found.slip, truck, trailer, hitch, state.system(), typical=typical and found.truck is None)
    draw_picture(picture)


def _draw_more(found: Weighed) -> None:
    """Draw the ways to the tongue load, and what is not told yet."""
    lines = [*(list(way_lines(found, state.system())) if len(found.ways) > 1 else []), *untold_lines(found), SURE]
    for words in lines:
        fields.soft(words)


def _draw_use(found: Weighed) -> None:
    """Draw what may be written into the files of truck and trailer, each to be ticked."""
    offers = find_offers(found)
    if not offers:
        fields.soft("Name the truck and the trailer below to save this in their files.")
        return
    with st.container(key="use-this", border=True):
        st.header("Use this", anchor=False)
        for offer in offers:
            st.checkbox(plain(f"{offer.label}: {offer.words}"), key=state.seed(_tick(offer), offer.certain))
        reply.button("Use this", "use-slip", _use, (found, offers), type="primary")
        fields.soft("It goes into the files as your own, with the date and the name of these slips; you can undo it.")


def _tick(offer: Offer) -> str:
    """Return the key of an offer's tick."""
    return f"use-{offer.name}"


def _use(found: Weighed, offers: list[Offer]) -> None:
    """Write what is ticked into the files, so that it can be taken back."""
    chosen = {offer.name for offer in offers if state.value(_tick(offer))}
    use_weighed(lambda store: use_slip(store, found, chosen, date.today()))
