"""All files of one kind in one folder: named, listed, read with care and written whole."""

import os
import unicodedata
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from hashlib import sha256
from itertools import count, takewhile
from pathlib import Path
from typing import Any, Final, Generic

from planner.errors import StoreError
from planner.records import BadInput, Problem, nearest, read_record
from planner.records.file_header import NEWER
from planner.store import atomic_write, recycle_bin, toml_layout
from planner.store.journal import Changes
from planner.store.kinds import Kind, R
from planner.store.locking import refuse_gone
from planner.store.name_order import natural
from planner.store.os_errors import refused, shown_name, told_errors
from planner.store.reading import LARGEST, Document, is_inside, parse_toml, read_bytes, read_text, refuse_giants
from planner.store.schema_version import read_kind
from planner.store.slugs import is_slug, numbered, slug

ENDING: Final = ".toml"
MOST_OFFERED: Final = 8  # names listed when one was not found
USUAL: Final = 50_000  # characters; of a longer text it is not kept what it says
MOST_SENSELESS: Final = 32  # longer texts of which it is kept what is wrong with them

_senseless: dict[tuple[Kind[Any], str, bytes], tuple[Problem, ...]] = {}


class Shelf(Generic[R]):
    """The files of one kind. It holds no content: every call looks at the disk."""

    def __init__(self, home: Path, kind: Kind[R]) -> None:
        """Stand for a kind's files in the profiles folder `home`."""
        self.home = home
        self.kind = kind

    def path(self, slug: str) -> Path:
        """Return where a file lies; nothing but a slug is ever joined to the folder."""
        if not is_slug(slug):
            raise self.missing(slug)
        return self.home / self.kind.folder / f"{slug}{ENDING}"

    def has(self, slug: str) -> bool:
        """Tell whether something lies there, be it damaged or a link to nothing."""
        return os.path.lexists(self.path(slug))

    def slugs(self) -> list[str]:
        """Return the slugs of the files, as people sort them; files whose name is none are in `files` only."""
        return [stem for stem in self.files() if is_slug(stem)]

    def files(self) -> dict[str, os.DirEntry[str]]:
        """Return what lies in the folder as files of this kind do, by its name without ending, as people sort them."""
        try:
            with os.scandir(self.home / self.kind.folder) as found:
                files = {one.name.removesuffix(ENDING): one for one in found if one.name.endswith(ENDING)}
        except FileNotFoundError:
            refuse_gone(self.home)
            return {}
        except OSError as exc:
            raise BadInput([refused(self.kind.folder or "profiles", "read", exc)]) from exc
        return {stem: files[stem] for stem in sorted(files, key=natural) if not stem.startswith(".") and stem}

    def load(self, slug: str, looked_at: bool = False) -> tuple[R, Document]:
        """Return a record and the text it was read from; BadInput with all that is wrong.

        `looked_at`: the caller knows that no link lies there.
        """
        path, file = self.path(slug), self.kind.file(slug)
        try:
            text, marked = read_text(path, file, None if looked_at else self.home)
        except FileNotFoundError as exc:
            raise self.missing(slug) from exc
        return (_understood if len(text) <= USUAL else _understood_long)(self.kind, text, marked, file)

    def raw(self, slug: str) -> bytes | None:
        """Return the bytes of a file, sound or damaged; None if nothing lies there.

        BadInput if it is no ordinary file of moderate size in the folder.
        """
        if not self.has(slug):
            return None
        try:
            return read_bytes(self.path(slug), self.kind.file(slug), self.home)
        except FileNotFoundError as exc:
            raise StoreError(self.kind.file(slug), "is a link to nothing", "delete the link") from exc

    def sound(self, slug: str) -> tuple[R, Document]:
        """Return a record and its text in order to write over them, which a damaged or newer file never is."""
        try:
            return self.load(slug)
        except BadInput as exc:
            if not self.has(slug):
                rule, remedy = "is gone: renamed or deleted somewhere else", "open the list again"
                raise StoreError(self.kind.file(slug), rule, remedy) from exc
            first = exc.problems[0]
            if first.remedy == NEWER:
                rule, remedy = f"{first.rule}, so it was not overwritten", NEWER
            else:
                rule = f"is damaged, so it was not overwritten ({first.rule})"
                remedy = "fix or delete it, or save under another name"
            raise StoreError(self.kind.file(slug), rule, remedy) from exc

    def slug_of(self, name: str, own: str | None = None) -> str:
        """Return the slug of the file that has a name, or a free one for it; `own` counts as free."""
        return next(
            one for one in _slugs(name) if one == own or not self.has(one) or same_name(self.sound(one)[0].name, name)
        )

    def free_slug(self, name: str, own: str | None = None) -> str:
        """Return a free slug for a name that no other file has, in capitals or not; `own` counts as free."""
        found, rule = self.slug_of(name, own), "has that name already"
        if found == own or not self.has(found):
            before = takewhile(lambda one: one != found, _slugs(name))
            alike = (one for one in before if one != own and same_letters(self.sound(one)[0].name, name))
            if (other := next(alike, None)) is None:
                return found
            found, rule = other, "has that name already, with other capital letters"
        raise StoreError(self.kind.file(found), rule, "choose another name", shown_name(name))

    def create(self, slug: str, record: R) -> None:
        """Write a new file in the stable order of the fields."""
        self.put(slug, toml_layout.new_text(record).encode("utf-8"), record)

    def change(self, slug: str, document: Document, old: R, new: R, changes: Changes | None = None) -> None:
        """Write a file that differs from what it was where the record does, and nowhere else."""
        text = toml_layout.changed_text(document.text, old, new)
        if text != document.text:
            self.put(slug, document.encoded(text), new, document.former, changes)

    def copy(self, slug: str, document: Document, old: R, new: R, changes: Changes | None = None) -> None:
        """Write a file made from the text of a record `old`."""
        text = toml_layout.changed_text(document.text, old, new)
        self.put(slug, document.encoded(text), new, document.former, changes)

    def put(
        self, slug: str, data: bytes, record: R, former: Document | None = None, changes: Changes | None = None
    ) -> None:
        """Write a file whole, once it is sure to give the record when it is read; keep one of a former schema.

        With `changes` it is laid ready there, to be written with others or not at all.
        """
        file = self.kind.file(slug)
        self._refuse_unfit(file, data, record)
        with told_errors(file, "written"):
            place = self.place(slug)
            if former is not None:
                recycle_bin.keep_former(self.home, file, former.encoded(former.text), former.data["schema"], changes)
            if changes is not None:
                changes.put(file, data)
                return
            atomic_write.replace_file(place, data)
            atomic_write.sweep_temporary(self.home)

    def _refuse_unfit(self, file: str, data: bytes, record: R) -> None:
        """Refuse bytes that would not give the record, whole, when they are read."""
        refuse_giants(record.as_file(), file)
        if len(data) > LARGEST:
            rule = f"would be larger than {LARGEST // 1_000_000} MB"
            raise StoreError(file, rule, "delete old entries, such as readings")
        if not self._gives(data.decode("utf-8-sig"), record):
            rule = "is laid out so that the planner cannot change it safely"
            raise StoreError(file, rule, "change it in a text editor, or save under another name")

    def place(self, slug: str) -> Path:
        """Return where a file really lies, its links followed, which is in the folder."""
        path = self.path(slug)
        if not is_inside(path, self.home):
            rule = "is a link to a place outside the folder"
            raise StoreError(self.kind.file(slug), rule, "put the file or folder itself there")
        return Path(os.path.realpath(path))

    def missing(self, slug: str) -> StoreError:
        """Return the error of a file that is not there, with the name of one that is."""
        there = self.slugs()
        near = nearest(slug, there)
        some = f"choose from {', '.join(there[:MOST_OFFERED])}" if there else f"make a {self.kind.name} first"
        file = self.kind.file(slug) if is_slug(slug) else self.kind.folder or "profiles"
        return StoreError(
            file, f"no {self.kind.name} has that name", f"did you mean {near}?" if near else some, shown_name(slug)
        )

    def lacking(self, slug: str, user: str, field: str) -> list[Problem]:
        """Return that a file is not there as a problem of the one that names it, in a field."""
        return [replace(problem, file=user, field=field) for problem in self.missing(slug).problems]

    def _gives(self, text: str, record: R) -> bool:
        """Tell whether a text reads as the record, to the letter of every quantity."""
        try:
            read = read_record(self.kind.record, parse_toml(text, self.kind.name), self.kind.name)
        except BadInput:
            return False
        return toml_layout.all_keys(read) == toml_layout.all_keys(record)


