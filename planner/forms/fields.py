"""The fields of any record, found from the record itself: what they read, label, step; and how a key changes it."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from typing import Any, Final, Literal, NamedTuple, TypeVar, get_args, get_origin

from planner.forms.parse import read_number, read_quantity, read_share, share_text, value_text
from planner.records import Record
from planner.records.examples import example_of
from planner.records.field_paths import dimension_of, dotted, nested
from planner.records.fields import Bare, InsteadOf, Needed, Step
from planner.units.quantity import Dimension, Quantity, Refusal, System, entry_unit, example, shown

Value = Quantity | float | str | None
FieldKind = Literal["quantity", "share", "number", "count", "text", "choice"]
LONGEST_PLACE: Final = 6  # digits
_KINDS: Final[dict[type, FieldKind]] = {int: "count", float: "share", str: "text"}

Mark = TypeVar("Mark")
R = TypeVar("R", bound=Record)


@dataclass(frozen=True)
class Field:
    """A field as a form asks for it.

    Attributes
    ----------
    kind : what is typed; a float is a share, unless it is marked as bare
    dimension : of a quantity
    optional : whether nothing typed is a value
    required : whether a record, or a form, has to have it
    label : its own name on a screen
    help : what it means
    step : by how much buttons move it
    instead_of : fields of its record that it takes the place of
    examples : right ones of this field, in US units and in metric ones
    """

    kind: FieldKind
    dimension: Dimension | None = None
    optional: bool = False
    required: bool = True
    label: str = ""
    help: str = ""
    step: Step | None = None
    instead_of: tuple[str, ...] = ()
    examples: tuple[str | None, str | None] | None = None

    def read(self, text: str, system: System) -> Value:
        """Return what a text says in this field; Refusal if it cannot be read."""
        if self.optional and not text.strip():
            return None
        if self.dimension is not None:
            return read_quantity(text, self.dimension, system)
        if self.kind == "share":
            return read_share(text)
        if self.kind == "number":
            return read_number(text)
        if self.kind == "count":
            if not re.fullmatch(r"\d{1,3}", text.strip(), re.ASCII):
                raise Refusal("must be a whole number", shown(text), "write one such as 2")
            return int(text)
        return text

    def write(self, value: Value, system: System) -> str:
        """Return what the field shows of a value."""
        return f"{value:.6g}" if self.kind == "number" and isinstance(value, float) else value_text(value, system)

    def as_shown(self, text: str, refusal: Refusal) -> Refusal:
        """Return what is wrong with a share that reads, with the share as its field shows it: -5 %, not -0.05."""
        if self.kind == "share" or (self.kind == "text" and "%" in text):
            with suppress(Refusal):
                return Refusal(refusal.rule, share_text(read_share(text)), refusal.remedy)
        return refusal

    def unit(self, system: System) -> str:
        """Return the unit in which its steps are."""
        return entry_unit(self.dimension, system) if self.dimension is not None else "%"

    def hint(self, system: System) -> str:
        """Return what the field shows while it is empty."""
        own = self.examples[0 if system == "us" else 1] if self.examples else None
        return "" if self.dimension is None else f"such as {own or example(self.dimension)}"


class FreeText(NamedTuple):
    """How a text is asked for and read that is kept as typed and is no field of a record.

    field : returns how a key is asked for
    read : returns what a text says, whose `text` is how it is kept; Refusal if it makes no sense
    """

    field: Callable[[str], Field]
    read: Callable[[str, str, System], object]


class Place(NamedTuple):
    """Where a key leads: a record, None where it is not there yet, its class, and the name of a field in it."""

    cls: type[Record]
    record: Record | None
    name: str

    @property
    def value(self) -> Value:
        """What stands there."""
        value: Value = None if self.record is None else getattr(self.record, self.name)
        return value

    @property
    def field(self) -> Field:
        """The field."""
        return find_field(self.cls, self.name)


def find_place(record: Record, key: str) -> Place:
    """Return where a key such as "gvwr", "cargo.2.x" or "front.bag.fitted_height" leads; ValueError if nowhere."""
    cls = type(record)
    here: Any = record
    parts = key.split(".")
    while len(parts) > 1:
        name = parts.pop(0)
        inner, many = nested(cls.model_fields[name].annotation) if name in cls.model_fields else (None, False)
        if inner is None or not issubclass(inner, Record):
            raise ValueError(f"{key} is no field of a {type(record).__name__}")
        here = None if here is None else getattr(here, name)
        if many:
            row, things = parts.pop(0), here or ()
            if not is_place(row, things) or not parts:
                raise ValueError(f"{key} is none of its {name}")
            here = things[int(row)]
        cls = inner
    find_field(cls, parts[0])
    return Place(cls, here, parts[0])


def label_at(record: Record | None, path: str, asked: str) -> str:
    """Return what a field is called, with a colon, by its path; nothing for the one asked for or one of no form."""
    if record is None or asked.endswith(path):
        return ""
    try:
        return f"{find_place(record, path.replace('[', '.').replace(']', '')).field.label}: "
    except (ValueError, KeyError):
        return ""


def is_place(text: str, things: Sequence[object]) -> bool:
    """Tell whether a text is the place of one of some things, written as a number is."""
    return len(text) < LONGEST_PLACE and text.isascii() and text.isdigit() and int(text) < len(things)


@cache
def find_field(cls: type[Record], name: str) -> Field:
    """Return a field of a record; ValueError if there is none, or it is no single value that can be typed."""
    if name not in cls.model_fields:
        raise ValueError(f"{name} is no field of a {cls.__name__}")
    info = cls.model_fields[name]
    annotation: Any = info.annotation
    kind = _kind_of(annotation, dimension_of(info))
    if kind is None:
        raise ValueError(f"{name} of a {cls.__name__} is not typed as one value")
    marks = [*info.metadata, *_marks_in(annotation)]
    if kind == "share" and _find_mark(marks, Bare) is not None:
        kind = "number"
    needed = _find_mark(marks, Needed) is not None
    instead = _find_mark(marks, InsteadOf)
    return Field(
        kind,
        dimension_of(info),
        optional=type(None) in get_args(annotation) and not needed,
        required=info.is_required() or needed,
        label=info.title or "",
        help=info.description or "",
        step=_find_mark(marks, Step),
        instead_of=() if instead is None else instead.fields,
        examples=(example_of(cls, name), example_of(cls, name, "metric")),
    )


@cache
def row_fields(cls: type[Record]) -> dict[str, Field]:
    """Return the fields of a thing in a list that can be typed, by name in their order."""
    return {
        name: find_field(cls, name)
        for name, info in cls.model_fields.items()
        if _kind_of(info.annotation, dimension_of(info)) is not None
    }


@cache
def models_in(cls: type[Record]) -> dict[str, type[Record]]:
    """Return a record's class and those of all records in it, by name."""
    found = {cls.__name__: cls}
    for info in cls.model_fields.values():
        inner, _ = nested(info.annotation)
        if inner is not None and issubclass(inner, Record):
            found |= models_in(inner)
    return found


