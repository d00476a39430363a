"""A table of many profiles in the background."""

from __future__ import annotations

from datetime import datetime
from typing import Final

from planner.export import TOGETHER, lines_of
from planner.front.profiles.background import Background
from planner.show.text.as_csv import Line, table
from planner.store import PROFILE, Store
from planner.units.quantity import System

AT_ONCE: Final = 400  # profiles; their table takes about a second, and needs no thread


class TableExport(Background):
    """A table of all profiles under way; what a stop leaves done is kept, and it can go on from there."""

    def __init__(self, store: Store, system: System) -> None:
        """Begin it."""
        self.system, self.begun = system, datetime.now().astimezone()
        self._store, self._entries = store, store.entries(PROFILE)
        self._lines: list[Line] = []
        self.ready, self.of = 0, len(self._entries)
        super().__init__()

    def data(self) -> bytes:
        """Return the table of what is ready; raises what it failed of."""
        self.refuse_failed()
        return table(self._lines, self.system)

    def work(self) -> None:
        """Work out some profiles at a time."""
        while self.ready < self.of and not self.stopped:
            self._lines += lines_of(self._store, self._entries[self.ready : self.ready + TOGETHER])
            self.ready = len(self._lines)
