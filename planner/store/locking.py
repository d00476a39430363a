"""One writer at a time in a profiles folder, among all the tabs and programs that have it open."""

import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from planner.errors import StoreError
from planner.records import BadInput
from planner.store import journal
from planner.store.os_errors import told_errors

LOCK: Final = ".lock"  # an empty file that stays; the system frees the lock with the process that holds it
PATIENCE: Final = 20.0  # seconds; a save takes some hundredths
PAUSE: Final = 0.005  # seconds between two tries


@contextmanager
def alone(folder: Path, file: str, patience: float | None = None) -> Iterator[None]:
    """Keep every other writer out of a folder; `file` is what is to be written.

    What a program was stopped in is finished first. The same thread may come in again: what looks and then writes in
    two steps can hold the lock over both. `patience` is how long to wait for another, in seconds; PATIENCE if left out.

    Raises
    ------
    StoreError
        If the folder is gone or cannot be written, or another holds it for too long.
    """
    from filelock import FileLock, Timeout

    patience = PATIENCE if patience is None else patience
    with told_errors(file, "written"):
        refuse_gone(folder)
        _refuse_strange(folder / LOCK)
        lock = FileLock(folder / LOCK, is_singleton=True)
        try:
            lock.acquire(timeout=patience, poll_interval=PAUSE)
        except Timeout as exc:
            rule = f"cannot be written: another program has been using the folder for {patience:g} s"
            raise StoreError(file, rule, "wait, or close that program, then try again") from exc
    try:
        journal.finish(folder)
        yield
    finally:
        lock.release()


def catch_up(folder: Path) -> None:
    """Finish what a program was stopped in, before a folder is read; if another is at it, a reader does not wait."""
    if os.path.lexists(folder / journal.JOURNAL):
        # Where the disk can only be read, what is there is shown.
        with suppress(BadInput), alone(folder, journal.JOURNAL, patience=0.0):
            pass


def refuse_gone(folder: Path) -> None:
    """Refuse to work in a profiles folder that is no longer there: a new, empty one in its place would hide that."""
    if not folder.is_dir():
        remedy = "put it back, or start the planner with --profiles and another folder"
        raise StoreError(str(folder), "is no longer there: it was moved or deleted", remedy)


def _refuse_strange(lock: Path) -> None:
    """Refuse a lock that is no file: opening a pipe or a device may do anything."""
    with suppress(FileNotFoundError):
        if not stat.S_ISREG(lock.lstat().st_mode):
            raise StoreError(LOCK, "is not an ordinary file", "delete it; the planner makes its own")
