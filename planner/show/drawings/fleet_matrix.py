"""Who takes what: trucks down, trailers across, a sign in each field; a letter for each trailer, told below."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final, Literal

from planner.plans.fleet import Fleet
from planner.show.drawings.palette import LIGHT, MARKS
from planner.show.drawings.svg import (
    MARGIN,
    SMALL,
    WIDTH,
    Drawing,
    clean,
    document,
    line,
    shape,
    shorten,
    tag,
    text,
    text_width,
)

Look = Literal["level", "stays", "stopped", "none"]
SAID: Final[dict[Look, str]] = {
    "level": "takes it, stands level",
    "stays": "takes it, not level",
    "stopped": "stopped",
    "none": "cannot",
}
SIGNS: Final[dict[Look, str]] = {"level": "✓", "stays": "(✓)", "stopped": MARKS["stop"], "none": "–"}
WORDS: Final[dict[Look, str]] = {
    "level": "takes it and stands level",
    "stays": "takes it, but does not come level",
    "stopped": "a label or a limit stops it",
    "none": "no hitch for it",
}
MOST_ROWS: Final = 40
MOST_COLUMNS: Final = 12
LETTERS: Final = "ABCDEFGHIJKL"
NAMES: Final = 200.0  # room for a truck's name, at most
ROW, COLUMN = 26.0, 40.0  # of a field, at most


def look_of(fleet: Fleet, truck: int, trailer: int) -> Look:
    """Return what is shown of a pair."""
    if fleet.hitch[truck, trailer] < 0:
        return "none"
    if not fleet.takes[truck, trailer]:
        return "stopped"
    return "level" if fleet.levels[truck, trailer] else "stays"


def fleet_matrix(fleet: Fleet, trucks: Sequence[int], trailers: Sequence[int]) -> Drawing:
    """Return who takes what of some trucks and trailers, in the order given.

    trucks, trailers : which of the fleet's, at most MOST_ROWS and MOST_COLUMNS
    """
    names = [shorten(clean(fleet.trucks[truck].name), SMALL, NAMES) for truck in trucks]
    left, top = MARGIN + max((text_width(name, SMALL) for name in names), default=0.0) + 8, MARGIN + 20.0
    width = min(COLUMN, (WIDTH - MARGIN - left) / max(len(trailers), 1))
    body = [
        text(letter, left + (n + 0.5) * width, top - 7, LIGHT.ink, anchor="middle", bold=True)
        for n, letter in enumerate(LETTERS[: len(trailers)])
    ]
    for row, truck in enumerate(trucks):
        y = top + row * ROW
        body.append(text(names[row], MARGIN, y + 18, LIGHT.ink))
        for n, trailer in enumerate(trailers):
            body += _field(look_of(fleet, truck, trailer), left + n * width, y, width)
    y = top + len(trucks) * ROW + 8
    for letter, trailer in zip(LETTERS, trailers, strict=False):
        name = clean(fleet.trailers[trailer].name)
        y += 19
        body.append(text(letter, MARGIN, y, LIGHT.ink, bold=True))
        body.append(text(shorten(name, SMALL, WIDTH - 2 * MARGIN - 20), MARGIN + 20, y, LIGHT.ink))
    y += 10
    for look, words in WORDS.items():
        body += _field(look, MARGIN, y, COLUMN)
        body.append(text(words, MARGIN + COLUMN + 8, y + 18, LIGHT.soft))
        y += ROW
    return document("fleet", y + 6, "Who takes what", _alt(fleet, trucks, trailers), body)


def _field(look: Look, x: float, y: float, width: float) -> Iterator[str]:
    """Yield one field: what it says has a shape as well as a colour."""
    wash = {"level": LIGHT.air_wash, "stays": LIGHT.paper, "stopped": LIGHT.brick_wash, "none": LIGHT.paper}[look]
    edge = LIGHT.paper if look == "none" else LIGHT.soft if look == "stays" else wash
    yield tag("rect", x=x + 1, y=y + 1, width=width - 2, height=ROW - 2, fill=wash, stroke=edge, cls=look)
    middle, centre = x + width / 2, y + ROW / 2
    if look in ("level", "stays"):
        tick = [(middle - 6, centre), (middle - 2, centre + 5), (middle + 6, centre - 5)]
        yield shape(tick, LIGHT.air, closed=False)
    elif look == "stopped":
        yield tag("rect", x=middle - 4.5, y=centre - 4.5, width=9.0, height=9.0, fill=LIGHT.brick)
    else:
        yield line(middle - 5, centre, middle + 5, centre, LIGHT.soft, 1.6)


def _alt(fleet: Fleet, trucks: Sequence[int], trailers: Sequence[int]) -> str:
    """Return the same in words."""
    said = []
    for truck in trucks:
        taken = [clean(fleet.trailers[n].name) for n in trailers if fleet.takes[truck, n]]
        said.append(f"{clean(fleet.trucks[truck].name)} takes {', '.join(taken) if taken else 'none of them'}.")
    return " ".join(said)
