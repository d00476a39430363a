"""All that this package raises on purpose, in one tree. Imported before pydantic is: a start needs no more.

::

    ValueError
    └── BadInput             what was given cannot be used: each problem's file, field, value, rule and remedy
        ├── Refusal          one value that cannot stand, by whoever knows no file: rule, value, remedy
        │   └── UnknownName  a name that nothing here has; a KeyError too
        └── StoreError       something that could not be done with a file; the disk is as it was
            └── ConflictError    the file was changed elsewhere since the writer read it
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

MOST_TOLD: Final = 50  # problems of one file; nobody mends more at a time, and each costs work to find and to read


@dataclass(frozen=True)
class Problem:
    """One fault of a file or an argument: where, the value found, the rule it breaks, what to do."""

    file: str  # empty for what was given in a program
    field: str  # dotted, as in front.bag.height[2]; empty for the file as a whole
    value: str  # as typed and short; empty when nothing was there
    rule: str
    remedy: str

    def line(self) -> str:
        """Return the problem as one line for a terminal."""
        where = "".join(f"{part}: " for part in (self.file, self.field) if part)
        got = f", got {self.value}" if self.value else ""
        return f"{where}{self.rule}{got}: {self.remedy}"


@dataclass(frozen=True)
class Change:
    """A field that others changed: its path, what it was and is now as texts; empty where it is not there."""

    field: str
    was: str
    now: str


@dataclass
class Found:
    """What is known of a record while it is read, shared by the records inside it.

    Attributes
    ----------
    count : faults so far; once they are enough the rest is not looked at
    parts : the records inside that were read, or what is sound of them, by the table they were read from
    """

    count: int = 0
    parts: dict[int, tuple[object, object]] = field(default_factory=dict)  # the table is kept: its id is its own then

    @property
    def enough(self) -> bool:
        """Whether there are more than are told."""
        return self.count > MOST_TOLD


class BadInput(ValueError):  # noqa: N818  # it reads as what happened
    """Input that cannot be used, with all that is wrong with it."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        """Keep the problems, for screens that lay them out."""
        self.problems = tuple(problems)
        super().__init__(self.problems)

    def __str__(self) -> str:
        """Return a line per problem."""
        return "\n".join(problem.line() for problem in self.problems)


class Refusal(BadInput):
    """A value that cannot stand: the rule it breaks, what was given, and the way out."""

    def __init__(self, rule: str, got: str, remedy: str) -> None:
        """Keep the three parts, so that a screen can lay them out and a terminal can print them."""
        super().__init__([Problem("", "", got, rule, remedy)])
        self.args = (rule, got, remedy)  # from which it is made again after pickling
        self.rule = rule
        self.got = got
        self.remedy = remedy


class UnknownName(Refusal, KeyError):  # noqa: N818  # it reads as what happened
    """A name that nothing here has; those there are stand in the rule."""

    def __init__(self, what: str, name: str, known: Iterable[str]) -> None:
        """Say what was looked for, by which name, and what there is."""
        listed = ", ".join(known)
        super().__init__(f"{what} must be one of {listed or 'none'}", repr(name), "write it just as it is listed")
        self.args = (what, name, tuple(known) if isinstance(known, Sequence) else ())


class StoreError(BadInput):
    """Something that could not be done with a file. What was on the disk before is whole."""

    def __init__(self, file: str, rule: str, remedy: str, value: str = "") -> None:
        """Say which file, why not, and what to do."""
        super().__init__([Problem(file, "", value, rule, remedy)])
        self.args = (file, rule, remedy, value)


class ConflictError(StoreError):
    """The file was changed, made or taken away since the writer read it; nothing was written.

    Attributes
    ----------
    theirs
        What the file holds now; None if it is gone.
    changes
        How that differs from what the writer expected.
    """

    def __init__(self, file: str, rule: str, remedy: str, theirs: Any, changes: tuple[Change, ...] = ()) -> None:
        """Say what happened to the file meanwhile, and the two ways on; `planner.store.conflict` has the words."""
        super().__init__(file, rule, remedy)
        self.args = (file, rule, remedy, theirs, changes)
        self.theirs = theirs
        self.changes = changes
