"""What a program gives as a number: plain in SI, a text with its unit, a `Quantity` or one of pint's."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.errors import BadInput, Problem, Refusal
from planner.units.dimensions import KINDS, Dimension
from planner.units.quantity import Reads, is_of_pint, pint_magnitude, shown

if TYPE_CHECKING:
    import pint

    PintQuantity: TypeAlias = pint.Quantity[Any]
    Amount: TypeAlias = float | str | pint.Quantity[Any]  # a `Quantity` of a record is a float
    Amounts: TypeAlias = ArrayLike | Sequence[str] | pint.Quantity[Any]
else:
    PintQuantity = Amount = Amounts = Any  # pint is not loaded for a name


def in_si(name: str, value: Amount, dimension: Dimension) -> float:
    """Return an argument in SI units.

    Parameters
    ----------
    name : str
        Of the argument, for the error.
    value : float, str, Quantity or pint.Quantity
        A bare number is in SI units.
    dimension : Dimension

    Raises
    ------
    BadInput
        If it is no number, is infinite, or of another dimension.

    Examples
    --------
    >>> round(in_si("rear_left", "40 psi", "pressure"), 1), in_si("rear_left", 275790.3, "pressure")
    (275790.3, 275790.3)
    """
    found = arrays_in_si(name, value, dimension)
    if found.ndim:
        raise _bad(name, shown(list(found)), "must be one number", "give them one at a time")
    return float(found)


def arrays_in_si(name: str, value: Amounts, dimension: Dimension) -> NDArray[np.float64]:
    """Return an argument, or an array or a list of them, in SI units, in the shape in which it was given.

    Takes and raises what `in_si` does.

    Examples
    --------
    >>> arrays_in_si("hitch_load", ["100 lb", "4.5 kN"], "load").round(1)
    array([ 444.8, 4500. ])
    """
    try:
        return _read(value, dimension)
    except Refusal as refusal:
        raise _bad(name, refusal.got, refusal.rule, refusal.remedy) from refusal


def _read(value: Any, dimension: Dimension) -> NDArray[np.float64]:
    if isinstance(value, str) or (isinstance(value, float) and hasattr(value, "dimension")):
        return np.asarray(float(Reads(dimension).read(value)))
    if is_of_pint(value):
        return np.asarray(pint_magnitude(value, dimension), float)
    if isinstance(value, list | tuple) and any(isinstance(one, str) or is_of_pint(one) for one in value):
        return np.array([float(_read(one, dimension)) for one in value])
    try:
        found = np.asarray(value)
    except ValueError:  # a list of lists of several lengths
        found = np.asarray(None)
    if found.dtype.kind not in "iuf":
        rule, remedy = (
            f"must be {KINDS[dimension].name}",
            f'write "{KINDS[dimension].example}", or a number in SI units',
        )
        raise Refusal(rule, shown(value), remedy)
    if not np.isfinite(found).all():
        raise Refusal("must be a finite number", shown(value), "find the nan or inf in it")
    return found.astype(float, copy=False)


def _bad(name: str, got: str, rule: str, remedy: str) -> BadInput:
    return BadInput([Problem("", name, got, rule, remedy)])
