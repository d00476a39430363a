"""What keeps a record from being saved: fields whose text is no value, by their names."""

from __future__ import annotations

from typing import Any, Final

from planner.forms.draft import Draft, bad_fields, field_of
from planner.records import BadInput, Problem
from planner.units.quantity import System

NO_VALUE: Final = "cannot be used as typed"


def where_of(draft: Draft[Any], key: str) -> str:
    """Return the label of a field; of one in a list, what it is of before it."""
    head, _, rest = key.partition(".")
    place, _, name = rest.partition(".")
    things = getattr(draft.record, head, None)
    if name and place.isdigit() and isinstance(things, tuple) and int(place) < len(things):
        return f"{things[int(place)].name}, {field_of(draft, key).label.lower()}"
    return field_of(draft, key).label or key.replace("_", " ").replace(".", ", ")


def check_savable(draft: Draft[Any], system: System) -> None:
    """Raise BadInput if a field is to be mended first, or something else is not settled."""
    if bad := bad_fields(draft, system):
        raise BadInput(
            [Problem("not saved", where_of(draft, bad[0]), draft.typed[bad[0]], NO_VALUE, "fix or empty it, then save")]
        )
    draft.form.check_savable(draft)
