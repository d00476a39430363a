"""Names being typed: whether they can stand, and whether another has one already, told before anything is saved."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from itertools import count
from typing import Any, Final, NamedTuple

from planner.records.fields import LONGEST_NAME, name_text
from planner.store import Entry
from planner.store.record_files import same_letters
from planner.units.quantity import Refusal

NO_NAME: Final = Refusal("is needed", "", "type one here")


class Taken(NamedTuple):
    """A name that was typed is another's already.

    Attributes
    ----------
    slug, name : of the file that has it, maybe in other capitals
    free : the name typed with a number after it, which no file has
    """

    slug: str
    name: str
    free: str


def name_fault(text: str) -> Refusal | None:
    """Return what is wrong with a name being typed; nothing while there is none yet."""
    with suppress(Refusal):
        name_text(text or "-")
        return None
    return Refusal(f"must be 1 to {LONGEST_NAME} plain letters and marks, got {len(text):,}", "", "give a short name")


def find_taken(entries: Iterable[Entry[Any]], name: str, own: str | None = None) -> Taken | None:
    """Return which of some files has a name, capitals or not, and a free one; the file `own` may have it.

    Where at the ramp nobody tells "Mill" from "mill", they are one name.
    """
    names = {entry.slug: entry.name for entry in entries if entry.brief is not None and entry.slug != own}
    if not name.strip() or (slug := _has(names, name)) is None:
        return None
    numbered = (f"{name.strip()} {number}" for number in count(2))
    return Taken(slug, names[slug], next(one for one in numbered if _has(names, one) is None))


def _has(names: dict[str, str], name: str) -> str | None:
    """Return the slug of the file that has a name."""
    return next((slug for slug, one in names.items() if same_letters(one, name.strip())), None)
