"""Fields of a record on the screen: what was typed stays, what is wrong is said where it was typed."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, TypeVar

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from planner.forms import choices, profile_form
from planner.forms.draft import bad_fields, fault_of, field_of, text_of, value_of
from planner.forms.fields import Field
from planner.forms.fields_to_fix import where_of
from planner.forms.own_values import is_typical
from planner.forms.parse import is_bare, taken_as
from planner.front.session import state
from planner.front.session.open_record import OpenRecord
from planner.front.shell import navigation
from planner.front.widgets import reply
from planner.front.widgets.text import html, plain
from planner.units.quantity import Quantity, Refusal
from planner.units.written_numbers import ton_readings

PAUSE = "600ms"  # in typing, after which the text counts
SHORT = 12  # choices that fit on a screen

Option = TypeVar("Option", bound=str | int)


def text(
    record: OpenRecord[Any],
    key: str,
    label: str | None = None,
    *,
    hint: str | None = None,
    steps: bool = False,
    keypad: bool = False,
    below: str = "",
) -> None:
    """Draw a field as text, with buttons for a step less and a step more if wanted; its label is the record's own.

    below : the heading that it stands below, where fields below others have the same label: it is read out after it
    keypad : whether a phone shows its digits only, for what is typed without a point or a word
    """
    draft, system = record.work, state.system()
    asked = field_of(draft, key)
    label = asked.label if label is None else label
    hint = asked.hint(system) if hint is None else hint
    name = _seeded(record, key)
    with _box(record, key):
        if steps or below:
            st.html(f'<p class="label" aria-hidden="true">{html(label)}</p>')
        if steps:
            with st.container(horizontal=True, gap="xsmall", key=record.name_key(f"steps-{key}")):
                _step(record, asked, key, name, up=False)
                _text(record, key, label, name, hint, labelled=True)
                _step(record, asked, key, name, up=True)
        else:
            said = f"{label}, {below}" if below else label
            _text(record, key, said, name, hint, labelled=bool(below), keypad=keypad)
        _remark(record, key, label)


def table(record: OpenRecord[Any], key: str, label: str) -> None:
    """Draw a field as text of several lines, for what is pasted; it counts when it is left."""
    _draft, _system = record.work, state.system()
    name = _seeded(record, key)
    with _box(record, key):
        st.text_area(plain(label), key=name, height=140, on_change=state.typed, args=(record, key, name))
        _remark(record, key, label)


def pick_one(record: OpenRecord[Any], key: str, label: str, options: Mapping[str, str]) -> None:
    """Draw a field as a choice of many by name; options are its texts with their words."""
    draft, system = record.work, state.system()
    current = text_of(draft, key, system)
    name = _seeded(record, key)
    if state.value(name) not in options:
        state.show(name, None)
    with _box(record, key):
        st.selectbox(
            plain(label),
            list(options),
            index=0 if current in options else None,
            key=name,
            format_func=options.__getitem__,
            filter_mode=None,
            on_change=state.typed,
            args=(record, key, name),
        )
        _remark(record, key, label)


def pair(record: OpenRecord[Any], *keys: str, below: str = "") -> None:
    """Draw two fields beside each other, on a phone too, below a heading as `text` has it."""
    for column, key in zip(st.columns(2, wrap=False), keys, strict=True):
        with column:
            text(record, key, below=below)


def few(
    record: OpenRecord[Any], key: str, options: Mapping[Any, str], label: str | None = None, now: str | None = None
) -> None:
    """Draw a field as a choice of a few, all to be seen; options are its texts with their words.

    Now is the text that stands where nothing was typed, for a field that no record holds.
    """
    label = field_of(record.work, key).label if label is None else label
    name = _seeded(record, key) if now is None else state.seed(record.name_widget(key, state.system()), now)
    with _box(record, key):
        st.segmented_control(
            label,
            list(options),
            key=name,
            format_func=options.__getitem__,
            required=True,
            on_change=state.typed,
            args=(record, key, name),
        )
        _remark(record, key, label)


def row(record: OpenRecord[Any], key: str, label: str, names: Sequence[str], place: int) -> None:
    """Draw the choice of a thing in a list by its name; what is kept as typed is its place."""
    name = record.name_widget(key, state.system())
    state.show(name, str(place))
    st.selectbox(
        label,
        [str(n) for n in range(len(names))],
        key=name,
        format_func=lambda n: names[int(n)],
        filter_mode=None,
        on_change=state.typed,
        args=(record, key, name),
    )


def choice(key: str, label: str, options: Sequence[str], names: Callable[[str], str]) -> None:
    """Draw a choice of truck, trailer or hitch; its options are shown as they are, without Markdown."""
    record, work = state.profile(), state.work()
    current = work.typed.get(key, getattr(work.profile, key)) or choices.ALONE
    known = current in options
    name = _shown(state.widget(key), current if known else None)
    with _box(record, key):
        st.selectbox(
            label,
            list(options),
            index=0 if known else None,  # a choice that is there cannot be emptied
            key=name,
            format_func=lambda option: names(option),
            filter_mode=None,
            on_change=state.chosen,
            args=(key, name),
        )
        if refusal := choices.fault(state.tab().store, work, key):
            wrong(label, refusal)


def place(key: str, none: str) -> None:
    """Draw the choice of a place of the truck by its name, or of none, in the words for that."""
    record, work, system = state.profile(), state.work(), state.system()
    label, current = field_of(work, key).label, text_of(work, key, system)
    names = [one.name for one in work.truck.every_place]
    name = _shown(state.widget(key), current if current in ("", *names) else None)
    with _box(record, key):
        st.selectbox(
            label,
            ["", *names],
            index=None if state.value(name) is None else 0,
            key=name,
            format_func=lambda option: option or none,
            filter_mode=None,
            on_change=state.typed,
            args=(record, key, name),
        )
        if current and (refusal := profile_form.place_fault(work, current)):
            wrong(label, refusal)


def pick(label: str, order: Sequence[Option], key: str, names: Mapping[Option, str]) -> Option:
    """Ask for one of some by name, the first to begin with.

    In a long list by typing; not in a short one, which a phone's keyboard would hide.
    """
    if state.value(key) not in order:  # nothing chosen yet, or that is no choice any more
        state.show(key, order[0])
    return st.selectbox(
        label,
        order,
        key=key,
        format_func=names.__getitem__,
        filter_mode="contains" if len(order) > SHORT else None,
    )


def wrong(label: str, refusal: Refusal) -> None:
    """Say what is wrong with a field: its name, the value, the rule, the remedy."""
    remedy = refusal.remedy.removesuffix(", in quotes")  # that is for files
    rule, got, remedy = html(refusal.rule), html(refusal.got), html(remedy)
    got = f", got {got}" if got else ""
    st.html(f'<p class="wrong" role="alert"><b>✗ {html(label)}</b> {rule}{got}. To fix it: {remedy}.</p>')


def old_answer(record: OpenRecord[Any]) -> None:
    """Say that the answer is the last good one, and of each field that keeps it so where it is, and the way out.

    The field may be on another page, behind a heading or in a long list: so what it held can be put back from here.
    """
    draft, system = record.work, state.system()
    st.html('<p class="wrong old-answer" role="status"><b>✗ Last good answer.</b> Fix the marked field.</p>')
    for key in bad_fields(draft, system):
        name, refusal = where_of(draft, key), _fault(record, key)
        if refusal is None:
            continue
        st.html(f'<p class="wrong">Fix <b>{html(name)}</b>: {html(_said_wrong(refusal))}.</p>')
        put_back = record.name_key(f"put-back-{key}")
        st.button(plain(f"Put {name} back"), key=put_back, on_click=state.put_back, args=(record, key))
        if _is_rig(record, key) and (slug := choices.truck_without_hitch(state.tab().store, state.work())):
            navigation.draw_hitch_button(slug)


def _is_rig(record: OpenRecord[Any], key: str) -> bool:
    """Tell whether a field is the choice of a profile's truck or trailer."""
    return key in ("truck", "trailer") and record is state.profile()


