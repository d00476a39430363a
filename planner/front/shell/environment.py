"""What the server was started with, handed to the pages by the environment: nothing else passes from one to the other.

`planner.front.shell.launch.start` sets it; tests set it themselves.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Final

from planner.store.folder import VARIABLE

if TYPE_CHECKING:
    from planner.store import Store
    from planner.units.quantity import System

PROFILES: Final = VARIABLE
UNITS: Final = "PLANNER_UNITS"


def folder() -> Path:
    """Return the profiles folder, which `find_folder` found at the start."""
    return Path(os.environ[PROFILES])


def store() -> Store:
    """Return the store of the profiles folder; StoreError if the folder has gone."""
    from planner.store import Store  # not before the server listens
    from planner.store.locking import refuse_gone

    refuse_gone(folder())
    return Store(folder())


def default_system() -> System:
    """Return the units a new tab starts with."""
    return "metric" if os.environ.get(UNITS) == "metric" else "us"
