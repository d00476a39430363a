"""Fields of the work on the screen: what was typed stays, what is wrong is said where it was typed."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TypeVar

import streamlit as st

from planner.forms import choices, profile_form
from planner.forms.parse import is_bare
from planner.front.session import state
from planner.front.widgets.text import html, plain
from planner.units.quantity import Dimension, Quantity, Refusal, entry_unit, example

PAUSE = "600ms"  # in typing, after which the text counts
SHORT = 12  # choices that fit on a screen

Option = TypeVar("Option", bound=str | int)


def field(key: str, label: str, *, hint: str | None = None, steps: bool = False) -> None:
    """Draw a field of the work as text, with buttons for a step less and a step more if wanted."""
    work, system = state.work(), state.system()
    name = state.seed(state.widget(key), profile_form.text_of(work, key, system))
    with st.container(key=f"field-{key}", gap="xxsmall"):
        if steps:
            st.html(f'<p class="label" aria-hidden="true">{html(label)}</p>')
            with st.container(horizontal=True, gap="xsmall", key=f"steps-{key}"):
                _step(key, name, up=False)
                _text(key, label, name, hint, labelled=True)
                _step(key, name, up=True)
        else:
            _text(key, label, name, hint)
        _remark(key, label)


def choice(key: str, label: str, options: Sequence[str], names: Callable[[str], str]) -> None:
    """Draw a choice of truck, trailer or hitch; its options are shown as they are, without Markdown."""
    work = state.work()
    current = work.typed.get(key, getattr(work.profile, key)) or choices.ALONE
    known = current in options
    name = state.seed(state.widget(key), current if known else None)
    with st.container(key=f"field-{key}", gap="xxsmall"):
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


def place(key: str, label: str, none: str) -> None:
    """Draw the choice of a place of the truck by its name, or of none, in the words for that."""
    work, system = state.work(), state.system()
    current = profile_form.text_of(work, key, system)
    names = [one.name for one in work.truck.every_place]
    name = state.seed(state.widget(key), current if current in ("", *names) else None)
    with st.container(key=f"field-{key}", gap="xxsmall"):
        st.selectbox(
            label,
            ["", *names],
            index=None if state.value(name) is None else 0,
            key=name,
            format_func=lambda option: option or none,
            filter_mode=None,
            on_change=state.typed,
            args=(key, name),
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
    st.html(f'<p class="wrong" role="alert"><b>✗ {html(label)}</b> {rule}{got}. To mend it: {remedy}.</p>')


def soft(words: str) -> None:
    """Draw a line of small weight; the words are plain text."""
    st.html(f'<p class="soft">{html(words)}</p>')


def hazard(words: str) -> None:
    """Draw a caution where the hazard is; the words are plain text."""
    st.html(f'<p class="hazard"><b>▲ Caution</b> {html(words)}</p>')


def _text(key: str, label: str, name: str, hint: str | None, *, labelled: bool = False) -> None:
    """Draw the text field itself; one that is labelled already has its label for screen readers only."""
    st.text_input(
        plain(label),  # it may be a name that its owner gave
        key=name,
        live=PAUSE,
        placeholder=_example(key) if hint is None else hint,
        label_visibility="collapsed" if labelled else "visible",
        on_change=state.typed,
        args=(key, name),
    )


def _step(key: str, name: str, *, up: bool) -> None:
    """Draw the button that moves a field one step."""
    system = state.system()
    step = profile_form.STEPS[key][system == "metric"]
    unit = "%" if key in profile_form.SHARES else entry_unit(profile_form.KINDS[key], system)
    st.button(
        plain(f"{'+' if up else '−'}{step:g} {unit}"),
        key=f"step-{key}-{'up' if up else 'down'}",
        on_click=state.stepped,
        args=(key, name, up),
    )


def _remark(key: str, label: str) -> None:
    """Say what is wrong, or how a number without a unit was read."""
    work, system = state.work(), state.system()
    if refusal := profile_form.fault_of(work, key, system):
        wrong(label, refusal)
        return
    value = profile_form.value_of(work, key)
    if isinstance(value, Quantity) and is_bare(str(state.value(state.widget(key)) or "")):
        soft(f"taken as {value.text}")


def _example(key: str) -> str:
    """Return what an empty field shows."""
    kind = _kind(key)
    return "" if kind is None else f"such as {example(kind)}"


def _kind(key: str) -> Dimension | None:
    """Return the dimension of a field; None for a name or a share."""
    return profile_form.KINDS.get(key) or profile_form.CARGO_KINDS.get(key.rpartition(".")[2])
