"""Text for the terminal, which takes some letters for commands (ECMA-48)."""

from __future__ import annotations

import json
import unicodedata
from typing import Final

# Control letters; marks that turn the direction of what follows; halves of letters, as which Python has the bytes of a
# file's name that are no UTF-8; separators of lines.
_COMMANDS: Final = {"Cc", "Cf", "Cs", "Zl", "Zp"}


def printable(text: str) -> str:
    """Return a text, of as many lines as it has, with what a terminal would obey written out as JSON writes it."""
    if all(line.isprintable() for line in text.split("\n")):
        return text
    return "".join(json.dumps(c)[1:-1] if c != "\n" and unicodedata.category(c) in _COMMANDS else c for c in text)
