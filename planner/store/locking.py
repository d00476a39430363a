"""One writer at a time in a profiles folder, among all the tabs and programs that have it open."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from planner.store import disk
from planner.store.faults import StoreError, told

LOCK: Final = ".lock"  # an empty file that stays; the system frees the lock with the process that holds it
PATIENCE: Final = 20.0  # seconds; a save takes some hundredths
PAUSE: Final = 0.005  # seconds between two tries


@contextmanager
def alone(folder: Path, file: str) -> Iterator[None]:
    """Keep every other writer out of a folder, which is made if need be; `file` is what is to be written.

    The same thread may come in again: what looks and then writes in two steps can hold the lock over both.

    Raises
    ------
    StoreError
        If the folder cannot be written, or another holds it for too long.
    """
    from filelock import FileLock, Timeout

    with told(file, "written"):
        disk.make(folder)
        lock = FileLock(folder / LOCK, timeout=PATIENCE, is_singleton=True)
        try:
            lock.acquire(poll_interval=PAUSE)
        except Timeout as exc:
            rule = f"cannot be written: another program has held the folder for {PATIENCE:g} s"
            raise StoreError(file, rule, "wait or close that one, then try again") from exc
    try:
        yield
    finally:
        lock.release()
