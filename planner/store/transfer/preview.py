"""What a zip of files would change in the folder, known before anything changes."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final, Literal

from planner.errors import Change, StoreError
from planner.records import BadInput, Problem, Profile, check_together
from planner.records.file_header import Filed
from planner.store.conflict import changes_between
from planner.store.kinds import KINDS, PROFILE, TRAILER, TRUCK, Kind
from planner.store.os_errors import shown_name
from planner.store.reading import Document, parse_toml, read_bytes
from planner.store.record_files import ENDING, Shelf, plain_name
from planner.store.schema_version import read_kind
from planner.store.slugs import is_slug, slug
from planner.store.store import Store
from planner.store.transfer.zip_safety import open_zip

State = Literal["new", "same", "differs", "unusable"]

_MARK: Final = b"\xef\xbb\xbf"  # what some editors put before UTF-8
_OURS: Final = "which are named NAME.toml at the top, in trucks/, in trailers/ or in slips/"


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


@dataclass(frozen=True)
class Coming:
    """What a zip would change, file by file: trucks, trailers, profiles, then what cannot be used."""

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
    """Return the files of a zip, each read by itself; the same bytes give the same. Raises as `look` does."""
    found = tuple(read_file(file, content) for file, content in open_zip(data, called).items())
    if not found:
        raise StoreError(called, "is empty", "choose a zip that the planner exported")
    return found


def compare_with_folder(files: Sequence[Read], store: Store) -> Coming:
    """Return what files of a zip would change in a store's folder."""
    items = [_item(one, store) for one in files]
    notes = _Notes(store, items)
    order: dict[str, int] = {kind.name: place for place, kind in enumerate(KINDS)}
    items = [replace(item, notes=tuple(notes.of(item))) if item.brings else item for item in items]
    unusable = len(order)
    return Coming(
        tuple(sorted(items, key=lambda one: (order[one.read.kind.name] if one.read.kind else unusable, one.file)))
    )


def read_lying(shelf: Shelf[Any], slug: str) -> bytes | None:
    """Return the bytes of a file in the folder, sound or damaged; None if nothing lies there.

    Raises
    ------
    BadInput
        If it is no ordinary file of moderate size in the folder.
    """
    if not shelf.has(slug):
        return None
    try:
        return read_bytes(shelf.path(slug), shelf.kind.file(slug), shelf.home)
    except FileNotFoundError as exc:
        raise StoreError(shelf.kind.file(slug), "is a link to nothing", "take it away") from exc


def read_file(file: str, data: bytes) -> Read:
    """Return what the bytes of one file hold, by its path from the profiles folder."""
    folder, _, name = file.rpartition("/")
    kind = next((kind for kind in KINDS if kind.folder == folder), None)
    if kind is None or not name.endswith(ENDING):
        problem = Problem(file, "", "", f"is none of the planner's files, {_OURS}", "it is left out")
        return Read(file, data, problems=(problem,))
    stem = name.removesuffix(ENDING)
    if not is_slug(stem):
        rule, remedy = "must have a name of a-z, 0-9 and hyphens", f"rename it to {slug(stem)}{ENDING} and zip it again"
        return Read(file, data, kind, problems=(Problem(file, "", "", rule, remedy),))
    try:
        text = data.removeprefix(_MARK).decode("utf-8")
        document = Document(text, parse_toml(text, file), data.startswith(_MARK))
        record, document = read_kind(kind, document, file)
    except UnicodeDecodeError as exc:
        line = data.count(b"\n", 0, exc.start) + 1
        problem = Problem(file, "", "", f"is not UTF-8 text (line {line})", "save it again as UTF-8 in a text editor")
        return Read(file, data, kind, stem, problems=(problem,))
    except BadInput as exc:
        return Read(file, data, kind, stem, problems=exc.problems)
    return Read(file, data, kind, stem, document, record)


