"""A code that a phone's camera reads: on a card the numbers themselves as text, so that it works with no network.

On the screen and in the terminal it is the address of a planner that is shared with phones.
"""

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


def code_svg(text: str) -> str:
    """Return the code of a text as SVG, dark on light on any paper; whoever shows it says beside it what it is."""
    rows = modules(text)
    side = len(rows) + 2 * QUIET
    dark = "".join(f"M{x + QUIET} {y + QUIET}h{length}v1h-{length}z" for y, x, length in runs(rows))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {side} {side}" shape-rendering="crispEdges">'
        f'<path d="M0 0h{side}v{side}h-{side}z" fill="#fff"/><path d="{dark}" fill="#000"/></svg>'
    )


def terminal_lines(text: str) -> list[str]:
    """Return the code of a text as lines for a terminal, to be written black on white; a letter is two modules high."""
    rows = modules(text)
    side = len(rows) + 2 * QUIET
    white = [False] * side
    margin = [False] * QUIET
    whole = [*[white] * QUIET, *([*margin, *row, *margin] for row in rows), *[white] * (QUIET + side % 2)]
    halves = zip(whole[::2], whole[1::2], strict=True)
    return ["".join(" ▀▄█"[upper + 2 * lower] for upper, lower in zip(*pair, strict=True)) for pair in halves]
