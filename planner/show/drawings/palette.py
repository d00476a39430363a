"""The two papers drawings are made on, their inks and hatches.

Every meaning that has a colour here also has a word, a shape or a hatch where it is used.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:  # the server takes its colours from here before it listens, and is not to wait for numpy
    from planner.plans.answer import Severity

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
# What each ink of the light paper is on the dark one: drawings are made with the light one's.
ON_DARK: Final = dict(zip(vars(LIGHT).values(), vars(DARK).values(), strict=True))
