"""Names that people type or import, made safe to show: as typed, never as markup."""

from __future__ import annotations

import re
from collections.abc import Sequence
from html import escape

_MARKS = re.compile(r"([!#$&*+.<>@\[-`{-~]|-(?![^\W\d_])|(?<![^\W\d_])-|:(?! |$))")
_ADDRESS = re.compile(r"https?(?=:)|www(?=\.)|@", re.IGNORECASE)
_JOINER = "\u2060"  # WORD JOINER: neither seen nor a place to break a line


def plain(name: str) -> str:
    r"""Return a text that Markdown shows as it was typed: a backslash before every mark that means anything to it.

    Commas, apostrophes, a colon before a blank and a hyphen between letters mean nothing and stand bare: the name that
    a screen reader says of a text field is its label with the backslashes in it.

    Without this, ``![x](http://...)`` as a profile's name makes the browser fetch a stranger's picture. An address in
    bare words would still become a link, as GitHub Flavored Markdown has it (0.29, 6.9: autolinks), and Streamlit looks
    for them when the backslashes are gone: so a letter that nobody sees stands before what they begin with.
    """
    return _MARKS.sub(r"\\\1", _ADDRESS.sub(rf"{_JOINER}\g<0>", " ".join(name.split())))


def html(name: str) -> str:
    """Return a text that HTML shows as it was typed, on one line."""
    return escape(" ".join(name.split()), quote=True)


def shorten(text: str, most: int = 60) -> str:
    """Return a text cut where it grows too long for a sentence."""
    return text if len(text) <= most else f"{text[:most]}…"


def listed(names: Sequence[str], most: int = 4) -> str:
    """Return the first of many names, and how many more there are; a name with a comma in it is still one name."""
    more = f" and {len(names) - most} more" if len(names) > most else ""
    joint = "; " if any("," in name for name in names[:most]) else ", "
    return joint.join(names[:most]) + more
