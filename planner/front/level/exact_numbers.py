"""What is worked out before it is rounded to the gauge, for who wants to look at it."""

from __future__ import annotations

from planner.front.level.answer import Shown
from planner.front.session import state
from planner.front.widgets import fields
from planner.front.widgets.table import draw_table
from planner.show.text.report import exact_rows

HEADS = ("", "To set", "Exact", "Height", "Exact height")
WHY = (
    "No gauge shows the exact pressures: they are rounded to its steps, and all else on this page is of the "
    "rounded ones. A corner's height is wheel centre to arch lip."
)


def draw_exact_numbers(shown: Shown) -> None:
    """Draw pressures and heights of the corners, and the coupling's height, as set and exact."""
    draw_table(HEADS, exact_rows(shown.setup, shown.answer, state.system()))
    fields.soft(WHY)
