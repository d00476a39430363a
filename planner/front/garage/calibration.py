"""What readings on a scale teach of the truck: typed or taken from profiles and slips, looked at, and used."""

from __future__ import annotations

from datetime import date
from functools import lru_cache, partial
from typing import Final

import streamlit as st

from planner.forms import calibration_form
from planner.forms.calibration_form import FRONT, HEIGHT, ON, PRESSURE, REAR, Source, TypedReadings, learn_key
from planner.forms.draft import NEW
from planner.forms.reading_form import WALK
from planner.forms.truck_form import TruckDraft
from planner.front.level.answer import why_not
from planner.front.session import state
from planner.front.widgets import fields, findings, reply
from planner.front.widgets.problems import draw_problems
from planner.front.widgets.table import draw_table
from planner.front.widgets.text import plain
from planner.plans.calibration import Calibration, calibrate
from planner.records import Truck
from planner.records.weighed_reading import WeighedReading
from planner.show.text.calibration import doubt_words, parameter_rows, residual_rows, told_lines

HEADING: Final = "Learn from readings on a scale"
HOW: Final = (
    "Gauges, tape from hub to arch, and axle weights of the truck as it stood on a scale, loaded or not. One reading "
    "teaches something; readings at loads that differ teach more."
)
KEPT: Final = "It goes into the truck's file as your own, with the date and the old value; you can undo it."
NO_ONE: Final = -1


def draw_calibration() -> None:
    """Draw what the readings teach, then the readings."""
    record = state.truck()
    typed = any(key.startswith(f"{calibration_form.LEARN}.") for key in record.work.typed)
    with st.expander(HEADING, key=state.seed("learn-box", typed), on_change="rerun") as box:
        if not box.open:
            return
        fields.soft(HOW)
        found = calibration_form.typed_readings(record.work, state.system(), date.today())
        with st.container(key="learn-taught"):  # always there: fields that move lose what is being typed in them
            if found.readings:
                _draw_taught(record.work, found)
            reply.draw_reply("learnt")
        sources = _sources(record.work.slug)
        for place in range(calibration_form.count_asked(record.work)):
            _draw_reading(place, found, sources)


@lru_cache(maxsize=8)
def _learnt(truck: Truck, readings: tuple[WeighedReading, ...]) -> Calibration:
    """Return what readings teach; kept, as most runs of the page change nothing in it."""
    return calibrate(truck, readings)


def _draw_taught(work: TruckDraft, typed: TypedReadings) -> None:
    """Draw each number before and after, what is asked about, what else is told, and the use of it."""
    system = state.system()
    try:
        found = _learnt(state.tab().store.with_charts(work.record), typed.readings)
    except (ValueError, ArithmeticError) as exc:
        draw_problems(why_not(exc))
        return
    findings.listed([findings.Said("caution", doubt_words(one, system)) for one in found.doubts])
    draw_table(("", "before", "learnt"), parameter_rows(found, system))
    fields.soft("Give or take: one standard deviation.")
    for words in told_lines(found, system):
        fields.soft(words)
    with st.expander("Every number of the readings against the learnt truck", key="learn-residuals"):
        draw_table(("Reading", "measured", "expected", "off"), residual_rows(found, system))
        fields.soft("Off: in standard deviations of what gauge, tape and scale may be off by; 3 is rare.")
    _draw_use(work, found)


def _draw_use(work: TruckDraft, found: Calibration) -> None:
    """Draw the button that writes what was learnt into the file."""
    learnt = any(one.learnt for one in found.parameters)
    ready = learnt and not found.doubts and found.converged and work.base is not None and not work.changed
    reply.button("Use this", "use-learnt", _use, (found,), at="learnt", type="primary", disabled=not ready)
    if found.doubts:
        fields.soft("Fix or empty what is asked about, then you can use it.")
    elif work.base is None or work.changed:
        fields.soft("The truck was changed and is not saved: save it, then use this. The readings stay here.")
    else:
        fields.soft(KEPT)


