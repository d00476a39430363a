"""From a record to the text of its file: what was not changed stays as its owner wrote it, comments and order too."""

import tomllib
from collections.abc import Mapping, Sequence
from typing import Any

from planner.records import Record
from planner.records.base import FOR_A_FILE
from planner.store.toml_edit import Outline, Path

Table = dict[str, Any]


def new_text(record: Record) -> str:
    """Return a new file for a record: its fields in their stable order, quantities as typed."""
    return amend_table("", _merged({}, record.as_file(), {}, all_keys(record)))


def changed_text(text: str, old: Record, new: Record) -> str:
    """Return a file's text, which holds the record `old`, changed to hold `new`.

    A value that is the same in both is not touched, whether the file says it or leaves it to its default.
    """
    return amend_table(text, _merged(tomllib.loads(text), new.as_file(), all_keys(old), all_keys(new)))


def amend_table(text: str, wanted: Table) -> str:
    """Return a TOML text changed to hold a table: only the statements of what differs are touched."""
    outline = Outline(text)
    _amend_table(outline, (), tomllib.loads(text), wanted)
    return outline.text()


def all_keys(record: Record) -> Table:
    """Return all fields of a record, defaults too, as texts and numbers that compare as they were typed."""
    return record.model_dump(mode="json", by_alias=True, context=FOR_A_FILE)


def match_tables(old: Sequence[Any], new: Sequence[Any]) -> list[int | None]:
    """Return, for each table of a new array, the place of the old one that it continues, or None.

    Tables belong together by their name, who is aboard by the place, readings by their time; what is left, in pairs by
    its place if nothing was added or taken away, so that a table that was only renamed keeps its comments.
    """
    free = dict(enumerate(old))
    order: list[int | None] = []
    for table in new:
        mate = next((place for place, other in free.items() if _mark(other) == _mark(table)), None)
        if mate is not None:
            del free[mate]
        order.append(mate)
    if len(old) == len(new):
        order = [place if mate is None and place in free else mate for place, mate in enumerate(order)]
    return order


def _mark(table: Any) -> Any:
    """Return what tells one table of an array from the others."""
    return table.get("name", table.get("place", table.get("at")))


def _merged(have: Table, given: Table, was: Table, now: Table) -> Table:
    """Return what a file is to hold: what it has where nothing changed, what the new record gives elsewhere."""
    if not have.keys() <= was.keys():  # the file says it in another form than the record
        return given
    merged: Table = {}
    for key, value in now.items():
        if key in was and was[key] == value:
            if key in have:
                merged[key] = have[key]
        elif key in given and given[key] != []:  # an empty list says nothing, and would be in the way of its tables
            merged[key] = _merged_value(have.get(key), given[key], was.get(key), value)
    return merged


def _merged_value(have: Any, given: Any, was: Any, now: Any) -> Any:
    """Return one changed value: merged key by key, or table by table, where it can be."""
    if all(isinstance(value, dict) for value in (have, given, was, now)):
        return _merged(have, given, was, now)
    if not (_are_tables(have) and _are_tables(given)):
        return given
    return [
        given[place] if mate is None else _merged(have[mate], given[place], was[mate], now[place])
        for place, mate in enumerate(match_tables(have, given))
    ]


def _are_tables(value: Any) -> bool:
    """Tell whether a value is an array of tables."""
    return isinstance(value, list) and bool(value) and all(isinstance(item, dict) for item in value)


def _amend_table(outline: Outline, path: Path, have: Mapping[str, Any], wanted: Mapping[str, Any]) -> None:
    """Change, put in and take out the keys of one table."""
    elder: list[Path] = []
    for key, value in wanted.items():
        here = (*path, key)
        if key not in have:
            outline.add(here, value, elder)
        elif have[key] != value:
            _amend_value(outline, here, have[key], value, elder)
        elder.append(here)
    for key in have.keys() - wanted.keys():  # last: what is put in finds its place beside them
        outline.remove((*path, key))


def _amend_value(outline: Outline, path: Path, old: Any, new: Any, elder: Sequence[Path]) -> None:
    """Change one value where it is written, whole or in parts."""
    statement = outline.setter(path)
    if statement is not None and not (old == [] and _are_tables(new)):
        outline.change(statement, new)
    elif isinstance(old, Mapping) and isinstance(new, Mapping) and new:
        _amend_table(outline, path, old, new)
    elif _are_tables(old) and _are_tables(new):
        order = match_tables(old, new)
        for place, mate in enumerate(order):
            if mate is not None:
                _amend_table(outline, (*path, mate), old[mate], new[place])
        if order != list(range(len(old))):
            outline.arrange(path, order, new)
    else:
        outline.remove(path)
        outline.add(path, new, elder)
