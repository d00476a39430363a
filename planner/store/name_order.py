"""The order in which names are listed, wherever they are: as people sort them, 1, 2, 10."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache


@lru_cache(maxsize=20_000)  # a folder is listed many times a page
def natural(name: str) -> tuple[tuple[bool, int, str], ...]:
    """Return what sorts names as people do: without case and accents, numbers by their size.

    Examples
    --------
    >>> sorted(["Load 10", "load 2", "Load 1"], key=natural)
    ['Load 1', 'load 2', 'Load 10']
    """
    parts = re.split(r"([0-9]{1,18})", fold_case(name))  # what is longer is no count of anything
    return tuple(
        (not digits, int(part) if digits else 0, part) for n, part in enumerate(parts) if (digits := n % 2) or part
    )


@lru_cache(maxsize=20_000)  # names of profiles, trucks, trailers and cargo, asked for at each key pressed
def fold_case(text: str) -> str:
    """Return a text without case and accents, as one who types in a hurry has it."""
    parts = unicodedata.normalize("NFKD", text.casefold())
    return "".join(letter for letter in parts if not unicodedata.combining(letter))
