"""SVG as text: a handful of elements, every name escaped, every drawing with its words for those who cannot see it.

A function that draws takes what stands there, what it was answered and `system` ("us" or "metric"), and returns a
`Drawing` 400 wide on light paper, which tells what it is on the dark one.
"""

from __future__ import annotations

import re
import unicodedata
from base64 import b64encode
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final, Literal
from xml.sax.saxutils import escape, quoteattr

from planner.show.drawings.palette import LIGHT, ON_DARK

FONT: Final = "system-ui, sans-serif"
SMALL: Final = 14.0  # the text size of every drawing: 12.25 px where a 400 wide one is shown 350 px wide
WIDTH: Final = 400.0  # of every drawing, so that text is of one size when they stand under each other
MARGIN: Final = 10.0
_ELLIPSIS: Final = "…"
_GLUE: Final = "\u00a0"  # keeps a number and its unit on one line
_BEFORE_UNIT: Final = re.compile(r"(?<=\d) (?=[a-z%°])")
_QUOTE: Final = {'"': "&quot;"}  # so that the quotation marks of a drawing are those around its attributes
_COLOUR: Final = re.compile(r'(?<==")#[0-9a-f]{6}(?=")')  # an attribute
_MOST_MARKS: Final = 3  # combining marks on one letter; living scripts need no more, and more run over the next line
# Advance widths in em of DejaVu Sans, the widest sans-serif in common use; what fits in it fits in the others.
_ADVANCES: Final = {
    0.28: "'ijl",
    0.32: "IJ ,.·\u00a0",
    0.35: "/:;\\|f",
    0.41: "-()[]t!r",
    0.50: '"*_`°',
    0.55: "sz?c",
    0.60: "LFkvxy",
    0.62: "PTYaeo",
    0.64: "$0123456789ESbdghnpqu{}",
    0.70: "KABVXZCR",
    0.79: "UNHD▲&GOQ",
    0.88: "w#+<=>^~−M○",
    1.00: "■%mW@…",
}
_BOLD: Final = 1.13  # how much wider the bold of it is, at most on average
_OTHER_LETTER, _WIDE, _PICTURE = 0.95, 1.1, 1.4  # em: other scripts, East Asian, emoji

Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True)
class Drawing:
    """A picture as SVG text on light paper, the same in words for those who cannot see it, and how high it is."""

    svg: str
    alt: str
    height: float

    def on_dark(self) -> str:
        """Return the picture on dark paper: another colour for each, all else the same."""
        return _COLOUR.sub(lambda found: ON_DARK[found[0]], self.svg)


def data_uri(svg: str) -> str:
    """Return SVG text as an address that an image can have."""
    return f"data:image/svg+xml;base64,{b64encode(svg.encode()).decode()}"


def number(value: float) -> str:
    """Return a coordinate with two decimals, no trailing noughts and no minus before nought."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def clean(text: str) -> str:
    """Return a name on one line with only what XML can hold and an eye can see.

    Control characters, direction marks, lone surrogates and unassigned code points go; joiners stay, as scripts and
    emoji need them.
    """
    if text.isascii() and text.isprintable():  # most are, and a table has thousands
        return " ".join(text.split()) or "unnamed"
    kept: list[str] = []
    marks = 0
    for c in unicodedata.normalize("NFC", text):
        category = unicodedata.category(c)
        marks = marks + 1 if category in ("Mn", "Me") else 0
        if category in ("Cc", "Zl", "Zp", "Zs"):
            kept.append(" ")
        elif (category not in ("Cf", "Cs", "Co", "Cn") or c in "\u200c\u200d") and marks <= _MOST_MARKS:
            kept.append(c)
    return " ".join("".join(kept).split()) or "unnamed"


@cache
def _advance(c: str) -> float:
    """Return the width of a character at most. [em]"""
    for width, characters in _ADVANCES.items():
        if c in characters:
            return width
    if unicodedata.category(c) in ("Mn", "Me", "Cf"):
        return 0.0
    if unicodedata.category(c) in ("So", "Sk"):
        return _PICTURE
    return _WIDE if unicodedata.east_asian_width(c) in ("W", "F") else _OTHER_LETTER


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Return how wide a text is at most, in the units of its size."""
    return size * sum(map(_advance, text)) * (_BOLD if bold else 1.0)


def shorten(text: str, size: float, width: float, *, bold: bool = False) -> str:
    """Return a text as it is if it fits a width, else as much of it as fits before an ellipsis."""
    if text_width(text, size, bold=bold) <= width:
        return text
    kept = text
    while kept and text_width(kept + _ELLIPSIS, size, bold=bold) > width:
        kept = kept[:-1]
    while kept and (kept[-1].isspace() or kept[-1] == "\u200d"):
        kept = kept[:-1]
    return kept + _ELLIPSIS


