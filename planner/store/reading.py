"""Reading files that may hold anything: each is refused with its reason before it can do harm."""

import os
import re
import stat
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from planner.records import BadInput, Problem
from planner.store.os_errors import refused

LARGEST: Final = 1_000_000  # bytes; a profile with 3400 full readings
LONGEST: Final = 5_000  # items of a list, or keys of a table
DEEPEST: Final = 10  # tables in tables; a truck has three
MOST_MARKS: Final = 100_000  # of = , . and [; the largest profile has 94,500, most of them in texts
MOST_VALUES: Final = 75_000  # of = and [; that profile has 74,500, and two thirds of a second read as many
MOST_TABLES: Final = 30_000  # of . and [ outside texts, where each makes a table; that profile has 17,200

_MARK: Final = b"\xef\xbb\xbf"  # what some editors put before UTF-8
# tomllib's time and memory grow with the square of a dotted key's length; this is asked before it sees the text.
_NAME: Final = r"""(?:[\w-]++|"(?:\\.|[^"\\\n])*+"|'[^'\n]*+')[ \t]*+"""
_TEXT: Final = re.compile(r"""(?:"(?:\\.|[^"\\\n])*+"|'[^'\n]*+'|#[^\n]*+)""")
_LONG_KEY: Final = re.compile(
    rf"(?:^|[\[{{,])[ \t]*+(?:{_NAME}\.[ \t]*+){{{DEEPEST},}}+{_NAME}[=\]]", re.ASCII | re.MULTILINE
)


@dataclass(frozen=True)
class Document:
    """What a file holds, as text and as TOML."""

    text: str
    data: dict[str, Any]
    marked: bool  # whether a byte order mark came first
    former: "Document | None" = None  # as the file has it, where that is of an older schema

    def encoded(self, text: str) -> bytes:
        """Return another text as the bytes of such a file."""
        return (_MARK if self.marked else b"") + text.encode("utf-8")


def read_document(path: Path, file: str, home: Path | None = None) -> Document:
    """Read a TOML file, called `file` in messages, which must not lead out of the folder `home` if that is given.

    Raises
    ------
    FileNotFoundError
        If there is none: the caller knows what else is there.
    BadInput
        If it cannot be read, is too large, not UTF-8 or not TOML, or is nested without end.
    """
    return as_document(read_bytes(path, file, home), file)


def as_document(raw: bytes, file: str) -> Document:
    """Return bytes as the document they are; BadInput as `read_document` raises it."""
    text, marked = _decoded(raw, file)
    return Document(text, parse_toml(text, file), marked)


def read_text(path: Path, file: str, home: Path | None = None) -> tuple[str, bool]:
    """Return the text of a file and whether a byte order mark came first; raises as `read_document` does."""
    return _decoded(read_bytes(path, file, home), file)


def parse_toml(text: str, file: str) -> dict[str, Any]:
    """Return what a text says as TOML; BadInput if it is not, or is nested without end."""
    if much := _too_much(text):
        raise _refused(file, much, "if it is a planner file, delete old entries; if not, remove it")
    if found := _LONG_KEY.search(text):
        line = text.count("\n", 0, found.start()) + 1
        raise _nested(file, f" (line {line})")
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as exc:
        remedy = 'fix that line: one name = "value" per line, text in quotes, each name once'
        why = str(exc)[:200].replace("at end of document", f"at the end, line {len(text.splitlines())}")
        raise _refused(file, f"is not valid TOML: {why}", remedy) from exc
    except RecursionError as exc:
        raise _nested(file) from exc
    except ValueError as exc:  # a number of thousands of digits
        raise _refused(file, "holds a number with too many digits", "write a shorter number") from exc
    refuse_giants(data, file)
    return data


def _too_much(text: str) -> str:
    """Return of what a text holds more than any file does, before time is spent on reading it; empty if of nothing."""
    if sum(map(text.count, "=,.[")) > MOST_MARKS:
        return f"holds more than {MOST_MARKS:,} values, tables and parts of names"
    if text.count("=") + text.count("[") > MOST_VALUES:
        return f"holds more than {MOST_VALUES:,} values and tables"
    if text.count(".") + text.count("[") > MOST_TABLES:
        bare = _TEXT.sub("", text)
        if bare.count(".") + bare.count("[") > MOST_TABLES:
            return f"holds more than {MOST_TABLES:,} tables and parts of names"
    return ""


