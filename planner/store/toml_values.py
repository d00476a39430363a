"""TOML values as text: written anew, or changed inside a line that somebody wrote by hand.

This is the only module that loads tomlkit, and it does so when something is written: reading needs none of it.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

_BARE_KEY: Final = re.compile(r"[A-Za-z0-9_-]+", re.ASCII)


def key_text(name: str) -> str:
    """Return a key as TOML writes it, in quotes only where it needs them."""
    return name if _BARE_KEY.fullmatch(name) else _scalar_text(name)


def value_text(value: Any) -> str:
    """Return a value as TOML writes it on one line."""
    if isinstance(value, Mapping):
        inside = ", ".join(f"{key_text(key)} = {value_text(item)}" for key, item in value.items())
        return f"{{ {inside} }}" if inside else "{}"
    if isinstance(value, list):
        return f"[{', '.join(value_text(item) for item in value)}]"
    return _scalar_text(value)


def with_value(statement: str, names: Sequence[str], value: Any) -> str:
    """Return a statement `a.b = old  # why` that sets another value, its key, comment and spacing left alone.

    Inside an array or an inline table only the items that differ are touched.
    """
    import tomlkit

    document = tomlkit.parse(statement)
    holder: Any = document
    for name in names[:-1]:
        holder = holder[name]
    _put(holder, names[-1], value)
    return tomlkit.dumps(document)


def _put(holder: Any, place: str | int, value: Any) -> None:
    """Set one item of a table or an array, going inside it where old and new have the same shape."""
    old = holder[place]
    if isinstance(old, Mapping) and isinstance(value, Mapping) and old.keys() == value.keys():
        _put_each(old, value.items())
    elif isinstance(old, list) and isinstance(value, list):
        del old[len(value) :]
        _put_each(old, enumerate(value[: len(old)]))
        for item in value[len(old) :]:
            old.append(_item(item))
    else:
        holder[place] = _item(value)


def _put_each(holder: Any, items: Iterable[tuple[Any, Any]]) -> None:
    """Set the items that differ."""
    for place, value in items:
        if holder[place] != value:
            _put(holder, place, value)


def _item(value: Any) -> Any:
    """Return a value as tomlkit holds it, written the way this module writes values."""
    import tomlkit

    return tomlkit.value(value_text(value))


def _scalar_text(value: Any) -> str:
    """Return a text, number or date as TOML writes it."""
    import tomlkit

    text: str = tomlkit.item(value).as_string()
    return text
