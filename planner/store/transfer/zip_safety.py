"""Zips of plain files, made and opened: what could do harm is refused before any of it is unpacked.

Nothing is ever unpacked onto the disk. A zip is opened in memory, within limits that hold for what it says of itself
and again for what is really in it; paths are only looked up among the planner's own and never joined to a folder.
"""

import io
import stat
import unicodedata
import zipfile
import zlib
from collections.abc import Mapping, Sequence
from typing import Final

from planner.errors import StoreError
from planner.store.os_errors import shown_name
from planner.store.reading import LARGEST

MOST_MB: Final = 16  # 5,000 profiles with all they name take 3
MOST_ZIPPED: Final = MOST_MB * 1_000_000  # bytes; the page and the server that takes it in hold the same limit
MOST_FILES: Final = 12_000
MOST_BYTES: Final = 24_000_000  # unpacked, all together
MOST_RATIO: Final = 200  # unpacked over zipped; a thousand readings alike come to 60
SMALL: Final = 50_000  # bytes; below it no ratio is worth refusing
LONGEST_PATH: Final = 255

_STARTS: Final = (b"PK\x03\x04", b"PK\x05\x06")  # of a zip, and of an empty one
_LISTED: Final = b"PK\x01\x02"  # before each entry of its table of contents
_HEADER: Final = 30  # bytes of an entry before its name
_UTF8: Final = 0x800
_ENCRYPTED: Final = 0x1 | 0x40 | 0x2000
_DOS_SPECIAL: Final = 0x08 | 0x400  # volume label; link
_ZIPS: Final = (".zip", ".7z", ".gz", ".bz2", ".xz", ".rar", ".tar", ".tgz", ".zst", ".jar")
_DAMAGED: Final = (  # all that zipfile raises on bytes of a stranger; none of it means that a file is let through
    zipfile.BadZipFile,  # no table of contents, a checksum that is not the content's
    zlib.error,  # what is packed cannot be unpacked
    EOFError,  # it ends before it should
    OSError,  # a place before its beginning
    ValueError,  # the same, and a size below nought
    RuntimeError,  # encrypted after all, a version or a way of packing that zipfile does not know
)
_FIRST_DAY: Final = (1980, 1, 1, 0, 0, 0)  # the earliest date a zip can say: the same files give the same zip


def pack_files(files: Mapping[str, bytes]) -> bytes:
    """Return files, by path, as one zip that `open_zip` takes; the same files give the same bytes.

    Raises
    ------
    StoreError
        If there are more than such a zip may hold to be opened again.
    """
    if len(files) > MOST_FILES or sum(map(len, files.values())) > MOST_BYTES:
        rule = f"would hold more than {MOST_FILES} files or {MOST_BYTES // 1_000_000} MB"
        raise StoreError("the zip", rule, "export profiles one by one, or copy the folder")
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        for path in sorted(files):
            entry = zipfile.ZipInfo(path, _FIRST_DAY)
            entry.create_system, entry.external_attr = 3, (stat.S_IFREG | 0o644) << 16  # on Windows too
            entry.compress_type = zipfile.ZIP_STORED if _swells(files[path]) else zipfile.ZIP_DEFLATED
            archive.writestr(entry, files[path])
    if made.tell() > MOST_ZIPPED:
        rule = f"would be larger than {MOST_MB} MB"
        raise StoreError("the zip", rule, "export profiles one by one, or copy the folder")
    return made.getvalue()


def is_archive(content: bytes) -> bool:
    """Tell whether a file is a zip itself, which no zip may hold that is to be opened again."""
    return content.startswith(_STARTS)


def _swells(content: bytes) -> bool:
    """Tell whether a file would look like one made to fill a machine, were it packed."""
    return len(content) > SMALL and len(content) > MOST_RATIO * len(zlib.compress(content, 9)) // 2


def open_zip(data: bytes, called: str = "the zip") -> dict[str, bytes]:
    """Return the files of a zip by path, sorted; folders are left out.

    Parameters
    ----------
    data, called
        The zip, and what messages call it.

    Raises
    ------
    StoreError
        If it is no zip or a damaged one, too large in any way, or holds anything but plain files with honest names.
    """
    if len(data) > MOST_ZIPPED:
        raise _refused(called, f"is larger than {MOST_MB} MB", "export fewer profiles at a time")
    if not data.startswith(_STARTS):
        raise _refused(called, "is not a zip", "choose a zip that the planner exported, or zip the files anew")
    if data.count(_LISTED) > MOST_FILES:  # before the table of contents is read, which takes memory
        raise _refused(called, f"holds more than {MOST_FILES} files", "export fewer profiles at a time")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return _read(archive, called)
    except StoreError:  # refused by a rule of ours, which says more
        raise
    except UnicodeDecodeError as exc:
        raise _refused(called, "holds a file whose name is not UTF-8", "zip the files anew") from exc
    except _DAMAGED as exc:
        raise _refused(called, "is a damaged zip", "fetch it again, or export it again") from exc


