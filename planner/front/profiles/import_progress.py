"""An import of many files on a thread of its own, so that the page shows how far it is and can call it off.

No streamlit in here.
"""

from __future__ import annotations

import threading
from collections.abc import Mapping
from typing import Final

from planner.store import Store
from planner.store.transfer.import_zip import Brought, Choice, import_files
from planner.store.transfer.preview import Coming

AT_ONCE: Final = 50  # files; they take less than a second, and need no thread
CALLED_OFF: Final = "Called off: nothing was brought in."


class _CalledOffError(Exception):
    """Somebody called the import off."""


class Import:
    """An import under way: nothing of it is in the folder until all is laid ready, then all at once."""

    def __init__(self, coming: Coming, store: Store, overall: Choice, each: Mapping[str, Choice]) -> None:
        """Begin it."""
        self.ready = 0
        self.of = 0
        self._called_off = threading.Event()
        self._given = coming, store, overall, each
        self._brought: Brought | None = None
        self._failed: Exception | None = None
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    @property
    def share(self) -> float:
        """How much of it is ready, 0 to 1."""
        return self.ready / self.of if self.of else 0.0

    @property
    def finished(self) -> bool:
        """Whether it has come to its end, whatever that was."""
        return not self._thread.is_alive()

    def call_off(self) -> None:
        """Let nothing be brought in, if it is not too late."""
        self._called_off.set()

    def wait(self) -> None:
        """Wait for the end."""
        self._thread.join()

    def brought(self) -> Brought | None:
        """Return what it did once it has finished, None if it was called off; raises what it failed of."""
        if self._failed is not None:
            raise self._failed
        return self._brought

    def _run(self) -> None:
        """Bring the files in; the thread's work."""
        coming, store, overall, each = self._given
        try:
            self._brought = import_files(coming, store, overall, each, self._tell)
        except _CalledOffError:
            pass
        except Exception as exc:  # noqa: BLE001  # it is raised again where the page asks for the end
            self._failed = exc

    def _tell(self, ready: int, of: int) -> None:
        """Note how far it is; stop if it was called off."""
        self.ready, self.of = ready, of
        if self._called_off.is_set():
            raise _CalledOffError
