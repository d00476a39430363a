"""What a zip of files would change in the folder, known before anything changes."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final, Literal

from planner.errors import Change, StoreError
from planner.records import BadInput, Problem, Profile, Truck
from planner.records.file_header import Filed
from planner.store.conflict import changes_between
from planner.store.kinds import KINDS, PROFILE, TRUCK, Kind, fill_truck, put_together
from planner.store.os_errors import shown_name
from planner.store.reading import Document, as_document
from planner.store.record_files import ENDING, Shelf, plain_name
from planner.store.schema_version import read_kind
from planner.store.slugs import is_slug, slug
from planner.store.store import Store
from planner.store.transfer.zip_safety import open_zip

State = Literal["new", "same", "differs", "unusable"]
Choice = Literal["mine", "theirs", "both"]
"""For a file that differs from the one here: keep mine, take theirs, or keep both, theirs under another name."""

_OURS: Final = "which are named NAME.toml at the top, in trucks/, in trailers/, in bags/ or in slips/"


@dataclass(frozen=True)
class Read:
    """One file of a zip by itself: what it holds, or why it cannot be used."""

    file: str
    data: bytes = field(repr=False)
    kind: Kind[Any] | None = None
    slug: str = ""
    document: Document | None = field(default=None, repr=False)
    record: Filed | None = field(default=None, repr=False)
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True)
class Item:
    """One file of a zip against the folder.

    Attributes
    ----------
    read : the file
    state : new here, the same to the byte, different from the one here, or not to be used
    there : what lies here under its name, None if nothing does
    changes : in which fields it differs; none where only comments or layout do, or what lies here is damaged
    problems : why it cannot be used
    notes : what else to know before it is brought in
    """

    read: Read
    state: State
    there: bytes | None = field(default=None, repr=False)
    changes: tuple[Change, ...] = ()
    problems: tuple[Problem, ...] = ()
    notes: tuple[Problem, ...] = ()

    @property
    def file(self) -> str:
        """Its path in the zip, which is its path in the folder."""
        return self.read.file

    @property
    def name(self) -> str:
        """What to call it: its own name, or its path where that cannot be read."""
        return self.file if self.read.record is None else self.read.record.name

    @property
    def brings(self) -> bool:
        """Whether bringing it in could change the folder."""
        return self.state in ("new", "differs")

    def is_written(self, choice: Choice) -> bool:
        """Tell whether bringing it in writes something, given what is done where files differ."""
        return self.state == "new" or (self.state == "differs" and choice != "mine")


@dataclass(frozen=True)
class Coming:
    """What a zip would change, file by file: bags, trucks, trailers, profiles, slips, then what cannot be used."""

    items: tuple[Item, ...]

    def count(self, state: State) -> int:
        """Return how many files are new, the same, different, or not to be used."""
        return Counter(item.state for item in self.items)[state]


def preview_zip(data: bytes, store: Store, called: str = "the zip") -> Coming:
    """Return what bringing in a zip would change in a store's folder; nothing is written.

    Raises
    ------
    StoreError
        If the zip is refused as a whole.
    """
    return compare_with_folder(read_zip(data, called), store)


def read_zip(data: bytes, called: str = "the zip") -> tuple[Read, ...]:
    """Return the files of a zip, each read by itself; the same bytes give the same. Raises as `preview_zip` does."""
    found = tuple(read_file(file, content) for file, content in open_zip(data, called).items())
    if not found:
        raise StoreError(called, "is empty", "choose a zip that the planner exported")
    return found


def compare_with_folder(files: Sequence[Read], store: Store) -> Coming:
    """Return what files of a zip would change in a store's folder."""
    items = [_item(one, store) for one in files]
    if any(item.brings for item in items):
        notes = _Notes(store, items)
        items = [replace(item, notes=tuple(notes.of(item))) if item.brings else item for item in items]
    order: list[Kind[Any] | None] = [*KINDS, None]
    return Coming(tuple(sorted(items, key=lambda one: (order.index(one.read.kind), one.file))))


