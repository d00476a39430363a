"""The kinds of file, and what the store hands out about them."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cached_property
from typing import Any, ClassVar, Final, Generic, TypeVar

from planner.records import BadInput, Brief, Problem, Profile, Slip, Trailer, Truck
from planner.records.file_header import Filed
from planner.store.slugs import is_slug

R = TypeVar("R", bound=Filed)
Step = Callable[[dict[str, Any]], dict[str, Any]]  # the table of a file, from one schema to the next


@dataclass(frozen=True)
class Kind(Generic[R]):
    """A kind of file: what it is called, where in the folder it lies, what it holds, how older ones are read."""

    name: str
    folder: str
    record: type[R]
    steps: Mapping[int, Step] = field(default_factory=dict, hash=False)

    def file(self, slug: str) -> str:
        """Return what messages call a file: its path from the profiles folder."""
        return f"{self.folder}/{slug}.toml" if self.folder else f"{slug}.toml"

    @property
    def schema(self) -> int:
        """The schema its files are written in today."""
        return int(self.record.model_fields["schema_version"].default)


TRUCK: Final = Kind("truck", "trucks", Truck)
TRAILER: Final = Kind("trailer", "trailers", Trailer)
PROFILE: Final = Kind("profile", "", Profile)
SLIP: Final = Kind("slip", "slips", Slip)  # of a scale
KINDS: Final[tuple[Kind[Any], ...]] = (TRUCK, TRAILER, PROFILE, SLIP)


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


@dataclass(frozen=True)
class Receipt:
    """What undoes a deletion: which file went, and under which name it lies in the bin."""

    kind: Kind[Any]
    slug: str
    binned: str  # the file's name in the bin, which starts with the time, UTC

    TIME: ClassVar = "%Y%m%d-%H%M%S-%f"
    _SHAPE: ClassVar = re.compile(r"(\d{8}-\d{6}-\d{6})-(truck|trailer|profile|slip)-(.+)\.toml", re.ASCII)

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
