"""A TOML file as its owner laid it out: sections and statements, each knowing which value it sets.

Editing whole documents through a TOML library moves comments to the wrong table when a table goes or comes. Here a
file stays text: a change touches the statements it is about, and every other character stays where it was.
"""

import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from planner.records import CORNERS
from planner.store.toml_values import key_text, value_text, with_value

Path = tuple[str | int, ...]
"""Where a value lies: keys, and the places in arrays of tables."""

_NAME: Final = r"""(?:[A-Za-z0-9_-]+|"(?:\\.|[^"\\\n])*"|'[^'\n]*')"""
_KEY: Final = re.compile(rf"[ \t]*({_NAME}(?:[ \t]*\.[ \t]*{_NAME})*)[ \t]*=", re.ASCII)
_TOKEN: Final = re.compile(
    r'''"""(?:\\.|[^\\])*?"""(?:"{0,2})|\'\'\'.*?\'\'\'(?:'{0,2})|"(?:\\.|[^"\\\n])*"|'[^'\n]*'|\#[^\n]*|[\[\]{}\n]''',
    re.DOTALL,
)


@dataclass
class Statement:
    """One key with its value, or one line of comment or nothing; the text holds its line ending."""

    text: str
    path: Path | None = None
    names: tuple[str, ...] = ()  # the key as written, which may be dotted


@dataclass
class Section:
    """A header and what follows it; the first section of a file has no header."""

    path: Path
    header: str = ""
    lead: list[Statement] = field(default_factory=list)  # the comment right above the header, and the gap above that
    body: list[Statement] = field(default_factory=list)

    def text(self) -> str:
        """Return the section as it stands in the file."""
        return "".join(part.text for part in self.lead) + self.header + "".join(part.text for part in self.body)


class Outline:
    """The sections of one file, to be changed and written out again."""

    def __init__(self, text: str) -> None:
        """Read a text that is known to be valid TOML."""
        self.newline = "\r\n" if "\r\n" in text else "\n"
        self.open_end = bool(text) and not text.endswith("\n")
        self.sections = [Section(())]
        arrays: dict[Path, int] = {}
        for statement in _statements(text + self.newline if self.open_end else text):
            start = statement.lstrip(" \t")
            if start.startswith("["):
                path = _header_path(statement, start.startswith("[["), arrays)
                self.sections.append(Section(path, statement, _lead(self.sections[-1].body)))
            else:
                self.sections[-1].body.append(_statement(statement, self.sections[-1].path, arrays))

    def text(self) -> str:
        """Return the whole file."""
        text = "".join(section.text() for section in self.sections)
        return text.removesuffix(self.newline) if self.open_end else text

    def setter(self, path: Path) -> Statement | None:
        """Return the statement that sets the value at a path whole, if one does."""
        return next((part for section in self.sections for part in section.body if part.path == path), None)

    def change(self, statement: Statement, value: Any) -> None:
        """Set another value in a statement."""
        statement.text = with_value(statement.text, statement.names, value)

    def remove(self, path: Path) -> None:
        """Take out whatever sets the value at a path, with the comment that heads its section."""
        self.sections = [part for part in self.sections if not part.path or not _within(part.path, path)]
        for section in self.sections:
            section.body = [part for part in section.body if part.path is None or not _within(part.path, path)]

    def add(self, path: Path, value: Any, before: Sequence[Path]) -> None:
        """Put in a value that is not there yet, behind the last of its elder siblings `before` that is."""
        if _in_sections(path, value):
            place = self._place_of_section(path[:-1], before)
            self.sections[place:place] = self._made(path, value)
            return
        section, stem = self._host(path[:-1])
        names = (*stem, str(path[-1]))
        key = ".".join(key_text(name) for name in names)
        new = Statement(f"{key} = {value_text(value)}{self.newline}", path, names)
        section.body.insert(_place_of_statement(section, before), new)

    def arrange(self, path: Path, order: Sequence[int | None], tables: Sequence[Mapping[str, Any]]) -> None:
        """Put the tables of an array into another order; None stands for a new one, the missing ones go."""
        mine = [index for index, section in enumerate(self.sections) if _within(section.path, path)]
        groups = [
            self._made((*path, place), tables[place])
            if old is None
            else [section for section in self.sections if _within(section.path, (*path, old))]
            for place, old in enumerate(order)
        ]
        rest = [section for section in self.sections[mine[0] :] if not _within(section.path, path)]
        self.sections[mine[0] :] = [section for group in groups for section in group] + rest

    def _host(self, parent: Path) -> tuple[Section, tuple[str, ...]]:
        """Return the section that takes a new key of a table, and what its key begins with there."""
        for section in self.sections:
            if section.path == parent:
                return section, ()
        for section in self.sections:
            if _within(parent, section.path) and any(_within(part.path, parent) for part in section.body if part.path):
                return section, tuple(str(name) for name in parent[len(section.path) :])
        inside = [index for index, section in enumerate(self.sections) if _within(section.path, parent)]
        place = inside[0] if inside else self._place_of_section(parent[:-1], ())
        self.sections.insert(place, self._section(parent))
        return self.sections[place], ()

    def _place_of_section(self, parent: Path, before: Sequence[Path]) -> int:
        """Return where a new section of a table goes."""
        for root in (*reversed(before), parent):
            last = [
                index
                for index, section in enumerate(self.sections)
                if (section.path == parent if root == parent else _within(section.path, root))
            ]
            if last:
                return last[-1] + 1
        return len(self.sections)

    def _made(self, path: Path, value: Any) -> list[Section]:
        """Return new sections for a table or an array of tables."""
        if isinstance(value, list):
            return [section for place, table in enumerate(value) for section in self._made((*path, place), table)]
        head = self._section(path)
        sections = [head]
        for key, item in value.items():
            here = (*path, key)
            if _in_sections(here, item):
                sections += self._made(here, item)
            else:
                text = f"{key_text(key)} = {value_text(item)}{self.newline}"
                head.body.append(Statement(text, here, (key,)))
        return sections

    def _section(self, path: Path) -> Section:
        """Return a new, empty section with a blank line above it."""
        name = ".".join(key_text(part) for part in path if isinstance(part, str))
        header = f"[[{name}]]" if isinstance(path[-1], int) else f"[{name}]"
        return Section(path, header + self.newline, [Statement(self.newline)])


