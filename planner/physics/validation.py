"""Refuse what makes no sense, before it becomes a plausible number."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.errors import Refusal

Array = NDArray[np.float64]
Codes = NDArray[np.int8]
Flags = NDArray[np.bool_]


def require_positive(*quantities: tuple[str, ArrayLike, str]) -> None:
    """Raise Refusal for the first (name, value, unit) that is not > 0 everywhere; NaN is not.

    Examples
    --------
    >>> require_positive(("area", [0.02, 0.03], "m²"))
    >>> try:
    ...     require_positive(("area", [0.02, -0.03], "m²"))
    ... except ValueError as refusal:
    ...     print(refusal)
    area must be > 0 m², got -0.03 m²: check the number and its unit
    """
    for name, value, unit in quantities:
        if not (np.asarray(value) > 0).all():
            raise Refusal(f"{name} must be > 0 {unit}", f"{np.min(value):g} {unit}", "check the number and its unit")


def require_finite(*quantities: tuple[str, ArrayLike, str]) -> None:
    """Raise Refusal for the first (name, value, unit) that is infinite or not a number anywhere.

    Examples
    --------
    >>> require_finite(("load", 3.0, "N"))
    """
    for name, value, unit in quantities:
        if not np.isfinite(value).all():
            raise Refusal(f"{name} must be a finite number of {unit}", "a value that is not", "look for its nan or inf")
