"""What a console that knows few letters prints in place of the others: words for signs, plain letters for accents."""

from __future__ import annotations

import codecs
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


def plain(text: str) -> str:
    """Return a text in ASCII: signs as words, letters without their marks, a question mark for the rest."""
    apart = "".join(WORDS.get(sign, sign) for sign in text)
    apart = "".join(one for one in unicodedata.normalize("NFKD", apart) if not unicodedata.combining(one))
    return "".join(WORDS.get(sign, sign) if sign in WORDS or sign.isascii() else "?" for sign in apart)


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