def change_record(record: R, values: Mapping[str, Value]) -> R:
    """Return a record with some fields changed together; ValidationError if they cannot stand."""
    if not values:
        return record
    tree: dict[str, Any] = {}
    for key, value in values.items():
        *above, name = key.split(".")
        inner = tree
        for part in above:
            inner = inner.setdefault(part, {})
        inner[name] = value
    typical: tuple[str, ...] = getattr(record, "typical", ())
    own = {path_of(key) for key in values}
    if own & set(typical):
        tree["typical"] = tuple(path for path in typical if path not in own)
    changed: R = change_inside(type(record), record, tree)
    return changed


def change_inside(cls: type[Record], record: Record | None, tree: Mapping[str, Any]) -> Any:
    """Return a record with values changed in it and in the records inside; one that was not there is made of them."""
    given: dict[str, Any] = {}
    for name, new in tree.items():
        inner, many = nested(cls.model_fields[name].annotation) if isinstance(new, dict) else (None, False)
        if inner is None or not issubclass(inner, Record):
            given[name] = new
            continue
        old = None if record is None else getattr(record, name)
        if many:
            items = list(old or ())
            for place, changes in new.items():
                items[int(place)] = change_inside(inner, items[int(place)], changes)
            given[name] = tuple(items)
        else:
            given[name] = change_inside(inner, old, new)
    return cls.model_validate(given) if record is None else record.replaced(**given)


def path_of(key: str) -> str:
    """Return a field's path as a file's list of typical fields has it."""
    return dotted(tuple(int(part) if part.isdigit() else part for part in key.split(".")))


def path_without(path: str, rows: str, place: int) -> str:
    """Return a path once one thing of a list is gone; empty if it was in that thing."""
    found = re.fullmatch(rf"{re.escape(rows)}\[(\d+)\](.*)", path)
    if found is None or int(found[1]) < place:
        return path
    return "" if int(found[1]) == place else f"{rows}[{int(found[1]) - 1}]{found[2]}"


def _kind_of(annotation: Any, dimension: Dimension | None) -> FieldKind | None:
    """Return what is typed into a field of a type; None for a list, a table or a record."""
    if get_origin(annotation) in (tuple, dict) or nested(annotation)[0] is not None:
        return None
    if dimension is not None:
        return "quantity"
    if get_origin(annotation) is Literal:
        return "choice" if all(isinstance(one, str) for one in get_args(annotation)) else None
    if isinstance(annotation, type):
        return _KINDS.get(annotation)
    inside = (_kind_of(inner, None) for inner in get_args(annotation))
    return next((kind for kind in inside if kind is not None), None)


def _marks_in(annotation: Any) -> list[Any]:
    """Return what is written beside the types that a type is made of."""
    own = list(getattr(annotation, "__metadata__", ()))
    return own + [mark for inner in get_args(annotation) for mark in _marks_in(inner)]


def _find_mark(marks: Sequence[object], kind: type[Mark]) -> Mark | None:
    """Return the first mark of a kind."""
    return next((mark for mark in marks if isinstance(mark, kind)), None)
