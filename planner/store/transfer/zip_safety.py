"""Zips of plain files, made and opened: how large, how many and under what paths is asked before any is unpacked.

Nothing is ever unpacked onto the disk, and no zip in a zip is opened. A file is read in memory, never more of it than
a file of the planner may hold, and its path is only looked up among the planner's own: what a zip says of a file beside
its path and size (a link, a device, a date) is never acted on.
"""

import io
import stat
import unicodedata
import zipfile
import zlib
from collections.abc import Mapping
from itertools import pairwise
from typing import Final

from planner.errors import StoreError
from planner.store.os_errors import shown_name
from planner.store.reading import LARGEST

MOST_MB: Final = 16  # 5,000 profiles with all they name take 3
MOST_ZIPPED: Final = MOST_MB * 1_000_000  # bytes; the page and the server that takes it in hold the same limit
MOST_FILES: Final = 12_000
MOST_BYTES: Final = 24_000_000  # unpacked, all together
LONGEST_PATH: Final = 255

_STARTS: Final = (b"PK\x03\x04", b"PK\x05\x06")  # of a zip, and of an empty one
_LISTED: Final = b"PK\x01\x02"  # before each entry of its table of contents
_UTF8: Final = 0x800
_ENCRYPTED: Final = 0x1 | 0x40 | 0x2000
_DAMAGED: Final = (  # all that zipfile raises on bytes of a stranger; none of it means that a file is let through
    zipfile.BadZipFile,  # no table of contents, a checksum that is not the content's, files over each other
    zlib.error,  # what is packed cannot be unpacked
    EOFError,  # it ends before it should
    OSError,  # a place before its beginning
    ValueError,  # the same, and a size below nought
    RuntimeError,  # a version that zipfile does not know
)
_FIRST_DAY: Final = (1980, 1, 1, 0, 0, 0)  # the earliest date a zip can say: the same files give the same zip
_FEWER: Final = "export fewer profiles at a time, or copy the folder"
_ANEW: Final = "zip the files again"
_DISTRUST: Final = "do not trust this zip; ask for one made with the planner's export"


def pack_files(files: Mapping[str, bytes]) -> bytes:
    """Return files, by path, as one zip that `open_zip` takes; the same files give the same bytes.

    Raises
    ------
    StoreError
        If there are more than such a zip may hold to be opened again.
    """
    if len(files) > MOST_FILES or sum(map(len, files.values())) > MOST_BYTES:
        rule = f"would hold more than {MOST_FILES} files or {MOST_BYTES // 1_000_000} MB"
        raise StoreError("the zip", rule, _FEWER)
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        for path in sorted(files):
            entry = zipfile.ZipInfo(path, _FIRST_DAY)
            entry.create_system, entry.external_attr = 3, (stat.S_IFREG | 0o644) << 16  # on Windows too
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, files[path])
    if made.tell() > MOST_ZIPPED:
        raise StoreError("the zip", f"would be larger than {MOST_MB} MB", _FEWER)
    return made.getvalue()


def open_zip(data: bytes, called: str = "the zip") -> dict[str, bytes]:
    """Return the files of a zip by path, sorted; folders are left out.

    Parameters
    ----------
    data, called
        The zip, and what messages call it.

    Raises
    ------
    StoreError
        If it is no zip or a damaged one, too large or too full, or has a path that leads out of it or misleads.
    """
    if len(data) > MOST_ZIPPED:
        raise StoreError(called, f"is larger than {MOST_MB} MB", "export fewer profiles at a time")
    if not data.startswith(_STARTS):
        raise StoreError(called, "is not a zip", f"choose a zip made with the planner's export, or {_ANEW}")
    if data.count(_LISTED) > MOST_FILES:  # before the table of contents is read, which takes memory
        raise StoreError(called, f"holds more than {MOST_FILES} files", "export fewer profiles at a time")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return _read(archive, called)
    except StoreError:  # refused by a rule of ours, which says more
        raise
    except UnicodeDecodeError as exc:
        raise StoreError(called, "holds a file whose name is not UTF-8", _ANEW) from exc
    except _DAMAGED as exc:
        raise StoreError(called, "is damaged", "copy or download it again, or export it again") from exc


def _read(archive: zipfile.ZipFile, called: str) -> dict[str, bytes]:
    """Return the files of a zip that was opened, once all that it says of itself is in order."""
    entries = sorted(archive.infolist(), key=lambda entry: entry.orig_filename)
    for entry in entries:
        _refuse_path(entry, called)
        _refuse_size(entry, called)
    for entry, after in pairwise(entries):
        if entry.orig_filename == after.orig_filename:
            raise StoreError(called, f"holds the same name twice, {shown_name(entry.orig_filename)}", _DISTRUST)
    if sum(entry.file_size for entry in entries) > MOST_BYTES:
        raise StoreError(called, f"unpacks to more than {MOST_BYTES // 1_000_000} MB", _DISTRUST)
    return {entry.orig_filename: _content(archive, entry, called) for entry in entries if not entry.is_dir()}


def _content(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, called: str) -> bytes:
    """Return what is really in an entry, which is what it says and no more."""
    with archive.open(entry) as file:
        content = file.read(LARGEST + 1)  # zipfile holds its checksum against what it read
    if len(content) != entry.file_size:
        raise StoreError(
            called, f"is damaged: {shown_name(entry.orig_filename)} has the wrong size", "copy or download it again"
        )
    return content


def _refuse_path(entry: zipfile.ZipInfo, called: str) -> None:
    """Refuse a path that leads out of the zip's own folder, or is not what it looks like."""
    path = entry.orig_filename  # `filename` is what zipfile made of it
    if not entry.flag_bits & _UTF8 and not path.isascii():
        raise StoreError(called, f"holds a file whose name is not UTF-8, {shown_name(path)}", _ANEW)
    if not path.isprintable() or path != entry.filename or not 1 <= len(path) <= LONGEST_PATH:
        raise StoreError(called, f"holds a file with a misleading name, {shown_name(path)}", _DISTRUST)
    if any(map(_leads_out, (path, unicodedata.normalize("NFKC", path)))):
        raise StoreError(called, f"holds a path that leads outside, {shown_name(path)}", _DISTRUST)


def _leads_out(path: str) -> bool:
    """Tell whether a path, on any system, is more than names of folders and of a file in them."""
    parts = path.removesuffix("/").split("/")
    return any(mark in path for mark in "\\:") or any(part.strip(". ") == "" for part in parts)


def _refuse_size(entry: zipfile.ZipInfo, called: str) -> None:
    """Refuse an entry that says it is too large, or whose size cannot be known without more than the zip."""
    path = shown_name(entry.orig_filename)
    if entry.flag_bits & _ENCRYPTED:
        raise StoreError(called, f"is encrypted ({path})", "zip the files without a password")
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):  # others may ask for memory at will
        raise StoreError(called, f"is packed in a way the planner cannot read ({path})", f'{_ANEW}, "deflate"')
    if entry.file_size > (0 if entry.is_dir() else LARGEST):
        rule = f"holds a file larger than {LARGEST // 1_000_000} MB, {path}"
        raise StoreError(called, rule, "no planner file is that large; take it out")
