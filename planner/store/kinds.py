"""The three kinds of file, and what the store hands out about them."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final, Generic, TypeVar

from planner.records import Problem, Profile, Trailer, Truck
from planner.records.files import Filed

R = TypeVar("R", bound=Filed)


@dataclass(frozen=True)
class Kind(Generic[R]):
    """A kind of file: what it is called, where in the folder it lies, what it holds."""

    name: str
    folder: str
    record: type[R]

    def file(self, slug: str) -> str:
        """Return what messages call a file: its path from the profiles folder."""
        return f"{self.folder}/{slug}.toml" if self.folder else f"{slug}.toml"


TRUCK: Final = Kind("truck", "trucks", Truck)
TRAILER: Final = Kind("trailer", "trailers", Trailer)
PROFILE: Final = Kind("profile", "", Profile)
KINDS: Final[tuple[Kind[Any], ...]] = (TRUCK, TRAILER, PROFILE)


@dataclass(frozen=True)
class Entry(Generic[R]):
    """One file of a list: its record, or what is wrong with it."""

    slug: str
    record: R | None
    problems: tuple[Problem, ...]
    modified: datetime  # UTC

    @property
    def name(self) -> str:
        """What to call it: its own name, or the file's where that cannot be read."""
        return self.record.name if self.record is not None else self.slug


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

    @classmethod
    def of(cls, kind: Kind[Any], slug: str, at: datetime) -> "Receipt":
        """Return the receipt of a file deleted at a time (UTC)."""
        return cls(kind, slug, f"{at:%Y%m%d-%H%M%S-%f}-{kind.name}-{slug}.toml")
