"""The kinds of file, what names what, and what the store hands out about them."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cached_property, lru_cache, reduce
from typing import Any, ClassVar, Final, Generic, TypeVar

from planner.records import BadInput, BagChart, Brief, Problem, Profile, Slip, Trailer, Truck, check_together
from planner.records.file_header import Filed
from planner.store.slugs import is_slug

R = TypeVar("R", bound=Filed)
Step = Callable[[dict[str, Any]], dict[str, Any]]  # the table of a file, from one schema to the next


@dataclass(frozen=True)
class Kind(Generic[R]):
    """A kind of file: what it is called, where in the folder it lies, what it holds, how older ones are read.

    named_by, paths : the kind whose files name its files, and the fields in which they do; none of a profile
    noted_by : a kind whose files name them in the same fields and can do without: it keeps nobody from deleting them
    """

    name: str
    folder: str
    record: type[R]
    steps: Mapping[int, Step] = field(default_factory=dict, hash=False)
    named_by: str = ""
    paths: tuple[str, ...] = ()
    noted_by: str = ""

    def is_named_by(self, other: str) -> bool:
        """Tell whether files of another kind, given by its name, name files of this one."""
        return other in (self.named_by, self.noted_by)

    def file(self, slug: str) -> str:
        """Return what messages call a file: its path from the profiles folder."""
        return f"{self.folder}/{slug}.toml" if self.folder else f"{slug}.toml"

    @property
    def schema(self) -> int:
        """The schema its files are written in today."""
        return int(self.record.model_fields["schema_version"].default)


BAG: Final = Kind("bag", "bags", BagChart, named_by="truck", paths=("front.bag.chart", "rear.bag.chart"))
TRUCK: Final = Kind("truck", "trucks", Truck, named_by="profile", paths=("truck",), noted_by="slip")
TRAILER: Final = Kind("trailer", "trailers", Trailer, named_by="profile", paths=("trailer",), noted_by="slip")
PROFILE: Final = Kind("profile", "", Profile)
SLIP: Final = Kind("slip", "slips", Slip)  # of a scale
KINDS: Final[tuple[Kind[Any], ...]] = (BAG, TRUCK, TRAILER, PROFILE, SLIP)  # what is named before what names it


def names_in(record: Filed) -> list[tuple[Kind[Any], str, str]]:
    """Return what a record names: kind, field and the file's name, in the order of KINDS."""
    found: list[tuple[Kind[Any], str, str]] = []
    for kind in KINDS:
        for path in kind.paths if kind.is_named_by(kind_of(record).name) else ():
            called = reduce(lambda at, part: None if at is None else getattr(at, part), path.split("."), record)
            if isinstance(called, str):
                found.append((kind, path, called))
    return found


def rename_in(record: R, moved: Mapping[tuple[str, str], str]) -> R:
    """Return a record that names files as they are called now; moved: kind and former name to the name now."""
    for kind, path, called in names_in(record):
        if (kind.name, called) in moved:
            record = _put(record, path.split("."), moved[kind.name, called])
    return record


def kind_of(record: Filed) -> Kind[Any]:
    """Return the kind that a record's file is of."""
    return next(kind for kind in KINDS if isinstance(record, kind.record))


def _put(record: Any, path: Sequence[str], value: str) -> Any:
    """Return a record with one field changed, which may lie in records inside."""
    inner = value if len(path) == 1 else _put(getattr(record, path[0]), path[1:], value)
    return record.replaced(**{path[0]: inner})


@dataclass(frozen=True)
class Entry(Generic[R]):
    """One file of a list: what it holds in brief, or what is wrong with it.

    A list of thousands is made of briefs that were kept; only what asks for `record` reads the file.
    """

    slug: str
    brief: Brief | None
    problems: tuple[Problem, ...]
    modified: datetime  # UTC
    read: Callable[[], R] = field(repr=False, compare=False)

    @property
    def name(self) -> str:
        """What to call it: its own name, or the file's where that cannot be read."""
        return self.brief.name if self.brief is not None else self.slug

    @cached_property
    def record(self) -> R | None:
        """The whole record; None if its file is damaged, or has been since it was listed."""
        try:
            return None if self.brief is None else self.read()
        except BadInput:
            return None


@dataclass(frozen=True)
class Outfit:
    """A profile with the truck and the trailer it names, all read and fitting each other."""

    slug: str
    profile: Profile
    truck: Truck
    trailer: Trailer | None


Find = Callable[[Kind[Any], str, str, str], Any]
"""Returns a record as its file has it, by kind and slug, or raises BadInput; file and field say who names it where."""


def put_together(slug: str, profile: Profile, file: str, find: Find) -> Outfit:
    """Return a profile with what it names, which fit each other, and with what that names in turn.

    Parameters
    ----------
    slug, profile, file
        The profile, and what messages call it.
    find
        Returns what is named.

    Raises
    ------
    BadInput
        With all that is wrong with what it names, or all that does not fit.
    """
    named = _find_named(profile, file, find)
    truck, trailer = named["truck"], named.get("trailer")
    check_together(profile, truck, trailer, file)
    return Outfit(slug, profile, truck, trailer)


def fill_truck(truck: Truck, file: str, find: Find) -> Truck:
    """Return a truck with the charts that its bags name; raises as `put_together` does."""
    charts = tuple((path.split(".")[0], chart) for path, chart in _find_named(truck, file, find).items())
    return _with_charts(truck, charts, file) if charts else truck


def _find_named(record: Filed, file: str, find: Find) -> dict[str, Any]:
    """Return what a record names, by field, each with what that names in turn; BadInput with all problems."""
    problems: list[Problem] = []
    found: dict[str, Any] = {}
    for kind, path, called in names_in(record):
        try:
            one = find(kind, called, file, path)
            found[path] = fill_truck(one, kind.file(called), find) if isinstance(one, Truck) else one
        except BadInput as exc:
            problems += [problem for problem in exc.problems if problem not in problems]
    if problems:
        raise BadInput(problems)
    return found


@lru_cache(maxsize=32)
def _with_charts(truck: Truck, charts: tuple[tuple[str, BagChart], ...], file: str) -> Truck:
    """Return a truck with charts by axle; kept, as a page asks for one truck again and again."""
    return truck.with_charts(dict(charts), file)


@dataclass(frozen=True)
class Receipt:
    """What undoes a deletion: which file went, and under which name it lies in the bin."""

    kind: Kind[Any]
    slug: str
    binned: str  # the file's name in the bin, which starts with the time, UTC

    TIME: ClassVar = "%Y%m%d-%H%M%S-%f"
    _SHAPE: ClassVar = re.compile(r"(\d{8}-\d{6}-\d{6})-(bag|truck|trailer|profile|slip)-(.+)\.toml", re.ASCII)

    @classmethod
    def read(cls, binned: str) -> "Receipt | None":
        """Return the receipt of a file in the bin; None if that has another name than those that are deleted here."""
        found = cls._SHAPE.fullmatch(binned)
        if found is None or not is_slug(found[3]):
            return None
        try:
            datetime.strptime(found[1], cls.TIME).replace(tzinfo=UTC)
        except ValueError:  # the thirteenth month
            return None
        return cls(next(kind for kind in KINDS if kind.name == found[2]), found[3], binned)

    @property
    def at(self) -> datetime:
        """When it was deleted (UTC)."""
        found = self._SHAPE.fullmatch(self.binned)
        assert found is not None
        return datetime.strptime(found[1], self.TIME).replace(tzinfo=UTC)
