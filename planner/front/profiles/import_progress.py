"""An import of many files in the background."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from typing import Final

from planner.front.profiles.background import Background
from planner.store import Store
from planner.store.transfer.import_zip import Brought, import_files
from planner.store.transfer.preview import Choice, Coming

AT_ONCE: Final = 50  # files; they take less than a second, and need no thread
CALLED_OFF: Final = "Stopped: nothing was brought in."


class _CalledOffError(Exception):
    """Somebody called the import off."""


class Import(Background):
    """An import under way: nothing of it is in the folder until all is laid ready, then all at once."""

    def __init__(self, coming: Coming, store: Store, overall: Choice, each: Mapping[str, Choice]) -> None:
        """Begin it."""
        self.ready = self.of = 0
        self._given = coming, store, overall, each
        self._brought: Brought | None = None
        super().__init__()

    def brought(self) -> Brought | None:
        """Return what it did once it has finished, None if it was called off; raises what it failed of."""
        self.refuse_failed()
        return self._brought

    def work(self) -> None:
        """Bring the files in."""
        coming, store, overall, each = self._given
        with suppress(_CalledOffError):
            self._brought = import_files(coming, store, overall, each, self._tell)

    def _tell(self, ready: int, of: int) -> None:
        """Note how far it is; stop if it was called off."""
        self.ready, self.of = ready, of
        if self.stopped:
            raise _CalledOffError
