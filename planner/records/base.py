"""What all records share: frozen, no unknown keys, and every fault of a file found in one go.

A record may hold rules, which compare one field with another. When a field cannot be read, the rules that do not need
it still run, on a `Partial` of the record: a person hears of all faults at once, and of each one once.
"""

from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from functools import cache
from inspect import getattr_static
from typing import TYPE_CHECKING, Annotated, Any, Final, Self, TypeVar

from pydantic import (
    BaseModel,
    ConfigDict,
    ModelWrapValidatorHandler,
    TypeAdapter,
    ValidationError,
    ValidationInfo,
    model_validator,
)
from pydantic_core import InitErrorDetails, PydanticCustomError

from planner.errors import BadInput, Found
from planner.late import found_late
from planner.records.field_paths import Loc, nested
from planner.units.quantity import Quantity, Refusal

Broken = tuple[Loc, Refusal]  # where, and what
FOR_A_FILE: Final = "for a file"  # the context of a record's dump that is to compare with what a file says
REQUIRED: Final = "is required"
UNREAD: Final = "unread"  # what pydantic calls a record that was not looked at
_UNREAD: Final = PydanticCustomError(UNREAD, "not looked at")
SHAPES: Final = ("~one", "~list", "~row", "~rows")  # tags that tell shapes of one field apart: no part of its place
Rule = TypeVar("Rule", bound=Callable[[Any], Iterator[Broken]])


def rule(method: Rule) -> Rule:
    """Mark a record's method as a rule: it yields where the record does not make sense, and why."""
    method.is_rule = True  # type: ignore[attr-defined]  # a function takes any attribute; the checker does not know
    return method


if TYPE_CHECKING:
    from pydantic._internal._model_construction import ModelMetaclass as RecordType
else:

    class RecordType(type(BaseModel)):
        """The type of records: one that is made in a program is refused as one in a file is, in the same words."""

        def __call__(cls, *given: Any, **fields: Any) -> Any:
            """Return a record; BadInput with all that is wrong with it. Reading files does not come through here."""
            try:
                return super().__call__(*given, **fields)
            except ValidationError as exc:
                from planner.records.problems import problems_of

                raise BadInput(problems_of(exc, cls, cls.__name__)) from exc


