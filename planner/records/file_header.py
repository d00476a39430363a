"""What truck and trailer files start with: schema, name, and how sure their owner is of the fields."""

import re
from collections.abc import Collection, Iterator, Mapping
from itertools import islice
from typing import Annotated, Any, Final, Literal

from pydantic import BeforeValidator, Field, PlainSerializer, ValidationError, field_validator
from pydantic_core import InitErrorDetails

from planner.errors import MOST_TOLD
from planner.records.base import Broken, Record, fault, rule, unread
from planner.records.field_paths import dimension_of, nearest, paths
from planner.records.fields import Day, Name, Ratio, bare_number
from planner.units.quantity import Quantity, Reads, Refusal, shown

NEWER: Final = "made by a newer planner; update this one, the file was not touched"
HEADER: Final = ("schema", "name", "typical", "spread", "correlation", "weighings")  # neither typical nor less sure
LEAST_PIVOT: Final = 1e-6  # [-] of a variance that is left where all fields before it are known
MOST_CORRELATED: Final = 50  # fields; readings teach a dozen at once
DEEPEST_PATH: Final = 8  # tables in tables; no field lies deeper than five


def _schema(value: object) -> object:
    """Take 1 for a version, but neither true nor 1.0, which Python calls equal to it."""
    if type(value) is int and value > 1:
        raise Refusal("must be 1", shown(value), NEWER)
    if type(value) is not int or value != 1:
        raise Refusal("must be 1", shown(value), "write schema = 1; this planner knows no other")
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


class Correlation(Record):
    """How far the spreads of fields that were learnt together go together."""

    fields: Annotated[tuple[Name, ...], Field(max_length=MOST_CORRELATED)]  # paths of fields with a spread
    matrix: Annotated[tuple[tuple[Ratio, ...], ...], Field(max_length=MOST_CORRELATED)]  # of correlations, -1 to 1

    @rule
    def _fields_are_named_once(self) -> Iterator[Broken]:
        """Require a row for each field."""
        for i, name in enumerate(self.fields):
            if name in self.fields[:i]:
                yield ("fields", i), Refusal("must be listed once", f'"{name}"', "take one of them out")

    @rule
    def _matrix_is_square(self) -> Iterator[Broken]:
        """Require as many rows, and numbers in each, as there are fields."""
        count = len(self.fields)
        sizes = [len(self.matrix), *map(len, self.matrix)]
        if wrong := [size for size in sizes if size != count]:
            why = f"must have {count} rows of {count} numbers, one for each of its {count} fields"
            yield ("matrix",), Refusal(why, f"{wrong[0]}", "add the missing numbers, or take the table out")

    @rule
    def _matrix_is_of_correlations(self) -> Iterator[Broken]:
        """Require ones on the diagonal, the same on both sides of it, and numbers that can all hold together."""
        count, matrix = len(self.fields), self.matrix
        if [len(row) for row in matrix] != [count] * count:
            return  # told of already
        for i, row in enumerate(matrix):
            for j, value in enumerate(row[: i + 1]):
                if (i == j and value != 1.0) or value != matrix[j][i]:
                    rule = "must be 1" if i == j else f"must be the same as in row {j + 1} ({matrix[j][i]:g})"
                    yield (
                        ("matrix", i, j),
                        Refusal(rule, f"{value:g}", "a correlation is the same both ways; correct one of the two"),
                    )
                    return
        row_at = _not_positive(matrix)
        if row_at is not None:
            why = "must agree with the rows above it (positive definite)"
            remedy = "take the table out, or weigh again: planner calibrate"
            yield ("matrix", row_at), Refusal(why, ", ".join(f"{one:g}" for one in matrix[row_at]), remedy)


def _not_positive(matrix: tuple[tuple[float, ...], ...]) -> int | None:
    """Return the first row with which a symmetric matrix is not positive definite; None if it is (Cholesky)."""
    lower: list[list[float]] = []
    for i, row in enumerate(matrix):
        new: list[float] = []
        for j in range(i + 1):
            over = new if i == j else lower[j]
            left = row[j] - sum(one * other for one, other in zip(new, over, strict=False))
            if i == j and not left > LEAST_PIVOT:
                return i
            new.append(left**0.5 if i == j else left / lower[j][j])
        lower.append(new)
    return None


class Described(Filed):
    """A truck or a trailer: its file also tells which fields are not the owner's own, and how sure the others are."""

    typical: tuple[str, ...] = ()  # paths of fields that still hold typical values
    spread: dict[str, Spread] = Field(default_factory=dict)  # path: one standard deviation
    correlation: Correlation | None = None  # of spreads that were learnt together; left out: each by itself
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

    def correlation_without(self, paths: Collection[str]) -> Correlation | None:
        """Return the correlation of the fields whose spread is not of another source by now; None of fewer than two."""
        if self.correlation is None:
            return None
        kept = [i for i, path in enumerate(self.correlation.fields) if path not in paths]
        if len(kept) < 2:
            return None
        rows = tuple(tuple(self.correlation.matrix[i][j] for j in kept) for i in kept)
        return Correlation(fields=tuple(self.correlation.fields[i] for i in kept), matrix=rows)

    @rule
    def _correlated_fields_have_a_spread(self) -> Iterator[Broken]:
        """Require a spread of each field whose spread goes together with others."""
        for i, path in enumerate(self.correlation.fields if self.correlation else ()):
            if path not in self.spread:
                near = nearest(path, self.spread)
                remedy = f"did you mean {near}?" if near else "give its [spread] too, or take it out"
                yield ("correlation", "fields", i), Refusal("must name a field of [spread]", f'"{path}"', remedy)


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
    if field in paths(cls) and field.partition(".")[0] not in HEADER:
        return None
    near = nearest(path, [one for one in paths(cls) if one.partition(".")[0] not in HEADER])
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