def read_file(file: str, data: bytes) -> Read:
    """Return what the bytes of one file hold, by its path from the profiles folder."""
    folder, _, name = file.rpartition("/")
    kind = next((kind for kind in KINDS if kind.folder == folder), None)
    if kind is None or not name.endswith(ENDING):
        problem = Problem(file, "", "", f"is not one of the planner's files, {_OURS}", "it is left out")
        return Read(file, data, problems=(problem,))
    stem = name.removesuffix(ENDING)
    if not is_slug(stem):
        rule, remedy = (
            "must have a file name of a-z, 0-9 and hyphens only",
            f"rename it to {slug(stem)}{ENDING} and zip it again",
        )
        return Read(file, data, kind, problems=(Problem(file, "", "", rule, remedy),))
    try:
        record, document = read_kind(kind, as_document(data, file), file)
    except BadInput as exc:
        return Read(file, data, kind, stem, problems=exc.problems)
    return Read(file, data, kind, stem, document, record)


def _item(read: Read, store: Store) -> Item:
    """Return one file of a zip against the folder, by itself."""
    if read.kind is None or read.record is None:
        return Item(read, "unusable", problems=read.problems)
    try:
        there = Shelf(store.folder, read.kind).raw(read.slug)
    except BadInput as exc:
        return Item(read, "unusable", problems=exc.problems)
    if there is None:
        return Item(read, "new")
    if there == read.data:
        return Item(read, "same", there)
    try:
        mine = store.read(read.kind, read.slug)
    except BadInput:
        return Item(read, "differs", there)
    return Item(read, "differs", there, changes_between(mine, read.record))


class _Notes:
    """What to know of files once all of a zip that can be used has been brought in."""

    def __init__(self, store: Store, items: Sequence[Item]) -> None:
        """Look at a folder and at what comes to it."""
        self._store = store
        self._coming = {
            (one.read.kind.name, one.read.slug): one.read.record for one in items if one.read.kind and one.read.record
        }
        self._here = {(kind.name, entry.slug): entry for kind in KINDS for entry in store.entries(kind)}
        self._named_so: dict[tuple[str, str], list[str]] = {}  # kind and name: slugs of the sound files here
        for (kind_name, called), entry in self._here.items():
            if entry.brief is not None:
                self._named_so.setdefault((kind_name, plain_name(entry.name)), []).append(called)

    def of(self, item: Item) -> Iterator[Problem]:
        """Yield what to know of a file that changes the folder."""
        kind, slug, record = item.read.kind, item.read.slug, item.read.record
        assert kind is not None  # it can be used
        here = self._here.get((kind.name, slug))
        if here is not None and here.brief is None and not item.changes:
            yield Problem(
                item.file, "", "", "the one here is damaged", "take the one from the zip; yours goes to the bin"
            )
        for called in self._named_so.get((kind.name, plain_name(item.name)), ()) if item.state == "new" else ():
            rule = f"has the same name as {kind.file(called)} here, {shown_name(item.name)}"
            yield Problem(item.file, "", "", rule, "rename one of the two")
        yield from self._misfits(record, item.file)
        for (kind_name, user), entry in self._here.items() if item.state == "differs" else ():
            stays = kind_name == kind.named_by and (kind_name, user) not in self._coming  # and may not work with it
            if stays and entry.brief is not None and slug in entry.brief.names(kind.name):
                yield from self._misfits(entry.record, (PROFILE if kind_name == PROFILE.name else TRUCK).file(user))

    def _misfits(self, record: Filed | None, file: str) -> Sequence[Problem]:
        """Return why a record will not work with what it names: a profile's truck and trailer, a truck's charts."""
        try:
            if isinstance(record, Profile):
                put_together("", record, file, self._named)
            elif isinstance(record, Truck):
                fill_truck(record, file, self._named)
        except BadInput as exc:
            return exc.problems
        return ()

    def _named(self, kind: Kind[Any], called: str, file: str, _: str) -> Any:
        """Return what a file names, as it will be; StoreError if there will be none."""
        if coming := self._coming.get((kind.name, called)):
            return coming
        if (kind.name, called) not in self._here or not is_slug(called):
            rule = f"names the {kind.name} {shown_name(called)}, which is not in the zip and not here"
            raise StoreError(file, rule, f"bring in {kind.folder}/{called}{ENDING} too, or name another {kind.name}")
        return self._store.read(kind, called)
