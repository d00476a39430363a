"""Names that a package hands out and imports when they are first asked for (PEP 562), so that a start loads little."""

import sys
from collections.abc import Callable, Mapping
from importlib import import_module
from typing import Any


def late(package: str, homes: Mapping[str, str]) -> Callable[[str], Any]:
    """Return the ``__getattr__`` of a package, given the module that each of its names lives in."""

    def from_its_home(name: str) -> Any:
        if name not in homes:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        found = getattr(import_module(homes[name]), name)
        setattr(sys.modules[package], name, found)
        return found

    return from_its_home


def found_late(home: str, name: str) -> Any:
    """Return a name of a module that lies further on the way from file to screen, imported when it is asked for."""
    return getattr(import_module(home), name)
