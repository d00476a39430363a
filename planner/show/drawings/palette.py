"""The two papers drawings are made on, their inks and hatches.

Every meaning that has a colour here also has a word, a shape or a hatch where it is used.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:  # the server takes its colours from here before it listens, and is not to wait for numpy
    from planner.plans.answer import Severity

TEXT_CONTRAST: Final = 4.5  # least ratio for text: WCAG 2.2, success criterion 1.4.3
LINE_CONTRAST: Final = 3.0  # least ratio for lines that matter: WCAG 2.2, success criterion 1.4.11
MARKS: Final[dict[Severity, str]] = {"stop": "■", "caution": "▲", "note": "○"}
WORDS: Final[dict[Severity, str]] = {"stop": "Stop", "caution": "Caution", "note": "Note"}


@dataclass(frozen=True)
class Ink:
    """One paper and what is drawn on it, as #rrggbb.

    Attributes
    ----------
    paper, ink : ground, and objects and numbers
    soft : dimensions, notes, units
    ground : hatching that carries no meaning of its own
    air, air_wash : bags, air lines, the level line; and the wash inside them
    ochre, ochre_wash : cargo and cautions
    brick, brick_wash : what says stop
    wash : empty part of a bar
    """

    paper: str
    ink: str
    soft: str
    ground: str
    air: str
    air_wash: str
    ochre: str
    ochre_wash: str
    brick: str
    brick_wash: str
    wash: str

    def of(self, severity: Severity) -> str:
        """Return the colour of a severity: brick, ochre or soft ink."""
        return {"stop": self.brick, "caution": self.ochre, "note": self.soft}[severity]


LIGHT: Final = Ink(
    paper="#fbfaf6",
    ink="#1f2933",
    soft="#596673",
    ground="#c9c3b4",
    air="#1b5e8c",
    air_wash="#d7e6f1",
    ochre="#855800",
    ochre_wash="#f4e7c8",
    brick="#a5311f",
    brick_wash="#f6dcd5",
    wash="#edeae0",
)
DARK: Final = Ink(
    paper="#222d39",
    ink="#eef0ec",
    soft="#adb8c2",
    ground="#4b5a69",
    air="#86c5ef",
    air_wash="#2d4d67",
    ochre="#e5b75b",
    ochre_wash="#4a412c",
    brick="#ff9f8c",
    brick_wash="#573a3a",
    wash="#2d3a48",
)


def ink_for(dark: bool) -> Ink:
    """Return the paper of a theme."""
    return DARK if dark else LIGHT


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours, 1 to 21 (WCAG 2.2, definition of contrast ratio)."""
    low, high = sorted((_luminance(one), _luminance(other)))
    return (high + 0.05) / (low + 0.05)


def _luminance(colour: str) -> float:
    """Return the relative luminance of #rrggbb (WCAG 2.2, definition of relative luminance)."""
    parts = (int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5))
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
