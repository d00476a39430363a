"""What stands at the bare address until Streamlit's scripts have drawn it: the cards on top, kept from start to start.

What is kept is believed as long as each file it was made of has the times, size and place on the disk that it had then,
and by the same planner. Else it is made anew, if what that takes is imported already; it is not waited for. Nothing
depends on it: it may be lost, damaged or impossible to write, and what goes wrong goes wrong on the page itself, which
says so.
"""

from __future__ import annotations

import os
import sys
import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from typing import Final

from planner.front.shell import environment
from planner.store import atomic_write
from planner.store.cache_files import SETTLED, Mark, cache_file, mark_of, marks_of_planner

MOST_KEPT: Final = 2_000_000  # [bytes] six cards take 30 kB
_PARTS: Final = ("", "trucks", "trailers", "bags")  # of the folder: what a card is made of
_DRAFTS: Final = "drafts"
MAKER: Final = "planner.front.profiles.prerender"  # for which half of the planner is imported


def find_first_view(query: Mapping[str, str]) -> str:
    """Return what stands at the bare address with a query, as HTML; empty if there is nothing, or not at once."""
    with suppress(Exception):
        if not query and (kept := _read(folder := environment.folder(), _mark(folder)[0])):
            return kept
        return _make(query)
    return ""


def keep_first_view() -> None:
    """Keep what the next start is to show, if the files are at rest."""
    with suppress(Exception):
        folder = environment.folder()
        mark, changed = _mark(folder)
        if changed < time.time_ns() - SETTLED and not _read(folder, mark) and (made := _make({})):
            atomic_write.replace_file(kept_in(folder), f"{mark}\n{made}".encode())


def keep_soon() -> None:
    """Keep it when what was just written is at rest; the caller does not wait."""
    timer = threading.Timer(SETTLED / 1e9 + 1.0, keep_first_view)
    timer.daemon = True
    timer.start()


def kept_in(folder: Path) -> Path:
    """Return the file that keeps what is first shown of a profiles folder."""
    return cache_file(folder, "first-view", ".html")


def _make(query: Mapping[str, str]) -> str:
    """Return what stands there, from the files; empty as long as what makes it is not imported."""
    make = getattr(sys.modules.get(MAKER), "prerender", None)  # the module is there from when its import is begun
    return str(make(query)) if make else ""


def _read(folder: Path, mark: str) -> str:
    """Return what is kept; empty if it was made of other files or is too long to be ours."""
    with suppress(OSError, ValueError):
        path = kept_in(folder)
        if path.stat().st_size <= MOST_KEPT:
            was, _, html = path.read_text("utf-8").partition("\n")
            return html if was == mark else ""
    return ""


def _mark(folder: Path) -> tuple[str, int]:
    """Return what tells this planner and these files from any others, and when a file last changed. [ns]"""
    files = dict(_files(folder))
    drafts = sorted(os.listdir(folder / _DRAFTS)) if (folder / _DRAFTS).is_dir() else []
    said = repr((environment.default_system(), drafts, files)).encode("utf-8", "surrogateescape")
    return sha256(marks_of_planner("**/*.py") + said).hexdigest(), max(
        (max(one[:2]) for one in files.values()), default=0
    )


def _files(folder: Path) -> Iterator[tuple[str, Mark]]:
    """Yield each file that a card may be made of, or that says which cards come first."""
    for part in _PARTS:
        with suppress(FileNotFoundError):
            found = sorted(os.scandir(folder / part), key=lambda one: one.name)
            yield from ((f"{part}/{one.name}", mark_of(one.stat())) for one in found if one.is_file())
