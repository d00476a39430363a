"""From a file to a record, and from an answer to its drawing: what a program needs of the store and of the pictures.

Records and answers find it by its name when they are asked for a text or a picture (`planner.late.found_late`), so
that neither `records` nor `plans` imports what lies behind them on the way from file to screen.
"""

from importlib.metadata import PackageNotFoundError, version
from os import PathLike
from pathlib import Path

from planner.errors import StoreError
from planner.plans.answer import Answer
from planner.records import Profile, Record, Trailer, Truck
from planner.store import PROFILE, TRAILER, TRUCK, Kind, Store, find_folder
from planner.store.kinds import R
from planner.store.reading import read_document
from planner.store.schema_version import read_kind
from planner.store.toml_layout import new_text

try:
    __version__ = version("trailer-setup-planner")
except PackageNotFoundError:  # a checkout that nobody installed
    __version__ = "0"


def open_folder(path: str | PathLike[str] | None = None) -> Store:
    """Return a folder of trucks, trailers and profiles.

    Parameters
    ----------
    path : path, optional
        Left out: the folder that the command line works in.

    Raises
    ------
    StoreError
        If it is not there.

    Examples
    --------
    >>> folder = open_folder("profiles")
    >>> folder.trucks()
    ['ridge-truck', 'skid-truck', 'yard-truck']
    >>> folder.read_outfit("mill-bed-empty").trailer.name
    'Band mill'
    """
    return Store(find_folder(None if path is None else Path(path)))


def read_truck(path: str | PathLike[str]) -> Truck:
    """Return the truck that a TOML file holds; charts of bags that it names lie in ``bags`` beside its own folder.

    Raises
    ------
    BadInput
        With every problem of the file; StoreError if it is not there or cannot be read.

    Examples
    --------
    >>> read_truck("profiles/trucks/ridge-truck.toml").wheelbase
    <158 in>
    """
    place = Path(path)
    return Store(place.absolute().parents[1]).with_charts(_read(TRUCK, place), place)


def read_trailer(path: str | PathLike[str]) -> Trailer:
    """Return the trailer that a TOML file holds; raises as `read_truck` does.

    Examples
    --------
    >>> read_trailer("profiles/trailers/band-mill.toml").coupling
    'ball'
    """
    return _read(TRAILER, path)


def read_profile(path: str | PathLike[str]) -> Profile:
    """Return the profile that a TOML file holds, the names of its truck and trailer in it; raises as `read_truck` does.

    Examples
    --------
    >>> read_profile("profiles/mill-bed-empty.toml").truck
    'ridge-truck'
    """
    return _read(PROFILE, path)


def _read(kind: Kind[R], path: str | PathLike[str]) -> R:
    """Return the record of a kind in a file anywhere."""
    place = Path(path)
    try:
        return read_kind(kind, read_document(place, str(place)), str(place))[0]
    except FileNotFoundError as exc:
        raise StoreError(str(place), "is not there", "check the path") from exc


def toml_of(record: Record) -> str:
    """Return a record as a TOML text, quantities as they were typed.

    Examples
    --------
    >>> from planner import read_truck
    >>> read_truck("profiles/trucks/ridge-truck.toml").to_toml().splitlines()[1]
    'name = "Ridge truck"'
    """
    return new_text(record)


def svg_of(answer: Answer) -> str:
    """Return the truck from above with its pressures, as an SVG, in the units of the truck's own gauge.

    Examples
    --------
    >>> from planner import level, read_truck
    >>> svg_of(level(read_truck("profiles/trucks/ridge-truck.toml")))[:4]
    '<svg'
    """
    from planner.show.notebook import draw_answer

    return draw_answer(answer).svg


def html_of(answer: Answer) -> str:
    """Return the pressures and findings with the truck from above, as HTML, in the units of the truck's own gauge.

    Examples
    --------
    >>> from planner import level, read_truck
    >>> html_of(level(read_truck("profiles/trucks/ridge-truck.toml")))[:4]
    '<div'
    """
    from planner.show.notebook import answer_html

    return answer_html(answer)
