"""A table of many profiles on a thread of its own, so that the page shows how far it is and can stop it.

No streamlit in here.
"""

from __future__ import annotations

import threading
from datetime import datetime
from typing import Final

from planner.export_pages import TOGETHER, lines_of
from planner.show.text.as_csv import Line, table
from planner.store import PROFILE, Store
from planner.units.quantity import System

AT_ONCE: Final = 400  # profiles; their table takes about a second, and needs no thread


class TableExport:
    """A table of all profiles under way; what a stop leaves done is kept, and it can go on from there."""

    def __init__(self, store: Store, system: System) -> None:
        """Begin it."""
        self.system, self.begun = system, datetime.now().astimezone()
        self._store, self._entries = store, store.entries(PROFILE)
        self._lines: list[Line] = []
        self._stopped = threading.Event()
        self._failed: Exception | None = None
        self.go_on()

    @property
    def ready(self) -> int:
        """How many profiles are in it."""
        return len(self._lines)

    @property
    def of(self) -> int:
        """How many profiles there were when it began."""
        return len(self._entries)

    @property
    def share(self) -> float:
        """How much of it is ready, 0 to 1."""
        return self.ready / self.of if self.of else 1.0

    @property
    def under_way(self) -> bool:
        """Whether its thread is at work."""
        return self._thread.is_alive()

    def go_on(self) -> None:
        """Begin, or go on after a stop."""
        self._stopped.clear()
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """Let no more profiles be worked out than those it is at."""
        self._stopped.set()

    def wait(self) -> None:
        """Wait for the end, or for a stop."""
        self._thread.join()

    def data(self) -> bytes:
        """Return the table of what is ready; raises what it failed of."""
        if self._failed is not None:
            raise self._failed
        return table(self._lines, self.system)

    def _run(self) -> None:
        """Work out some profiles at a time; the thread's work."""
        try:
            while self.ready < self.of and not self._stopped.is_set():
                self._lines += lines_of(self._store, self._entries[self.ready : self.ready + TOGETHER])
        except Exception as exc:  # noqa: BLE001  # it is raised again where the table is asked for
            self._failed = exc
