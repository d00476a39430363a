"""The store: one folder of trucks, trailers and profiles, which name each other."""

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from os.path import lexists
from pathlib import Path
from typing import Any, Final

from planner.records import BadInput, Problem, Profile, Trailer, Truck, check_together, read_record
from planner.records.files import Filed
from planner.store import disk
from planner.store.faults import StoreError, shown, told
from planner.store.kinds import KINDS, PROFILE, TRAILER, TRUCK, Entry, Kind, Outfit, R, Receipt
from planner.store.reading import parsed, read_document, read_text
from planner.store.shelf import Shelf, same_name
from planner.store.slugs import is_slug

BIN: Final = "bin"


class Store:
    """The files of one profiles folder. It holds no content: every call looks at the disk."""

    def __init__(self, folder: Path) -> None:
        """Work in a folder, which `find_folder` finds; nothing is read or made yet."""
        self.folder = folder.absolute()

    def profiles(self) -> list[str]:
        """Return the slugs of the profiles, sorted."""
        return self._shelf(PROFILE).slugs()

    def trucks(self) -> list[str]:
        """Return the slugs of the trucks, sorted."""
        return self._shelf(TRUCK).slugs()

    def trailers(self) -> list[str]:
        """Return the slugs of the trailers, sorted."""
        return self._shelf(TRAILER).slugs()

    def entries(self, kind: Kind[R]) -> list[Entry[R]]:
        """Return all files of a kind, sorted by slug; a damaged one has its problems in place of a record."""
        return self._shelf(kind).entries()

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
        """Return a truck; raises as `read` does."""
        return self.read(TRUCK, slug)

    def read_trailer(self, slug: str) -> Trailer:
        """Return a trailer; raises as `read` does."""
        return self.read(TRAILER, slug)

    def read_outfit(self, slug: str) -> Outfit:
        """Return a profile with the truck and the trailer it names, which fit each other; raises as `read` does."""
        return _outfit(slug, self.read_profile(slug), PROFILE.file(slug), [self])

    def read_profile_path(self, path: Path) -> Outfit:
        """Return a profile from a file anywhere, its truck and trailer from beside it or else from this folder.

        Raises
        ------
        BadInput
            If one of the three is not there, damaged, or does not fit the others.
        """
        file = str(path)
        if "\0" in file:
            raise StoreError(shown(file), "is no path", "check it")
        try:
            profile = read_record(Profile, read_document(path, file).data, file)
        except FileNotFoundError as exc:
            raise StoreError(file, "is not there", "check the path, or name a profile of the folder") from exc
        return _outfit(path.stem, profile, file, [Store(path.parent), self])

    def check(self) -> list[Problem]:
        """Return all that is wrong in the folder: each file by itself, then profiles with what they name."""
        problems = [problem for kind in KINDS for entry in self.entries(kind) for problem in entry.problems]
        for entry in self.entries(PROFILE):
            if entry.record is not None:
                try:
                    self.read_outfit(entry.slug)
                except BadInput as exc:
                    problems += [problem for problem in exc.problems if problem not in problems]
        return problems

    def write(self, record: Filed, slug: str | None = None) -> str:
        """Write a record and return its slug.

        With the slug it was read by, it goes back there. Without, it goes to the file of its name, and a name that is
        new gets a new file: numbered (mill-2) where another name has taken the slug. In the file, only what changed is
        touched; with nothing changed nothing is written.

        Raises
        ------
        StoreError
            If the file there is damaged or has another name in it, or the disk refuses; the old file is whole.
        """
        shelf = self._shelf_of(record)
        slug = shelf.slug_of(record.name) if slug is None else slug
        if not shelf.has(slug):
            shelf.create(slug, record)
            return slug
        old, document = shelf.sound(slug)
        if not same_name(old.name, record.name):
            rule = f"has another name in it, {shown(old.name)}"
            remedy = "rename that one, or save this one under another name"
            raise StoreError(shelf.kind.file(slug), rule, remedy, shown(record.name))
        shelf.change(slug, document, old, record)
        return slug

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
        slug = shelf.free_slug(new.name)
        if like is None:
            shelf.create(slug, new)
        else:
            old, document = shelf.sound(like)
            shelf.copy(slug, document, old, new)
        return slug

    def rename(self, slug: str, new_name: str, kind: Kind[Any] = PROFILE) -> str:
        """Give a record another name, and so its file another slug, which is returned; renaming back undoes it.

        Profiles that name the truck or trailer follow. The new file is there before the old one goes.

        Raises
        ------
        BadInput
            If the name cannot stand or is taken, or a profile that would have to follow is damaged.
        """
        shelf, profiles = self._shelf(kind), self._shelf(PROFILE)
        old, document = shelf.sound(slug)
        new = _renamed(kind, old, new_name)
        to = shelf.free_slug(new.name, own=slug)
        if to == slug:
            shelf.change(slug, document, old, new)
            return slug
        followers = [(user, *profiles.sound(user)) for user in self._users(kind, slug)]
        shelf.copy(to, document, old, new)
        for user, profile, text in followers:
            profiles.change(user, text, profile, profile.replaced(**{kind.name: to}))
        with told(kind.file(slug), "renamed"):
            disk.remove(shelf.path(slug))
        return to

    def delete(self, slug: str, kind: Kind[Any] = PROFILE) -> Receipt:
        """Move a file, sound or damaged, into the bin; `restore` brings it back by the receipt.

        Raises
        ------
        BadInput
            If it is not there, or profiles still name the truck or trailer.
        """
        shelf = self._shelf(kind)
        if not shelf.has(slug):
            raise shelf.missing(slug)
        if users := self._users(kind, slug):
            rule = f"is named by {'profiles' if len(users) > 1 else 'profile'} {', '.join(users)}"
            raise StoreError(kind.file(slug), rule, f"name another {kind.name} there, or delete them first")
        at = datetime.now(UTC)
        while lexists(self._binned(receipt := Receipt.of(kind, slug, at))):
            at += timedelta(microseconds=1)
        with told(kind.file(slug), "moved to the bin"):
            disk.move(shelf.path(slug), self._binned(receipt))
        return receipt

    def restore(self, receipt: Receipt) -> str:
        """Bring back a deleted file, and return its slug.

        Raises
        ------
        StoreError
            If it is no longer in the bin, or its place has been taken since.
        """
        kind, slug = receipt.kind, receipt.slug
        if self._shelf(kind).has(slug):
            raise StoreError(kind.file(slug), "is there again", f"rename or delete that {kind.name} first, then undo")
        if not lexists(self._binned(receipt)):
            raise StoreError(f"{BIN}/{receipt.binned}", "is no longer in the bin", "take it from your own backup")
        with told(kind.file(slug), "brought back"):
            disk.move(self._binned(receipt), self._shelf(kind).path(slug))
        return slug

    def _shelf(self, kind: Kind[R]) -> Shelf[R]:
        """Return the files of a kind."""
        return Shelf(self.folder, kind)

    def _shelf_of(self, record: Filed) -> Shelf[Any]:
        """Return the files that a record is one of."""
        return self._shelf(next(kind for kind in KINDS if isinstance(record, kind.record)))

    def _binned(self, receipt: Receipt) -> Path:
        """Return where a deleted file lies."""
        return self.folder / BIN / receipt.binned

    def _users(self, kind: Kind[Any], slug: str) -> list[str]:
        """Return the profiles that name a truck or trailer; a damaged one counts if its text looks like it."""
        if kind is PROFILE:
            return []
        return [user for user in self.profiles() if self._names(user, kind, slug)]

    def _names(self, user: str, kind: Kind[Any], slug: str) -> bool:
        """Tell whether a profile names a truck or trailer."""
        file = PROFILE.file(user)
        try:
            text, _ = read_text(self._shelf(PROFILE).path(user), file, self.folder)
        except (BadInput, FileNotFoundError):  # nobody can tell what it names
            return False
        try:
            return bool(parsed(text, file).get(kind.name) == slug)
        except BadInput:
            return re.search(rf"""^\s*{kind.name}\s*=\s*["']{slug}["']""", text, re.MULTILINE) is not None


