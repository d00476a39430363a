"""What one tab remembers of the trailer it works on, and how it keeps in step with the files. No streamlit in here.

What is not saved lies in ``drafts/`` of the trailers' folder, as that of profiles lies in theirs.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, NamedTuple

from planner.forms.profile_draft import NEW
from planner.forms.trailer_draft import TrailerWork, draft_of, from_draft, open_trailer
from planner.forms.trailer_form import check_typed
from planner.front.session import draft_files
from planner.records import BadInput, Problem, Trailer
from planner.store import TRAILER, Store
from planner.store.conflict import conflict_with


class Parked(NamedTuple):
    """Work that lies nowhere but in its tab, with what the tab last saw of its draft."""

    work: TrailerWork
    tag: str
    kept: dict[str, Any] | None


@dataclass
class Bench:
    """The trailer that one browser tab works on."""

    work: TrailerWork | None = None
    asked: str = ""  # the trailer that was to be opened last
    generation: int = 0
    tag: str = draft_files.GONE  # of the draft, as this tab last saw it
    kept: dict[str, Any] | None = None  # the work as it is on disk
    unkept: tuple[Problem, ...] = ()  # why the draft of this work is not on disk
    parked: dict[str, Parked] = field(default_factory=dict)  # left without a draft on disk
    clash: str = ""  # what was done elsewhere while this tab has changes of its own
    trouble: tuple[Problem, ...] = ()  # why the trailer asked for is not here
    lacking: bool = False  # whether somebody tried to add an item that is not complete


def home(store: Store) -> Path:
    """Return the folder whose drafts are trailers'."""
    return store.folder / TRAILER.folder


def load_draft(bench: Bench, store: Store, slug: str) -> None:
    """Open a trailer, with its draft if it has one."""
    if bench.work is not None and bench.unkept and bench.work.slug != slug:
        bench.parked[bench.work.slug] = Parked(bench.work, bench.tag, bench.kept)
    bench.generation += 1
    bench.work, bench.asked, bench.clash, bench.trouble, bench.lacking = None, slug, "", (), False
    bench.unkept = ()
    if (parked := bench.parked.pop(slug, None)) is not None:
        bench.work, bench.tag, bench.kept = parked
        follow(bench, store)
        return
    try:
        there = slug == NEW or slug in store.trailers()
        bench.work = (_drafted(bench, store, slug) if there else None) or open_trailer(store, slug)
    except BadInput as exc:
        bench.trouble = (*bench.trouble, *exc.problems)
        return
    bench.tag, bench.kept = draft_files.tag_of(home(store), slug), draft_of(bench.work)
    said = bench.trouble
    follow(bench, store)
    bench.trouble = (*said, *bench.trouble)


def open_any(bench: Bench, store: Store, first: str | None) -> None:
    """Open a trailer where none is asked for: the one named, else the first that can be read, else a new one."""
    for slug in (*([first] if first else []), *store.trailers(), NEW):
        load_draft(bench, store, slug)
        if bench.work is not None:
            return


def follow(bench: Bench, store: Store) -> None:
    """Take up what changed on disk, or say that it clashes with what was changed here."""
    mine = bench.work
    if mine is None:
        return
    try:
        theirs = _theirs(store, mine.slug)
    except BadInput as exc:
        bench.trouble = exc.problems
        return
    bench.trouble, bench.clash = (), ""
    if theirs == mine.base:  # by value; they may be written otherwise, and a save asks for the letter
        bench.work = mine = replace(mine, base=theirs)
    saved = theirs != mine.base
    drafted = draft_files.is_others(home(store), mine.slug, bench.tag, unkept=bool(bench.unkept))
    own = mine.worth_keeping if not drafted else draft_of(mine) != bench.kept
    if not saved and not drafted:
        return
    if not own and (theirs is not None or mine.base is None):
        load_draft(bench, store, mine.slug)
    elif saved:
        bench.clash = conflict_with(TRAILER.name, mine.base, theirs)
    else:
        bench.clash = "This trailer is being changed in another tab or on another device too."


def keep_draft(bench: Bench, store: Store) -> None:
    """Write the draft, or take it away when there is nothing in it that the file does not have."""
    mine = bench.work
    if mine is None or bench.clash or (draft := draft_of(mine)) == bench.kept:
        return
    try:
        if mine.worth_keeping:
            bench.tag = draft_files.write_draft(home(store), mine.slug, draft)
        else:
            draft_files.remove_draft(home(store), mine.slug)
            bench.tag = draft_files.GONE
    except BadInput as exc:
        bench.unkept = exc.problems
    else:
        bench.unkept, bench.kept = (), draft


def take_theirs(bench: Bench, store: Store) -> None:
    """Settle a clash: drop what was changed here."""
    if bench.work is not None:
        if draft_files.tag_of(home(store), bench.work.slug) == bench.tag:  # it holds what is to be dropped
            draft_files.remove_draft(home(store), bench.work.slug)
        there = bench.work.slug == NEW or bench.work.slug in store.trailers()
        load_draft(bench, store, bench.work.slug) if there else open_any(bench, store, None)


def keep_mine(bench: Bench, store: Store) -> None:
    """Settle a clash: what was changed here stands, knowing of the other; saving will then write over it."""
    if bench.work is not None:
        work = bench.work
        bench.work = TrailerWork(work.slug, _theirs(store, work.slug), work.good, work.typed, work.aside)
        bench.clash, bench.kept = "", None
        bench.tag = draft_files.tag_of(home(store), work.slug)


def _theirs(store: Store, slug: str) -> Trailer | None:
    """Return a trailer as its file now has it; None if there is no file."""
    return store.read_trailer(slug) if slug in store.trailers() else None


def _drafted(bench: Bench, store: Store, slug: str) -> TrailerWork | None:
    """Return the work of a draft; one that cannot be read is set aside, and that is said."""
    draft = draft_files.read_draft(home(store), slug)
    if draft.tag == draft_files.GONE:
        return None
    try:
        if draft.content is not None:
            work = from_draft(slug, draft.content)
            check_typed(work)
            return work if work.worth_keeping else None
    except (ValueError, TypeError, KeyError, AttributeError):
        pass
    bench.trouble = draft_files.not_used(home(store), slug, "this is the trailer as saved")
    return None