def _read(archive: zipfile.ZipFile, called: str) -> dict[str, bytes]:
    """Return the files of a zip that was opened, once all that it says of itself is in order."""
    entries = archive.infolist()
    for entry in entries:
        _refuse_path(entry, called)
        _refuse_special(entry, called)
        _refuse_size(entry, called)
    _refuse_twins(entries, called)
    _refuse_overlap(entries, archive.start_dir, called)
    if sum(entry.file_size for entry in entries) > MOST_BYTES:
        raise _bomb(called, f"unpacks to more than {MOST_BYTES // 1_000_000} MB")
    return {
        entry.orig_filename: _content(archive, entry, called)
        for entry in sorted(entries, key=lambda entry: entry.orig_filename)
        if not entry.orig_filename.endswith("/")
    }


def _content(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, called: str) -> bytes:
    """Return what is really in an entry, which is what it says and no more."""
    with archive.open(entry) as file:
        content = file.read(LARGEST + 1)  # zipfile holds its checksum against what it read
    if len(content) != entry.file_size:
        raise _refused(called, f"is damaged: {shown_name(entry.orig_filename)} has another size", "fetch it again")
    if is_archive(content):
        raise _nested(called, entry.orig_filename)
    return content


def _refuse_path(entry: zipfile.ZipInfo, called: str) -> None:
    """Refuse a path that leads out of the zip's own folder, or is not what it looks like."""
    path = entry.orig_filename  # `filename` is what zipfile made of it
    if not entry.flag_bits & _UTF8 and not path.isascii():
        raise _refused(called, f"holds a file whose name is not UTF-8, {shown_name(path)}", "zip the files anew")
    if not path.isprintable() or path != entry.filename or not 1 <= len(path) <= LONGEST_PATH:
        raise _refused(called, f"holds a file with a misleading name, {shown_name(path)}", _DISTRUST)
    if any(map(_leads_out, (path, unicodedata.normalize("NFKC", path)))):
        raise _refused(called, f"holds a path that leads out of it, {shown_name(path)}", _DISTRUST)
    if path.casefold().endswith(_ZIPS):
        raise _nested(called, path)


def _leads_out(path: str) -> bool:
    """Tell whether a path, on any system, is more than names of folders and of a file in them."""
    parts = path.removesuffix("/").split("/")
    return any(mark in path for mark in "\\:") or any(part.strip(". ") == "" for part in parts)


def _refuse_special(entry: zipfile.ZipInfo, called: str) -> None:
    """Refuse what is no plain file or folder, or cannot be read without more than the zip."""
    path, folder = entry.orig_filename, entry.orig_filename.endswith("/")
    what = stat.S_IFMT(entry.external_attr >> 16)
    if what not in (0, stat.S_IFDIR if folder else stat.S_IFREG) or entry.external_attr & _DOS_SPECIAL:
        kind = "a link" if stat.S_ISLNK(what) else "no plain file"
        raise _refused(called, f"holds {kind}, {shown_name(path)}", "zip the files themselves")
    if entry.flag_bits & _ENCRYPTED:
        raise _refused(called, f"is encrypted ({shown_name(path)})", "zip the files without a password")
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise _refused(
            called, f"is packed in a way not known here ({shown_name(path)})", 'zip the files anew, "deflate"'
        )


def _refuse_size(entry: zipfile.ZipInfo, called: str) -> None:
    """Refuse an entry that says it is too large, or larger than its bytes can honestly make it."""
    path, size = entry.orig_filename, entry.file_size
    if size > SMALL and size > MOST_RATIO * entry.compress_size:
        raise _bomb(called, f"swells more than {MOST_RATIO} times when unpacked ({shown_name(path)})")
    if size > (0 if path.endswith("/") else LARGEST):
        rule = f"holds a file larger than {LARGEST // 1_000_000} MB, {shown_name(path)}"
        raise _refused(called, rule, "no file of the planner is: take it out")


def _refuse_twins(entries: Sequence[zipfile.ZipInfo], called: str) -> None:
    """Refuse two files that would be one on some system: case, accents and dots at the end do not tell them apart."""
    seen = set[str]()
    for entry in entries:
        folded = unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", entry.orig_filename).casefold())
        key = "/".join(part.rstrip(" .") for part in folded.removesuffix("/").split("/"))
        if key in seen:
            raise _refused(called, f"holds the same name twice, {shown_name(entry.orig_filename)}", _DISTRUST)
        seen.add(key)


def _refuse_overlap(entries: Sequence[zipfile.ZipInfo], end: int, called: str) -> None:
    """Refuse entries that share bytes: a few can then unpack to anything."""
    for entry in sorted(entries, key=lambda entry: entry.header_offset, reverse=True):
        if entry.header_offset + _HEADER + len(entry.orig_filename.encode()) + entry.compress_size > end:
            raise _bomb(called, "has files that lie over each other")
        end = entry.header_offset


_DISTRUST: Final = "do not trust this file; ask for one that the planner exported"


def _bomb(called: str, rule: str) -> StoreError:
    """Return the error of a zip made to fill a machine."""
    return _refused(called, rule, _DISTRUST)


def _nested(called: str, path: str) -> StoreError:
    """Return the error of a zip in a zip."""
    return _refused(called, f"holds another archive, {shown_name(path)}", "unpack that one, and import it by itself")


def _refused(called: str, rule: str, remedy: str) -> StoreError:
    """Return the error of a zip that is not opened."""
    return StoreError(called, rule, remedy)