def _renamed(kind: Kind[R], record: R, new_name: str) -> R:
    """Return a record under another name; BadInput if that cannot be one."""
    return read_record(kind.record, record.as_file() | {"name": new_name}, f"the new {kind.name}")


def _outfit(slug: str, profile: Profile, file: str, places: Sequence[Store]) -> Outfit:
    """Return a profile with what it names, each from the first place that has it; BadInput with all problems."""
    problems: list[Problem] = []
    named: dict[str, Any] = {}
    kinds: tuple[tuple[Kind[Any], str | None], ...] = ((TRUCK, profile.truck), (TRAILER, profile.trailer))
    for kind, called in kinds:
        try:
            named[kind.name] = None if called is None else _named(kind, called, file, places)
        except BadInput as exc:
            problems += exc.problems
    if problems:
        raise BadInput(problems)
    check_together(profile, named["truck"], named["trailer"], file)
    return Outfit(slug, profile, named["truck"], named["trailer"])


def _named(kind: Kind[R], slug: str, file: str, places: Sequence[Store]) -> R:
    """Return the truck or trailer that a profile names; that it is not there is the profile's problem."""
    shelves = [Shelf(place.folder, kind) for place in places]
    for shelf in shelves:
        if is_slug(slug) and shelf.has(slug):
            return shelf.load(slug)[0]
    problem = shelves[-1].missing(slug).problems[0]
    raise BadInput([replace(problem, file=file, field=kind.name)])
