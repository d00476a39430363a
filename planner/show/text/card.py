"""What a card says that is carried on paper or on a phone: the same words and numbers whatever it is written on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Final, Literal

from planner.plans.answer import AXLES, SIDES, Finding, Severity
from planner.plans.hitching_stages import REACHED, HitchPlan
from planner.plans.reading_history import reading_history
from planner.plans.saved_state import Standing
from planner.plans.setup import Setup
from planner.plans.track_record import track_record
from planner.records import Truck
from planner.show.drawings.corner_labels import NO_BAG, corner_rows
from planner.show.drawings.palette import MARKS, WORDS
from planner.show.drawings.svg import clean
from planner.show.text.numbers import Written, say, sentence, write
from planner.show.text.track_record import trust_words
from planner.show.text.words import COUPLING_PARTS
from planner.units.quantity import System

PaperSize = Literal["letter", "a4"]  # a card is a quarter of it

LONGEST_NAME: Final = 80  # characters; each card cuts further where its paper ends
WORST: Final = 2  # findings on a card; all of them are in the planner
LEFT_OUT: Final = "■ Left out, as they cannot be used:"
NOT_SAVED: Final = "Planned from its load, not saved."
CAUTIONS: Final = (
    "Nobody between truck and trailer.",
    "Never tow below a bag's least pressure.",
    "Air raises no rating: labels govern.",
    "Stands under it before you reach under.",
)


@dataclass(frozen=True)
class Height:
    """A height of the hitch above ground: when it is wanted, and how much it is."""

    when: str
    written: Written


@dataclass(frozen=True)
class Carried:
    """What a card says; all texts are plain, on one line, without control characters.

    Attributes
    ----------
    name : of the profile
    outfit : truck and trailer
    truck : whose sketch goes with the numbers
    hitch : place of the hitch ahead of the rear axle and left of the middle; None with no trailer [m]
    rows : pressures to set, gauge, [front, rear][left, right]; None where steel carries
    part : what the heights are of, such as "ball"; empty with no trailer
    heights : to back under, and to tow
    remark : where backing under takes more than air; empty where it does not
    findings : the worst, with their severity
    more : how many findings there are beside them
    status : when it was saved, or that it was not
    trust : how near plan and tape were, trip by trip; empty where nothing was measured
    air : how long the air of each stage takes; empty where it was not asked for or the truck's air is not known
    """

    name: str
    outfit: str
    truck: Truck
    hitch: tuple[float, float] | None
    rows: tuple[tuple[Written | None, ...], ...]
    part: str
    heights: tuple[Height, ...]
    remark: str
    findings: tuple[tuple[Severity, str], ...]
    more: int
    status: str
    trust: str = ""
    air: str = ""

    @property
    def last_lines(self) -> tuple[str, ...]:
        """When it was saved, and how near plan and tape were where that was measured."""
        return (self.status, *([f"Tape: {self.trust}."] if self.trust else ()))

    @property
    def stopped(self) -> bool:
        """Whether a finding says do not drive."""
        return any(severity == "stop" for severity, _ in self.findings)

    @property
    def more_words(self) -> str:
        """How many findings are not on the card, in words; empty where all are."""
        return f"and {self.more} more in the planner" if self.more else ""

    def corner(self, k: int, i: int) -> str:
        """Return a corner's pressure in words."""
        written = self.rows[k][i]
        return NO_BAG if written is None else str(written)


def card_of_state(stands: Standing, system: System, *, saved: date | None = None) -> Carried:
    """Return what a profile's card says.

    Parameters
    ----------
    stands : the profile as it stands
    system : "us" or "metric"
    saved : when its pressures were last saved, where that is known

    Raises
    ------
    ArithmeticError
        If a stage of hitching finds no rest.
    """
    setup, answer = stands.setup, stands.answer
    plan = stands.hitching()
    found = stands.findings(plan)
    step = float(setup.truck.instruments.gauge_step)
    return Carried(
        name=cut_text(stands.profile.name),
        outfit=_outfit(setup),
        truck=setup.truck,
        hitch=(float(setup.hitch.x), float(setup.hitch.y)) if plan and setup.hitch else None,
        rows=tuple(tuple(row) for row in corner_rows(answer.set.pressure, system, step)),
        part=COUPLING_PARTS[setup.hitch.coupling] if plan and setup.hitch else "",
        heights=tuple(_heights(plan, answer.set.coupling_height, system)) if plan else (),
        remark=_remark(plan, system) if plan else "",
        findings=_worst(found, system),
        more=max(len(found) - WORST, 0),
        status=_status(stands.saved, saved),
        trust=trust_words(track_record(reading_history(stands)), system),
    )


def cut_text(name: str, most: int = LONGEST_NAME) -> str:
    """Return a name on one line, cut where it is longer than any card is wide."""
    plain = clean(name[: 4 * most])
    return plain if len(plain) <= most else plain[: most - 1].rstrip() + "…"


def said_text(card: Carried) -> str:
    """Return a card's numbers as a few lines of plain text, for a code that a phone reads."""
    rows = (
        f"{axle}: {', '.join(f'{side} {card.corner(k, i)}' for i, side in enumerate(SIDES))}"
        for k, axle in enumerate(AXLES)
    )
    heights = ", ".join(f"{height.when} {height.written}" for height in card.heights)
    hitch = [f"{card.part}: {heights}"] if heights else []
    stop = ["STOP: see the planner"] if card.stopped else []
    return "\n".join((_bytes(card.name, 48), *rows, *hitch, *stop, card.status))


def _outfit(setup: Setup) -> str:
    """Return truck and trailer by name."""
    truck = cut_text(setup.truck.name)
    return f"{truck}, no trailer" if setup.trailer is None else f"{truck} with {cut_text(setup.trailer.name)}"


def _heights(plan: HitchPlan, tow: float | None, system: System) -> Iterator[Height]:
    """The hitch to back under, and on the road."""
    yield Height("back under", write(plan.stages[0].height, "length", system))
    if tow is not None:
        yield Height("tow", write(tow, "length", system))


def _remark(plan: HitchPlan, system: System) -> str:
    """Return what the trailer's jack must do where the dip does not reach."""
    if plan.stages[0].reachable:
        return ""
    if abs(plan.jack_up) > REACHED:
        way = "up" if plan.jack_up > 0 else "down"
        return f"Put the trailer's jack {way} by {say(abs(plan.jack_up), 'length', system)} to back under."
    return f"{say(plan.stages[0].target, 'length', system)} is wanted to back under and not reached."


def _worst(found: tuple[Finding, ...], system: System) -> tuple[tuple[Severity, str], ...]:
    """Return the worst findings as sentences."""
    return tuple((one.level, clean(sentence(one, system))) for one in found[:WORST])


def _status(saved: bool, when: date | None) -> str:
    """Return when the pressures were saved, or that they were not."""
    if not saved:
        return NOT_SAVED
    return f"Saved {when.isoformat()}." if when else "As saved."


def _bytes(text: str, most: int) -> str:
    """Return as much of a text as a number of bytes holds, with an ellipsis where it is cut."""
    if len(text.encode()) <= most:
        return text
    return text.encode()[: most - 3].decode(errors="ignore").rstrip() + "…"


def marked(finding: tuple[Severity, str]) -> str:
    """Return a finding with its mark and word before it."""
    severity, words = finding
    return f"{MARKS[severity]} {WORDS[severity]}: {words}"
