"""Work on a thread of its own, so that the page shows how far it is and can stop it.

No streamlit in here.
"""

from __future__ import annotations

import threading
from abc import ABC, abstractmethod


class Background(ABC):
    """Work that counts what is ready of all there is, and ends early where it is asked to."""

    ready: int
    of: int

    def __init__(self) -> None:
        """Begin it."""
        self._stopped = threading.Event()
        self._failed: Exception | None = None
        self.go_on()

    @abstractmethod
    def work(self) -> None:
        """Do it, looking at `stopped` now and then; what is raised is raised again by `refuse_failed`."""

    @property
    def share(self) -> float:
        """How much of it is ready, 0 to 1."""
        return self.ready / self.of if self.of else 0.0

    @property
    def under_way(self) -> bool:
        """Whether its thread is at work."""
        return self._thread.is_alive()

    @property
    def stopped(self) -> bool:
        """Whether it was asked to stop."""
        return self._stopped.is_set()

    def go_on(self) -> None:
        """Begin, or go on after a stop."""
        self._stopped.clear()
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """Let nothing more be done than what it is at."""
        self._stopped.set()

    def wait(self) -> None:
        """Wait for the end, or for a stop."""
        self._thread.join()

    def refuse_failed(self) -> None:
        """Raise what it failed of, if it did."""
        if self._failed is not None:
            raise self._failed

    def _run(self) -> None:
        try:
            self.work()
        except Exception as exc:  # noqa: BLE001  # it is raised again where the page asks for the end
            self._failed = exc
