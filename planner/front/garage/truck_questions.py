"""The questions of a truck's form: all on one sheet on a wide screen, one at a time on a narrow one."""

from __future__ import annotations

from contextlib import suppress
from functools import partial
from typing import Final

import streamlit as st

from planner.forms import truck_form, truck_links, truck_questions, truck_readings
from planner.forms.choices import COUPLINGS
from planner.forms.draft import bad_fields, enter_text, fault_of, field_of, without_row
from planner.forms.own_values import is_typical
from planner.forms.truck_questions import Question
from planner.front.garage import air_supply, linkage
from planner.front.level.inputs import names_of
from planner.front.session import state
from planner.front.shell.navigation import HITCH, QUESTION
from planner.front.widgets import fields as widgets
from planner.front.widgets import reply
from planner.front.widgets.picture import draw_picture
from planner.plans.answer import Answer
from planner.plans.setup import Setup
from planner.records import BadInput, Bag
from planner.show.drawings.bag_chart import bag_chart
from planner.show.drawings.measuring_points import draw_where
from planner.store import BAG
from planner.units.quantity import Refusal

CHECK: Final = "check"
FEW: Final = {
    "suspension": {"solid": "Solid", "independent": "Independent"},
    "built": {
        "bag alone": "Bag alone",
        "bag over leaf": "Bag over leaf",
        "bag with coil": "Bag with coil",
        "steel only": "Steel only",
    },
    "plumbing": {"separate": "One each side", "joined": "Joined"},
    "per_side": {"1": "Single", "2": "Dual"},
    "bar": {"yes": "Yes", "no": "No"},
    "links": {
        "none": "Not entered",
        "uppers meet": "Uppers meet",
        "track bar": "Track bar",
        "one upper": "One upper, track bar",
    },
    "coupling": {key: words.capitalize() for key, words in COUPLINGS.items()},
}
PAIRS: Final = {  # of the links, how two keys end that stand beside each other
    ".frame": ".axle",
    ".shortest": ".longest",
    ".output_angle": ".pinion_angle",
    ".bump_travel": ".droop_travel",
}
HINTS: Final = {
    "size": "LT245/75R17",
    **dict.fromkeys(("frame", "axle", "front", "carrier", "pinion"), "ahead; left; up"),
}


def draw_questions(setup: Setup | None, answer: Answer | None) -> None:
    """Draw every question with its fields."""
    asked = truck_questions.questions(state.truck().work.record)
    for question in asked:
        with st.container(key=f"question-{question.name}"):
            st.header(question.heading, anchor=question.name)  # which a link from another page leads to
            widgets.soft(question.where)
            if setup is not None and answer is not None:
                draw_picture(draw_where(question.name, setup, answer, state.system()))
            if question.name == HITCH:
                _draw_hitches()
            elif question.name == "air":
                known = state.truck().work.record.air is not None
                with st.expander(air_supply.box_words(), key="air-box", expanded=known):
                    air_supply.draw_air_fields()
            else:
                _draw_fields(question.keys)
            if question.name == "build":
                _draw_arms()
            if question.name == "bags":
                _draw_charts()
            if question.name == "slip":
                _draw_wheels()
                _draw_hubs()
            if question.name == "links":
                linkage.draw_linkage(state.truck().work.record)


def find_question(asked: tuple[Question, ...]) -> str:
    """Return the question that a narrow screen shows: the one in the address, else the first; the last is to check."""
    wanted = state.asked(QUESTION)
    return wanted if wanted in (*(one.name for one in asked), CHECK) else asked[0].name


def draw_steps() -> None:
    """Draw what shows one question at a time on a narrow screen: the style, and back and next with where one is.

    Drawn before all that takes its time: until a button is drawn anew it leads where the page before led.
    """
    asked = truck_questions.questions(state.truck().work.record)
    names, now = [*(one.name for one in asked), CHECK], find_question(asked)
    # With what wraps each of them, which else leaves the gap between two of them behind.
    others = ", ".join(f"div:has(> .st-key-question-{name})" for name in names if name != now)
    hidden = f"{others}{', .st-key-board .st-key-answer' if now != CHECK else ''}"
    st.html(f"<style>@media (max-width: 799px) {{ {hidden} {{ display: none !important; }} }}</style>")
    place = names.index(now)
    with st.container(key="asked-steps", horizontal=True, vertical_alignment="center"):
        st.button("Back", key="asked-back", disabled=place == 0, on_click=_go, args=(names[place - 1],))
        st.markdown(f"{place + 1} of {len(names)}", width="content")
        following = names[min(place + 1, len(names) - 1)]
        st.button("Next", key="asked-next", type="primary", disabled=now == CHECK, on_click=_go, args=(following,))


