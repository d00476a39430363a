"""From files to what is taken away: zips of plain files, a table of all profiles. No streamlit in here."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from planner.plans.standing import standing
from planner.records import BadInput
from planner.show.table import Line, line_of, table
from planner.store import PROFILE, Store
from planner.store.archive import pack, pack_all
from planner.store.disk import written_on
from planner.units import System


def zip_of(store: Store, slug: str) -> bytes:
    """Return one profile with its truck and trailer as a zip; it tells what it leaves out."""
    return pack(store, (slug,)).data


def zip_of_all(store: Store) -> bytes:
    """Return everything as a zip; it tells what it leaves out."""
    return pack_all(store).data


def table_of(store: Store, system: System) -> bytes:
    """Return all profiles as a table; one that cannot be used has its line, which says why."""
    return table(_lines(store), system)


def _lines(store: Store) -> Iterator[Line]:
    """Yield a line for each profile."""
    for entry in store.entries(PROFILE):
        on = written_on(store.folder / PROFILE.file(entry.slug))
        try:
            yield _line(store, entry.slug, on)
        except BadInput as exc:
            yield _wrong(entry.name, exc.problems[0].line(), on)
        except (ValueError, ArithmeticError) as exc:  # the arithmetic of numbers that no truck has
            yield _wrong(entry.name, str(exc), on)


def _line(store: Store, slug: str, on: date | None) -> Line:
    """Return the line of one profile."""
    outfit = store.read_outfit(slug)
    return line_of(standing(outfit.profile, outfit.truck, outfit.trailer), on)


def _wrong(name: str, why: str, on: date | None) -> Line:
    """Return the line of a profile without numbers."""
    return Line(profile=name, on=on, wrong=why)
