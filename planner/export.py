"""What is taken away from a folder: cards for the cab, a page for a phone, zips of plain files, a table of profiles."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Final, TypeVar

from planner.plans.hitching_stages import Way
from planner.plans.saved_state import Standing, standing, standings
from planner.plans.setup import Setup
from planner.records import BadInput, Problem, Profile
from planner.show.text.as_csv import Line, line_of, table
from planner.show.text.card import Carried, PaperSize, card_of_state
from planner.store import PROFILE, Entry, Outfit, Store
from planner.store.atomic_write import written_on
from planner.store.transfer.export import export_all, export_profiles
from planner.units.quantity import System

if TYPE_CHECKING:
    from planner.plans.fleet import Fleet

Record = TypeVar("Record")

PAPERS: Final[dict[System, PaperSize]] = {"us": "letter", "metric": "a4"}
TOGETHER: Final = 250  # profiles worked out at a time: long enough to be quick, short enough to be stopped


def card_of(outfit: Outfit, system: System, file: Path) -> Carried:
    """Return what a profile's card says; the day its file was written is the day it was saved.

    Raises
    ------
    BadInput
        If parts of the profile do not fit each other.
    ArithmeticError
        If the truck's numbers find no rest.
    """
    return card_of_state(standing(outfit.profile, outfit.truck, outfit.trailer), system, saved=written_on(file))


def with_air_times(card: Carried, outfit: Outfit, system: System) -> Carried:
    """Return a card that says how long the air of each stage takes, by a typical supply where none is known."""
    from planner.show.text.air import stages_in_words

    if card.unhitched is None:
        return card
    air = stages_in_words(Setup.of(outfit.profile, outfit.truck, outfit.trailer), system)
    stages = tuple(replace(one, air=air.get(one.name, "")) for one in card.stages)
    return replace(card, stages=stages, unhitched=replace(card.unhitched, air=air.get("unhitch", "")))


def pdf_of(store: Store, slugs: Sequence[str], system: System) -> bytes:
    """Return the cards of profiles as a PDF, on the paper that goes with the units; it tells what it leaves out."""
    from planner.show.paper.card_pdf import card_pdf  # the PDF library takes a while to load, and only this needs it

    cards, left_out = _readable(store, slugs, system)
    return card_pdf(cards, PAPERS[system], left_out=left_out)


def page_of(store: Store, slugs: Sequence[str], system: System) -> bytes:
    """Return profiles as one page for a phone; it tells what it leaves out, be it damaged or more than fits."""
    from planner.show.paper.phone_page import MOST_PROFILES, fitting

    cards, left_out = _readable(store, slugs[:MOST_PROFILES], system, air=True)
    return fitting(cards, left_out, beyond=max(len(slugs) - MOST_PROFILES, 0)).encode()


def _readable(
    store: Store, slugs: Sequence[str], system: System, *, air: bool = False
) -> tuple[list[Carried], list[str]]:
    """Return the cards of all profiles that can be read, and a line for each that cannot."""
    cards, left_out = list[Carried](), list[str]()
    for slug in slugs:
        try:
            outfit = store.read_outfit(slug)
            card = card_of(outfit, system, store.folder / PROFILE.file(slug))
            cards.append(with_air_times(card, outfit, system) if air else card)
        except BadInput as exc:
            left_out.append(exc.problems[0].line())
        except (ValueError, ArithmeticError) as exc:  # the arithmetic of numbers that no truck has
            left_out.append(f"{PROFILE.file(slug)}: {exc}")
    return cards, left_out


def zip_of(store: Store, slug: str) -> bytes:
    """Return one profile with its truck and trailer as a zip; it tells what it leaves out."""
    return export_profiles(store, (slug,)).data


def zip_of_all(store: Store) -> bytes:
    """Return everything as a zip; it tells what it leaves out."""
    return export_all(store).data


def table_of(store: Store, system: System) -> bytes:
    """Return all profiles as a table; one that cannot be used has its line, which says why."""
    entries = store.entries(PROFILE)
    parts = (entries[first : first + TOGETHER] for first in range(0, len(entries), TOGETHER))
    return table((line for part in parts for line in lines_of(store, part)), system)


def lines_of(store: Store, entries: Sequence[Entry[Profile]]) -> list[Line]:
    """Return the lines of some profiles in a table."""
    read = list(store.read_outfits(entry.slug for entry in entries))
    good = [(one.profile, one.truck, one.trailer) for one in read if not isinstance(one, BadInput)]
    found = iter(standings(good))
    stands = [one if isinstance(one, BadInput) else next(found) for one in read]
    days = [written_on(store.folder / PROFILE.file(entry.slug)) for entry in entries]
    return [_line(entry.name, one, on) for entry, one, on in zip(entries, stands, days, strict=True)]


def fleet_of(store: Store) -> tuple[Fleet, list[Problem]]:
    """Return all trucks and trailers of a folder as a fleet, yet to be judged, and why some are not in it."""
    from planner.plans.fleet import Fleet

    problems = list[Problem]()
    trucks = tuple(_sound(store.read_truck, store.trucks(), problems))
    return Fleet(trucks, tuple(_sound(store.read_trailer, store.trailers(), problems))), problems


def _sound(read: Callable[[str], Record], slugs: Iterable[str], problems: list[Problem]) -> Iterator[Record]:
    """Yield the records that can be read; note the first problem of each other."""
    for slug in slugs:
        try:
            yield read(slug)
        except BadInput as exc:
            problems.append(exc.problems[0])


def _line(name: str, stands: tuple[Standing, Way | None] | Exception, on: date | None) -> Line:
    """Return the line of one profile, without numbers where it cannot be used."""
    if isinstance(stands, BadInput):
        return Line(profile=name, on=on, wrong=stands.problems[0].line())
    if isinstance(stands, Exception):  # the arithmetic of numbers that no truck has
        return Line(profile=name, on=on, wrong=str(stands))
    return line_of(*stands, on)