def draw_change(question: str) -> None:
    """Draw the way back from the check to a question, for a narrow screen."""
    st.button("Change", key=f"asked-change-{question}", on_click=_go, args=(question,))


def has_fault(question: Question) -> bool:
    """Tell whether a field of a question has a text that is no value."""
    work, system = state.truck().work, state.system()
    return any(fault_of(work, key, system) is not None for key in question.keys)


def _go(question: str) -> None:
    """Show another question; it is in the address, so that a reload comes back to it."""
    state.ask(QUESTION, question)


def _draw_fields(keys: tuple[str, ...]) -> None:
    """Draw fields in pairs where front and rear, or both ends, are asked the same, choices alone."""
    left = list(keys)
    while left:
        key = left.pop(0)
        twin = _twin_of(key)
        if twin != key and twin in left and key.rpartition(".")[2] not in FEW:
            left.remove(twin)
            for column, one in zip(st.columns(2, wrap=False), (key, twin), strict=True):
                with column:
                    _draw_field(one)
        else:
            _draw_field(key)


def _twin_of(key: str) -> str:
    """Return the field that stands beside one; itself where there is none."""
    for one, other in PAIRS.items():
        if key.endswith(one):
            return key.removesuffix(one) + other
    return key.replace("front.", "rear.", 1).replace("front_", "rear_", 1)


def _draw_field(key: str) -> None:
    """Draw one field, its axle in its label."""
    record, name = state.truck(), key.rpartition(".")[2]
    label = label_of(key)
    if name == "table":
        _draw_chart(key, label)
    elif name == "chart":
        charts = names_of(BAG)
        if charts or record.work.record.charts:
            widgets.pick_one(record, key, label, {"": "None: as typed below"} | charts)
    elif name in FEW:
        widgets.few(record, key, FEW[name], label)
    else:
        widgets.text(record, key, label, hint=HINTS.get(name))


def _draw_chart(key: str, label: str) -> None:
    """Draw the chart of an axle's bag as it is printed, unless it is in a file."""
    record, axle = state.truck(), key.partition(".")[0]
    if getattr(record.work.record, axle).bag.chart is None:
        widgets.table(record, key, label)


def _draw_charts() -> None:
    """Draw what is read from each chart that is not typical any more."""
    work = state.truck().work
    for axle in truck_questions.AXLES:
        bag = _whole_bag(axle)
        if bag is not None and not is_typical(work, f"{axle}.bag.table"):
            st.html(f'<p class="label"><b>The {axle} bag</b></p>')
            draw_picture(bag_chart(bag, state.system()))
            if bag.chart is None:
                _draw_keep(axle)
        reply.draw_reply(f"keep-chart-it-{axle}")


def _draw_keep(axle: str) -> None:
    """Draw the way to keep a chart as a file of its own, for another axle, another truck or a friend."""
    with st.expander("Keep this chart as a file", key=f"keep-chart-{axle}"):
        name = state.seed(f"chart-name-{axle}", "")
        st.text_input("Name of the bag", key=name)
        key = f"keep-chart-it-{axle}"
        reply.button("Keep it", key, _keep_chart, (axle, name), at=key)


def _keep_chart(axle: str, name: str) -> None:
    """Write the chart of an axle's bag to a file of its own, which the truck names from then on."""
    record, store, called = state.truck(), state.tab().store, str(state.value(name) or "").strip()
    before, made = record.work, list[str]()

    def act() -> str:
        made.append(store.save_as(truck_form.chart_of(before, axle, called), called))
        state.replace_draft(record, enter_text(before, f"{axle}.bag.chart", made[0], state.system()))
        return f"The chart is saved as {called}; the {axle} bag uses it."

    def back() -> None:
        state.replace_draft(record, before)
        store.delete(made[0], BAG)

    state.attempt(act, back)


def _whole_bag(axle: str) -> Bag | None:
    """Return the bag of an axle with its chart; None where that is not there."""
    try:
        truck = state.tab().store.with_charts(state.truck().work.record)
    except BadInput:  # which is told of above the page
        return None
    bag: Bag | None = getattr(truck, axle).bag
    return bag


def label_of(key: str) -> str:
    """Return what a field is called, with its axle."""
    head, _, _ = key.partition(".")
    label = field_of(state.truck().work, key).label
    if key in truck_links.link_keys(state.truck().work.record):
        return label  # there is one such axle
    return f"{label}, {head}" if head in truck_questions.AXLES else label