def _statements(text: str) -> Iterator[str]:
    """Cut a text, which ends a line, where a statement ends: at line ends outside texts, arrays and inline tables."""
    start = depth = 0
    for token in _TOKEN.finditer(text):
        match token.group():
            case "[" | "{":
                depth += 1
            case "]" | "}":
                depth -= 1
            case "\n" if depth == 0:
                yield text[start : token.end()]
                start = token.end()


def _statement(text: str, section: Path, arrays: Mapping[Path, int]) -> Statement:
    """Return a statement with the place it sets."""
    key = _KEY.match(text)
    if key is None:
        return Statement(text)
    names = _names(f"{key[1]} = {{}}")
    return Statement(text, _resolved(section, names, arrays), names)


def _header_path(text: str, is_array: bool, arrays: dict[Path, int]) -> Path:
    """Return the place a header opens, and count the tables of its array."""
    names = _names(text)
    if not is_array:
        return _resolved((), names, arrays)
    array = (*_resolved((), names[:-1], arrays), names[-1])
    arrays[array] = arrays.get(array, -1) + 1
    return (*array, arrays[array])


def _names(text: str) -> tuple[str, ...]:
    """Return the names in a dotted key, read by the same reader that reads the file."""
    names: list[str] = []
    inside: Any = tomllib.loads(text)
    while inside:
        names += inside
        inside = inside[names[-1]]
        inside = inside[0] if isinstance(inside, list) else inside
    return tuple(names)


def _resolved(root: Path, names: Sequence[str], arrays: Mapping[Path, int]) -> Path:
    """Return the place that names lead to; through an array of tables they lead to its last table so far."""
    path = root
    for name in names:
        path = (*path, name)
        if path in arrays:
            path = (*path, arrays[path])
    return path


def _lead(body: list[Statement]) -> list[Statement]:
    """Take off the end of a section what belongs to the header that follows: a comment touching it, and the gap."""
    start = len(body)
    while start and body[start - 1].path is None and body[start - 1].text.strip():
        start -= 1
    while start and not body[start - 1].text.strip():
        start -= 1
    lead = body[start:]
    del body[start:]
    return lead


def _within(path: Path, root: Path) -> bool:
    """Tell whether a place is the root or lies under it."""
    return path[: len(root)] == root


def _in_sections(path: Path, value: Any) -> bool:
    """Tell whether a new value gets headers of its own; small tables deep inside stay on one line."""
    if isinstance(value, list):
        return bool(value) and all(isinstance(item, Mapping) for item in value)
    if not isinstance(value, Mapping):
        return False
    nested = any(isinstance(item, Mapping | list) for item in value.values())
    in_array = any(isinstance(part, int) for part in path)
    return nested or len(path) == 1 or not (in_array or value.keys() <= set(CORNERS))


def _place_of_statement(section: Section, before: Sequence[Path]) -> int:
    """Return where a new key goes in a section: behind the last elder sibling there, else ahead of all keys."""
    for root in reversed(before):
        last = [i for i, part in enumerate(section.body) if part.path is not None and _within(part.path, root)]
        if last:
            return last[-1] + 1
    return next((index for index, part in enumerate(section.body) if part.path is not None), len(section.body))