def _item(read: Read, store: Store) -> Item:
    """Return one file of a zip against the folder, by itself."""
    if read.kind is None or read.record is None:
        return Item(read, "unusable", problems=read.problems)
    try:
        there = read_lying(Shelf(store.folder, read.kind), read.slug)
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
        self._coming: Mapping[tuple[str, str], Filed] = {
            (item.read.kind.name, item.read.slug): item.read.record
            for item in items
            if item.read.kind is not None and item.read.record is not None
        }
        changing = any(item.brings for item in items)
        self._entries = {kind.name: store.entries(kind) if changing else [] for kind in KINDS}
        self._slugs = {kind: {entry.slug for entry in found} for kind, found in self._entries.items()}
        self._damaged_ones = {
            kind: {entry.slug for entry in found if entry.brief is None} for kind, found in self._entries.items()
        }
        self._named_so: dict[tuple[str, str], list[str]] = {}  # kind and name: slugs of the sound files here
        for kind, found in self._entries.items():
            for entry in found:
                if entry.brief is not None:
                    self._named_so.setdefault((kind, plain_name(entry.name)), []).append(entry.slug)

    def of(self, item: Item) -> Iterator[Problem]:
        """Yield what to know of a file that changes the folder."""
        kind, record = item.read.kind, item.read.record
        assert kind is not None  # it can be used
        assert record is not None
        if item.there is not None and not item.changes and self._damaged(kind, item.read.slug):
            yield Problem(item.file, "", "", "the one here is damaged", "take this one; yours goes to the bin")
        if item.state == "new":
            yield from self._same_name(kind, item)
        if isinstance(record, Profile):
            yield from self._misfits(record, item.file)
        elif item.state == "differs":
            yield from self._users_misfits(kind, item.read.slug)

    def _damaged(self, kind: Kind[Any], slug: str) -> bool:
        """Tell whether the file that lies here cannot be read."""
        return slug in self._damaged_ones[kind.name]

    def _same_name(self, kind: Kind[Any], item: Item) -> Iterator[Problem]:
        """Tell of files here that have the same name inside."""
        for called in self._named_so.get((kind.name, plain_name(item.name)), ()):
            rule = f"has the name of {kind.file(called)} here, {shown_name(item.name)}"
            yield Problem(item.file, "", "", rule, "there would be two of that name: rename one")

    def _misfits(self, profile: Profile, file: str) -> Iterator[Problem]:
        """Tell why a profile will not work with the truck and trailer it names."""
        named: dict[str, Any] = {}
        problems: list[Problem] = []
        for kind, called in ((TRUCK, profile.truck), (TRAILER, profile.trailer)):
            try:
                named[kind.name] = None if called is None else self._named(kind, called, file)
            except BadInput as exc:
                problems += exc.problems
        try:
            if not problems:
                check_together(profile, named["truck"], named["trailer"], file)
        except BadInput as exc:
            problems += exc.problems
        yield from problems

    def _named(self, kind: Kind[Any], called: str, file: str) -> Any:
        """Return the truck or trailer that a profile names, as it will be; StoreError if there will be none."""
        if (kind.name, called) in self._coming:
            return self._coming[kind.name, called]
        if not is_slug(called) or called not in self._slugs[kind.name]:
            rule = f"names the {kind.name} {shown_name(called)}, which is neither in the zip nor here"
            raise StoreError(file, rule, f"bring in {kind.folder}/{called}{ENDING} too, or name another {kind.name}")
        return self._store.read(kind, called)

    def _users_misfits(self, kind: Kind[Any], slug: str) -> Iterator[Problem]:
        """Tell which profiles that stay as they are will not work with a truck or trailer that comes."""
        for entry in self._entries[PROFILE.name]:
            stays = (PROFILE.name, entry.slug) not in self._coming
            if stays and entry.brief is not None and getattr(entry.brief, kind.name) == slug:
                profile = entry.record
                if isinstance(profile, Profile):
                    yield from self._misfits(profile, PROFILE.file(entry.slug))
