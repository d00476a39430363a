"""A figure of ours beside a printed one: held to its tolerance, and noted for the table on the Method page."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
from numpy.testing import assert_allclose
from numpy.typing import ArrayLike

CHECK = "check"  # the name under which pytest's reports carry a comparison
MOST_FIGURES = 12  # of a number in the table, however small the tolerance


class Compare:
    """Compare figures with those of one source, and record each pair.

    Parameters
    ----------
    source : str
        Docstring of the test module: title and place in one line, then where it was read and why the tolerance.
    record : callable
        Takes the name and the value of what a test's report shall carry, as pytest's `record_property` does.
    """

    def __init__(self, source: str, record: Callable[[str, object], None]) -> None:
        title, _, note = source.strip().partition("\n")
        self.source, self.note, self.record = title.strip(), " ".join(note.split()), record

    def __call__(self, what: str, theirs: float, ours: ArrayLike, unit: str, tolerance: float) -> None:
        """Record the pair, and fail where ours [unit] is further from theirs [unit] than the tolerance [unit]."""
        number = float(np.asarray(ours))
        row = {
            "what": what,
            "theirs": theirs,
            "ours": shorten(number, tolerance),
            "unit": unit,
            "tolerance": float(f"{tolerance:.2g}"),
        }
        self.record(CHECK, {"source": self.source, "note": self.note, **row})
        assert_allclose(number, theirs, rtol=0, atol=tolerance, err_msg=what)

    def all(self, what: Sequence[str], theirs: Sequence[float], ours: ArrayLike, unit: str, tolerance: float) -> None:
        """Compare several figures of one unit and one tolerance."""
        for one, printed, found in zip(what, theirs, np.asarray(ours, float), strict=True):
            self(one, printed, found, unit, tolerance)


def shorten(number: float, tolerance: float) -> float:
    """Return a number with one digit below its tolerance, and no more than a table can hold."""
    if number == 0.0 or not math.isfinite(number):
        return number
    most = MOST_FIGURES - 1 - math.floor(math.log10(abs(number)))
    return round(number, min(1 - math.ceil(math.log10(tolerance)), most)) + 0.0


def half_a_digit(printed: float, figures: int) -> float:
    """Return half of the last digit of a number that is printed to so many figures."""
    return 0.5 * 10.0 ** (int(f"{printed:e}".split("e")[1]) + 1 - figures)
