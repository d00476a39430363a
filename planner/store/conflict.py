"""A save that came second: its copy is stale, the file has moved on. What changed is told, and both are at hand."""

from collections.abc import Iterator
from typing import Any, Final, Literal

from planner.errors import Change, ConflictError
from planner.records.file_header import Filed
from planner.store import toml_layout
from planner.store.os_errors import shown_name

MOST_TOLD: Final = 3  # changes in a message; the error has them all


Expected = Filed | None | Literal["any"]
"""What a writer believes the file to hold: a record, no file yet (None), or whatever it is."""


def refuse_overtaken(file: str, expected: Expected, theirs: Filed | None) -> None:
    """Refuse a write whose writer expected something else than the file holds, to the letter of each quantity.

    Raises
    ------
    ConflictError
        If that is so.
    """
    if expected == "any" or (expected is None and theirs is None):
        return
    if expected is None or theirs is None or toml_layout.all_keys(expected) != toml_layout.all_keys(theirs):
        raise conflict_error(file, expected, theirs)


def conflict_error(file: str, expected: Filed | None, theirs: Filed | None) -> ConflictError:
    """Return the error of a writer who expected something else than the file holds now, None for no file."""
    if theirs is None:
        rule, remedy = "was deleted or renamed somewhere else since you opened it", "save it under a new name"
        return ConflictError(file, rule, remedy, None)
    changes = changes_between(expected, theirs) if expected is not None else ()
    done = "changed" if expected is not None else "made"
    rule = f"was {done} somewhere else since you opened it{_in_words(changes)}"
    return ConflictError(file, rule, "take the new one, or keep yours and save again", theirs, changes)


def changes_between(old: Filed, new: Filed) -> tuple[Change, ...]:
    """Return the fields in which two records differ, as typed, in the order of the fields."""
    was, now = dict(_leaves(toml_layout.all_keys(old))), dict(_leaves(toml_layout.all_keys(new)))
    return tuple(
        Change(field, was.get(field, ""), now.get(field, ""))
        for field in {**was, **now}
        if was.get(field, "") != now.get(field, "")
    )


def _leaves(value: Any, path: str = "") -> Iterator[tuple[str, str]]:
    """Return each value inside a table with its path, as text."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _leaves(inner, f"{path}.{key}" if path else key)
    elif isinstance(value, list):
        for place, inner in enumerate(value):
            yield from _leaves(inner, f"{path}[{place}]")
    elif value is not None:
        yield path, str(value)


def _in_words(found: tuple[Change, ...]) -> str:
    """Return changes in words, in brackets after a blank; empty where there are none."""
    if not found:
        return ""
    some = [f"{one.field} {_said(one.was)} is now {_said(one.now)}" for one in found[:MOST_TOLD]]
    more = [f"{len(found) - MOST_TOLD} more"] if len(found) > MOST_TOLD else []
    return f" ({'; '.join(some + more)})"


def conflict_words(called: str, expected: Filed | None, theirs: Filed | None) -> str:
    """Return what became of a file elsewhere while it was changed here, as a sentence; `called` as "profile"."""
    said = "was saved in another tab or on another device" if theirs else "was deleted or renamed somewhere else"
    what = _in_words(changes_between(expected, theirs)) if expected is not None and theirs is not None else ""
    return f"This {called} {said} after you began to change it{what}."


def _said(text: str) -> str:
    """Return a value as a message shows it."""
    return shown_name(text) if text else "nothing"
