"""What is kept of a profiles folder in the user's cache folder, and what tells that it still holds.

Nothing depends on a file there: it may be lost, damaged or impossible to write.
"""

import os
from contextlib import suppress
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Final

from planner.store.folder import APP, PACKAGE

SETTLED: Final = 2_000_000_000  # ns; the coarsest clock of a disk (FAT): two changes within it may leave one time

Mark = tuple[int, int, int, int]  # when changed, when its entry changed [ns], size [bytes], which file


def cache_file(home: Path, part: str, ending: str) -> Path:
    """Return the file of the user's cache folder that keeps a part of what is known of a profiles folder."""
    import platformdirs

    name = sha256(os.fsencode(os.path.realpath(home))).hexdigest()[:24]
    return platformdirs.user_cache_path(APP, appauthor=False) / part / f"{name}{ending}"


def mark_of(status: os.stat_result) -> Mark:
    """Return what tells a file from what it was before any change."""
    return status.st_mtime_ns, status.st_ctime_ns, status.st_size, status.st_ino


@cache
def marks_of_planner(*patterns: str) -> bytes:
    """Return what tells this planner from any that may do otherwise: the marks of those of its modules that matter."""
    with suppress(OSError):
        modules = sorted(path for pattern in patterns for path in PACKAGE.glob(pattern))
        return repr([(path.name, *mark_of(path.stat())) for path in modules]).encode()
    return b""