class Record(BaseModel, metaclass=RecordType):
    """What a person writes down: cannot be changed, refuses unknown keys, keeps the text of quantities.

    Making one raises `BadInput`; `model_validate` and `replaced` raise pydantic's ValidationError, a ValueError too,
    for forms that look at one field of many.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True, allow_inf_nan=False)

    @model_validator(mode="wrap")
    @classmethod
    def _all_problems(cls, data: Any, handler: ModelWrapValidatorHandler[Self], info: ValidationInfo) -> Self:
        """Read the fields, then hold the rules; report the faults of both together.

        Who passes a `Found` as context hears of as many as are told, and that there is more behind them.
        """
        if isinstance(data, cls):  # which cannot be changed since that was done
            return data
        found = info.context if isinstance(info.context, Found) else Found()
        if found.enough:
            raise _UNREAD
        before = found.count
        try:
            record = handler(data)
        except ValidationError as exc:
            if not isinstance(data, Mapping):
                raise
            faults = [_again(error) for error in exc.errors(include_url=False)]
            found.count = max(found.count, before + len(faults))  # those of records inside are among them
            if found.enough:
                raise ValidationError.from_exception_data(cls.__name__, faults) from None
            bad = {error["loc"][0] for error in faults if error["loc"]}
            partial = Partial.of(cls, data, bad, found)
            found.parts[id(data)] = data, partial
            faults += _faults(cls, partial)
            raise ValidationError.from_exception_data(cls.__name__, faults) from None
        if faults := _faults(cls, record):
            found.count += len(faults)
            found.parts[id(data)] = data, Partial.without(record, {error["loc"][0] for error in faults if error["loc"]})
            raise ValidationError.from_exception_data(cls.__name__, faults)
        found.parts[id(data)] = data, record
        return record

    def replaced(self, **changes: Any) -> Self:
        """Return the record with some fields changed, all rules held again; what was left out stays left out."""
        typed = {name: getattr(self, name) for name in self.model_fields_set}
        return type(self).model_validate(typed | changes)

    def to_toml(self) -> str:
        """Return the text of a file for this record, quantities as they were typed."""
        text: str = found_late("planner.library", "toml_of")(self)
        return text

    def as_file(self) -> dict[str, Any]:
        """Return what belongs in a file: the fields that were given, quantities as typed, tables last as TOML asks."""
        given = {}
        for name, info in type(self).model_fields.items():
            value = getattr(self, name)
            if value is not None and (name in self.model_fields_set or name == "schema_version"):
                given[info.alias or name] = _plain(value)
        return dict(sorted(given.items(), key=lambda item: _is_table(item[1])))


class Partial:
    """The sound fields of a record that has faults. Asking for any other raises `Unsound`."""

    def __init__(self, cls: type[BaseModel], values: Mapping[str, Any]) -> None:
        """Hold the values that could be read; `of` finds them."""
        self._cls = cls
        self._values = values

    @classmethod
    def of(cls, record: type[BaseModel], data: Mapping[Any, Any], bad: set[str | int], found: Found) -> "Partial":
        """Read the fields one by one; of the bad ones, keep what is sound inside nested records."""
        values: dict[str, Any] = {}
        for name, info in record.model_fields.items():
            key = name if name in data else info.alias
            try:
                if key not in data:
                    if not info.is_required():
                        values[name] = info.get_default(call_default_factory=True)
                elif bad.isdisjoint({name, info.alias}):
                    values[name] = _adapter(record, name).validate_python(data[key])
                else:
                    values[name] = _sound_part(info.annotation, data[key], found)
            except (ValidationError, Unsound):
                continue  # its fault is among those the record reported
        return cls(record, values)

    @classmethod
    def without(cls, record: BaseModel, bad: set[str | int]) -> "Partial":
        """Return the fields of a record but those that break a rule."""
        sound = {name for name, info in type(record).model_fields.items() if bad.isdisjoint({name, info.alias})}
        return cls(type(record), {name: getattr(record, name) for name in sound})

    def __getattr__(self, name: str) -> Any:
        """Return a sound field, or a property worked out from sound fields."""
        if name in self._values:
            return self._values[name]
        found = getattr_static(self._cls, name, None)
        if isinstance(found, property) and found.fget is not None:
            return found.fget(self)
        raise Unsound(name)


def fault(loc: Loc, refusal: Refusal) -> InitErrorDetails:
    """Return a refusal in the form in which pydantic reports it with others."""
    return InitErrorDetails(type="value_error", loc=loc, input=refusal.got, ctx={"error": refusal})


def lacking() -> Refusal:
    """Return the refusal of a field that is left out where a record needs it, told of as any other that is missing."""
    return Refusal(REQUIRED, "", "")


def unread(loc: Loc) -> InitErrorDetails:
    """Return that what lies at a place was not looked at: enough is wrong by then."""
    return InitErrorDetails(type=_UNREAD, loc=loc, input=None)


class Unsound(Exception):  # noqa: N818  # no error: it ends a rule that cannot be held yet
    """A field that a rule needs could not be read; its own fault is reported already."""


def _sound_part(annotation: Any, value: Any, found: Found) -> Any:
    """Return the partial of a faulty nested record, or a tuple of them for a list, as they were read."""
    cls, many = nested(annotation)
    if cls is None or many != isinstance(value, list | tuple):
        raise Unsound
    if many:
        return tuple(_sound_part(cls, item, found) for item in value)
    if isinstance(value, cls):
        return value
    if id(value) not in found.parts:  # whoever reads a record without a context has not kept it
        with suppress(ValidationError):
            return cls.model_validate(value, context=Found(parts=found.parts))
    if id(value) not in found.parts:
        raise Unsound
    return found.parts[id(value)][1]


@cache
def _adapter(cls: type[BaseModel], name: str) -> TypeAdapter[Any]:
    """Return the reader of one field."""
    info = cls.model_fields[name]
    kind: Any = info.annotation
    return TypeAdapter(Annotated[(kind, *info.metadata)] if info.metadata else kind)


@cache
def _rules(cls: type[Record]) -> tuple[Callable[[Any], Iterator[Broken]], ...]:
    """Return the rules of a record, in the order they are written."""
    found = {name: one for kind in reversed(cls.__mro__) for name, one in vars(kind).items()}
    return tuple(one for one in found.values() if getattr(one, "is_rule", False))


def _faults(cls: type[Record], record: Record | Partial) -> list[InitErrorDetails]:
    """Hold each rule whose fields are sound; return what they found."""
    faults: list[InitErrorDetails] = []
    for one in _rules(cls):
        try:
            found = list(one(record))
        except Unsound:
            continue
        faults += [fault(loc, refusal) for loc, refusal in found]
    return faults


def _again(error: Any) -> InitErrorDetails:
    """Return a reported fault in the form in which it can be raised again with others."""
    loc = tuple(part for part in error["loc"] if part not in SHAPES or error["type"] == "extra_forbidden")
    if error["type"] == UNREAD:
        return unread(loc)
    return InitErrorDetails(type=error["type"], loc=loc, input=error["input"], ctx=error.get("ctx", {}))


def _is_table(value: Any) -> bool:
    """Return whether TOML writes a value under a heading of its own."""
    return isinstance(value, dict) or (isinstance(value, list) and any(isinstance(one, dict) for one in value))


def _plain(value: Any) -> Any:
    """Return a field's value as a file holds it."""
    if isinstance(value, Record):
        return value.as_file()
    if isinstance(value, Quantity):
        return value.text
    if isinstance(value, Mapping):
        return {key: _plain(inner) for key, inner in value.items()}
    return [_plain(inner) for inner in value] if isinstance(value, tuple) else value
