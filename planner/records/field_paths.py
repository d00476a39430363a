"""Places in a record by name: `front.bag.height[2]`, what is there, and what a misspelt name may have meant."""

import difflib
import re
from collections.abc import Iterable, Iterator
from functools import cache
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from planner.units.quantity import Dimension, Reads, shown

Loc = tuple[str | int, ...]
Model = type[BaseModel]


def nested(annotation: Any) -> tuple[Model | None, bool]:
    """Return the record class inside a field's type, if any, and whether the field is a list of them."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation, False
    origin = get_origin(annotation)
    if origin in (Union, UnionType, tuple, Annotated):
        found = (nested(inner)[0] for inner in get_args(annotation))
        return next((inner for inner in found if inner is not None), None), origin is tuple
    return None, False


def dimension_of(info: FieldInfo) -> Dimension | None:
    """Return the dimension a field reads, looking inside lists and optional fields; None if it reads no quantity."""
    pending: list[Any] = [*info.metadata, info.annotation]
    while pending:
        one = pending.pop()
        if isinstance(one, Reads):
            return one.dimension
        pending += [*getattr(one, "__metadata__", ()), *getattr(one, "__args__", ())]
        pending += [one.__origin__] if hasattr(one, "__origin__") else []
    return None


def dotted(loc: Loc) -> str:
    """Return a place as people write it: front.bag.height[2]; a key that is not plain is in quotes."""
    path = ""
    for part in loc:
        if isinstance(part, int):
            path += f"[{part}]"
        else:
            path += ("." if path else "") + (part if re.fullmatch(r"[A-Za-z0-9_-]{1,40}", part) else shown(part))
    return path


def fields(cls: Model) -> Iterator[tuple[str, FieldInfo]]:
    """Yield a record's fields with the keys a file has for them."""
    for name, info in cls.model_fields.items():
        yield info.alias or name, info


def field_at(cls: Model, loc: Loc) -> FieldInfo | None:
    """Return the field at a place, seen from a record class; None where there is none."""
    level: Model | None = cls
    info = None
    for part in loc:
        if isinstance(part, str):
            info = next((one for key, one in fields(level) if key == part), None) if level else None
            level = nested(info.annotation)[0] if info else None
    return info


def keys_at(cls: Model, loc: Loc) -> list[str]:
    """Return the keys known at the level of a place."""
    level: Model | None = cls
    if loc[:-1]:
        parent = field_at(cls, loc[:-1])
        level = nested(parent.annotation)[0] if parent else None
    return [key for key, _ in fields(level)] if level else []


@cache
def paths(cls: Model) -> dict[str, FieldInfo]:
    """Return every field of a record and of the records in it, by dotted path without list positions."""
    found: dict[str, FieldInfo] = {}
    for key, info in fields(cls):
        found[key] = info
        inner = nested(info.annotation)[0]
        found |= {f"{key}.{below}": one for below, one in (paths(inner) if inner else {}).items()}
    return found


def nearest(word: str, options: Iterable[str]) -> str | None:
    """Return the option spelt most like a word, or None when none is close."""
    by_fold = {_fold(option): option for option in options}
    close = difflib.get_close_matches(_fold(word[:80]), by_fold, n=1)
    return by_fold[close[0]] if close else None


def _fold(word: str) -> str:
    """Return a word without the differences people do not see."""
    return word.casefold().replace("-", "_").replace(" ", "_")