def _use(found: Calibration) -> None:
    """Write what was learnt, so that it can be taken back with the readings."""
    record, store, before = state.truck(), state.tab().store, state.truck().work
    after: list[TruckDraft] = []

    def act() -> str:
        after.append(calibration_form.use_learnt(store, before, found))
        record.replace_draft(after[0])
        return f"{before.record.name}: now has what the readings taught."

    def undo() -> None:
        record.replace_draft(calibration_form.take_back_learnt(store, before, after[0]))

    state.attempt(act, undo)


def _sources(slug: str) -> dict[str, list[Source]]:
    """Return where numbers may be taken from: by what the choice is called."""
    if slug == NEW:
        return {}
    store = state.tab().store
    found = {
        "Gauge and tape from": calibration_form.find_corners(store, slug),
        "Axles from": calibration_form.find_axles(store, slug),
    }
    return {label: sources for label, sources in found.items() if sources}


def _draw_reading(place: int, typed: TypedReadings, sources: dict[str, list[Source]]) -> None:
    """Ask for one reading."""
    record, us = state.truck(), state.system() == "us"
    begun = any(key.startswith(learn_key(place, "")) for key in record.work.typed)
    with st.container(key=f"learn-{place}", border=True):
        with st.container(horizontal=True, vertical_alignment="center"):
            st.markdown(f"**Reading {place + 1}**")
            at, off = f"learn-out-{place}", not begun
            reply.button("Take out", at, _take_out, (place,), at=at, disabled=off)
        reply.draw_reply(at)
        fields.soft(_state_words(place, typed, begun))
        for label, some in sources.items():
            _pick(place, label, some)
        for column, key, label in zip(
            st.columns(2, wrap=False), (FRONT, REAR), ("Front axle, weighed", "Rear axle, weighed"), strict=True
        ):
            with column:
                hints = ("4,300 lb", "3,900 lb") if us else ("1950 kg", "1770 kg")
                fields.text(record, learn_key(place, key), label, hint=hints[key == REAR])
        for corner in WALK:
            axle = record.work.record.front if corner.startswith("front") else record.work.record.rear
            name = corner.replace("_", " ").capitalize()
            for column, what in zip(st.columns(2, wrap=False), (PRESSURE, HEIGHT), strict=True):
                with column:
                    if what == PRESSURE and axle.bag is None:
                        fields.soft("Steel: no gauge here.")
                        continue
                    hint = ("40" if us else "2.8") if what == PRESSURE else ("20.1" if us else "510")
                    label = f"{name}, gauge" if what == PRESSURE else f"{name}, tape"
                    fields.text(record, learn_key(place, f"{corner}.{what}"), label, hint=hint)
        fields.text(record, learn_key(place, ON), "Day", hint=date.today().isoformat())


def _state_words(place: int, typed: TypedReadings, begun: bool) -> str:
    """Return whether a reading counts, or what it lacks."""
    words = typed.lacking.get(place)
    if words is None:
        return "It counts." if begun else "Leave out what was not read."
    return f"Not used yet: {words if words.startswith('fix') else f'needs {words}'}."


def _pick(place: int, label: str, sources: list[Source]) -> None:
    """Draw the choice of where numbers of a reading are taken from."""
    name = state.seed(f"learn-from-{label}-{place}-{state.truck().generation}", NO_ONE)
    st.selectbox(
        label,
        [NO_ONE, *range(len(sources))],
        key=name,
        format_func=lambda n: "as typed below" if n == NO_ONE else plain(sources[n].name),
        filter_mode=None,
        on_change=_taken,
        args=(place, name, sources),
    )


def _taken(place: int, name: str, sources: list[Source]) -> None:
    """Put the numbers of a profile's reading, or of a slip, into the fields."""
    chosen = state.value(name)
    if chosen is not None and chosen != NO_ONE:
        source = sources[int(chosen)]
        change = partial(calibration_form.with_source, place=place, source=source)
        state.act(state.truck(), change, f"Reading {place + 1} has the numbers of {source.name}.")


def _take_out(place: int) -> None:
    """Take a reading out, so that it can be put back."""
    change = partial(calibration_form.without_reading, place=place)
    state.act(state.truck(), change, f"Reading {place + 1} is taken out.")
