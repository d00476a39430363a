"""The bags are the scale: gauge and tape before and after, read as loads; behind its heading."""

from __future__ import annotations

from datetime import date, datetime
from functools import lru_cache
from typing import Final

import streamlit as st

from planner.forms import bag_scale_form
from planner.forms.bag_scale_form import AFTER, BEFORE, CAME_ON, HOOKED, bags_key
from planner.forms.reading_form import HEIGHT, PRESSURE, WALK, asks_pressure
from planner.forms.slip_form import Offer
from planner.front.level.answer import why_not
from planner.front.session import state
from planner.front.weigh.weighing_saving import use_weighed
from planner.front.widgets import fields, findings, reply
from planner.front.widgets.problems import draw_problems
from planner.front.widgets.text import html, plain
from planner.plans.bag_scale import BagScale, bags_as_scale
from planner.plans.setup import Setup
from planner.plans.uncertainty.trim_pressures import NINETY_FIVE
from planner.records import Reading
from planner.show.text.bag_scale import bag_scale_rows
from planner.show.text.numbers import say, sentence, write
from planner.show.text.trim import SURE

HEADING: Final = "No scale at hand: the bags are the scale"
HOW: Final = (
    "Read every gauge and tape from hub to arch at every corner, hook on or load, then do it again. "
    "Without the reading before, the truck's own numbers stand in for it, and the answer is less sure."
)
USED: Final = (
    "Of the weight in the trailer's file, and of a reading with the bars slack. It goes there with its date, as your "
    "own; it can be undone."
)


def draw_bag_scale() -> None:
    """Draw what the bags say of the profile that is open; nothing where none is."""
    if state.profile().draft is None:
        return
    work = state.work()
    typed = any(key in work.typed for key in bag_scale_form.bags_keys())
    with st.expander(HEADING, key=state.seed("bags-box", typed), on_change="rerun") as box:
        if not box.open:
            return
        fields.soft(f"Of {work.truck.name}, as in {work.record.name}.")
        with st.container(key="bags-answer"):  # always there: fields that move lose what is being typed in them
            _draw_answer()
        _draw_fields()


@lru_cache(maxsize=8)
def _weighed(setup: Setup, after: Reading, before: Reading | None, hooked: bool) -> BagScale:
    """Return what the bags say; kept, as most runs of the page change nothing in it."""
    return bags_as_scale(setup, after, before, hooked=hooked)


def _draw_answer() -> None:
    """Say what came on, what the axles carry, and what the bags cannot see."""
    system = state.system()
    try:
        typed = bag_scale_form.typed_bags(state.work(), system, datetime(2000, 1, 1))  # the day does not count
        if typed.after is None:
            fields.soft(HOW)
            return
        found = _weighed(typed.setup, typed.after, typed.before, typed.hooked)
    except (ValueError, ArithmeticError) as exc:
        draw_problems(why_not(exc))
        return
    load = found.hitch_load or found.added_load
    number, unit = write(load.value, "load", system)
    words = "on the hitch" if typed.hooked else "came on"
    off = write(load.half_width, "load", system)
    st.html(f'<p class="answer" role="status"><b>{html(number)}</b> {html(f"{unit} {words}, ± {off}")}</p>')
    rows = "".join(
        f'<tr><th scope="row">{html(label.capitalize())}</th><td>{html(said)}</td></tr>'
        for label, said in list(bag_scale_rows(found, system))[1:]
    )
    st.html(f'<table class="plate">{rows}</table>')
    fields.soft(SURE if typed.before is not None else f"{SURE} Read it before as well, and it is surer.")
    findings.listed([findings.Said(one.level, sentence(one, system)) for one in found.findings])
    offer = bag_scale_form.ratio_offer(state.work(), found)
    if offer is not None:
        with st.container(key="use-bags", border=True):
            half = NINETY_FIVE * float(offer.spreads["tongue_ratio"])
            st.markdown(plain(f"{offer.label}: {offer.words}, ± {say(half, 'share', system)}"))
            reply.button("Use this", "use-bags-ratio", _use, (offer,), type="primary")
            fields.soft(USED)


def _use(offer: Offer) -> None:
    """Write what was weighed into the trailer's file, so that it can be taken back."""
    use_weighed(lambda store: bag_scale_form.use_ratio(store, state.work(), offer, date.today()))


def _draw_fields() -> None:
    """Ask what came on, and both readings, a corner at a time."""
    record, work, system = state.profile(), state.work(), state.system()
    us = system == "us"
    if work.trailer is not None:
        fields.few(record, HOOKED, CAME_ON, "What came on", now=bag_scale_form.came_on(work))
    for when, words in ((BEFORE, "Before"), (AFTER, "After")):
        st.markdown(f"**{words}**")
        for corner in WALK:
            label = corner.replace("_", " ").capitalize()
            for column, what in zip(st.columns(2, wrap=False), (PRESSURE, HEIGHT), strict=True):
                with column:
                    if what == HEIGHT:
                        fields.text(
                            record, bags_key(when, corner, what), f"{label}, tape", hint="20.1" if us else "510"
                        )
                    elif asks_pressure(work, corner):
                        fields.text(
                            record,
                            bags_key(when, corner, what),
                            f"{label}, gauge",
                            hint="40" if us else "2.8",
                            keypad=us,
                        )
                    else:
                        fields.soft(f"{label}: no gauge of its own.")
    typed = any(key in work.typed for key in bag_scale_form.bags_keys())
    reply.button("Clear both readings", "bags-clear", _clear, disabled=not typed)


def _clear() -> None:
    """Forget what is typed."""
    state.act(state.profile(), bag_scale_form.without_bags, "Both readings are cleared.")
