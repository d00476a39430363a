"""Where the history of a profile lies, and how it goes where its profile goes: to another name, to the bin and back.

Whatever goes wrong with it is no reason not to do that with the profile: a failure passes, and nothing raises here but
a name that is none. Each step may be called again: it then does nothing.
"""

import os
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import Final

from planner.errors import StoreError
from planner.store import atomic_write
from planner.store.journal import Changes
from planner.store.kinds import PROFILE, Receipt
from planner.store.reading import is_inside
from planner.store.record_files import Shelf
from planner.store.recycle_bin import BIN
from planner.store.slugs import is_slug

FOLDER: Final = "history"
ENDING: Final = ".jsonl"


def file(slug: str) -> str:
    """Return what messages call a history."""
    return f"{FOLDER}/{slug}{ENDING}"


def trail_path(home: Path, slug: str) -> Path:
    """Return where a history lies; nothing but a slug is ever joined to the folder, StoreError for anything else."""
    if not is_slug(slug):
        raise Shelf(home, PROFILE).missing(slug)
    return home / FOLDER / f"{slug}{ENDING}"


def move_trail(home: Path, old: str, new: str, changes: Changes | None = None) -> None:
    """Let the history of a profile follow its new name."""
    if old != new:
        with suppress(OSError, StoreError):
            _move(home, trail_path(home, old), trail_path(home, new), changes)


def bin_trail(home: Path, receipt: Receipt, changes: Changes | None = None) -> None:
    """Let the history of a profile follow it into the bin."""
    if receipt.kind.name == PROFILE.name:
        with suppress(OSError, StoreError):
            _move(home, trail_path(home, receipt.slug), _binned(home, receipt), changes)


def restore_trail(home: Path, receipt: Receipt) -> None:
    """Let the history of a profile come back from the bin with it."""
    if receipt.kind.name == PROFILE.name:
        with suppress(OSError, StoreError):
            _move(home, _binned(home, receipt), trail_path(home, receipt.slug))


def purge_trail(home: Path, receipts: Sequence[Receipt]) -> None:
    """Take the histories of profiles away for good whose files have been."""
    for receipt in receipts:
        if receipt.kind.name == PROFILE.name:
            with suppress(OSError, StoreError):
                atomic_write.remove_file(_binned(home, receipt))


def set_trail_aside(home: Path, lies: Path) -> None:
    """Give what lies in the place of a history another name, so that nothing writes over it."""
    if os.path.lexists(lies) and is_inside(lies.parent, home):
        atomic_write.set_aside(lies)


def _binned(home: Path, receipt: Receipt) -> Path:
    """Return where the history of a deleted profile lies, beside the profile itself."""
    if Receipt.read(receipt.binned) is None:
        raise StoreError(BIN, "does not hold that file", "get it from your own backup")
    return home / BIN / f"{receipt.binned.removesuffix('.toml')}{ENDING}"


def _move(home: Path, old: Path, new: Path, changes: Changes | None = None) -> None:
    """Move a history, if it is there, at once or with other changes; another that lies in its place is set aside."""
    if os.path.lexists(old) and is_inside(old.parent, home) and is_inside(new.parent, home):
        set_trail_aside(home, new)
        if changes is None:
            atomic_write.move_file(old, new)
        else:
            changes.move(old.relative_to(home).as_posix(), new.relative_to(home).as_posix())
