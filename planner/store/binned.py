"""What was deleted, and what a file was before a new planner changed its form: kept under its date until asked away."""

import os
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Final

from planner.records import BadInput
from planner.store import disk
from planner.store.faults import StoreError, told, unreadable
from planner.store.kinds import Kind, Receipt
from planner.store.locking import refuse_gone
from planner.store.reading import is_inside, read_document

BIN: Final = "bin"
BACKUPS: Final = "backups"


@dataclass(frozen=True)
class Binned:
    """One deleted file: the receipt that brings it back, and its own name, or its file's where that cannot be read."""

    receipt: Receipt
    name: str

    @property
    def at(self) -> datetime:
        """When it was deleted (UTC)."""
        return self.receipt.at


def throw_in(home: Path, kind: Kind[Any], slug: str, path: Path) -> Receipt:
    """Move a file into the bin."""
    folder, file = _inside(home, BIN), kind.file(slug)
    with told(file, "moved to the bin"):
        receipt = Receipt(kind, slug, _dated(folder, f"{kind.name}-{slug}.toml"))
        disk.move(path, folder / receipt.binned)
    return receipt


def take_out(home: Path, receipt: Receipt, path: Path) -> None:
    """Move a deleted file back to its place, which is free."""
    lies = _inside(home, BIN) / receipt.binned
    if Receipt.read(receipt.binned) is None or not os.path.lexists(lies):
        raise StoreError(f"{BIN}/{receipt.binned}", "is no longer in the bin", "take it from your own backup")
    with told(receipt.kind.file(receipt.slug), "brought back"):
        disk.move(lies, path)


def listed(home: Path) -> list[Binned]:
    """Return what is in the bin, the last deleted first; what nobody deleted from here is not looked at."""
    return [Binned(receipt, _name(home, receipt)) for receipt in _receipts(home)]


def purge(home: Path, older_than: timedelta) -> list[Receipt]:
    """Take away for good what was deleted longer ago than a time, and return what that was."""
    oldest = datetime.now(UTC) - older_than
    gone = [receipt for receipt in _receipts(home) if receipt.at < oldest]
    for receipt in gone:
        with told(f"{BIN}/{receipt.binned}", "taken away"):
            disk.remove(_inside(home, BIN) / receipt.binned)
    return gone


def keep(home: Path, file: str, raw: bytes, schema: int) -> None:
    """Keep a copy of a file of an older schema, dated, before it is written in today's."""
    folder = _inside(home, BACKUPS)
    tail = f"{file.removesuffix('.toml').replace('/', '-')}-schema-{schema}.toml"
    disk.replace(folder / _dated(folder, tail), raw)


def _dated(folder: Path, tail: str) -> str:
    """Return a free name in a folder that starts with the time, UTC."""
    at = datetime.now(UTC)
    while os.path.lexists(folder / (name := f"{at:{Receipt.TIME}}-{tail}")):
        at += timedelta(microseconds=1)
    return name


def _inside(home: Path, name: str) -> Path:
    """Return a folder of the profiles folder, which nobody has turned into a link that leaves it."""
    folder = home / name
    if not is_inside(folder, home):
        raise StoreError(name, "is a link that leaves the folder", "put the folder itself there")
    return folder


def _receipts(home: Path) -> list[Receipt]:
    """Return the receipts of what is in the bin, the last deleted first."""
    try:
        names = os.listdir(_inside(home, BIN))
    except FileNotFoundError:
        refuse_gone(home)
        return []
    except OSError as exc:
        raise BadInput([unreadable(BIN, exc)]) from exc
    return [receipt for name in sorted(names, reverse=True) if (receipt := Receipt.read(name)) is not None]


def _name(home: Path, receipt: Receipt) -> str:
    """Return what to call a deleted file."""
    try:
        name = read_document(home / BIN / receipt.binned, receipt.binned, home).data.get("name")
    except (BadInput, FileNotFoundError):
        return receipt.slug
    return name if isinstance(name, str) and name.isprintable() else receipt.slug
