"""Areas of one code in a grid of points, as closed outlines that fit each other without a gap.

An outline runs along the sides of the cells about its points; a stair of it, however flat, becomes a straight line
through the middles of its steps. Each step is judged by itself, so both areas beside it make the same line of it.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

MOST_SPOTS: Final = 200
Vertex = tuple[int, int]  # place in the net of cell corners: across, up
Place = tuple[float, float]


def outlines(codes: NDArray[Any]) -> dict[int, list[list[Place]]]:
    """Return the outlines of every area of a grid, by code.

    Parameters
    ----------
    codes : array of int >= 0, shape (up, across)

    Returns
    -------
    dict of int to a list of closed lines
        Places are in cells: the corner of the first cell is at (0, 0), the far corner of the last at (across, up).
        Filled by the even-odd rule, as an area may have holes.
    """
    framed = np.full((codes.shape[0] + 2, codes.shape[1] + 2), -1, dtype=np.int64)
    framed[1:-1, 1:-1] = codes
    fixed = _fixed(framed)
    return {int(code): [_smoothed(loop, fixed) for loop in _loops(_sides(framed == code))] for code in np.unique(codes)}


def spots(codes: NDArray[Any], margin: int) -> dict[int, list[Place]]:
    """Return places for a label inside each area, by code, those nearest its middle first; at most MOST_SPOTS.

    Each is ``margin`` cells from any other area and from the frame; an area that is nowhere that wide has none. Places
    are those of `outlines`.
    """
    found: dict[int, list[Place]] = {}
    for code in np.unique(codes):
        inside = codes == code
        for _ in range(margin):
            framed = np.pad(inside, 1)
            inside = inside & framed[:-2, 1:-1] & framed[2:, 1:-1] & framed[1:-1, :-2] & framed[1:-1, 2:]
        cells = np.argwhere(inside)
        if len(cells):
            near = cells[np.argsort(np.sum((cells - cells.mean(axis=0)) ** 2, axis=-1), kind="stable")]
            some = near[:: max(1, len(near) // MOST_SPOTS)]
            found[int(code)] = [(float(across) + 0.5, float(up) + 0.5) for up, across in some]
    return found


def _fixed(framed: NDArray[np.int64]) -> set[Vertex]:
    """Return the corners that stay where they are: where three areas meet, and the four of the frame."""
    across = framed[:, 1:] != framed[:, :-1]  # an upright side between neighbours in a row
    up = framed[1:, :] != framed[:-1, :]
    sides = across[1:].astype(int) + across[:-1] + up[:, 1:] + up[:, :-1]
    height, width = framed.shape[0] - 2, framed.shape[1] - 2
    return {(int(x), int(y)) for y, x in np.argwhere(sides >= 3)} | {(0, 0), (width, 0), (0, height), (width, height)}


def _sides(inside: NDArray[np.bool_]) -> dict[Vertex, list[Vertex]]:
    """Return the sides between inside and outside as steps from corner to corner, the inside always on the left."""
    core = inside[1:-1, 1:-1]
    steps: dict[Vertex, list[Vertex]] = {}
    for neighbour, (start, end) in (
        (inside[:-2, 1:-1], ((0, 0), (1, 0))),  # below
        (inside[1:-1, 2:], ((1, 0), (1, 1))),  # to the right
        (inside[2:, 1:-1], ((1, 1), (0, 1))),  # above
        (inside[1:-1, :-2], ((0, 1), (0, 0))),  # to the left
    ):
        for y, x in np.argwhere(core & ~neighbour).tolist():
            steps.setdefault((x + start[0], y + start[1]), []).append((x + end[0], y + end[1]))
    return steps


def _loops(steps: dict[Vertex, list[Vertex]]) -> Iterable[list[Vertex]]:
    """Yield closed lines of all steps; where two lines touch in a corner each turns back to its own cell."""
    while steps:
        start = next(iter(steps))
        line, at = [start], steps[start].pop()
        if not steps[start]:
            del steps[start]
        while at != start:
            before, ways = line[-1], steps[at]
            line.append(at)
            left = (at[0] - (at[1] - before[1]), at[1] + (at[0] - before[0]))
            onward = left if left in ways else ways[-1]
            ways.remove(onward)
            if not ways:
                del steps[at]
            at = onward
        yield line


def _smoothed(loop: list[Vertex], fixed: set[Vertex]) -> list[Place]:
    """Return a closed line without its stairs: a corner next to a side of one cell gives way to the middles.

    Of a flat or steep stair the middles of the long sides make the line; its short ones lie on it within half a cell.
    """
    nodes = [
        at
        for before, at, after in zip([loop[-1], *loop], loop, [*loop[1:], loop[0]], strict=False)
        if at in fixed or (after[0] - at[0], after[1] - at[1]) != (at[0] - before[0], at[1] - before[1])
    ]
    ends = [*nodes[1:], nodes[0]]
    lengths = [abs(b[0] - a[0]) + abs(b[1] - a[1]) for a, b in zip(nodes, ends, strict=True)]
    kept = [at in fixed or min(lengths[n - 1], lengths[n]) > 1 for n, at in enumerate(nodes)]
    line: list[Place] = []
    for n, (at, end) in enumerate(zip(nodes, ends, strict=True)):
        if kept[n]:
            line.append(at)
        riser = lengths[n] == 1 < min(lengths[n - 1], lengths[(n + 1) % len(nodes)])
        ends_kept = kept[n] + kept[(n + 1) % len(nodes)]
        if ends_kept == 1 or (ends_kept == 0 and not riser):
            line.append(((at[0] + end[0]) / 2, (at[1] + end[1]) / 2))
    return line
