"""All profiles as one table for a spreadsheet: comma-separated values after RFC 4180, units in the header.

Numbers are plain, with a point and no grouping. A text that a spreadsheet would take for a formula gets an apostrophe
before it, so that opening the file runs nothing.
"""

from __future__ import annotations

import csv
import io
import math
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Final

from planner.plans.answer import Finding
from planner.plans.hitching_stages import HitchPlan, Way
from planner.plans.saved_state import Standing
from planner.show.drawings.corner_labels import NO_BAG
from planner.show.drawings.palette import WORDS
from planner.show.drawings.svg import clean
from planner.show.text.numbers import DECIMALS, sentence, write
from planner.units.quantity import System, display

MARK: Final = "\ufeff"  # some spreadsheets read UTF-8 only where it comes first
CORNER_HEADS: Final = ("Front left", "Front right", "Rear left", "Rear right")
FORMULA: Final = frozenset("=+-@")
CONTROLS: Final = frozenset("\t\r\n")


@dataclass(frozen=True, eq=False)
class Line:
    """One profile of the table; heights and pressures in SI.

    Attributes
    ----------
    profile, truck, trailer, hitch : names; empty where there is none
    pressures : front left, front right, rear left, rear right, gauge; NaN where steel carries; none if unknown [Pa]
    saved : whether they were saved, or are planned from the load
    step : of the owner's gauge [Pa]
    hitching_height, tow_height : of the coupling above ground; None with no trailer [m]
    worst : the worst finding
    on : the day the profile was saved
    wrong : why there are no numbers; empty where there are
    """

    profile: str
    truck: str = ""
    trailer: str = ""
    hitch: str = ""
    pressures: tuple[float, ...] = ()
    saved: bool = False
    step: float | None = None
    hitching_height: float | None = None
    tow_height: float | None = None
    worst: Finding | None = None
    on: date | None = None
    wrong: str = ""


def line_of(stands: Standing, way: HitchPlan | Way | None, on: date | None = None) -> Line:
    """Return the line of a profile as it stands, and as it gets to its trailer."""
    setup, answer = stands.setup, stands.answer
    found = stands.findings(way)
    return Line(
        profile=stands.profile.name,
        truck=setup.truck.name,
        trailer=setup.trailer.name if setup.trailer else "",
        hitch=setup.hitch.name if way and setup.hitch else "",
        pressures=tuple(float(pressure) for pressure in answer.set.pressure.ravel()),
        saved=stands.saved,
        step=float(setup.truck.instruments.gauge_step),
        hitching_height=way.stages[0].height if way else None,
        tow_height=answer.set.coupling_height if way else None,
        worst=found[0] if found else None,
        on=on,
    )


def table(lines: Iterable[Line], system: System, *, marked: bool = True) -> bytes:
    """Return lines as a table in UTF-8, with a header.

    Parameters
    ----------
    lines : one a profile
    system : "us" or "metric"
    marked : whether a byte order mark comes first
    """
    written = io.StringIO()
    rows = csv.writer(written, lineterminator="\r\n")
    rows.writerow(header(system))
    rows.writerows(_row(line, system) for line in lines)
    return f"{MARK if marked else ''}{written.getvalue()}".encode("utf-8", "replace")


def header(system: System) -> list[str]:
    """Return the heads of the columns."""
    pressure, length = display(0.0, "pressure", system)[1], display(0.0, "length", system)[1]
    return [
        "Profile",
        "Truck",
        "Trailer",
        "Hitch",
        *(f"{corner} [{pressure}]" for corner in CORNER_HEADS),
        "Pressures are",
        f"Hitching height [{length}]",
        f"Coupling height at tow [{length}]",
        "Worst finding",
        "Date",
    ]


def guarded(text: str) -> str:
    """Return a text that no spreadsheet takes for a formula; most names are returned as they are."""
    seen = (letter for letter in unicodedata.normalize("NFKC", text) if not _unseen(letter))
    return f"'{text}" if text[:1] in CONTROLS or next(seen, "") in FORMULA else text


def _unseen(letter: str) -> bool:
    """Tell whether a letter is a space or has no look of its own: some spreadsheets drop those before they look."""
    return letter.isspace() or unicodedata.category(letter) in ("Cc", "Cf", "Mn", "Me")


def _row(line: Line, system: System) -> list[str]:
    """Return one line as its cells."""
    names = (line.profile, line.truck, line.trailer, line.hitch)
    state = "" if not line.pressures else "saved" if line.saved else "planned"
    return [
        *(_text(name) for name in names),
        *(_pressures(line, system) if line.pressures else [""] * len(CORNER_HEADS)),
        state,
        _height(line.hitching_height, system),
        _height(line.tow_height, system),
        _text(_worst(line, system)),
        line.on.isoformat() if line.on else "",
    ]


def _pressures(line: Line, system: System) -> Iterator[str]:
    """Yield the four pressures as the gauge shows them."""
    for pressure in line.pressures:
        yield write(pressure, "pressure", system, step=line.step).number if math.isfinite(pressure) else NO_BAG


def _height(height: float | None, system: System) -> str:
    """Return a height as a spreadsheet reads it, always in the unit of the header; empty where there is none."""
    if height is None or not math.isfinite(height):
        return ""
    return f"{display(height, 'length', system)[0]:.{DECIMALS['length'][system == 'metric']}f}"


def _text(text: str) -> str:
    """Return a text as a cell: one line, no formula."""
    return guarded(clean(text)) if text else ""


def _worst(line: Line, system: System) -> str:
    """Return the worst finding in words, or why there are no numbers."""
    if line.wrong:
        return f"cannot be used: {line.wrong}"
    return "" if line.worst is None else f"{WORDS[line.worst.level]}: {sentence(line.worst, system)}"
