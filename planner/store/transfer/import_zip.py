"""Bringing the files of a zip into the folder: all that was chosen, or nothing; and the way back."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from itertools import count
from typing import Any, Final, Literal

from planner.errors import StoreError
from planner.records import BadInput, Brief, Pressures, Problem, Profile
from planner.records.fields import LONGEST_NAME
from planner.records.file_header import Filed
from planner.store import history, recycle_bin, toml_layout, trail
from planner.store.journal import NOT_TAKEN_BACK, Changes
from planner.store.kinds import KINDS, PROFILE, TRUCK, Kind, Receipt, rename_in
from planner.store.os_errors import told_errors
from planner.store.record_files import Shelf
from planner.store.slugs import slug as slug_of
from planner.store.store import Store
from planner.store.transfer.preview import Choice, Coming, Item, read_file

How = Literal["new", "replaced", "beside"]
IMPORT: Final = "the import"


@dataclass(frozen=True)
class Written:
    """One file as it was brought in: where it went, how, what lay there before and lies there now."""

    kind: Kind[Any]
    slug: str
    how: How
    record: Filed = field(repr=False)
    after: bytes = field(repr=False)
    before: bytes | None = field(default=None, repr=False)
    receipt: Receipt | None = None  # of what lay there before, in the bin
    history: bytes | None = field(default=None, repr=False)  # as it was when a line was laid ready for it

    @property
    def file(self) -> str:
        """Its path in the folder."""
        return self.kind.file(self.slug)


@dataclass(frozen=True)
class Brought:
    """What an import did.

    Attributes
    ----------
    written : the files it wrote, in that order
    kept : the files here that stayed as they were though the zip has others
    notes : what does not work together now
    """

    written: tuple[Written, ...]
    kept: tuple[str, ...] = ()
    notes: tuple[Problem, ...] = ()

    @property
    def said(self) -> str:
        """What was done, in one sentence."""
        parts = {"new": "new", "replaced": "replaced, the former in the bin", "beside": "under another name"}
        numbers = {how: sum(one.how == how for one in self.written) for how in parts}
        told_of = [f"{number} {parts[how]}" for how, number in numbers.items() if number]
        kept = [f"{len(self.kept)} of yours kept as they are"] if self.kept else []
        return f"Brought in: {', '.join(told_of + kept) or 'nothing'}."


def import_files(
    coming: Coming,
    store: Store,
    choice: Choice = "mine",
    each: Mapping[str, Choice] | None = None,
    tell: Callable[[int, int], object] | None = None,
) -> Brought:
    """Bring in what `preview.preview_zip` found: all of it, or nothing, whatever stops the machine.

    New files are written, files that are the same are not. Of those that differ, `choice` says what to do, and `each`
    for single files, by path. Where both are kept, what comes with it names the new one.

    All is laid ready before the folder's lock is taken, so that other writers wait for the moves only. `tell` is
    called meanwhile with how many files are ready, and of how many; if it raises, nothing is brought in.

    Raises
    ------
    StoreError
        If the folder has changed since, or the disk refuses; the folder is then as it was, or the error says where not.
    """
    choices = {item.file: (each or {}).get(item.file, choice) for item in coming.items}
    kept = tuple(item.file for item in coming.items if item.brings and not item.is_written(choices[item.file]))
    ready: list[Written] = []
    with Changes(store.folder) as changes:
        with _as_it_was(), told_errors(IMPORT, "written"):
            plan = list(_planned(store, coming.items, choices))
            for one in plan:
                if tell is not None:
                    tell(len(ready), len(plan))
                ready.append(_laid_ready(store, one, changes))
            changes.wait_for_disk()
        with store.alone(IMPORT):
            for one in ready:
                if Shelf(store.folder, one.kind).raw(one.slug) != one.before:
                    rule = "was changed here after the zip was opened"
                    raise StoreError(one.file, rule, "open it again, then choose")
            with _as_it_was(), told_errors(IMPORT, "written"):
                for one in ready:
                    _catch_up(store, one, changes)
                changes.commit()
    return Brought(tuple(ready), kept, tuple(_notes(store, ready)))


def take_back(brought: Brought, store: Store) -> None:
    """Undo an import: what it replaced is back, what it made goes to the bin; all of it, or nothing.

    Raises
    ------
    StoreError
        If one of the files has been changed since, or is used by others now: nothing is done then.
    """
    with store.alone(IMPORT), Changes(store.folder) as changes:
        for one in brought.written:
            if Shelf(store.folder, one.kind).raw(one.slug) != one.after:
                raise StoreError(one.file, "was changed since it was brought in", "undo that first, or delete the file")
        _refuse_users(store, brought.written)
        for one in reversed(brought.written):
            _lay_back(store, one, changes)
        changes.commit()


@contextmanager
def _as_it_was() -> Iterator[None]:
    """Say of an import that failed that nothing of it is there, where an error does not say what is."""
    try:
        yield
    except BadInput as exc:
        if any(problem.rule == NOT_TAKEN_BACK for problem in exc.problems):
            raise
        rule, remedy = "nothing was brought in; your folder is unchanged", "fix what is listed above, then try again"
        raise BadInput([*exc.problems, Problem(IMPORT, "", "", rule, remedy)]) from exc


def _laid_ready(store: Store, one: Written, changes: Changes) -> Written:
    """Lay a file ready, what it replaces as a copy in the bin, and its history; return it with what that gave."""
    shelf = Shelf(store.folder, one.kind)
    if one.before is not None:
        receipt = recycle_bin.receipt_for(store.folder, one.kind, one.slug)
        with told_errors(one.file, "copied to the bin"):
            changes.put(f"{recycle_bin.BIN}/{receipt.binned}", one.before)
        one = replace(one, receipt=receipt)
    shelf.put(one.slug, one.after, one.record, changes=changes)
    with told_errors(trail.FOLDER, "written"):
        return replace(one, history=_note(store, one, changes, "imported"))


def _catch_up(store: Store, one: Written, changes: Changes) -> None:
    """Lay a history ready anew if it was written since; set one aside that is no plain file."""
    if one.kind.name != PROFILE.name:
        return
    if one.history is None:
        with suppress(OSError, StoreError):
            trail.set_trail_aside(store.folder, trail.trail_path(store.folder, one.slug))
    elif history.standing_in(store.folder, one.slug) != one.history:
        with told_errors(trail.FOLDER, "written"):
            _note(store, one, changes, "imported")


def _lay_back(store: Store, one: Written, changes: Changes) -> None:
    """Lay ready what takes one file back: what it was before, or its way to the bin."""
    if one.before is None:
        receipt = recycle_bin.receipt_for(store.folder, one.kind, one.slug)
        changes.move(one.file, f"{recycle_bin.BIN}/{receipt.binned}")
        trail.bin_trail(store.folder, receipt, changes)
        return
    with told_errors(one.file, "brought back"):
        changes.put(one.file, one.before)
        if one.receipt is not None:
            changes.remove(f"{recycle_bin.BIN}/{one.receipt.binned}", one.before)
        _note(store, one, changes, "restored", back=True)


def _planned(store: Store, items: Sequence[Item], choices: Mapping[str, Choice]) -> Iterator[Written]:
    """Yield what to write, what is named before what names it."""
    moved: dict[tuple[str, str], str] = {}  # kind and slug in the zip: slug here
    taken = {(item.read.kind.name, item.read.slug) for item in items if item.read.kind is not None}
    for item in items:
        if not item.is_written(choices[item.file]):
            continue
        kind, record, document = item.read.kind, item.read.record, item.read.document
        assert kind is not None  # it can be used
        assert record is not None
        assert document is not None
        new, slug = record, item.read.slug
        how: How = "new" if item.state == "new" else "beside" if choices[item.file] == "both" else "replaced"
        if how == "beside":
            new, slug = _beside(store, kind, record, taken)
            moved[kind.name, item.read.slug] = slug
        new = rename_in(new, moved)
        sound = new is record and document.former is None
        data = item.read.data if sound else document.encoded(toml_layout.changed_text(document.text, record, new))
        yield Written(kind, slug, how, new, data, item.there if how == "replaced" else None)


def _beside(store: Store, kind: Kind[Any], record: Filed, taken: set[tuple[str, str]]) -> tuple[Filed, str]:
    """Return a record under a name that neither the folder nor the zip has, and its slug."""
    shelf = Shelf(store.folder, kind)
    for number in count(1):
        tail = " (brought in)" if number == 1 else f" (brought in {number})"
        name = record.name[: LONGEST_NAME - len(tail)].rstrip() + tail
        slug = slug_of(name)
        if (kind.name, slug) not in taken and not shelf.has(slug):
            break
    taken.add((kind.name, slug))
    return record.replaced(name=name), slug


def _refuse_users(store: Store, written: Sequence[Written]) -> None:
    """Refuse to take away what files made since name."""
    mine = {(one.kind.name, one.slug) for one in written}
    for one in written:
        naming = next((kind for kind in KINDS if kind.name == one.kind.named_by), None)
        for entry in store.entries(naming) if naming is not None and one.before is None else ():
            other = (one.kind.named_by, entry.slug) not in mine and entry.brief is not None
            if other and entry.brief is not None and one.slug in entry.brief.names(one.kind.name):
                rule = f"is used by {one.kind.named_by} {entry.slug} since it was brought in"
                raise StoreError(one.file, rule, f"choose another {one.kind.name} there, then undo")


def _note(store: Store, one: Written, changes: Changes, reason: history.Reason, *, back: bool = False) -> bytes | None:
    """Lay ready, in the history of a profile, that other pressures came with an import, or went with its undoing."""
    if not isinstance(one.record, Profile):
        return None
    at, before = datetime.now(UTC), _pressures_in(one)
    was, now = (one.record.pressures, before) if back else (before, one.record.pressures)
    kept = history.Kept(at, reason, now, IMPORT if back else "")
    return history.lay_ready(store.folder, changes, one.slug, was, at, kept)


def _pressures_in(one: Written) -> Pressures | None:
    """Return the pressures that a profile said before it was written over; None if none, or if it was damaged."""
    former = None if one.before is None else read_file(one.file, one.before).record
    return former.pressures if isinstance(former, Profile) else None


def _notes(store: Store, written: Sequence[Written]) -> Iterator[Problem]:
    """Yield what does not work together now, of what came and of what names it, on the second step too."""
    came = {(one.kind.name, one.slug) for one in written}
    told_of = set[Problem]()
    looks: list[tuple[Kind[Any], Callable[[str], object]]] = [(TRUCK, store.read_truck), (PROFILE, store.read_outfit)]
    for kind, read in looks if came else ():
        for entry in store.entries(kind):
            if entry.brief is None or not came & {(kind.name, entry.slug), *_named(entry.brief)}:
                continue
            came.add((kind.name, entry.slug))  # so that what names it is looked at too
            try:
                read(entry.slug)
            except BadInput as exc:
                yield from (problem for problem in exc.problems if problem not in told_of)
                told_of.update(exc.problems)


def _named(brief: Brief) -> set[tuple[str, str]]:
    """Return what a file names, by kind and name."""
    return {(kind.name, called) for kind in KINDS for called in brief.names(kind.name)}
