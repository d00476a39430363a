"""A fault of a file, and the error that carries all of them. Imported before pydantic is: a start needs no more."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final

MOST_TOLD: Final = 50  # problems of one file; nobody mends more at a time, and each costs work to find and to read


@dataclass(frozen=True)
class Problem:
    """One fault of a file: where, the value found, the rule it breaks, what to do."""

    file: str
    field: str  # dotted, as in front.bag.height[2]; empty for the file as a whole
    value: str  # as typed and short; empty when nothing was there
    rule: str
    remedy: str

    def line(self) -> str:
        """Return the problem as one line for a terminal."""
        where = f"{self.file}: {self.field}" if self.field else self.file
        got = f", got {self.value}" if self.value else ""
        return f"{where}: {self.rule}{got}: {self.remedy}"


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
