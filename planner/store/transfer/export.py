"""Export and import: profiles with what they name, or the whole folder, as one zip of the plain files."""

from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any, Final

from planner.errors import StoreError
from planner.records import BadInput, Problem
from planner.records.file_header import Filed
from planner.store.kinds import KINDS, PROFILE, Kind, names_in
from planner.store.record_files import ENDING, Shelf
from planner.store.slugs import is_slug, slug
from planner.store.store import Store
from planner.store.transfer.zip_safety import pack_files

LEFT_OUT: Final = "left-out.txt"  # in a zip that could not take everything


@dataclass(frozen=True)
class Packed:
    """A zip of plain files, each to the byte as it lies in the folder, and what could not go into it.

    What was left out is also told in the zip itself, in a file of its own.
    """

    data: bytes = field(repr=False)
    left_out: tuple[Problem, ...] = ()


def export_profiles(store: Store, slugs: Sequence[str]) -> Packed:
    """Return profiles, by slug, with the trucks and trailers they name; a damaged one goes alone, and that is told."""
    files: dict[str, bytes] = {}
    left_out: list[Problem] = []
    for one in slugs:
        _take(store, PROFILE, one, files, left_out)
        try:
            profile = store.read_profile(one)
        except BadInput as exc:
            left_out += [problem for problem in exc.problems if problem not in left_out]
            continue
        _take_named(store, profile, files, left_out)
    return _packed(files, left_out)


def _take_named(store: Store, record: Filed, files: dict[str, bytes], left_out: list[Problem]) -> None:
    """Put what a record names among the files to be packed, and what that names."""
    for kind, _, called in names_in(record):
        if kind.file(called) not in files:
            _take(store, kind, called, files, left_out)
            with suppress(BadInput):  # told of, or taken as it is
                _take_named(store, store.read(kind, called), files, left_out)


def export_all(store: Store) -> Packed:
    """Return all files of a folder, damaged ones too; nothing from the bin, no histories."""
    files: dict[str, bytes] = {}
    left_out: list[Problem] = []
    for kind in KINDS:
        for stem in Shelf(store.folder, kind).files():
            if is_slug(stem):
                _take(store, kind, stem, files, left_out)
            else:
                rule = "must have a file name of a-z, 0-9 and hyphens only"
                left_out.append(Problem(kind.file(stem), "", "", rule, f"rename it to {slug(stem)}{ENDING}"))
    return _packed(files, left_out)


def _take(store: Store, kind: Kind[Any], called: str, files: dict[str, bytes], left_out: list[Problem]) -> None:
    """Put one file among those to be packed, or tell why it is left out."""
    shelf = Shelf(store.folder, kind)
    try:
        raw = shelf.raw(called)
        if raw is None:
            raise shelf.missing(called)
        files[kind.file(called)] = raw
    except BadInput as exc:
        left_out += [problem for problem in exc.problems if problem not in left_out]


def _packed(files: dict[str, bytes], left_out: Iterable[Problem]) -> Packed:
    """Return files as a zip, with a page on what was left out if anything was."""
    told = tuple(left_out)
    if told:
        lines = "".join(f"{problem.line()}\n" for problem in told)
        files = files | {LEFT_OUT: f"Left out, or needs fixing before use:\n{lines}".encode()}
    try:
        return Packed(pack_files(files), told)
    except StoreError as exc:
        return Packed(pack_files({LEFT_OUT: f"{exc}\n".encode()}), exc.problems)
