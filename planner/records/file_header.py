"""What truck and trailer files start with: schema, name, and how sure their owner is of the fields."""

import re
from collections.abc import Iterator, Mapping
from itertools import islice
from typing import Annotated, Any, Final, Literal

from pydantic import BeforeValidator, Field, PlainSerializer, ValidationError, field_validator
from pydantic_core import InitErrorDetails

from planner.errors import MOST_TOLD
from planner.records.base import Record, fault, unread
from planner.records.field_paths import dimension_of, nearest, paths
from planner.records.fields import Day, Name, bare_number
from planner.units.quantity import Quantity, Reads, Refusal, shown

NEWER: Final = "made by a newer planner; update this one, the file is untouched"
HEADER: Final = ("schema", "name", "typical", "spread", "weighings")  # neither typical nor more or less sure
DEEPEST_PATH: Final = 8  # tables in tables; no field lies deeper than five


def _schema(value: object) -> object:
    """Take 1 for a version, but neither true nor 1.0, which Python calls equal to it."""
    if type(value) is int and value > 1:
        raise Refusal("must be 1", shown(value), NEWER)
    if type(value) is not int or value != 1:
        raise Refusal("must be 1", shown(value), "write schema = 1; no other version is known here")
    return value


def _spread_text(value: Quantity | float) -> str | float:
    """Return a spread as a file holds it."""
    return value.text if isinstance(value, Quantity) else value


SchemaVersion = Annotated[Literal[1], BeforeValidator(_schema)]
Spread = Annotated[Any, PlainSerializer(_spread_text, when_used="json")]  # a Quantity, or a bare number for a ratio


class Filed(Record):
    """A record with a file of its own."""

    schema_version: SchemaVersion = Field(default=1, alias="schema")
    name: Name

    def __hash__(self) -> int:
        """Hash by name: equal records have equal names."""
        return hash((type(self).__name__, self.name))


class Weighing(Record):
    """A weigh-in that some fields come from: when, from which slip, and what they said before."""

    on: Day
    source: Name
    fields: tuple[Name, ...]  # paths
    former: tuple[Name, ...] = ()  # what stood there, as texts, in the same order


class Described(Filed):
    """A truck or a trailer: its file also tells which fields are not the owner's own, and how sure the others are."""

    typical: tuple[str, ...] = ()  # paths of fields that still hold typical values
    spread: dict[str, Spread] = Field(default_factory=dict)  # path: one standard deviation
    weighings: tuple[Weighing, ...] = ()  # newest last

    @field_validator("typical", mode="before")
    @classmethod
    def _typical_fields_exist(cls, value: Any) -> Any:
        """Each path is a field's."""
        if not isinstance(value, list | tuple):
            return value
        faults = _enough(fault((i,), bad) for i, path in enumerate(value) if (bad := _no_field(cls, path)))
        if faults:
            raise ValidationError.from_exception_data(cls.__name__, faults)
        return tuple(value)

    @field_validator("spread", mode="before")
    @classmethod
    def _spreads_fit_their_fields(cls, value: Any) -> Any:
        """Each path is a field's, each spread is of its field's kind and not negative."""
        if not isinstance(value, Mapping):
            return value
        spreads: dict[str, Quantity | float] = {}
        faults = _enough(_wrong_spreads(cls, _flat(value), spreads))
        if faults:
            raise ValidationError.from_exception_data(cls.__name__, faults)
        return spreads


def _enough(faults: Iterator[InitErrorDetails]) -> list[InitErrorDetails]:
    """Return faults, no more of them than are told and one: each of them looks for what may have been meant."""
    some = list(islice(faults, MOST_TOLD + 1))
    return [*some, unread(())] if len(some) > MOST_TOLD else some


def _wrong_spreads(
    cls: type[Record], table: Mapping[str, Any], spreads: dict[str, Quantity | float]
) -> Iterator[InitErrorDetails]:
    """Put the spreads that can be read where they go; yield the faults of the others."""
    for path, typed in table.items():
        try:
            spreads[path] = _spread(cls, path, typed)
        except Refusal as refusal:
            yield fault((path,), refusal)


def _without_positions(path: str) -> str:
    """Return a path without the positions in lists: hitches[0].x is the field hitches.x."""
    return re.sub(r"\[\d{1,4}\]", "", path)


def _no_field(cls: type[Record], path: object) -> Refusal | None:
    """Return what is wrong with a path, if anything."""
    if not isinstance(path, str):
        return Refusal("must name a field", shown(path), 'write its path, such as "front.tyres.rate"')
    field = _without_positions(path)
    if field in paths(cls) and field not in HEADER:
        return None
    near = nearest(path, [one for one in paths(cls) if one not in HEADER])
    return Refusal("must name a field", shown(path), f"did you mean {near}?" if near else "write it as front.track")


def _spread(cls: type[Record], path: str, typed: object) -> Quantity | float:
    """Read the spread of one field; Refusal if it is of another kind or negative."""
    if refusal := _no_field(cls, path):
        raise refusal
    info = paths(cls)[_without_positions(path)]
    dimension = dimension_of(info)
    if dimension is None and not _is_ratio(info.annotation):
        raise Refusal("only quantities and ratios have a spread", shown(path), "take it out")
    spread = bare_number(typed) if dimension is None else Reads(dimension).read(typed)
    if spread < 0:
        raise Refusal("must be >= 0", shown(typed), "give one standard deviation")
    return spread


def _is_ratio(annotation: Any) -> bool:
    """Tell whether a type is that of a ratio, be it one that may be left out."""
    return annotation is float or any(map(_is_ratio, getattr(annotation, "__args__", ())))


def _flat(table: Mapping[Any, Any], depth: int = 0) -> dict[str, Any]:
    """Return a table with nested keys written out: TOML reads front.tyres.rate without quotes as tables in tables."""
    flat: dict[str, Any] = {}
    for key, inner in table.items():
        if isinstance(inner, Mapping) and depth < DEEPEST_PATH:
            flat |= {f"{key}.{below}": leaf for below, leaf in _flat(inner, depth + 1).items()}
        else:
            flat[str(key)] = inner
    return flat
