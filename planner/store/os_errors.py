"""Errors of the system, said so that a person can mend what is wrong."""

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from planner.errors import Problem, StoreError

LONGEST_SHOWN: Final = 60  # characters of a refused name that a message repeats

_KNOWN: Final = {
    errno.ENOSPC: ("the disk is full", "free some space and try again"),
    errno.EDQUOT: ("your share of the disk is full", "free some space and try again"),
    errno.EFBIG: ("the file would be too large for this disk", "delete old entries, such as readings"),
    errno.EROFS: ("the disk is read-only", "copy the folder to another place and open it with --profiles"),
    errno.EACCES: (
        "permission is denied",
        "get permission to write there, or start with --profiles and another folder",
    ),
    errno.EPERM: ("permission is denied", "get permission to write there, or start with --profiles and another folder"),
    errno.ELOOP: ("it is a link that leads to itself", "put the file itself there"),
    errno.ENAMETOOLONG: ("the path is too long", "move the folder closer to the top of the disk"),
    errno.EISDIR: ("it is a folder", "move or rename that folder"),
    errno.ENOTDIR: ("part of the path is a file, not a folder", "check the path"),
}


@contextmanager
def told_errors(file: str, doing: str, remedy: str = "") -> Iterator[None]:
    """Turn an error of the system into one that names the file, what was being done to it, and the way out.

    `remedy` is the way out where the file is none of a profiles folder.
    """
    try:
        yield
    except OSError as exc:
        rule, usual = _reason(exc, doing)
        raise StoreError(file, rule, remedy or usual) from exc


def refused(file: str, doing: str, exc: OSError) -> Problem:
    """Return the problem of a file to which the system does not let us do something."""
    rule, remedy = _reason(exc, doing)
    return Problem(file, "", "", rule, remedy)


def shown_name(text: str) -> str:
    """Return a name in quotes as a message may show it: short and printable."""
    safe = "".join(letter if letter.isprintable() else "?" for letter in text[: LONGEST_SHOWN + 1])
    return f'"{safe}"' if len(text) <= LONGEST_SHOWN else f'"{safe[:LONGEST_SHOWN]}…"'


def _reason(exc: OSError, doing: str) -> tuple[str, str]:
    """Return why the system refused, and what to do about it."""
    reason, remedy = _KNOWN.get(exc.errno or 0, (exc.strerror or type(exc).__name__, "check the disk and try again"))
    return f"cannot be {doing}: {reason}", remedy
