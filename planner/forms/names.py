"""Names being typed: whether they can stand, said at their field before anything is saved."""

from __future__ import annotations

from contextlib import suppress
from typing import Final

from planner.records.fields import LONGEST_NAME, name_text
from planner.units.quantity import Refusal

NO_NAME: Final = Refusal("needs a name", "", "type one here")


def name_fault(text: str) -> Refusal | None:
    """Return what is wrong with a name being typed; nothing while there is none yet."""
    with suppress(Refusal):
        name_text(text or "-")
        return None
    return Refusal(f"must be 1 to {LONGEST_NAME} plain letters and marks, got {len(text):,}", "", "give a short name")
