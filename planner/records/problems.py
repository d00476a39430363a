"""What is wrong with a file, so that a person can mend it: field, value, rule, remedy; all of it at once."""

from collections.abc import Mapping
from typing import Any, Final, TypeVar, get_args, get_origin

from pydantic import ValidationError

from planner.errors import MOST_TOLD, BadInput, Found, Problem
from planner.records.base import REQUIRED, UNREAD, Record
from planner.records.examples import example_at, with_example
from planner.records.field_paths import Loc, dimension_of, dotted, field_at, keys_at, nearest, nested
from planner.records.fields import Bare
from planner.units.dimensions import SI_UNITS
from planner.units.quantity import Quantity, Refusal, in_unit_of, quantity, read, shown

AnyRecord = TypeVar("AnyRecord", bound=Record)

_COMPARED: Final = {
    "greater_than": (">", "gt"),
    "greater_than_equal": (">=", "ge"),
    "less_than": ("<", "lt"),
    "less_than_equal": ("<=", "le"),
}


def read_record(cls: type[AnyRecord], data: object, file: str) -> AnyRecord:
    """Return the record a file holds, given what its TOML parsed to.

    Raises
    ------
    BadInput
        With every problem of the file; past the first MOST_TOLD the last one says how many more there are.

    """
    if not isinstance(data, Mapping):
        raise BadInput([Problem(file, "", shown(data), "must be a table", 'write fields such as name = "..."')])
    problems: list[Problem] = []
    if "schema_version" in cls.model_fields and "schema" not in data:
        problems.append(Problem(file, "schema", "", REQUIRED, "start the file with schema = 1"))
    try:
        record = cls.model_validate(data, context=Found())
    except ValidationError as exc:
        problems += problems_of(exc, cls, file)
    if problems:
        raise BadInput(problems)
    return record


def record_from(cls: type[AnyRecord], given: object, name: str) -> AnyRecord:
    """Return a record that was given as such or as a mapping of its fields, bare numbers in SI units.

    Raises
    ------
    BadInput
        With all that is wrong with it, under the name of the argument.

    Examples
    --------
    >>> from planner.records import Cargo
    >>> record_from(Cargo, {"name": "saw", "weight": 27.0, "x": "4 ft"}, "cargo[0]").weight
    <27 kg>
    """
    if isinstance(given, cls):
        return given
    if not isinstance(given, Mapping):
        kind = f"must be a {cls.__name__}"
        raise BadInput([Problem("", name, shown(given), kind, "give one, or a dict of its fields")])
    fields = dict(given)
    for key, value in fields.items():
        info = cls.model_fields.get(key)
        dimension = None if info is None else dimension_of(info)
        if dimension is not None and isinstance(value, int | float) and not isinstance(value, bool | Quantity):
            fields[key] = quantity(float(value), SI_UNITS[dimension], dimension)
    return read_record(cls, fields, name)


def problems_of(error: ValidationError, cls: type[Record], file: str, *, percent: bool = False) -> tuple[Problem, ...]:
    """Return pydantic's errors about a record as problems, each mended by one change of the file.

    No more than MOST_TOLD, and one that says that there are more.

    percent : whether limits of shares are told as a form shows them, 12 %, not as a file holds them, 0.12
    """
    found: list[Any] = list(error.errors(include_url=False))
    details = [detail for detail in found if detail["type"] != UNREAD]
    unknown = [detail for detail in details if detail["type"] == "extra_forbidden"][:MOST_TOLD]
    meant = {(*detail["loc"][:-1], near) for detail in unknown if (near := _meant(cls, detail["loc"]))}
    details = [
        detail
        for detail in details
        if not (_is_missing(detail) and detail["loc"] in meant)  # the misspelt key is that field
    ]
    told = [_problem(detail, cls, file, percent) for detail in details[:MOST_TOLD]]
    if len(details) > MOST_TOLD:
        told.append(_more(len(details) - MOST_TOLD, any(detail["type"] == UNREAD for detail in found), file))
    return tuple(told)


def _more(count: int, unread: bool, file: str) -> Problem:
    """Return what stands for the problems that are not told."""
    rule = f"has {count:,} more {'problem' if count == 1 else 'problems'}"
    rest = "; the rest was not checked" if unread else ""
    return Problem(file, "", "", rule + rest, "fix those above first, then check again")


