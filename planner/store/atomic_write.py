"""Writing so that a file is always whole: either what it was or what it was to become, whatever stops the machine."""

import os
import re
import shutil
import time
from contextlib import suppress
from datetime import date
from itertools import count
from pathlib import Path
from typing import Final
from uuid import uuid4

from planner.store import times

ABANDONED: Final = 3600  # seconds; the half-written file of a writer that was stopped goes when it is as old

STAGED: Final = ".staged-"  # a folder in which changes of several files are laid ready

_FRESH: Final = re.compile(r"\..+-[0-9a-f]{32}\.tmp", re.ASCII)
_STAGED: Final = re.compile(re.escape(STAGED) + "[0-9a-f]{32}", re.ASCII)


def replace_file(path: Path, data: bytes) -> None:
    """Put data into a file, new or not, in one step: a reader finds the old content or the new, never a part.

    The data go to a file of another name in the same folder and onto the disk before they take the name over.

    Raises
    ------
    OSError
        The old file is whole then, and the new one is gone.
    """
    make_folder(path.parent)
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
    sync_folder(path.parent)


def move_file(old: Path, new: Path) -> None:
    """Give a file another name on the same disk; the caller has looked that the name is free."""
    make_folder(new.parent)
    os.rename(old, new)
    sync_folder(new.parent)
    sync_folder(old.parent)


def set_aside(path: Path) -> Path:
    """Give what lies at a path another name, so that nothing writes over it, and return that."""
    names = (path.with_suffix(f".{number}.aside") for number in count(1))
    aside = next(name for name in names if not os.path.lexists(name))
    move_file(path, aside)
    return aside


def remove_file(path: Path) -> None:
    """Take a file away for good."""
    path.unlink()
    sync_folder(path.parent)


def written_on(path: Path) -> date | None:
    """Return the day a file was last written, None where it is not there or says a day that cannot be."""
    try:
        at = times.of_file(path.stat().st_mtime)
    except OSError:
        return None
    return at and at.astimezone().date()


def make_folder(folder: Path) -> None:
    """Make a folder and those above it, if they are not there, and wait until their names are on the disk."""
    missing = [one for one in (folder, *folder.parents) if not one.is_dir()]
    folder.mkdir(parents=True, exist_ok=True)
    for one in missing:
        sync_folder(one.parent)


def sweep_temporary(home: Path) -> None:
    """Take away what stopped writers left half-written in a folder and those in it; nothing reads it."""
    oldest = time.time() - ABANDONED
    with suppress(OSError):  # another time, then: it is in nobody's way
        for folder in _sweep_one(home, oldest):
            with suppress(OSError):
                _sweep_one(folder, oldest)


def _sweep_one(folder: Path, oldest: float) -> list[Path]:
    """Sweep one folder of what is older than a time, and return those that are in it."""
    inside: list[Path] = []
    with os.scandir(folder) as found:
        for one in found:
            if _FRESH.fullmatch(one.name) and one.stat(follow_symlinks=False).st_mtime < oldest:
                os.unlink(one)
            elif one.is_dir(follow_symlinks=False):
                if not _STAGED.fullmatch(one.name):
                    inside.append(Path(one.path))
                elif one.stat(follow_symlinks=False).st_mtime < oldest:
                    shutil.rmtree(one.path, ignore_errors=True)
    return inside


def wait_for(path: Path) -> None:
    """Wait until what was written into a file is on the disk and not only on its way there."""
    with open(path, "rb+") as file:
        os.fsync(file.fileno())


def _write_through(path: Path, data: bytes) -> None:
    """Write a new file and wait until it is on the disk and not only on its way there."""
    with open(path, "xb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def sync_folder(folder: Path) -> None:
    """Wait until the names in a folder are on the disk, where the system can do that (Windows cannot open a folder)."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    with suppress(OSError):  # a few disks refuse this; the file itself has been written through by now
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
