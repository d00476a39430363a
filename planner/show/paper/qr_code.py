"""A code that a phone's camera reads: the numbers themselves as text, no address, so that it works with no network."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import segno

QUIET: Final = 4  # light modules around the code: ISO/IEC 18004, quiet zone
CORRECTION: Final = "m"  # about 15 % of the code may be smudged


def modules(text: str) -> list[list[bool]]:
    """Return the code of a text as rows of dark and light modules, without its quiet zone.

    Raises
    ------
    segno.DataOverflowError
        (a ValueError) if the text is longer than any code holds.
    """
    code = segno.make_qr(text, error=CORRECTION, encoding="utf-8", boost_error=False)
    return [[bool(module) for module in row] for row in code.matrix]


def runs(rows: list[list[bool]]) -> Iterator[tuple[int, int, int]]:
    """Yield the dark runs of a code: row, first column, length. One stroke each leaves no hairline between modules."""
    for y, row in enumerate(rows):
        start = None
        for x, dark in enumerate((*row, False)):
            if dark and start is None:
                start = x
            elif not dark and start is not None:
                yield y, start, x - start
                start = None
