"""What one tab remembers, and how it keeps in step with the files: drafts written, changes of others seen.

No streamlit in here; `planner.front.session.state` holds a `Tab` for each browser tab and calls these for it.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Final, Literal, NamedTuple

from planner.forms.profile_draft import NEW, Work, draft_of, from_draft, open_work, with_files
from planner.forms.profile_form import check_typed
from planner.front.profiles.import_progress import Import
from planner.front.session import draft_files
from planner.front.session.trailer_tab import Bench
from planner.plans.hitching_stages import StageName
from planner.records import BadInput, Problem, Profile
from planner.store import PROFILE, Store
from planner.store.conflict import conflict_with
from planner.units.quantity import System

if TYPE_CHECKING:
    from planner.front.profiles.csv_export import TableExport

View = Literal["list", "recall"]
DISK: Final = threading.RLock()  # tabs run in threads of one server: look and write in one go


@dataclass(frozen=True)
class Clash:
    """The same profile was changed elsewhere while this tab has changes of its own."""

    said: str
    theirs: Profile | None  # as its file now has it


@dataclass(frozen=True)
class Undo:
    """What takes the last action back."""

    said: str
    act: Callable[[], object]


class Parked(NamedTuple):
    """Work that lies nowhere but in its tab, with what the tab last saw of its draft."""

    work: Work
    tag: str
    kept: dict[str, Any] | None


@dataclass
class Tab:
    """Everything one browser tab remembers."""

    store: Store
    system: System
    page: str = "-"  # its path; none to begin with
    view: View = "list"
    stage: StageName = "clear"  # of hitching, where a narrow screen shows one at a time
    work: Work | None = None
    generation: int = 0
    tag: str = draft_files.GONE  # of the draft, as this tab last saw it
    kept: dict[str, Any] | None = None  # the work as it is on disk
    unkept: tuple[Problem, ...] = ()  # why the draft of this work is not on disk
    clash: Clash | None = None
    undo: Undo | None = None
    said: str = ""  # what the last action did
    problems: tuple[Problem, ...] = ()  # of the last action
    trouble: tuple[Problem, ...] = ()  # why the profile that the address names is not here
    names: dict[str, str] = field(default_factory=dict)  # by profile, another name typed on its card
    lacking: bool = False  # whether somebody tried to add cargo that is not complete
    answered: Work | None = None  # the last work that had an answer
    bench: Bench = field(default_factory=Bench)  # the trailer it works on
    address: dict[str, dict[str, str]] = field(default_factory=dict)  # by page, what it adds to its address
    importing: Import | None = None  # under way
    table: TableExport | None = None  # of many profiles, under way or made
    written: dict[str, str] | None = None  # what the address says, as far as this tab knows
    parked: dict[str, Parked] = field(default_factory=dict)  # left with a clash not settled, or no draft on disk


def load_draft(now: Tab, slug: str) -> None:
    """Open a profile, with its draft if it has one."""
    if now.work is not None and now.work.slug != slug and (now.clash is not None or now.unkept):
        seen = Parked(now.work, "parked", None) if now.clash else Parked(now.work, now.tag, now.kept)
        now.parked[now.work.slug] = seen
    now.generation += 1
    now.stage = "clear"
    now.work, now.clash, now.unkept, now.trouble, now.answered = None, None, (), (), None
    if (parked := now.parked.pop(slug, None)) is not None:
        now.work, now.tag, now.kept = parked
        follow_disk(now, now.work)
        return
    draft = (
        draft_files.read_draft(now.store.folder, slug)
        if slug == NEW or slug in now.store.profiles()
        else draft_files.Draft("", None)
    )
    try:
        now.work = _from_draft(now, slug, draft) or open_work(now.store, slug)
    except BadInput as exc:
        now.trouble = exc.problems
        return
    now.tag = draft_files.tag_of(now.store.folder, slug)
    now.kept = draft_of(now.work)
    follow_disk(now, now.work)


def slug_in(store: Store, asked: str) -> str:
    """Return the file's name of a profile that an address names by either of its two names; else what was asked."""
    if asked == NEW or asked in store.profiles():
        return asked
    wanted = asked.strip().casefold()
    found = (one.slug for one in store.entries(PROFILE) if one.brief is not None and one.name.casefold() == wanted)
    return next(found, asked)


def _from_draft(now: Tab, slug: str, draft: draft_files.Draft) -> Work | None:
    """Return the work of a draft; one that makes no sense is set aside, and that is said."""
    if draft.tag == draft_files.GONE:
        return None
    try:
        if draft.content is not None:
            work = from_draft(now.store, slug, draft.content)
            check_typed(work)
            return work
    except BadInput:
        open_work(now.store, slug)  # or what is wrong is wrong with the profile too, and the draft waits
    except (ValueError, TypeError, KeyError, AttributeError):
        pass
    now.problems = draft_files.not_used(now.store.folder, slug, "this is the profile as saved")
    return None


def follow_disk(now: Tab, mine: Work) -> None:
    """Take up what changed on disk, or say that it clashes with what was changed here."""
    try:
        now.work = mine = with_files(now.store, mine)
        theirs = now.store.read_profile(mine.slug) if mine.slug in now.store.profiles() else None
    except BadInput as exc:
        now.trouble = exc.problems
        return
    now.trouble = ()
    if theirs == mine.base:  # by value; they may be written otherwise, and a save asks for the letter
        now.work = mine = replace(mine, base=theirs)
    if theirs != mine.base:
        if not mine.worth_keeping and theirs is not None:
            load_draft(now, mine.slug)
        else:
            now.clash = Clash(conflict_with(PROFILE.name, mine.base, theirs), theirs)
    elif draft_files.is_others(now.store.folder, mine.slug, now.tag, unkept=bool(now.unkept)):
        if draft_of(mine) == now.kept:
            load_draft(now, mine.slug)
        else:
            now.clash = Clash("This profile is being changed in another tab or on another device too.", theirs)
    else:
        now.clash = None


def keep_draft(now: Tab, mine: Work) -> None:
    """Write the draft, or take it away when there is nothing in it that a file does not have."""
    draft = draft_of(mine)
    if draft == now.kept:
        return
    try:
        if mine.worth_keeping:
            now.tag = draft_files.write_draft(now.store.folder, mine.slug, draft)
        else:
            draft_files.remove_draft(now.store.folder, mine.slug)
            now.tag = draft_files.GONE
    except BadInput as exc:
        now.unkept = exc.problems
    else:
        now.unkept, now.kept = (), draft