def _fault(record: OpenRecord[Any], key: str) -> Refusal | None:
    """Return what is wrong with a field, a choice that fits no hitch by the hitches there are."""
    if _is_rig(record, key):
        return choices.fault(state.tab().store, state.work(), key)
    return fault_of(record.work, key, state.system())


def _said_wrong(refusal: Refusal) -> str:
    """Return the rule that a value breaks, and the value."""
    return refusal.rule + (f", got {refusal.got}" if refusal.got else "")


def soft(words: str) -> None:
    """Draw a line of small weight; the words are plain text."""
    st.html(f'<p class="soft">{html(words)}</p>')


def hazard(words: str) -> None:
    """Draw a caution where the hazard is; the words are plain text."""
    st.html(f'<p class="hazard"><b>▲ Caution</b> {html(words)}</p>')


def standing(words: str) -> None:
    """Draw what always holds, whatever is found; the words are plain text."""
    st.html(f'<p class="standing">{html(words)}</p>')


def _seeded(record: OpenRecord[Any], key: str) -> str:
    """Return the key of a field's widget, which shows the field's text, though that changed with another field.

    What was typed stays as it was typed as long as it says the same.
    """
    draft, system = record.work, state.system()
    name, words = record.name_widget(key, system), text_of(draft, key, system)
    moved = record.drawn.get(name, words) != words
    record.drawn[name] = words
    if moved or (record.form.follows and key not in draft.typed and not _says_the_same(record, key, name)):
        _shown(name, words)
    return state.seed(name, words)


