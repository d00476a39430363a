"""File names made from what people call things: safe on Windows, macOS and Linux, and never a way out of the folder.

A slug holds lower-case ASCII letters, digits and single hyphens between them. Nothing else is ever joined to a path,
so a name that holds a slash, a dot, a control or a right-to-left mark cannot reach the disk as one.
"""

import re
import unicodedata
from hashlib import sha256
from typing import Final

LONGEST: Final = 60  # characters; with ".toml", a date and a folder it stays far below any system's limit

_RESERVED: Final = frozenset(
    {"con", "prn", "aux", "nul", *(f"{port}{number}" for port in ("com", "lpt") for number in range(1, 10))}
)
_SHAPE: Final = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*", re.ASCII)
# Letters that NFKD leaves whole; the rest of Latin comes apart into a letter and its marks.
_WHOLE_LETTERS: Final = str.maketrans({"ø": "o", "æ": "ae", "œ": "oe", "ł": "l", "đ": "d", "ð": "d", "þ": "th"})
_HASH_LENGTH: Final = 8


def slug(name: str) -> str:
    """Return the file name, without its ending, of a thing called `name`.

    The same name gives the same slug on every machine; a slug gives itself. Two names may share a slug: whoever
    writes the file looks whether it is taken (see `numbered`).
    """
    plain = _bare_letters(name)
    text = "-".join(re.findall(r"[a-z0-9]+", plain, re.ASCII))
    if not text:
        return f"name-{_fingerprint(plain)}"
    if len(text) > LONGEST:
        text = f"{text[: LONGEST - _HASH_LENGTH - 1].rstrip('-')}-{_fingerprint(plain)}"
    return f"{text}-x" if text in _RESERVED else text


def numbered(base: str, number: int) -> str:
    """Return the slug to try when `base` is taken: "mill" and 2 give "mill-2"."""
    tail = f"-{number}"
    return base[: LONGEST - len(tail)].rstrip("-") + tail


def is_slug(text: str) -> bool:
    """Tell whether a text may be joined to a folder as a file name; asked before any disk is touched."""
    return len(text) <= LONGEST and _SHAPE.fullmatch(text) is not None and text not in _RESERVED


def _bare_letters(name: str) -> str:
    """Return a name in lower case, its letters taken apart and their marks dropped."""
    apart = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", name).casefold())
    return "".join(letter for letter in apart if not unicodedata.combining(letter)).translate(_WHOLE_LETTERS)


def _fingerprint(text: str) -> str:
    """Return a short hash of a name, the same on every machine."""
    return sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:_HASH_LENGTH]