def _draw_arms() -> None:
    """Draw the two tape readings that give a motion ratio, for springs that sit on an arm."""
    record, system = state.truck(), state.system()
    with st.expander("Spring on an arm: the motion ratio from two tape readings", key="arms"):
        for axle in truck_questions.AXLES:
            for column, end in zip(st.columns(2, wrap=False), ("spring", "wheel"), strict=True):
                with column:
                    key = f"{truck_readings.ARM}.{axle}.{end}"
                    widgets.text(record, key, f"{truck_readings.LABELS[end]}, {axle}")
            with suppress(Refusal):  # said at its field
                if (ratio := truck_readings.motion_ratio_of(record.work, axle, system)) is not None:
                    change = partial(truck_readings.with_motion_ratio, axle=axle, system=system)
                    said = f"Motion ratio, {axle}: {ratio:g}."
                    reply.button(
                        f"Use {ratio:g}", f"arm-use-{axle}", state.act, (record, change, said), at=f"arm-{axle}"
                    )
            reply.draw_reply(f"arm-{axle}")


def _draw_wheels() -> None:
    """Draw the weight on each wheel, for a slip that has them: both axles and the left share in one."""
    record, system = state.truck(), state.system()
    with st.expander("Weighed wheel by wheel: both axles and the left share from four weights", key="wheels"):
        for axle in truck_questions.AXLES:
            for column, side in zip(st.columns(2, wrap=False), truck_readings.SIDES, strict=True):
                with column:
                    key = f"{truck_readings.WHEEL}.{axle}.{side}"
                    widgets.text(record, key, f"{axle.capitalize()} {side} wheel")
        with suppress(Refusal):  # said at its field
            if (found := truck_readings.wheel_weights_of(record.work, system)) is not None:
                front, rear, left = (found[f"kerb.{name}"] for name in ("front_axle", "rear_axle", "left_share"))
                words = f"{front}, {rear}, {100 * float(left):.1f} % left"
                change = partial(truck_readings.with_wheel_weights, system=system)
                reply.button(f"Use {words}", "wheels-use", state.act, (record, change, f"{words}."), at="wheels")
        reply.draw_reply("wheels")


def _draw_hubs() -> None:
    """Draw the hub heights that give the rate of a tyre."""
    record, system = state.truck(), state.system()
    with st.expander("The tyres' rate from their hub heights on the scale", key="hubs"):
        for axle in truck_questions.AXLES:
            key = f"{truck_readings.HUB}.{axle}"
            widgets.text(record, key, f"{truck_readings.LABELS[truck_readings.HUB]}, {axle}")
            with suppress(Refusal):  # said at its field
                if (rate := truck_readings.tyre_rate_of(record.work, axle, system)) is not None:
                    words = str(rate.in_file(system))
                    change = partial(truck_readings.with_tyre_rate, axle=axle, system=system)
                    said = f"Tyre rate, {axle}: {words}."
                    reply.button(f"Use {words}", f"hub-use-{axle}", state.act, (record, change, said), at=f"hub-{axle}")
            reply.draw_reply(f"hub-{axle}")


def _draw_hitches() -> None:
    """Draw every hitch with its fields, and the ways to add one."""
    record = state.truck()
    for place, hitch in enumerate(record.work.record.hitches):
        with st.container(key=f"hitch-{place}", border=True):
            keys = truck_questions.hitch_keys(hitch)
            for name in keys:
                _draw_field(f"hitches.{place}.{name}")
            words, key = "Take this hitch off", f"hitch-off-{place}"
            reply.button(words, key, _take_off, (place, hitch.name), at="hitches", icon=":material/delete:")
    with st.container(horizontal=True, gap="small"):
        for coupling, words in COUPLINGS.items():
            key = f"hitch-add-{coupling}"
            reply.button(f"Add a {words}", key, _add, (coupling, words), at="hitches", icon=":material/add:")
    reply.draw_reply("hitches")


def _add(coupling: str, words: str) -> None:
    """Put a typical hitch on the truck."""
    state.act(state.truck(), partial(truck_form.add_hitch, coupling=coupling), f"A {words} is added.")


def _take_off(place: int, name: str) -> None:
    """Take a hitch off, so that it can be put back."""
    change = partial(without_row, rows="hitches", place=place, system=state.system())
    state.act(state.truck(), change, f"{name} is taken off.")


def marked_questions() -> list[Question]:
    """Return the questions that have a field to mend."""
    asked = truck_questions.questions(state.truck().work.record)
    return [one for one in asked if has_fault(one)] if bad_fields(state.truck().work, state.system()) else []


def count_typical(question: Question) -> int:
    """Return how many fields of a question still hold a typical value."""
    work = state.truck().work
    return sum(is_typical(work, key) for key in question.keys)
