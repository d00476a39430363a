"""A scale slip with the truck, trailer and hitch that it names."""

from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

from planner.errors import BadInput, StoreError
from planner.records import Hitch, Problem, Slip, Trailer, Truck
from planner.records.slip import with_defaults
from planner.store.kinds import SLIP, TRAILER, TRUCK
from planner.store.os_errors import shown_name
from planner.store.reading import read_document
from planner.store.schema_version import read_kind
from planner.store.store import Store


class NamedSlip(NamedTuple):
    """A slip with what it names; None where it names nothing."""

    slip: Slip
    truck: Truck | None
    trailer: Trailer | None
    hitch: Hitch | None


def read_slip_path(store: Store, path: Path) -> NamedSlip:
    """Return a slip from a file anywhere, which may hold readings only, and what it names from the folder.

    Raises
    ------
    BadInput
        With all that is wrong with it; that nothing was weighed is wrong too.
    """
    file = str(path)
    if "\0" in file:
        raise StoreError(shown_name(file), "is not a path", "check the spelling")
    try:
        document = read_document(path, file)
    except FileNotFoundError as exc:
        raise StoreError(file, "is not there", "check the path") from exc
    named = path.stem[:60].strip() or SLIP.name
    slip, _ = read_kind(SLIP, replace(document, data=with_defaults(document.data, named)), file)
    if slip.is_empty:
        raise StoreError(file, "has no weighings in it", "add [alone], [hitched] or another of its tables")
    return with_named(store, slip, file)


def with_named(store: Store, slip: Slip, file: str) -> NamedSlip:
    """Return a slip with the truck, trailer and hitch that it names; BadInput if one of them is not there."""
    problems: list[Problem] = []
    truck: Truck | None = None
    trailer: Trailer | None = None
    try:
        truck = None if slip.truck is None else store.read(TRUCK, slip.truck)
    except BadInput as exc:
        problems += [Problem(file, "truck", one.value, one.rule, one.remedy) for one in exc.problems]
    try:
        trailer = None if slip.trailer is None else store.read(TRAILER, slip.trailer)
    except BadInput as exc:
        problems += [Problem(file, "trailer", one.value, one.rule, one.remedy) for one in exc.problems]
    hitch = None
    if slip.hitch is not None and truck is not None:
        hitch = next((one for one in truck.hitches if one.name == slip.hitch), None)
        if hitch is None:
            there = ", ".join(one.name for one in truck.hitches) or "none"
            rule = f"must be a hitch on the {truck.name}"
            problems.append(Problem(file, "hitch", shown_name(slip.hitch), rule, f"use {there}"))
    if problems:
        raise BadInput(problems)
    return NamedSlip(slip, truck, trailer, hitch)
