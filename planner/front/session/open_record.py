"""One record open in one tab, and how it keeps in step with the files: drafts written, changes of others seen.

No streamlit in here; `planner.front.session.state` holds them for each browser tab.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Generic, NamedTuple

from planner.errors import ConflictError
from planner.forms.draft import NEW, D, Draft, Form, from_json, open_draft, to_json
from planner.forms.fields_to_fix import check_savable
from planner.front.session import draft_files
from planner.records import BadInput, Problem
from planner.records.file_header import Filed
from planner.store import PROFILE, Store
from planner.store.conflict import conflict_words
from planner.units.quantity import System


@dataclass(frozen=True)
class Clash:
    """The same record was changed elsewhere while this tab has changes of its own."""

    said: str
    theirs: Filed | None  # as its file now has it


class Parked(NamedTuple):
    """A draft that lies nowhere but in its tab, with what the tab last saw of its file."""

    draft: Any
    tag: str
    kept: dict[str, Any] | None


@dataclass
class OpenRecord(Generic[D]):
    """The record of one kind that one browser tab works on."""

    form: Form[D]
    store: Store
    draft: D | None = None
    asked: str = ""  # what was to be opened last
    generation: int = 0  # part of every widget's key
    drawn: dict[str, str] = field(default_factory=dict)  # the text of each field, by its widget, as last drawn or typed
    tag: str = draft_files.GONE  # of the draft's file, as this tab last saw it
    kept: dict[str, Any] | None = None  # the draft as it is on disk
    unkept: tuple[Problem, ...] = ()  # why the draft is not on disk
    clash: Clash | None = None
    trouble: tuple[Problem, ...] = ()  # why the record asked for is not here
    notes: tuple[Problem, ...] = ()  # what was set aside when it was opened
    lacking: bool = False  # whether somebody tried to add a row that is not complete
    answered: D | None = None  # the last draft that had an answer
    parked: dict[str, Parked] = field(default_factory=dict)  # left with a clash not settled, or no draft on disk

    @property
    def work(self) -> D:
        """The draft; a page that has none stops before it asks."""
        assert self.draft is not None
        return self.draft

    @property
    def kind(self) -> str:
        """What is worked on, in a word."""
        return self.form.kind.name

    @property
    def home(self) -> Path:
        """The folder in which its drafts lie."""
        return self.store.folder / self.form.kind.folder

    def name_key(self, key: str, joint: str = "-") -> str:
        """Return the key of a button or a box; a profile's have no word before them."""
        return key if self.kind == PROFILE.name else f"{self.kind}{joint}{key}"

    def name_widget(self, key: str, system: System) -> str:
        """Return the key of a widget that is a view of a field."""
        return f"{self.name_key(key, '.')}-{system}-{self.generation}"

    def replace_draft(self, new: D) -> None:
        """Take another draft, whose fields are seeded anew."""
        self.draft = new
        self.seed_anew()

    def seed_anew(self) -> None:
        """Have every field come up anew; what is being typed into one of them in the browser is lost."""
        self.generation += 1
        self.drawn.clear()

    # Opening

    def visit(self, asked: str) -> None:
        """Open what an address asks for, or look whether the disk has moved on."""
        if asked and (self.draft is None or asked != self.draft.slug):
            self.load(self._find_slug(asked))
        else:
            self.follow()

    def load(self, slug: str) -> None:
        """Open a record, with its draft if it has one."""
        if self.draft is not None and self.draft.slug != slug and (self.clash is not None or self.unkept):
            seen = Parked(self.draft, "parked", None) if self.clash else Parked(self.draft, self.tag, self.kept)
            self.parked[self.draft.slug] = seen
        self.close()
        self.seed_anew()
        self.asked = slug
        if (parked := self.parked.pop(slug, None)) is not None:
            self.draft, self.tag, self.kept = parked
            self.follow()
            return
        try:
            there = slug == NEW or self._has(slug)
            self.draft = (self._read_draft(slug) if there else None) or open_draft(self.form, self.store, slug)
        except BadInput as exc:
            self.trouble = exc.problems
            return
        self.tag, self.kept = draft_files.tag_of(self.home, slug), to_json(self.draft)
        self.follow()

    def open_any(self, first: str | None = None) -> None:
        """Open a record where none is asked for: the one named, else the first that can be read, else a new one."""
        for slug in (*([first] if first else []), *self.store.slugs(self.form.kind), NEW):
            self.load(slug)
            if self.draft is not None:
                return

    def open_with(self, **fields: str) -> None:
        """Open the record that was asked for and did not open, with other files named in some of its fields.

        Nothing is saved yet; a draft that lies there is taken up.

        Raises
        ------
        BadInput
            If that cannot be read either.
        """
        slug, (called, _) = self.asked, self.form.stored
        content = draft_files.read_draft(self.home, slug).content
        if content is None:
            record = self.store.read(self.form.kind, slug)
            content = to_json(Draft(self.form, slug, record, record))
        new = from_json(self.form, self.store, slug, {**content, called: {**content[called], **fields}})
        self.replace_draft(new)
        self.tag, self.kept, self.trouble = draft_files.tag_of(self.home, slug), None, ()

    def close(self) -> None:
        """Have nothing open."""
        self.draft, self.answered, self.clash, self.asked = None, None, None, ""
        self.unkept, self.trouble, self.notes, self.lacking = (), (), (), False

    def _find_slug(self, asked: str) -> str:
        """Return the file's name of a record that an address names by either of its names; else what was asked."""
        if asked == NEW or self._has(asked):
            return asked
        wanted = asked.strip().casefold()
        entries = self.store.entries(self.form.kind)
        return next((one.slug for one in entries if one.brief is not None and one.name.casefold() == wanted), asked)

    def _read_draft(self, slug: str) -> D | None:
        """Return the draft on disk; one that makes no sense is set aside, and that is said."""
        found = draft_files.read_draft(self.home, slug)
        if found.tag == draft_files.GONE:
            return None
        try:
            if found.content is not None:
                return from_json(self.form, self.store, slug, found.content)
        except BadInput:
            open_draft(self.form, self.store, slug)  # or that is what is wrong, and the draft waits
        except (ValueError, TypeError, KeyError, AttributeError):
            pass
        self.notes = draft_files.not_used(self.home, slug, f"this is the {self.kind} as saved")
        return None

    # In step with the disk

    def follow(self) -> None:
        """Take up what changed on disk, or say that it clashes with what was changed here."""
        if self.draft is None:
            return
        try:
            self.draft = mine = self.form.refresh(self.store, self.draft)
            theirs = self._read_saved(mine.slug)
        except BadInput as exc:
            self.trouble = exc.problems
            return
        self.trouble, self.clash = (), None
        if theirs == mine.base:  # by value; they may be written otherwise, and a save asks for the letter
            self.draft = mine = replace(mine, base=theirs)
        saved = theirs != mine.base
        drafted = draft_files.is_others(self.home, mine.slug, self.tag, unkept=bool(self.unkept))
        if not saved and not drafted:
            return
        own = mine.worth_keeping and (not drafted or to_json(mine) != self.kept)
        if not own and (theirs is not None or mine.base is None):
            try:
                self._drop_kept(mine.slug)  # what was changed here was changed back
            except BadInput as exc:
                self.unkept = exc.problems
            else:
                self.load(mine.slug)
        elif saved:
            self.clash = Clash(conflict_words(self.kind, mine.base, theirs), theirs)
        else:
            said = f"This {self.kind} is being changed in another tab or on another device too."
            self.clash = Clash(said, theirs)

    def keep(self) -> None:
        """Write the draft, or take it away when there is nothing in it that the file does not have."""
        mine = self.draft
        if mine is None or self.clash is not None or (content := to_json(mine)) == self.kept:
            return
        if draft_files.is_others(self.home, mine.slug, self.tag, unkept=bool(self.unkept)):
            self.follow()  # another tab wrote while this one was at work: nothing of it is written over or taken away
            return
        try:
            if mine.worth_keeping:
                draft_files.make_home(self.store.folder, self.home)
                self.tag = draft_files.write_draft(self.home, mine.slug, content)
            else:
                draft_files.remove_draft(self.home, mine.slug)
                self.tag = draft_files.GONE
        except BadInput as exc:
            self.unkept = exc.problems
        else:
            self.unkept, self.kept = (), content

    def take_theirs(self) -> None:
        """Settle a clash: drop what was changed here."""
        slug = self.work.slug
        self._drop_kept(slug)
        self.clash, self.unkept = None, ()  # nothing of it is to be kept in the tab either
        if slug == NEW or self._has(slug):
            self.load(slug)
        else:
            self.close()

    def _drop_kept(self, slug: str) -> None:
        """Take away the draft on disk, unless another tab wrote it."""
        if draft_files.tag_of(self.home, slug) == self.tag:
            draft_files.remove_draft(self.home, slug)

    def keep_mine(self) -> None:
        """Settle a clash: what was changed here stands, knowing of the other; saving will then write over it."""
        theirs = self.clash.theirs if self.clash else self.work.base
        self.draft = replace(self.work, base=theirs)
        self.clash, self.kept = None, None
        self.tag = draft_files.tag_of(self.home, self.work.slug)

    # Saving

    def save(self, name: str | None, system: System) -> str:
        """Write the record to its file, or under a name as a new one, and return what to say of it.

        Raises
        ------
        BadInput
            If it cannot be written, or what is on the screen is not what is there now.
        """
        shown = self.work
        self.follow()
        if self.clash or self.trouble or self.draft is None or not shown.is_same(self.draft):
            rule = f"the {self.kind} was changed in another tab or on another device"
            raise BadInput(self.trouble or [Problem("not saved", "", "", rule, "look at it again, then save")])
        draft = replace(shown, base=self.draft.base)  # what its owner saw; the base as the file writes it
        check_savable(draft, system)
        if name is not None and not name.strip():
            rule = f"a {self.kind} needs a name"
            raise BadInput([Problem("not saved", "name", "", rule, "type one beside the button")])
        try:
            new = self.form.save(self.store, draft, None if name is None else name.strip())
        except ConflictError:
            self.replace_draft(draft.without_typed(*self.form.ask_again))
            raise
        for slug in {new.slug, draft.slug}:
            draft_files.remove_draft(self.home, slug)
        self.replace_draft(new)
        self.asked, self.tag, self.kept, self.clash, self.unkept = new.slug, draft_files.GONE, None, None, ()
        self.lacking = False
        return f"{new.record.name} {self.form.done}"

    def discard(self) -> str:
        """Drop what is not saved, and return what to say of it."""
        slug = self.work.slug
        draft_files.remove_draft(self.home, slug)
        self.close()
        self.load(slug)
        return "The unsaved changes are dropped."

    def _read_saved(self, slug: str) -> Filed | None:
        """Return the record as its file now has it; None if there is no file."""
        saved: Filed | None = self.store.read(self.form.kind, slug) if self._has(slug) else None
        return saved

    def _has(self, slug: str) -> bool:
        """Tell whether there is a file."""
        return slug in self.store.slugs(self.form.kind)
