"""Which folder holds the trucks, trailers and profiles, and the demo that a new one starts with."""

import os
import shutil
import tempfile
from contextlib import suppress
from pathlib import Path
from typing import Final

from planner.errors import StoreError
from planner.store.os_errors import told_errors

VARIABLE: Final = "PLANNER_PROFILES"

APP: Final = "trailer-setup-planner"  # its folder among those of other programs
_NAME: Final = "profiles"
PACKAGE: Final = Path(__file__).resolve().parents[1]  # where the planner's own files lie


def find_folder(given: Path | None = None) -> Path:
    """Return the folder to work in: the one given, else the environment's, else ./profiles, else the user's own.

    The user's own is made on first run, with the demo in it. A folder that was named must be there: making one would
    hide a slip in its name behind an empty list.

    Raises
    ------
    StoreError
        If the named folder is not there, or the user's own cannot be made.
    """
    if given is not None:
        return _existing(given, "--profiles")
    if named := os.environ.get(VARIABLE):
        return _existing(Path(named), VARIABLE)
    here = Path(_NAME).absolute()
    if here.is_dir():
        return here
    import platformdirs

    own = platformdirs.user_data_path(APP, appauthor=False) / _NAME
    copy_demo(own)
    return own


def copy_demo(folder: Path) -> None:
    """Make a folder with the demo in it, whole or not at all; one that is there already is left as it is."""
    if folder.is_dir():
        return
    with told_errors(str(folder), "made"):
        folder.parent.mkdir(parents=True, exist_ok=True)
        fresh = Path(tempfile.mkdtemp(prefix=f".{_NAME}-", dir=folder.parent))
        try:
            for file in _demo_files(demo_folder()):
                place = fresh / file.relative_to(demo_folder())
                place.parent.mkdir(exist_ok=True)
                shutil.copyfile(file, place)
            os.rename(fresh, folder)
        except OSError:
            if not folder.is_dir():  # else another window has just made it
                raise
        finally:
            shutil.rmtree(fresh, ignore_errors=True)


def demo_folder() -> Path:
    """Return where the demo lies: inside an installed package, beside it in a checkout."""
    for folder in (PACKAGE / "_profiles", PACKAGE.parent / _NAME):
        if folder.is_dir():
            return folder
    raise StoreError(str(PACKAGE), "the demo's files are missing", "install the planner again, or use --profiles DIR")


def _demo_files(demo: Path) -> list[Path]:
    """Return the files of the demo: its profiles, trucks, trailers, bags and slips, nothing from a bin."""
    patterns = ("*.toml", "trucks/*.toml", "trailers/*.toml", "bags/*.toml", "slips/*.toml")
    return [file for pattern in patterns for file in sorted(demo.glob(pattern))]


def _existing(folder: Path, source: str) -> Path:
    """Return a folder that was named, once it is known to be one."""
    with suppress(RuntimeError):  # no home to put for the ~
        folder = folder.expanduser()
    if not folder.is_dir():
        what = "is a file, not a folder" if folder.exists() else "is not there"
        raise StoreError(str(folder), f"{what} (named by {source})", f"make the folder, or correct {source}")
    return folder.absolute()
