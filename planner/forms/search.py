"""Which profiles the list shows, and in which order. No streamlit in here."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from planner.records import Profile
from planner.store import Entry
from planner.store.favourites import Handy
from planner.store.name_order import fold_case, natural


def find_profiles(
    entries: Iterable[Entry[Profile]], handy: Handy, words: str, trailer: str, names: Mapping[str, str]
) -> list[Entry[Profile]]:
    """Return the profiles that fit, favourites first, then the last used; damaged ones stay in sight.

    Parameters
    ----------
    entries : all profiles
    handy : favourites and last uses
    words : looked for in the names of profile, truck, trailer and cargo; all of them must be there
    trailer : its slug, empty for any
    names : of trucks and trailers, by slug
    """
    asked = fold_case(words).split()
    fitting = [entry for entry in entries if _fits(entry, asked, trailer, names)]
    return sorted(
        fitting,
        key=lambda one: (one.slug not in handy.favourites, -_seconds(handy.used.get(one.slug)), natural(one.name)),
    )


def find_naming(entries: Iterable[Entry[Profile]], kind: str, slug: str | None) -> list[Entry[Profile]]:
    """Return the profiles that name a truck or a trailer, as its kind says, by its slug; of None those without one."""
    return [entry for entry in entries if entry.brief is not None and getattr(entry.brief, kind) == slug]


def last_used_first(slugs: Iterable[str], handy: Handy) -> list[str]:
    """Return profiles with the last used first; those never used keep their order."""
    return sorted(slugs, key=lambda slug: -_seconds(handy.used.get(slug)))


def find_called(names: Mapping[str, str]) -> dict[str, str]:
    """Return names to choose from, with the file's name where two are alike: Streamlit takes those for one."""
    counts = Counter(names.values())
    return {slug: name if counts[name] == 1 else f"{name} ({slug})" for slug, name in names.items()}


def _fits(entry: Entry[Profile], asked: Sequence[str], trailer: str, names: Mapping[str, str]) -> bool:
    """Tell whether an entry is looked for."""
    brief = entry.brief
    if brief is None:
        return not trailer and all(word in fold_case(entry.name) for word in asked)
    if trailer and brief.trailer != trailer:
        return False
    if not asked:
        return True
    carried = [names.get(slug, slug) for slug in (brief.truck, brief.trailer) if slug]
    text = fold_case(" ".join([brief.name, *carried, *brief.cargo]))
    return all(word in text for word in asked)


def _seconds(at: datetime | None) -> float:
    """Return a time as a number to sort by; none is long ago."""
    return 0.0 if at is None else at.timestamp()
