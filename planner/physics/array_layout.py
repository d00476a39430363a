"""Many cases in one array lie side by side in memory, whatever the shape says: front left of all, front right of all, …

Shapes are those of the glossary, (..., 2) and (..., 2, 2). numpy keeps the order in memory from operand to result, so
sums over many cases then run along memory; made in the common order they take about three times as long.
"""

from __future__ import annotations

from typing import Any, TypeVar

import numpy as np
from numpy.typing import DTypeLike, NDArray

from planner.physics.validation import Array, Flags

Kind = TypeVar("Kind", bound=np.generic)

BLOCK = 8192  # cases worked on at a time: what belongs to them stays in the processor's cache
GATHERED = (
    4 * BLOCK
)  # cases of which those that take many steps are worked on together: the last few cost as many calls


def by_axle(front: Array, rear: Array) -> Array:
    """Return values of both axles as one array, shape (..., 2).

    Examples
    --------
    >>> by_axle(np.array([1.0, 2.0]), np.array([3.0, 4.0])).shape
    (2, 2)
    """
    return _side_by_side((2,), (front, rear))


def by_corner(front_left: Array, front_right: Array, rear_left: Array, rear_right: Array) -> Array:
    """Return values of the four corners as one array, shape (..., 2, 2).

    Examples
    --------
    >>> by_corner(np.array(1.0), np.array(2.0), np.array(3.0), np.array(4.0)).tolist()
    [[1.0, 2.0], [3.0, 4.0]]
    """
    return _side_by_side((2, 2), (front_left, front_right, rear_left, rear_right))


def empty_arrays(inner: tuple[int, ...], cases: int, kind: DTypeLike = float) -> NDArray[Any]:
    """Return room for a value of an inner shape a case, shape (cases, ...).

    Examples
    --------
    >>> empty_arrays((2, 2), 100).shape, empty_arrays((2, 2), 100)[:, 0, 0].flags.c_contiguous
    ((100, 2, 2), True)
    """
    return np.empty((*inner, cases), kind).transpose(len(inner), *range(len(inner)))


def in_a_row(value: Array, shape: tuple[int, ...], inner: tuple[int, ...] = ()) -> Array:
    """Return one value of an inner shape for every case of a shape, the cases in one row.

    Examples
    --------
    >>> in_a_row(np.array([1.0, 2.0]), (2, 3), (2,)).shape  # one pair for each of 2 × 3 cases
    (6, 2)
    """
    if value.shape == (*shape, *inner):
        return value.reshape(-1, *inner)
    return np.broadcast_to(value, (*shape, *inner)).reshape(-1, *inner)


def some_of(values: NDArray[Kind], cases: Flags | slice) -> NDArray[Kind]:
    """Return the values of some cases, those of many still side by side.

    Examples
    --------
    >>> some_of(np.arange(6.0).reshape(3, 2), np.array([True, False, True])).tolist()
    [[0.0, 1.0], [4.0, 5.0]]
    """
    if isinstance(cases, slice):
        return values[cases]
    inner = range(1, values.ndim)
    return np.compress(cases, values.transpose(*inner, 0), axis=-1).transpose(values.ndim - 1, *range(values.ndim - 1))


def is_whole(cases: Flags | slice, count: int) -> bool:
    """Tell whether some of so many cases are all of them.

    Examples
    --------
    >>> is_whole(np.array([True, True]), 2), is_whole(slice(0, 1), 2)
    (True, False)
    """
    return cases.indices(count) == (0, count, 1) if isinstance(cases, slice) else bool(cases.all())


def by_place(corners: Array) -> Array:
    """Return a view of corner values with front and rear, left and right first and the cases last, as in memory.

    Examples
    --------
    >>> by_place(np.zeros((100, 2, 2))).shape
    (2, 2, 100)
    """
    last = corners.ndim - 2
    return corners.transpose(last, last + 1, *range(last))


def cases_first(corners: Array) -> Array:
    """Return a view of corner values, front and rear, left and right first in memory, in their usual shape.

    Examples
    --------
    >>> cases_first(np.zeros((2, 2, 100))).shape
    (100, 2, 2)
    """
    return corners.transpose(*range(2, corners.ndim), 0, 1)


def largest_of_case(corners: Array) -> Array:
    """Return the largest of the four corners.

    Examples
    --------
    >>> largest_of_case(np.array([[[1.0, 4.0], [3.0, 2.0]]])).tolist()
    [4.0]
    """
    front, rear = (np.maximum(corners[..., k, 0], corners[..., k, 1]) for k in (0, 1))
    most: Array = np.maximum(front, rear)
    return most


def _side_by_side(inner: tuple[int, ...], parts: tuple[Array, ...]) -> Array:
    """Return parts of one shape as an array with an inner shape added last."""
    shape = np.broadcast(*parts).shape
    if not shape:
        return np.array([float(part) for part in parts]).reshape(inner)
    out = np.empty((len(parts), *shape))
    for place, part in enumerate(parts):
        out[place] = part
    axes = len(shape)
    return out.reshape(*inner, *shape).transpose(*range(len(inner), len(inner) + axes), *range(len(inner)))