@lru_cache(maxsize=128)
def _understood(kind: Kind[R], text: str, marked: bool, file: str) -> tuple[R, Document]:
    """Return what a text says. A page asks for the same texts again and again, and what they say cannot be changed."""
    return read_kind(kind, Document(text, parse_toml(text, file), marked), file)


def _understood_long(kind: Kind[R], text: str, marked: bool, file: str) -> tuple[R, Document]:
    """Return what a long text says; of one that says nothing it is kept why, as a page asks for each file twice."""
    mark = (kind, file, sha256(text.encode()).digest())
    if (known := _senseless.get(mark)) is not None:
        raise BadInput(known)
    try:
        return _understood.__wrapped__(kind, text, marked, file)
    except BadInput as exc:
        if len(_senseless) >= MOST_SENSELESS:
            _senseless.clear()
        _senseless[mark] = exc.problems
        raise


def same_name(one: str, other: str) -> bool:
    """Tell whether two names are the same to the eye, however their accents are stored."""
    return plain_name(one) == plain_name(other)


def same_letters(one: str, other: str) -> bool:
    """Tell whether two names are the same read aloud, however their letters are cased."""
    return plain_name(one).casefold() == plain_name(other).casefold()


def _slugs(name: str) -> Iterator[str]:
    """Yield the slugs that a name may have, the plain one first."""
    base = slug(name)
    yield base
    yield from (numbered(base, number) for number in count(2))


def plain_name(name: str) -> str:
    """Return a name in the one form that all which look the same have."""
    return unicodedata.normalize("NFC", name)
