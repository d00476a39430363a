"""What was deleted, and what a file was before a new planner changed its form: kept under its date until asked away."""

import os
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Final

from planner.errors import StoreError
from planner.records import BadInput
from planner.records.file_header import Filed
from planner.store import atomic_write
from planner.store.journal import Changes
from planner.store.kinds import Kind, Receipt, names_in
from planner.store.locking import refuse_gone
from planner.store.os_errors import refused, told_errors
from planner.store.reading import Document, is_inside, parse_toml, read_document, read_text
from planner.store.schema_version import read_kind

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
    receipt = receipt_for(home, kind, slug)
    with told_errors(kind.file(slug), "moved to the bin"):
        atomic_write.move_file(path, home / BIN / receipt.binned)
    return receipt


def receipt_for(home: Path, kind: Kind[Any], slug: str) -> Receipt:
    """Return the receipt that a file gets which goes into the bin now."""
    return Receipt(kind, slug, _dated(_inside(home, BIN), f"{kind.name}-{slug}.toml"))


def take_out(home: Path, receipt: Receipt, path: Path) -> None:
    """Move a deleted file back to its place, which is free."""
    lies = _inside(home, BIN) / receipt.binned
    if Receipt.read(receipt.binned) is None or not os.path.lexists(lies):
        raise StoreError(f"{BIN}/{receipt.binned}", "is no longer in the bin", "get it from your own backup")
    with told_errors(receipt.kind.file(receipt.slug), "brought back"):
        atomic_write.move_file(lies, path)


def list_deleted(home: Path) -> list[Binned]:
    """Return what is in the bin, the last deleted first; what nobody deleted from here is not looked at."""
    return [Binned(receipt, _name(home, receipt)) for receipt in _receipts(home)]


def purge_deleted(home: Path, older_than: timedelta) -> list[Receipt]:
    """Take away for good what was deleted longer ago than a time, and return what that was."""
    oldest = datetime.now(UTC) - older_than
    gone = [receipt for receipt in _receipts(home) if receipt.at < oldest]
    for receipt in gone:
        with told_errors(f"{BIN}/{receipt.binned}", "taken away"):
            atomic_write.remove_file(_inside(home, BIN) / receipt.binned)
    return gone


def naming(home: Path, kind: Kind[Any], slug: str) -> Iterator[tuple[str, Document, Filed]]:
    """Yield the deleted files that name one of a kind: path in the folder, text, record; sound ones only."""
    for receipt in _receipts(home):
        if not kind.is_named_by(receipt.kind.name):
            continue
        file = f"{BIN}/{receipt.binned}"
        with suppress(BadInput, FileNotFoundError):
            text, marked = read_text(home / file, file, home)
            if slug in text:
                record, document = read_kind(receipt.kind, Document(text, parse_toml(text, file), marked), file)
                if any(one.name == kind.name and called == slug for one, _, called in names_in(record)):
                    yield file, document, record


def keep_former(home: Path, file: str, raw: bytes, schema: int, changes: Changes | None = None) -> None:
    """Keep a copy of a file of an older schema, dated, before it is written in today's."""
    folder = _inside(home, BACKUPS)
    tail = f"{file.removesuffix('.toml').replace('/', '-')}-schema-{schema}.toml"
    name = _dated(folder, tail)
    if changes is None:
        atomic_write.replace_file(folder / name, raw)
    else:
        changes.put(f"{BACKUPS}/{name}", raw)


def keep_copy(home: Path, file: str, raw: bytes, changes: Changes) -> None:
    """Keep a copy of a file, dated, with the changes that are to be made of it."""
    name = _dated(_inside(home, BACKUPS), file.replace("/", "-"))
    changes.put(f"{BACKUPS}/{name}", raw)


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
        raise StoreError(name, "is a link to a place outside the folder", "put the folder itself there")
    return folder


def _receipts(home: Path) -> list[Receipt]:
    """Return the receipts of what is in the bin, the last deleted first."""
    try:
        names = os.listdir(_inside(home, BIN))
    except FileNotFoundError:
        refuse_gone(home)
        return []
    except OSError as exc:
        raise BadInput([refused(BIN, "read", exc)]) from exc
    return [receipt for name in sorted(names, reverse=True) if (receipt := Receipt.read(name)) is not None]


def _name(home: Path, receipt: Receipt) -> str:
    """Return what to call a deleted file."""
    try:
        name = read_document(home / BIN / receipt.binned, receipt.binned, home).data.get("name")
    except (BadInput, FileNotFoundError):
        return receipt.slug
    return name if isinstance(name, str) and name.isprintable() else receipt.slug
