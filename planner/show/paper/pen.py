"""A pen for a PDF: text that fits, in letters the font has, and the few lines a drawing needs."""

from __future__ import annotations

import unicodedata
from bisect import bisect_right
from collections.abc import Sequence
from typing import Final, Literal

from fpdf import FPDF
from fpdf.fonts import TTFFont

FAMILY: Final = "DejaVu"
MISSING: Final = "□"  # stands for a letter that the font lacks
ELLIPSIS: Final = "…"
MM_PER_POINT: Final = 25.4 / 72.0
BASELINE: Final = 0.8  # where the library puts it in a cell as high as its type: 0.5 + 0.3
BLACK: Final = "#000000"


class Pen:
    """Writes and draws on the page a document is at; places in mm from its top left corner."""

    def __init__(self, pdf: FPDF) -> None:
        """Write on a document that has the family in regular and bold."""
        self._pdf = pdf

    def width(self, words: str, size: float, *, bold: bool = False) -> float:
        """Return how wide a text is. [mm]"""
        self._font(size, bold)
        return float(self._pdf.get_string_width(words))

    def text(
        self,
        words: str,
        x: float,
        y: float,
        size: float,
        ink: str,
        *,
        bold: bool = False,
        right: bool = False,
        room: float | None = None,
    ) -> None:
        """Write a text at its baseline, to the right of a place or, if ``right``, up to it; cut where room ends."""
        safe = self.safe(words, bold=bold)
        if room is not None:
            safe = self._shortened(safe, size, room, bold)
        self._font(size, bold)
        self._pdf.set_text_color(*_rgb(ink))
        wide, tall = self.width(safe, size, bold=bold), size * MM_PER_POINT
        self._pdf.set_xy(x - wide if right else x, y - BASELINE * tall)
        self._pdf.cell(wide, tall, safe)  # and not its text(), which leaves right-to-left words the wrong way round

    def safe(self, words: str, *, bold: bool = False) -> str:
        """Return a text with a square in the place of every letter the font lacks; marks it lacks go."""
        font = self._pdf.fonts[FAMILY.lower() + ("B" if bold else "")]
        assert isinstance(font, TTFFont)  # both are added from files
        return "".join(c if ord(c) in font.cmap else _replaced(c) for c in words)

    def wrapped(self, words: str, size: float, room: float, most: int) -> list[str]:
        """Return a sentence in lines that fit; past the greatest number of lines it ends in an ellipsis."""
        lines: list[str] = []
        left = self.safe(words).split()
        while left:
            count = 1
            while count < len(left) and self.width(" ".join(left[: count + 1]), size) <= room:
                count += 1
            if len(lines) == most - 1:
                count = len(left)
            lines.append(self._shortened(" ".join(left[:count]), size, room, bold=False))
            left = left[count:]
        return lines

    def line(
        self, x1: float, y1: float, x2: float, y2: float, ink: str, width: float, *, dash: Sequence[float] = (0, 0)
    ) -> None:
        """Draw a straight line."""
        self._stroke(ink, width)
        self._pdf.set_dash_pattern(dash=dash[0], gap=dash[1])
        self._pdf.line(x1, y1, x2, y2)
        self._pdf.set_dash_pattern()

    def shape(self, points: Sequence[tuple[float, float]], ink: str, width: float) -> None:
        """Draw straight lines through points, closed."""
        self._stroke(ink, width)
        self._pdf.polygon(points, style="D")

    def box(self, x: float, y: float, wide: float, tall: float, ink: str, width: float) -> None:
        """Draw a box on white."""
        self._stroke(ink, width)
        self._pdf.set_fill_color(255, 255, 255)
        self._pdf.rect(x, y, wide, tall, style="DF", round_corners=True, corner_radius=min(wide, tall) / 3)

    def dot(self, x: float, y: float, radius: float, ink: str) -> None:
        """Draw a filled circle about a centre."""
        self._pdf.set_fill_color(*_rgb(ink))
        self._pdf.circle(x, y, radius, style="F")

    def fill(self, x: float, y: float, wide: float, tall: float) -> None:
        """Fill a box with black."""
        self._pdf.set_fill_color(*_rgb(BLACK))
        self._pdf.rect(x, y, wide, tall, style="F")

    def arrow_up(self, x: float, y: float, length: float, ink: str) -> None:
        """Draw an open arrow that points up, its tip at a place."""
        self.line(x, y + length, x, y, ink, 0.3)
        self.line(x - 0.9, y + 1.4, x, y, ink, 0.3)
        self.line(x + 0.9, y + 1.4, x, y, ink, 0.3)

    def _shortened(self, words: str, size: float, room: float, bold: bool) -> str:
        """Return a text as it is if it fits, else as much of it as fits before an ellipsis."""
        if self.width(words, size, bold=bold) <= room:
            return words
        fits = bisect_right(range(len(words)), room, key=lambda n: self.width(words[:n] + ELLIPSIS, size, bold=bold))
        return words[: max(fits - 1, 0)].rstrip() + ELLIPSIS

    def _font(self, size: float, bold: bool) -> None:
        """Take the font of a text."""
        style: Literal["B", ""] = "B" if bold else ""
        self._pdf.set_font(FAMILY, style, size)

    def _stroke(self, ink: str, width: float) -> None:
        """Take the ink and the width of a line."""
        self._pdf.set_draw_color(*_rgb(ink))
        self._pdf.set_line_width(width)


def _replaced(c: str) -> str:
    """Return what stands for a letter that the font lacks: nothing for a mark or a joiner, which show nothing alone."""
    return "" if unicodedata.category(c) in ("Mn", "Me", "Cf") else MISSING


def _rgb(ink: str) -> tuple[int, int, int]:
    """Return #rrggbb as three numbers."""
    return int(ink[1:3], 16), int(ink[3:5], 16), int(ink[5:7], 16)
