"""What the server was started with, handed to the pages by the environment: nothing else passes from one to the other.

`planner.front.launch.start` sets it; tests set it themselves.
"""

from __future__ import annotations

import os
from typing import Final

from planner.store import Store, find_folder
from planner.store.folder import VARIABLE
from planner.units import System

PROFILES: Final = VARIABLE
UNITS: Final = "PLANNER_UNITS"


def store() -> Store:
    """Return the store of the profiles folder; StoreError if the folder has gone."""
    return Store(find_folder())


def default_system() -> System:
    """Return the units a new tab starts with."""
    return "metric" if os.environ.get(UNITS) == "metric" else "us"
