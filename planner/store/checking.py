"""Checking files wherever they lie, before anything is done with them."""

from collections.abc import Iterable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

from planner.errors import StoreError
from planner.records import BadInput, Problem, Truck
from planner.records.cautions import truck_cautions
from planner.store.kinds import BAG, KINDS, PROFILE, SLIP, TRAILER, TRUCK, Kind
from planner.store.limits import pressures_past_limits
from planner.store.reading import read_document
from planner.store.schema_version import read_kind
from planner.store.slip_files import read_slip_path
from planner.store.store import Store

TELLING: Final[dict[str, Kind[Any]]] = {
    "wheelbase": TRUCK,
    "kerb": TRUCK,
    "axle_distance": TRAILER,
    "axle_count": TRAILER,
    "height": BAG,
    "least_pressure": BAG,
    "alone": SLIP,
    "hitched": SLIP,
    "trailer_alone": SLIP,
    "lever": SLIP,
}


def check_files(store: Store, files: Iterable[Path]) -> list[Problem]:
    """Return all that is wrong with files, each by itself and each profile with the truck and trailer it names."""
    problems: list[Problem] = []
    for path in files:
        try:
            _check(store, path)
        except BadInput as error:
            problems += error.problems
    return problems


def find_cautions(store: Store, files: Sequence[Path] = ()) -> list[Problem]:
    """Return what to look at again in the trucks among some files, or in the folder: none of it is an error."""
    found: list[Problem] = []
    for slug in store.trucks() if not files else ():
        with suppress(BadInput):  # which the check tells of
            found += truck_cautions(store.read_truck(slug), TRUCK.file(slug))
    for path in files:
        with suppress(BadInput, FileNotFoundError):
            document = read_document(path, str(path))
            if _kind(path, document.data) is TRUCK:
                found += truck_cautions(read_kind(TRUCK, document, str(path))[0], str(path))
    return found


def _check(store: Store, path: Path) -> None:
    """Raise BadInput with all that is wrong with one file."""
    try:
        document = read_document(path, str(path))
    except FileNotFoundError as exc:
        raise StoreError(str(path), "is not there", "check the path; planner list shows the profiles") from exc
    kind = _kind(path, document.data)
    if kind is SLIP:
        read_slip_path(store, path)
        return
    record, _ = read_kind(kind, document, str(path))
    if isinstance(record, Truck):
        store.with_charts(record, path)
    if kind is PROFILE:
        outfit = store.read_profile_path(path)
        if past := pressures_past_limits(str(path), outfit.profile, outfit.truck):
            raise BadInput(past)


def _kind(path: Path, data: dict[str, Any]) -> Kind[Any]:
    """Return what a file is: by the folder it lies in, else by what only one kind has, else a profile."""
    by_folder: dict[str, Kind[Any]] = {kind.folder: kind for kind in KINDS if kind.folder}
    told: Kind[Any] = next((TELLING[key] for key in data if key in TELLING), PROFILE)
    return by_folder.get(path.absolute().parent.name, told)
