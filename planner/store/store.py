"""The store: one folder of bags, trucks, trailers, profiles and scale slips, which name each other."""

import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import timedelta
from functools import partial
from pathlib import Path
from typing import Any

from planner.errors import StoreError
from planner.records import BadInput, Problem, Profile, Trailer, Truck, read_record
from planner.records.file_header import Filed
from planner.store import favourites, index, recycle_bin, toml_layout, trail
from planner.store.conflict import Expected, refuse_overtaken
from planner.store.journal import Changes
from planner.store.kinds import (
    BAG,
    KINDS,
    PROFILE,
    TRAILER,
    TRUCK,
    Entry,
    Find,
    Kind,
    Outfit,
    R,
    Receipt,
    fill_truck,
    put_together,
    rename_in,
)
from planner.store.limits import pressures_past_limits
from planner.store.locking import alone, catch_up
from planner.store.os_errors import shown_name, told_errors
from planner.store.reading import Document, read_bytes, read_document, read_text
from planner.store.record_files import Shelf, same_name
from planner.store.recycle_bin import Binned
from planner.store.schema_version import read_kind
from planner.store.slugs import is_slug
from planner.store.slugs import slug as slug_of


class Store:
    """The files of one profiles folder. It holds no content: every call looks at the disk.

    Writers come one at a time, whatever program they run in. A reader never waits: it finds a file as it was or as it
    is, whole.
    """

    def __init__(self, folder: Path, kinds: Sequence[Kind[Any]] = KINDS) -> None:
        """Work in a folder, which `find_folder` finds; nothing is read or made yet."""
        self.folder = folder.absolute()
        self._kinds = kinds

    def slugs(self, kind: Kind[Any]) -> list[str]:
        """Return the slugs of a kind, as people sort them."""
        return self._shelf(kind).slugs()

    def profiles(self) -> list[str]:
        """Return the slugs of the profiles, as people sort them."""
        return self.slugs(PROFILE)

    def trucks(self) -> list[str]:
        """Return the slugs of the trucks, as people sort them."""
        return self.slugs(TRUCK)

    def bags(self) -> list[str]:
        """Return the slugs of the bags' charts, as people sort them."""
        return self.slugs(BAG)

    def trailers(self) -> list[str]:
        """Return the slugs of the trailers, as people sort them."""
        return self.slugs(TRAILER)

    def entries(self, kind: Kind[R]) -> list[Entry[R]]:
        """Return all files of a kind, as people sort them; a damaged one has its problems in place of a record."""
        return index.list_entries(self._shelf(kind))

    def read(self, kind: Kind[R], slug: str) -> R:
        """Return one record.

        Raises
        ------
        BadInput
            If there is no such file, naming the nearest there is, or with all that is wrong with it.
        """
        return self._shelf(kind).load(slug)[0]

    def read_profile(self, slug: str) -> Profile:
        """Return a profile; raises as `read` does."""
        return self.read(PROFILE, slug)

    def read_truck(self, slug: str) -> Truck:
        """Return a truck, its bags filled in from the charts it names; raises as `read` does."""
        return fill_truck(self.read(TRUCK, slug), TRUCK.file(slug), _find_in(self))

    def with_charts(self, truck: Truck, path: Path | None = None) -> Truck:
        """Return a truck with the charts that its bags name; one of a file anywhere has them from beside it first.

        Raises
        ------
        BadInput
            If a chart is not there or damaged, or makes no sense in the truck.
        """
        if path is None:
            return fill_truck(truck, "truck", _find_in(self))
        return fill_truck(truck, str(path), _find_in(Store(path.absolute().parents[1]), self))

    def read_trailer(self, slug: str) -> Trailer:
        """Return a trailer; raises as `read` does."""
        return self.read(TRAILER, slug)

    def read_outfit(self, slug: str) -> Outfit:
        """Return a profile with the truck and the trailer it names, which fit each other; raises as `read` does."""
        return put_together(slug, self.read_profile(slug), PROFILE.file(slug), _find_in(self))

    def read_outfits(self, slugs: Iterable[str]) -> Iterator[Outfit | BadInput]:
        """Yield profiles with what they name, or why one cannot be used; what many name is read once."""
        known: dict[tuple[str, str], Any] = {}

        def find(kind: Kind[Any], called: str, file: str, field: str) -> Any:
            if (kind.name, called) not in known:
                known[kind.name, called] = _find_in(self)(kind, called, file, field)
            return known[kind.name, called]

        for slug in slugs:
            try:
                yield put_together(slug, self.read_profile(slug), PROFILE.file(slug), find)
            except BadInput as exc:
                yield exc

    def read_profile_path(self, path: Path) -> Outfit:
        """Return a profile from a file anywhere, its truck and trailer from beside it or else from this folder.

        Raises
        ------
        BadInput
            If one of the three is not there, damaged, or does not fit the others.
        """
        file = str(path)
        if "\0" in file:
            raise StoreError(shown_name(file), "is not a path", "check the spelling")
        try:
            profile, _ = read_kind(PROFILE, read_document(path, file), file)
        except FileNotFoundError as exc:
            raise StoreError(file, "is not there", "check the path, or name a profile in the folder") from exc
        return put_together(path.stem, profile, file, _find_in(Store(path.parent), self))

    def check(self) -> list[Problem]:
        """Return all that is wrong in the folder: each file by itself, then with what it names."""
        found: dict[tuple[str, str], Entry[Any]] = {
            (kind.name, entry.slug): entry for kind in self._kinds for entry in self.entries(kind)
        }
        problems = [problem for entry in found.values() for problem in entry.problems]

        def find(kind: Kind[Any], called: str, file: str, field: str) -> Any:
            if (named := found.get((kind.name, called))) is None:
                raise BadInput(self._shelf(kind).lacking(called, file, field))
            if named.record is None:  # it is told of already
                raise BadInput(named.problems)
            return named.record

        for (_, slug), entry in found.items():
            try:
                if isinstance(entry.record, Truck):
                    fill_truck(entry.record, TRUCK.file(slug), find)
                elif isinstance(entry.record, Profile):
                    outfit = put_together(slug, entry.record, PROFILE.file(slug), find)
                    problems += pressures_past_limits(PROFILE.file(slug), outfit.profile, outfit.truck)
            except BadInput as exc:
                problems += [problem for problem in exc.problems if problem not in problems]
        return problems + favourites.problems_of_favourites(self.folder)

    @contextmanager
    def alone(self, file: str) -> Iterator[None]:
        """Keep all other writers out, to look and then write in several calls; `file` is what messages name.

        Raises
        ------
        StoreError
            If the folder cannot be written, or another program does not let go of it.
        """
        with alone(self.folder, file):
            yield

    def write(
        self, record: Filed, slug: str | None = None, expected: Expected = "any", *, keep_old: bool = False
    ) -> str:
        """Write a record and return its slug.

        With the slug it was read by, it goes back there. Without, it goes to the file of its name, and a name that is
        new gets a new file: numbered (mill-2) where another name has taken the slug. In the file, only what changed is
        touched; with nothing changed nothing is written.

        Parameters
        ----------
        record, slug
            What to write, and where it was read from.
        expected
            The record as the writer last read it, None if there was no such file; "any" writes over whatever is there.
        keep_old
            Whether the file as it was is kept, dated, in ``backups``.

        Raises
        ------
        ConflictError
            If the file holds something else than expected: both are whole, and the error has what is there now.
        StoreError
            If the file there is damaged or has another name in it, or the disk refuses; the old file is whole.
        """
        shelf = self._shelf_of(record)
        if slug is not None:
            shelf.path(slug)  # that it is one, before the disk is touched
        with self.alone(shelf.kind.file(slug or slug_of(record.name))):
            slug = shelf.slug_of(record.name) if slug is None else slug
            there = shelf.sound(slug) if shelf.has(slug) else None
            refuse_overtaken(shelf.kind.file(slug), expected, there[0] if there else None)
            if there is None:
                shelf.create(slug, record)
            else:
                _refuse_other_name(shelf.kind.file(slug), there[0], record)
                if keep_old:
                    self._change_and_keep(shelf, slug, there, record)
                else:
                    shelf.change(slug, there[1], there[0], record)
        return slug

    def _change_and_keep(self, shelf: Shelf[R], slug: str, there: tuple[R, Document], record: R) -> None:
        """Write a record over what is there, and keep a copy of that: both or neither."""
        old, document = there
        if toml_layout.changed_text(document.text, old, record) == document.text:
            return
        file = shelf.kind.file(slug)
        with Changes(self.folder) as changes:
            shelf.change(slug, document, old, record, changes)
            if document.former is None:  # else the file as it is on the disk is kept by that change
                with told_errors(file, "written"):
                    recycle_bin.keep_copy(self.folder, file, document.encoded(document.text), changes)
            changes.commit()

    def write_together(self, several: Sequence[tuple[Filed, str, Expected]]) -> None:
        """Write records, each with its slug and what was expected there, to files that are there: all or none.

        Raises
        ------
        ConflictError
            If one of the files holds something else than expected; nothing is written.
        StoreError
            If one is damaged or has another name in it, or the disk refuses.
        """
        if not several:
            return
        with self.alone(self._shelf_of(several[0][0]).kind.file(several[0][1])), Changes(self.folder) as changes:
            for record, slug, expected in several:
                shelf = self._shelf_of(record)
                there = shelf.sound(slug)
                refuse_overtaken(shelf.kind.file(slug), expected, there[0])
                _refuse_other_name(shelf.kind.file(slug), there[0], record)
                shelf.change(slug, there[1], there[0], record, changes)
            changes.commit()

    def save_as(self, record: Filed, new_name: str, like: str | None = None) -> str:
        """Write a record under a name that no other has, and return its slug.

        With `like`, a slug, the new file starts as a copy of that one, comments and all.

        Raises
        ------
        BadInput
            If the name cannot stand or is taken.
        """
        shelf = self._shelf_of(record)
        new = _renamed(shelf.kind, record, new_name)
        with self.alone(shelf.kind.file(slug_of(new.name))):
            slug = shelf.free_slug(new.name)
            if like is None:
                shelf.create(slug, new)
            else:
                old, document = shelf.sound(like)
                shelf.copy(slug, document, old, new)
        return slug

    def rename(self, slug: str, new_name: str, kind: Kind[Any] = PROFILE) -> str:
        """Give a record another name, and so its file another slug, which is returned; renaming back undoes it.

        What names it follows, in the bin too: profiles and slips a truck or trailer, trucks a bag's chart. All of it is
        done, or none.

        Raises
        ------
        BadInput
            If the name cannot stand or is taken, or a file that would have to follow is damaged.
        """
        shelf = self._shelf(kind)
        shelf.path(slug)
        with self.alone(kind.file(slug)):
            old, document = shelf.sound(slug)
            new = _renamed(shelf.kind, old, new_name)
            to = shelf.free_slug(new.name, own=slug)
            if to == slug:
                shelf.change(slug, document, old, new)
                return slug
            with Changes(self.folder) as changes:
                shelf.copy(to, document, old, new, changes)
                self._let_follow(kind, slug, to, changes)
                with told_errors(kind.file(slug), "renamed"):
                    changes.remove(kind.file(slug), read_bytes(shelf.path(slug), kind.file(slug), self.folder))
                if kind.name == PROFILE.name:
                    trail.move_trail(self.folder, slug, to, changes)
                changes.commit()
        return to

    def _let_follow(self, kind: Kind[Any], slug: str, to: str, changes: Changes) -> None:
        """Lay ready all files that name one of a kind as they are once that has another slug.

        A damaged one stops it where it needs what it names; one that can do without stays as it is.
        """
        if not kind.named_by:
            return
        moved = {(kind.name, slug): to}
        users = [(self._naming(kind), user) for user in self._users(kind, slug)]
        for naming, user in (*users, *self._noting(kind, slug)):
            shelf = self._shelf(naming)
            record, text = shelf.sound(user)
            shelf.change(user, text, record, rename_in(record, moved), changes)
        for file, text, record in recycle_bin.naming(self.folder, kind, slug):
            with told_errors(file, "written"):
                changes.put(file, text.encoded(toml_layout.changed_text(text.text, record, rename_in(record, moved))))

    def delete(self, slug: str, kind: Kind[Any] = PROFILE) -> Receipt:
        """Move a file, sound or damaged, into the bin; `restore` brings it back by the receipt.

        Raises
        ------
        BadInput
            If it is not there, or profiles still name the truck or trailer, or trucks the chart.
        """
        shelf = self._shelf(kind)
        if not shelf.has(slug):
            raise shelf.missing(slug)
        with self.alone(kind.file(slug)):
            if not shelf.has(slug):  # gone while we waited
                raise shelf.missing(slug)
            if users := self._users(kind, slug):
                rule = f"is used by {kind.named_by}{'s' if len(users) > 1 else ''} {', '.join(users)}"
                raise StoreError(
                    kind.file(slug),
                    rule,
                    f"choose another {kind.name} there, or delete them first",
                )
            receipt = recycle_bin.throw_in(self.folder, kind, slug, shelf.path(slug))
            trail.bin_trail(self.folder, receipt)
        return receipt

    def restore(self, receipt: Receipt) -> str:
        """Bring back a deleted file, and return its slug.

        Raises
        ------
        StoreError
            If it is no longer in the bin, or its place has been taken since.
        """
        kind, slug = receipt.kind, receipt.slug
        shelf = self._shelf(kind)
        with self.alone(kind.file(slug)):
            if shelf.has(slug):
                remedy = f"rename or delete that {kind.name} first, then undo"
                raise StoreError(kind.file(slug), "is there again", remedy)
            recycle_bin.take_out(self.folder, receipt, shelf.place(slug))
            trail.restore_trail(self.folder, receipt)
        return slug

    def binned(self) -> list[Binned]:
        """Return what is in the bin, the last deleted first, each with the receipt that `restore` takes."""
        return recycle_bin.list_deleted(self.folder)

    def purge(self, older_than: timedelta) -> list[Receipt]:
        """Take away for good what was deleted longer ago than a time, and return what that was."""
        with self.alone(recycle_bin.BIN):
            gone = recycle_bin.purge_deleted(self.folder, older_than)
            trail.purge_trail(self.folder, gone)
        return gone

    def _shelf(self, kind: Kind[R]) -> Shelf[R]:
        """Return the files of a kind, once what a program was stopped in is finished."""
        catch_up(self.folder)
        return Shelf(self.folder, next(one for one in self._kinds if one.name == kind.name))

    def _shelf_of(self, record: Filed) -> Shelf[Any]:
        """Return the files that a record is one of."""
        return self._shelf(next(kind for kind in self._kinds if isinstance(record, kind.record)))

    def _users(self, kind: Kind[Any], slug: str) -> list[str]:
        """Return the files that name one of a kind; a damaged one counts if its text looks like it."""
        return [
            entry.slug
            for entry in (self.entries(self._naming(kind)) if kind.named_by else ())
            if is_slug(entry.slug)
            and (
                self._seems_to_name(entry.slug, kind, slug)
                if entry.brief is None
                else slug in entry.brief.names(kind.name)
            )
        ]

    def _noting(self, kind: Kind[Any], slug: str) -> Iterator[tuple[Kind[Any], str]]:
        """Yield the sound files that name one of a kind and can do without."""
        for noting in (one for one in self._kinds if one.name == kind.noted_by):
            for entry in self.entries(noting):
                if entry.brief is not None and slug in entry.brief.names(kind.name):
                    yield noting, entry.slug

    def _naming(self, kind: Kind[Any]) -> Kind[Any]:
        """Return the kind whose files name those of a kind."""
        return next(one for one in self._kinds if one.name == kind.named_by)

    def _seems_to_name(self, user: str, kind: Kind[Any], slug: str) -> bool:
        """Tell whether a damaged file's text looks as if it named one of a kind."""
        naming = self._naming(kind)
        try:
            text, _ = read_text(self._shelf(naming).path(user), naming.file(user), self.folder)
        except (BadInput, FileNotFoundError):  # nobody can tell what it names
            return False
        keys = "|".join({path.rpartition(".")[2] for path in kind.paths})
        return re.search(rf"""^[^#\n]*\b(?:{keys})\s*=\s*["']{slug}["']""", text, re.MULTILINE) is not None


def _refuse_other_name(file: str, old: Filed, new: Filed) -> None:
    """Refuse to write over a file that has another name in it."""
    if not same_name(old.name, new.name):
        remedy = "rename that one, or save this one under another name"
        raise StoreError(file, f"holds another name, {shown_name(old.name)}", remedy, shown_name(new.name))


def _renamed(kind: Kind[R], record: R, new_name: str) -> R:
    """Return a record under another name; BadInput if that cannot be one."""
    return read_record(kind.record, record.as_file() | {"name": new_name}, f"the new {kind.name}")


def _find_in(*places: Store) -> Find:
    """Return what finds what files name, each in the first place that has it."""
    return partial(_named, [place.folder for place in places])


def _named(folders: Sequence[Path], kind: Kind[R], slug: str, file: str, field: str) -> R:
    """Return what a file names in a field; that it is not there is that file's problem."""
    shelves = [Shelf(folder, kind) for folder in folders]
    for shelf in shelves:
        if is_slug(slug) and shelf.has(slug):
            return shelf.load(slug)[0]
    raise BadInput(shelves[-1].lacking(slug, file, field))