def first_fitting(texts: Sequence[str], size: float, width: float, *, bold: bool = False) -> str:
    """Return the first of some wordings, longest first, that fits a width; the last one shortened if none does."""
    fitting = (text for text in texts if text_width(text, size, bold=bold) <= width)
    return next(fitting, shorten(texts[-1], size, width, bold=bold))


def wrapped(text: str, size: float, width: float, most: int) -> list[str]:
    """Return a sentence broken into lines of a width; past the greatest number of lines it ends in an ellipsis."""
    lines: list[str] = []
    words = _BEFORE_UNIT.sub(_GLUE, " ".join(text.split())).split(" ") if text.strip() else []
    while words:
        count = 1
        while count < len(words) and text_width(" ".join(words[: count + 1]), size) <= width:
            count += 1
        if len(lines) == most - 1:
            count = len(words)
        lines.append(shorten(" ".join(words[:count]), size, width).replace(_GLUE, " "))
        words = words[count:]
    return lines


def escaped(words: str) -> str:
    """Return words as the text of an element."""
    return escape(words, _QUOTE)


def _quoted(value: float) -> str:
    """Return a number as an attribute: it has nothing to escape."""
    return f'"{number(value)}"'


def tag(name: str, *children: str, **attributes: str | float | None) -> str:
    """Return an element; ``stroke_width=2`` becomes stroke-width="2", ``cls`` becomes class, None is left out.

    Attributes are escaped here; children are SVG already, so a text goes through `text` or `escaped` first.
    """
    written = "".join(
        f" {'class' if key == 'cls' else key.rstrip('_').replace('_', '-')}="
        f"{quoteattr(value, _QUOTE) if isinstance(value, str) else _quoted(value)}"
        for key, value in attributes.items()
        if value is not None
    )
    return f"<{name}{written}>{''.join(children)}</{name}>" if children else f"<{name}{written}/>"


def text(
    words: str,
    x: float,
    y: float,
    fill: str,
    *,
    size: float = SMALL,
    anchor: Anchor = "start",
    bold: bool = False,
    halo: str | None = None,
    cls: str | None = None,
) -> str:
    """Return a text at its baseline; a halo in the colour of the paper keeps it readable over lines."""
    return tag(
        "text",
        escaped(words),
        x=x,
        y=y,
        font_size=size,
        fill=fill,
        text_anchor=None if anchor == "start" else anchor,
        font_weight=650.0 if bold else None,
        stroke=halo,
        stroke_width=None if halo is None else 4.0,
        stroke_linejoin=None if halo is None else "round",
        paint_order=None if halo is None else "stroke",
        cls=cls,
    )


def line(
    x1: float, y1: float, x2: float, y2: float, stroke: str, width: float = 1.0, *, dash: str | None = None
) -> str:
    """Return a straight line."""
    d = f"M{number(x1)} {number(y1)}L{number(x2)} {number(y2)}"
    return tag("path", d=d, fill="none", stroke=stroke, stroke_width=width, stroke_dasharray=dash)


def shape(
    points: Iterable[tuple[float, float]],
    stroke: str,
    *,
    fill: str = "none",
    width: float = 2.0,
    closed: bool = True,
    dash: str | None = None,
    cls: str | None = None,
) -> str:
    """Return straight lines through points."""
    d = "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points) + ("Z" if closed else "")
    return tag(
        "path",
        d=d,
        fill=fill,
        stroke=stroke,
        stroke_width=width,
        stroke_linejoin="round",
        stroke_dasharray=dash,
        cls=cls,
    )


def hatch(name: str, stroke: str, ground: str = "none", *, gap: float = 6.0, width: float = 1.6) -> str:
    """Return a pattern of slanting lines, to be filled with ``url(#name)``."""
    lines = tag("path", d=f"M{number(gap / 2)} 0V{number(gap)}", stroke=stroke, stroke_width=width)
    back = tag("rect", width=gap, height=gap, fill=ground)
    return tag(
        "pattern",
        back,
        lines,
        id=name,
        width=gap,
        height=gap,
        patternUnits="userSpaceOnUse",
        patternTransform="rotate(45)",
    )


def document(name: str, height: float, title: str, alt: str, body: Iterable[str], defs: Iterable[str] = ()) -> Drawing:
    """Return a whole drawing on its paper; ``name`` keeps the ids of two drawings on one page apart."""
    start = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {number(WIDTH)} {number(height)}" role="img" '
        f'aria-labelledby="{name}-title {name}-desc" font-family={quoteattr(FONT)} '
        'style="font-variant-numeric:tabular-nums">'
    )
    parts = (
        start,
        tag("title", escaped(title), id=f"{name}-title"),
        tag("desc", escaped(alt), id=f"{name}-desc"),
        tag("defs", *defs),
        tag("rect", width=WIDTH, height=height, fill=LIGHT.paper),
        *body,
        "</svg>",
    )
    return Drawing("\n".join(part for part in parts if part != "<defs/>"), alt, height)
