"""Fields of the trailer on the screen: what was typed stays, what is wrong is said where it was typed."""

from __future__ import annotations

from collections.abc import Mapping

import streamlit as st

from planner.forms import trailer_form
from planner.forms.parse import is_bare
from planner.front.garage import trailer
from planner.front.session import state
from planner.front.widgets import fields as widgets
from planner.units.quantity import Quantity, example


def key_of(key: str) -> str:
    """Return the key of a widget that is a view of a field."""
    return f"trailer.{key}-{state.system()}-{trailer.bench().generation}"


def text(key: str, label: str, *, hint: str | None = None) -> None:
    """Draw a field as text."""
    work, system = trailer.work(), state.system()
    name = state.seed(key_of(key), trailer_form.text_of(work, key, system))
    with st.container(key=f"field-trailer-{key}", gap="xxsmall"):
        st.text_input(
            label,
            key=name,
            live=widgets.PAUSE,
            placeholder=_example(key) if hint is None else hint,
            on_change=trailer.typed,
            args=(key, name),
        )
        _remark(key, label)


def choice(key: str, label: str, options: Mapping[str, str]) -> None:
    """Draw a field as a choice of a few, all to be seen; options are its texts with their words."""
    work = trailer.work()
    name = state.seed(key_of(key), trailer_form.text_of(work, key, state.system()))
    with st.container(key=f"field-trailer-{key}", gap="xxsmall"):
        st.segmented_control(
            label,
            list(options),
            key=name,
            format_func=options.__getitem__,
            required=True,
            on_change=trailer.typed,
            args=(key, name),
        )
        _remark(key, label)


def pair(*fields: tuple[str, str]) -> None:
    """Draw two fields beside each other, on a phone too."""
    for column, (key, label) in zip(st.columns(2, wrap=False), fields, strict=True):
        with column:
            text(key, label)


def _remark(key: str, label: str) -> None:
    """Say what is wrong, how a number without a unit was read, or that a value is not the owner's own."""
    work, system = trailer.work(), state.system()
    if refusal := trailer_form.fault_of(work, key, system):
        widgets.wrong(label, refusal)
        return
    value = trailer_form.value_of(work, key)
    if isinstance(value, Quantity) and is_bare(str(state.value(key_of(key)) or "")):
        widgets.soft(f"taken as {value.text}")
    if trailer_form.is_typical(work, key):
        widgets.soft("typical, not yet your own")


def _example(key: str) -> str:
    """Return what an empty field shows."""
    name = key.rpartition(".")[2]
    return f"such as {example(trailer_form.KINDS[name])}" if name in trailer_form.KINDS else ""