def is_inside(path: Path, home: Path) -> bool:
    """Tell whether a path, its links followed, lies in a folder."""
    return Path(os.path.realpath(path)).is_relative_to(os.path.realpath(home))  # Path.resolve raises on circles


def read_bytes(path: Path, file: str, home: Path | None = None, most: int = LARGEST) -> bytes:
    """Return the bytes of an ordinary file; every file that the planner keeps is read by this.

    Parameters
    ----------
    path, file
        Where it lies, and what messages call it.
    home
        The folder that it must not lead out of, if that is given.
    most
        The largest it may be. [bytes]

    Raises
    ------
    FileNotFoundError
        If there is none.
    BadInput
        If it is no ordinary file, leads out of the folder, is too large or cannot be read.
    """
    try:
        if home is not None and not is_inside(path, home):
            raise _refused(file, "is a link to a place outside the folder", "put the file itself there")
        status = path.stat()
        if stat.S_ISDIR(status.st_mode):
            raise _refused(file, "is a folder, not a file", "move or rename that folder")
        if not stat.S_ISREG(status.st_mode):  # reading from a pipe might never end
            raise _refused(file, "is not an ordinary file", "put a plain text file there")
        if status.st_size > most:
            raise _too_large(file, most)
        with open(path, "rb", opener=_at_once) as handle:
            raw = handle.read(most + 1)
    except FileNotFoundError:
        raise
    except OSError as exc:
        raise BadInput([refused(file, "read", exc)]) from exc
    if len(raw) > most:  # it grows while it is read
        raise _too_large(file, most)
    return raw


def _at_once(path: str, flags: int) -> int:
    """Open a file without waiting for anybody, should it have become a pipe since it was looked at."""
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0))


def _too_large(file: str, most: int) -> BadInput:
    """Return the error of a file that is past its limit."""
    remedy = "if it is a planner file, delete old entries; if not, remove it"
    return _refused(file, f"is larger than {most // 1_000_000} MB", remedy)


def _decoded(raw: bytes, file: str) -> tuple[str, bool]:
    """Return bytes as the text they are, and whether a byte order mark came first."""
    try:
        return raw.removeprefix(_MARK).decode("utf-8"), raw.startswith(_MARK)
    except UnicodeDecodeError as exc:
        bad = exc.object[exc.start]
        line = exc.object.count(b"\n", 0, exc.start) + 1
        rule = f"is not UTF-8 text (line {line}, byte 0x{bad:02x})"
        raise _refused(file, rule, "save it again as UTF-8 in a text editor") from exc


def refuse_giants(data: dict[str, Any], file: str) -> None:
    """Refuse what TOML allows but no file of ours holds: endless nesting or lists, numbers past 64 bits.

    Raises
    ------
    BadInput
        If a table, a list, a whole number or the nesting is past its limit.
    """
    level: list[Any] = [data]
    for _ in range(DEEPEST):
        for value in level:
            if isinstance(value, int) and value.bit_length() > 64:
                raise _refused(file, "holds a number with too many digits", "write a shorter number")
            if isinstance(value, dict | list) and len(value) > LONGEST:
                raise _refused(file, f"holds a list or table of more than {LONGEST}", "delete old entries")
        level = [item for value in level if isinstance(value, dict | list) for item in _inside(value)]
    if level:
        raise _nested(file)


def _inside(value: dict[str, Any] | list[Any]) -> Iterable[Any]:
    """Return what a table or a list holds."""
    return value.values() if isinstance(value, dict) else value


def _nested(file: str, where: str = "") -> BadInput:
    """Return the error of a file that is nested too deep."""
    return _refused(file, f"is nested more than {DEEPEST} deep{where}", "take the inner tables or lists out")


def _refused(file: str, rule: str, remedy: str) -> BadInput:
    """Return the error of a file that cannot be read."""
    return BadInput([Problem(file, "", "", rule, remedy)])
