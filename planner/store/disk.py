"""Writing so that a file is always whole: either what it was or what it was to become, whatever stops the machine."""

import os
import shutil
from contextlib import suppress
from pathlib import Path
from uuid import uuid4


def replace(path: Path, data: bytes) -> None:
    """Put data into a file, new or not, in one step: a reader finds the old content or the new, never a part.

    The data go to a file of another name in the same folder and onto the disk before they take the name over.

    Raises
    ------
    OSError
        The old file is whole then, and the new one is gone.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    fresh = path.with_name(f".{path.stem}-{uuid4().hex}.tmp")
    try:
        _write_through(fresh, data)
        with suppress(FileNotFoundError):
            shutil.copymode(path, fresh)
        os.replace(fresh, path)
    except BaseException:
        with suppress(OSError):
            fresh.unlink()
        raise
    _settle(path.parent)


def move(old: Path, new: Path) -> None:
    """Give a file another name on the same disk; the caller has looked that the name is free."""
    new.parent.mkdir(parents=True, exist_ok=True)
    os.rename(old, new)
    _settle(new.parent)
    _settle(old.parent)


def remove(path: Path) -> None:
    """Take a file away for good."""
    path.unlink()
    _settle(path.parent)


def _write_through(path: Path, data: bytes) -> None:
    """Write a new file and wait until it is on the disk and not only on its way there."""
    with open(path, "xb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _settle(folder: Path) -> None:
    """Wait until the names in a folder are on the disk, where the system can do that (Windows cannot open a folder)."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    with suppress(OSError):  # a few disks refuse this; the file itself has been written through by now
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