def _problem(detail: Mapping[str, Any], cls: type[Record], file: str, percent: bool) -> Problem:
    """Return one of pydantic's errors as a problem."""
    loc, kind, value = detail["loc"], detail["type"], detail["input"]
    field, context = dotted(loc), detail.get("ctx", {})
    refusal = context.get("error")
    if _is_missing(detail):
        return Problem(file, field, "", REQUIRED, f"add {_sample(cls, loc, value)}")
    if isinstance(refusal, Refusal):
        refusal = _with_own_example(refusal, cls, loc, value)
        return Problem(file, field, refusal.got, refusal.rule, refusal.remedy)
    if kind == "extra_forbidden":
        return _unknown_key(cls, loc, file)
    if kind in _COMPARED:
        sign, key = _COMPARED[kind]
        limit = _limit(cls, loc, value, context[key], percent)
        return Problem(file, field, shown(value), f"must be {sign} {limit}", "check the number and its unit")
    if kind == "literal_error":
        expected = context["expected"].replace("'", '"')
        near = nearest(
            value if isinstance(value, str) else "",
            context["expected"].replace("'", "").replace(" or ", ", ").split(", "),
        )
        remedy = f'did you mean "{near}"?' if near else "write one of these"
        return Problem(file, field, shown(value), f"must be {expected}", remedy)
    if kind in {"model_type", "model_attributes_type", "dict_type"}:
        return Problem(file, field, shown(value), "must be a table", f"write it as a table, [{field}], with its fields")
    if kind == "tuple_type":
        return Problem(file, field, shown(value), "must be a list", "put it in square brackets")
    return Problem(file, field, shown(value), detail["msg"], "look at how the demo's files write it")


def _is_missing(detail: Mapping[str, Any]) -> bool:
    """Tell whether a field is left out, by its type or by a rule."""
    refusal = detail.get("ctx", {}).get("error")
    return detail["type"] == "missing" or (isinstance(refusal, Refusal) and refusal.rule == REQUIRED)


def _meant(cls: type[Record], loc: Loc) -> str | None:
    """Return the known key nearest to an unknown one."""
    return nearest(str(loc[-1]), keys_at(cls, loc))


def _unknown_key(cls: type[Record], loc: Loc, file: str) -> Problem:
    """Return the problem of a key that no field has."""
    near = _meant(cls, loc)
    remedy = f"did you mean {near}?" if near else f"keys allowed here: {', '.join(keys_at(cls, loc))}"
    return Problem(file, dotted(loc), "", f"unknown key {shown(str(loc[-1]))}", remedy)


def _limit(cls: type[Record], loc: Loc, value: object, limit: float, percent: bool) -> str:
    """Return a limit in the unit the value was typed in."""
    info = field_at(cls, loc)
    dimension = dimension_of(info) if info else None
    if dimension is None and percent and isinstance(value, float) and not (info and Bare() in info.metadata):
        return f"{100 * limit:g} %"
    if dimension is None or limit == 0:
        return f"{limit:g}"
    return in_unit_of(limit, read(getattr(value, "text", value), dimension))


def _with_own_example(refusal: Refusal, cls: type[Record], loc: Loc, typed: object) -> Refusal:
    """Return a refusal with an example made for its field, where it shows one."""
    info = field_at(cls, loc)
    dimension = dimension_of(info) if info is not None else None
    own = example_at(cls, loc, typed) if dimension is not None else None
    return refusal if dimension is None or own is None else with_example(refusal, dimension, own)


def _sample(cls: type[Record], loc: Loc, beside: object) -> str:
    """Return a missing field written out with a right example, fit for the table it is missing from."""
    info = field_at(cls, loc)
    name = dotted(loc[-1:])
    assert info is not None  # only fields can be missing
    if nested(info.annotation)[0]:
        return f"the table [{dotted(loc)}] with its fields"
    value = example_at(cls, loc, beside)
    if value is None:
        return f'{name} = "..."'
    text = value if dimension_of(info) is None else f'"{value}"'
    return f"{name} = [{text}, ...]" if _is_list(info.annotation) else f"{name} = {text}"


def _is_list(annotation: Any) -> bool:
    """Tell whether a field takes a list, be it one that may be left out."""
    return get_origin(annotation) is tuple or any(get_origin(one) is tuple for one in get_args(annotation))
