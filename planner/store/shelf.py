"""All files of one kind in one folder: named, listed, read with care and written whole."""

import os
import unicodedata
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from typing import Final, Generic

from planner.records import BadInput, Problem, nearest, read_record
from planner.store import disk, layout
from planner.store.faults import StoreError, shown, told, unreadable
from planner.store.kinds import Entry, Kind, R
from planner.store.reading import LARGEST, Document, is_inside, parsed, read_document, refuse_giants
from planner.store.slugs import is_slug, numbered, slug

ENDING: Final = ".toml"
MOST_OFFERED: Final = 8  # names listed when one was not found


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
        """Return the slugs of the files, sorted; files whose name is none are in `entries`."""
        return [stem for stem in self._stems() if is_slug(stem)]

    def entries(self) -> list[Entry[R]]:
        """Return all files, sorted; a damaged one has its problems in place of a record."""
        return [self._entry(stem) for stem in self._stems()]

    def load(self, slug: str) -> tuple[R, Document]:
        """Return a record and the text it was read from; BadInput with all that is wrong."""
        path, file = self.path(slug), self.kind.file(slug)
        try:
            document = read_document(path, file, self.home)
        except FileNotFoundError as exc:
            raise self.missing(slug) from exc
        return read_record(self.kind.record, document.data, file), document

    def sound(self, slug: str) -> tuple[R, Document]:
        """Return a record and its text in order to write over them; a damaged file is never written over."""
        try:
            return self.load(slug)
        except BadInput as exc:
            rule = f"is damaged and is not written over ({exc.problems[0].rule})"
            remedy = "mend it, or delete it, or save under another name"
            raise StoreError(self.kind.file(slug), rule, remedy) from exc

    def slug_of(self, name: str, own: str | None = None) -> str:
        """Return the slug of the file that has a name, or a free one for it; `own` counts as free."""
        base = slug(name)
        tries = (base if number == 1 else numbered(base, number) for number in count(1))
        return next(one for one in tries if one == own or not self.has(one) or same_name(self.sound(one)[0].name, name))

    def free_slug(self, name: str, own: str | None = None) -> str:
        """Return a free slug for a name that no other file has; `own` counts as free."""
        found = self.slug_of(name, own)
        if found != own and self.has(found):
            raise StoreError(self.kind.file(found), "has that name already", "choose another name", shown(name))
        return found

    def create(self, slug: str, record: R) -> None:
        """Write a new file in the stable order of the fields."""
        self.put(slug, layout.new_text(record).encode("utf-8"), record)

    def change(self, slug: str, document: Document, old: R, new: R) -> None:
        """Write a file that differs from what it was where the record does, and nowhere else."""
        self.copy(slug, document, old, new, skip=document.text)

    def copy(self, slug: str, document: Document, old: R, new: R, skip: str | None = None) -> None:
        """Write a file made from the text of a record `old`; nothing is written if that is the text `skip`."""
        text = layout.changed_text(document.text, old, new)
        if text != skip:
            self.put(slug, document.encoded(text), new)

    def put(self, slug: str, data: bytes, record: R) -> None:
        """Write a file whole, once it is sure to give the record when it is read."""
        file, path = self.kind.file(slug), self.path(slug)
        refuse_giants(record.as_file(), file)
        if len(data) > LARGEST:
            rule = f"would be larger than {LARGEST // 1_000_000} MB"
            raise StoreError(file, rule, "take out what is old, such as readings")
        if not self._gives(data.decode("utf-8-sig"), record):
            rule = "is laid out in a way that cannot be changed without disturbing it"
            raise StoreError(file, rule, "change it in a text editor, or save under another name")
        with told(file, "written"):
            if not is_inside(path, self.home):
                raise StoreError(file, "is a link that leaves the folder", "put the file or folder itself there")
            disk.replace(Path(os.path.realpath(path)), data)

    def missing(self, slug: str) -> StoreError:
        """Return the error of a file that is not there, with the name of one that is."""
        there = self.slugs()
        near = nearest(slug, there)
        some = f"there are: {', '.join(there[:MOST_OFFERED])}" if there else f"there is no {self.kind.name} yet"
        file = self.kind.file(slug) if is_slug(slug) else self.kind.folder or "profiles"
        return StoreError(
            file, f"must be a {self.kind.name} here", f"did you mean {near}?" if near else some, shown(slug)
        )

    def _gives(self, text: str, record: R) -> bool:
        """Tell whether a text reads as the record, to the letter of every quantity."""
        try:
            read = read_record(self.kind.record, parsed(text, self.kind.name), self.kind.name)
        except BadInput:
            return False
        return layout.everything(read) == layout.everything(record)

    def _stems(self) -> list[str]:
        """Return the names of the files without their ending, sorted."""
        try:
            with os.scandir(self.home / self.kind.folder) as found:
                names = [one.name for one in found]
        except FileNotFoundError:
            return []
        except OSError as exc:
            raise BadInput([unreadable(self.kind.folder or "profiles", exc)]) from exc
        return sorted(name.removesuffix(ENDING) for name in names if name.endswith(ENDING) and name[0] != ".")

    def _entry(self, stem: str) -> Entry[R]:
        """Return one file as a list shows it."""
        path = self.home / self.kind.folder / f"{stem}{ENDING}"
        try:
            modified = datetime.fromtimestamp(path.lstat().st_mtime, UTC)
        except OSError:  # gone since it was listed: reading it tells
            modified = datetime.fromtimestamp(0, UTC)
        if not is_slug(stem):
            rule, remedy = "must have a name of a-z, 0-9 and hyphens", f"rename it to {slug(stem)}{ENDING}"
            return Entry(stem, None, (Problem(self.kind.file(stem), "", "", rule, remedy),), modified)
        try:
            return Entry(stem, self.load(stem)[0], (), modified)
        except BadInput as exc:
            return Entry(stem, None, exc.problems, modified)


def same_name(one: str, other: str) -> bool:
    """Tell whether two names are the same to the eye, however their accents are stored."""
    return unicodedata.normalize("NFC", one) == unicodedata.normalize("NFC", other)
