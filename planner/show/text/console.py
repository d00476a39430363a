"""Text for a console: words for signs that it does not know, and no letter that it would take for a command (ECMA-48).

In place of letters that its encoding lacks it gets words for signs and plain letters for accents.
"""

from __future__ import annotations

import codecs
import json
import sys
import unicodedata
from typing import Final

PLAIN: Final = "planner-plain"  # the name by which Python finds it
WORDS: Final = {
    "■": "[stop]",
    "▲": "[caution]",
    "○": "[note]",
    "≥": ">=",
    "≤": "<=",
    "≠": "not",
    "→": "->",
    "←": "<-",
    "±": "+/-",
    "×": "x",
    "·": "*",
    "−": "-",
    "–": "-",
    "—": "-",
    "…": "...",
    "°": " deg",
    "²": "2",
    "³": "3",
    "“": '"',
    "”": '"',
    "‘": "'",
    "’": "'",
    "\u00a0": " ",
    "\u2009": " ",
    "\u202f": " ",
}

# Control letters; marks that turn the direction of what follows; halves of letters, as which Python has the bytes of a
# file's name that are no UTF-8; separators of lines.
_COMMANDS: Final = {"Cc", "Cf", "Cs", "Zl", "Zp"}


def plain(text: str) -> str:
    """Return a text in ASCII: signs as words, letters without their marks, a question mark for the rest."""
    apart = "".join(WORDS.get(sign, sign) for sign in text)
    apart = "".join(one for one in unicodedata.normalize("NFKD", apart) if not unicodedata.combining(one))
    return "".join(WORDS.get(sign, sign) if sign in WORDS or sign.isascii() else "?" for sign in apart)


def printable(text: str) -> str:
    """Return a text, of as many lines as it has, with what a terminal would obey written out as JSON writes it."""
    if all(line.isprintable() for line in text.split("\n")):
        return text
    return "".join(json.dumps(c)[1:-1] if c != "\n" and unicodedata.category(c) in _COMMANDS else c for c in text)


def print_what_it_can() -> None:
    """Let standard output and error replace what their encoding does not have, so that no line is lost."""
    codecs.register_error(PLAIN, _replaced)
    for stream in (sys.stdout, sys.stderr):
        if (change := getattr(stream, "reconfigure", None)) is not None:
            change(errors=PLAIN)


def is_unicode() -> bool:
    """Tell whether standard output takes any letter."""
    return (getattr(sys.stdout, "encoding", None) or "").lower().startswith("utf")


def _replaced(error: UnicodeError) -> tuple[str, int]:
    """Return what stands for letters that could not be encoded, and where to go on."""
    assert isinstance(error, UnicodeEncodeError)  # it is registered for streams that are written to
    return plain(error.object[error.start : error.end]), error.end
