"""From files to what is carried: cards for the cab, a page for a phone. No streamlit in here."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from planner.plans.saved_state import standing
from planner.records import BadInput
from planner.show.text.card import Carried, PaperSize, card_of_state
from planner.store import PROFILE, Outfit, Store
from planner.store.atomic_write import written_on
from planner.units.quantity import System

PAPERS: Final[dict[System, PaperSize]] = {"us": "letter", "metric": "a4"}


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


def pdf_of(store: Store, slugs: Sequence[str], system: System) -> bytes:
    """Return the cards of profiles as a PDF, on the paper that goes with the units; it tells what it leaves out."""
    from planner.show.paper.card_pdf import card_pdf  # the PDF library takes a while to load, and only this needs it

    cards, left_out = _readable(store, slugs, system)
    return card_pdf(cards, PAPERS[system], left_out=left_out)


def page_of(store: Store, slugs: Sequence[str], system: System) -> bytes:
    """Return profiles as one page for a phone; it tells what it leaves out, be it damaged or more than fits."""
    from planner.show.paper.phone_page import MOST_PROFILES, fitting

    cards, left_out = _readable(store, slugs[:MOST_PROFILES], system)
    return fitting(cards, left_out, beyond=max(len(slugs) - MOST_PROFILES, 0)).encode()


def _readable(store: Store, slugs: Sequence[str], system: System) -> tuple[list[Carried], list[str]]:
    """Return the cards of all profiles that can be read, and a line for each that cannot."""
    cards, left_out = list[Carried](), list[str]()
    for slug in slugs:
        try:
            cards.append(card_of(store.read_outfit(slug), system, store.folder / PROFILE.file(slug)))
        except BadInput as exc:
            left_out.append(exc.problems[0].line())
        except (ValueError, ArithmeticError) as exc:  # the arithmetic of numbers that no truck has
            left_out.append(f"{PROFILE.file(slug)}: {exc}")
    return cards, left_out