def _says_the_same(record: OpenRecord[Any], key: str, name: str) -> bool:
    """Tell whether what a field's widget shows reads as the field's value."""
    draft, system = record.work, state.system()
    try:
        return field_of(draft, key).read(str(state.value(name)), system) == value_of(draft, key)
    except Refusal:
        return False


def _shown(name: str, value: object) -> str:
    """Have a widget show a value, if it does not already, and return its key."""
    if state.value(state.seed(name, value)) != value:
        state.show(name, value)
    return name


def _box(record: OpenRecord[Any], key: str) -> DeltaGenerator:
    """Return the box that a field stands in."""
    return st.container(key=f"field-{record.name_key(key)}", gap="xxsmall")


def _text(
    record: OpenRecord[Any], key: str, label: str, name: str, hint: str, *, labelled: bool = False, keypad: bool = False
) -> None:
    """Draw the text field itself; one that is labelled already has its label for screen readers only."""
    st.text_input(
        plain(label),  # it may be a name that its owner gave
        key=name,
        type="phone" if keypad else "default",
        autocomplete="off",  # of a telephone it would be the owner's number
        live=PAUSE,
        placeholder=hint,
        label_visibility="collapsed" if labelled else "visible",
        on_change=state.typed,
        args=(record, key, name),
    )


def _step(record: OpenRecord[Any], asked: Field, key: str, name: str, *, up: bool) -> None:
    """Draw the button that moves a field one step."""
    system = state.system()
    assert asked.step is not None  # it is asked for by who knows
    step = asked.step.metric if system == "metric" else asked.step.us
    st.button(
        plain(f"{'+' if up else '−'}{step:g} {asked.unit(system)}"),
        key=record.name_key(f"step-{key}-{'up' if up else 'down'}"),
        on_click=state.stepped,
        args=(record, key, name, up),
    )


def _choose_ton(record: OpenRecord[Any], key: str) -> None:
    """Draw what a number of tons may be, to choose from."""
    readings = ton_readings(record.work.typed.get(key, ""))
    if readings is not None:
        name = record.name_widget(key, state.system())
        with st.container(horizontal=True, gap="small"):
            for n, reading in enumerate(readings):
                key_of = record.name_key(f"ton-{key}-{n}")
                st.button(plain(reading), key=key_of, on_click=state.put_text, args=(record, key, name, reading))


def _remark(record: OpenRecord[Any], key: str, label: str) -> None:
    """Say what is wrong, how a number without a unit was read, or that a value is not the owner's own."""
    draft, system = record.work, state.system()
    if refusal := fault_of(draft, key, system):
        wrong(label, refusal)
        if field_of(draft, key).dimension == "weight":
            _choose_ton(record, key)
        return
    value, typed = value_of(draft, key), str(state.value(record.name_widget(key, system)) or "")
    if isinstance(value, Quantity):
        if words := taken_as(typed, value.dimension, system):
            soft(words)
        elif is_bare(typed):
            soft(f"taken as {value.text}")
    own = record.name_key(f"own-{key}")
    if is_typical(draft, key):
        with st.container(horizontal=True, vertical_alignment="center", gap="small"):
            soft("typical, not yet your own")
            if record is not state.truck():  # which has them in a list, each with what it is typical of
                reply.button("It is so", own, state.take_as_own, (record, key), at=own)
    if reply.is_here(own):  # nothing stands below it in the field's box
        reply.draw_reply(own)
