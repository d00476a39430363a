"""Lists of thousands of files at once: what a list shows of a file is kept, and read anew only when that has changed.

What is kept is believed of a file whose times, size and place on the disk are those it had when it was read, and by the
same planner; of any other the file is asked.
Small folders are read each time and keep nothing.
"""

import json
import os
import time
from collections.abc import Mapping
from contextlib import suppress
from functools import lru_cache, partial
from hashlib import sha256
from pathlib import Path
from typing import Any, Final, NamedTuple

from planner.records import BadInput, Brief, Problem
from planner.store import atomic_write, times
from planner.store.cache_files import SETTLED, Mark, cache_file, mark_of, marks_of_planner
from planner.store.kinds import Entry, Kind, R
from planner.store.reading import is_inside, read_bytes
from planner.store.record_files import ENDING, Shelf
from planner.store.slugs import is_slug, slug

WORTH: Final = 100  # files read anew before it is worth writing down what they are: 30 ms of reading
MOST_KEPT: Final = 50_000_000  # bytes; 5,000 profiles take 1 MB
READERS: Final = ("*.py", "records/*.py", "store/*.py")  # of the planner's modules


class Row(NamedTuple):
    """A file in brief, and the mark it had when it was read."""

    mark: Mark
    brief: Brief


Rows = dict[str, Row]  # by the file's name without ending


def list_entries(shelf: Shelf[R]) -> list[Entry[R]]:
    """Return all files of a shelf, sorted; a damaged one has its problems in place of a brief."""
    files = shelf.files()
    kept = _kept(shelf.home)
    known, rows = kept.rows(shelf.kind), Rows()
    inside = is_inside(shelf.home / shelf.kind.folder, shelf.home)
    listed = [_entry(shelf, stem, found, inside, known.get(stem), rows) for stem, found in files.items()]
    kept.take(shelf.kind, rows)
    return listed


def _entry(shelf: Shelf[R], stem: str, found: os.DirEntry[str], inside: bool, row: Row | None, rows: Rows) -> Entry[R]:
    """Return one file as a list shows it, and put it among the rows if it can be kept."""
    status, now = _status(found), time.time_ns()
    # FIRST where it has gone meanwhile, or has a date that nobody wrote it at
    modified = (status and times.of_file(status.st_mtime)) or times.FIRST
    read = partial(_record, shelf, stem)
    if not is_slug(stem):
        rule, remedy = "must have a file name of a-z, 0-9 and hyphens only", f"rename it to {slug(stem)}{ENDING}"
        return Entry(stem, None, (Problem(shelf.kind.file(stem), "", "", rule, remedy),), modified, read)
    mark = mark_of(status) if status is not None and inside and not found.is_symlink() else None
    if mark is not None and row is not None and row.mark == mark:
        rows[stem] = row
        return Entry(stem, row.brief, (), modified, read)
    try:
        record = shelf.load(stem, looked_at=mark is not None)[0]
    except BadInput as exc:
        return Entry(stem, None, exc.problems, modified, read)
    brief = Brief.of(record)
    if mark is not None and max(mark[:2]) < now - SETTLED:
        rows[stem] = Row(mark, brief)
    return Entry(stem, brief, (), modified, lambda: record)


def _record(shelf: Shelf[R], stem: str) -> R:
    """Return the record of a file."""
    return shelf.load(stem)[0]


def _status(found: os.DirEntry[str]) -> os.stat_result | None:
    """Return size and times of a file, of a link itself; None if it has gone since it was listed."""
    try:
        return found.stat(follow_symlinks=False)
    except OSError:
        return None


class Kept:
    """The rows of one profiles folder, in this process and in a file of the user's cache folder."""

    def __init__(self, home: Path) -> None:
        """Take up what is on the disk, if that is sound."""
        self.home = home
        self._rows: dict[str, Rows] = _read(home)
        self._learned = 0

    def rows(self, kind: Kind[Any]) -> Mapping[str, Row]:
        """Return what is known of the files of a kind."""
        return self._rows.get(kind.name, {})

    def take(self, kind: Kind[Any], rows: Rows) -> None:
        """Take what is now known of the files of a kind, and write it down if enough of that is new."""
        known = self.rows(kind)
        self._learned += sum(known.get(stem) is not row for stem, row in rows.items())
        self._rows = {**self._rows, kind.name: rows}
        if self._learned >= WORTH:
            self._learned = 0
            _write(self.home, self._rows)


@lru_cache(maxsize=16)
def _kept(home: Path) -> Kept:
    """Return what is kept of a folder, one for all tabs of this process."""
    return Kept(home)


def reload_kept() -> None:
    """Take up what is kept from the disk again, as a new process does."""
    _kept.cache_clear()


def kept_in(home: Path) -> Path:
    """Return the file that keeps what lists show of a profiles folder."""
    return cache_file(home, "lists", ".json")


def _read(home: Path) -> dict[str, Rows]:
    """Return the rows that were written down; none if that was by another planner, or is damaged."""
    try:
        said, _, body = read_bytes(kept_in(home), "the list", most=MOST_KEPT).partition(b"\n")
        if said != seal_of(body):
            return {}
        return {kind: {stem: _row(*row) for stem, row in rows.items()} for kind, rows in json.loads(body).items()}
    except (OSError, RuntimeError, ValueError, TypeError, AttributeError, RecursionError):
        return {}


def _row(mark: list[int], name: str, truck: str, trailer: str, cargo: list[str], *more: Any) -> Row:
    """Return a row as it was written down."""
    (when, entered, size, number), (set_to, at, charts) = mark, more
    brief = Brief(name, truck, trailer, tuple(cargo), tuple(set_to), at, tuple(charts))
    return Row((when, entered, size, number), brief)


def _write(home: Path, known: Mapping[str, Rows]) -> None:
    """Write the rows down; where that cannot be, the next process reads the files again."""
    plain = {
        kind: {
            stem: (mark, brief.name, brief.truck, brief.trailer, brief.cargo, brief.set_to, brief.read_at, brief.charts)
            for stem, (mark, brief) in rows.items()
        }
        for kind, rows in known.items()
    }
    body = json.dumps(plain, separators=(",", ":")).encode("ascii")
    with suppress(OSError, RuntimeError):
        atomic_write.replace_file(kept_in(home), seal_of(body) + b"\n" + body)


def seal_of(body: bytes) -> bytes:
    """Return what goes before rows, which only the same planner puts before the same rows."""
    return sha256(marks_of_planner(*READERS) + body).hexdigest().encode("ascii")
