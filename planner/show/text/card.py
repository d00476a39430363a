"""What a card says that is carried on paper or on a phone: the same words and numbers whatever it is written on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Final, Literal

import numpy as np

from planner.plans.answer import AXLES, CORNERS, SIDES, Answer, Finding, Severity
from planner.plans.hitching_stages import REACHED, HitchPlan, Stage
from planner.plans.level import level_setup
from planner.plans.saved_state import Standing
from planner.plans.setup import Setup
from planner.plans.track_record import track_record
from planner.records import Truck
from planner.show.drawings.corner_labels import NO_BAG, corner_rows
from planner.show.drawings.palette import MARKS, WORDS
from planner.show.drawings.svg import clean
from planner.show.text.hitching import WATCH, to_do, unreached_words
from planner.show.text.numbers import Written, say, sentence, write
from planner.show.text.track_record import trust_words
from planner.show.text.words import COUPLING_PARTS
from planner.units.quantity import System

PaperSize = Literal["letter", "a4"]  # a card is a quarter of it
Rows = tuple[tuple[Written | None, ...], ...]  # of the corners, [front, rear][left, right]; None where steel carries

LONGEST_NAME: Final = 80  # characters; each card cuts further where its paper ends
WORST: Final = 2  # findings on a paper card, which has no room for more
UNHITCHED: Final = "unhitched"
NONE: Final = "none"
LEFT_OUT: Final = "■ Left out, as they cannot be used:"
NOT_SAVED: Final = "Worked out just now; no pressures saved."
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
class CarriedStage:
    """What one stage of hitching says, or the truck unhitched.

    Attributes
    ----------
    name : clear, meet, lift, tow; unhitched
    to_do, watch : what to do and what to beware of; empty for the truck unhitched
    rows : pressures to set, gauge
    height : of the hitch above ground; None where nobody knows
    remark : what is not reached, or what says stop; empty where nothing is
    air : what air it takes and how long that lasts; empty where it was not asked for
    """

    name: str
    to_do: str
    watch: str
    rows: Rows
    height: Written | None
    remark: str = ""
    air: str = ""


@dataclass(frozen=True)
class Carried:
    """What a card says; all texts are plain, on one line, without control characters.

    Attributes
    ----------
    name : of the profile
    outfit : truck and trailer
    truck : whose sketch goes with the numbers
    hitch : place of the hitch ahead of the rear axle and left of the middle; None with no trailer [m]
    rows : pressures to set, gauge
    part : what the heights are of, such as "ball"; empty with no trailer
    heights : to back under, and to tow
    remark : where backing under takes more than air; empty where it does not
    findings : all, the worst first, with their severity
    status : when it was saved, or that it was not
    trimmed : when it was last trimmed; None where it never was
    trust : how near plan and tape were, trip by trip; empty where nothing was measured
    stale : corners whose saved pressure is out of date: name, saved, what levels it now
    stages : clear, meet, lift, tow; none with no trailer
    unhitched : the truck after it; None with no trailer
    """

    name: str
    outfit: str
    truck: Truck
    hitch: tuple[float, float] | None
    rows: Rows
    part: str
    heights: tuple[Height, ...]
    remark: str
    findings: tuple[tuple[Severity, str], ...]
    status: str
    trimmed: date | None = None
    trust: str = ""
    stale: tuple[tuple[str, str, str], ...] = ()
    stages: tuple[CarriedStage, ...] = ()
    unhitched: CarriedStage | None = None

    @property
    def stops(self) -> tuple[tuple[Severity, str], ...]:
        """The findings that say do not drive."""
        return tuple(one for one in self.findings if one[0] == "stop")

    @property
    def others(self) -> tuple[tuple[Severity, str], ...]:
        """The findings that do not say stop."""
        return tuple(one for one in self.findings if one[0] != "stop")

    @property
    def last_lines(self) -> tuple[str, ...]:
        """When it was saved, and how near plan and tape were where that was measured."""
        return (self.status, *([f"Tape: {self.trust}."] if self.trust else ()))

    @property
    def stopped(self) -> bool:
        """Whether a finding says do not drive."""
        return bool(self.stops)

    @property
    def stop_words(self) -> str:
        """What is said before any number where a finding says stop; empty where none does."""
        count = len(self.stops)
        return f"Do not drive like this: {count} {'thing' if count == 1 else 'things'}" if count else ""

    @property
    def worst(self) -> tuple[tuple[Severity, str], ...]:
        """The findings that a paper card has room for."""
        return self.findings[:WORST]

    @property
    def more_words(self) -> str:
        """How many findings are not on a paper card, in words; empty where all are."""
        more = len(self.findings) - WORST
        return f"and {more} more in the planner" if more > 0 else ""

    @property
    def trimmed_words(self) -> str:
        """When it was last trimmed, in words."""
        return f"Last trimmed {self.trimmed.isoformat()}." if self.trimmed else "Not trimmed yet."

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
    plan, stale = stands.hitching(), outdated_words(stands, system)
    return Carried(
        name=cut_text(stands.profile.name),
        outfit=_outfit(setup),
        truck=setup.truck,
        hitch=(float(setup.hitch.x), float(setup.hitch.y)) if plan and setup.hitch else None,
        rows=_rows(setup, answer, system),
        part=COUPLING_PARTS[setup.hitch.coupling] if plan and setup.hitch else "",
        heights=tuple(_heights(plan, system)) if plan else (),
        remark=_remark(plan, system) if plan else "",
        findings=_said(stands.findings(plan), system),
        status=_status(stands.saved, saved, bool(stale)),
        trimmed=last_trimmed(stands),
        trust=trust_words(track_record(stands.history), system),
        stale=stale,
        stages=tuple(_stage(plan, stage, system) for stage in plan.stages) if plan else (),
        unhitched=_unhitched(setup, system) if plan else None,
    )


def last_trimmed(stands: Standing) -> date | None:
    """Return the day of the last reading of gauges and tapes; None where there is none."""
    return stands.profile.readings[-1].at.date() if stands.profile.readings else None


def outdated_words(stands: Standing, system: System) -> tuple[tuple[str, str, str], ...]:
    """Return name, saved pressure and the one that levels it now, in words, of each corner that is out of date."""
    found = stands.find_outdated()
    if found is None:
        return ()
    step = float(stands.setup.truck.instruments.gauge_step)
    words = [
        [NONE if np.isnan(value) else say(float(value), "pressure", system, step=step) for value in values.ravel()]
        for values in (found.old, found.new)
    ]
    rows = zip(CORNERS, *words, strict=True)
    return tuple((corner.replace("_", " "), old, new) for corner, old, new in rows if corner in found.corners)


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


def _rows(setup: Setup, answer: Answer, system: System) -> Rows:
    """Return the pressures to set, as the owner's gauge shows them."""
    step = float(setup.truck.instruments.gauge_step)
    return tuple(tuple(row) for row in corner_rows(answer.set.pressure, system, step))


def _stage(plan: HitchPlan, stage: Stage, system: System) -> CarriedStage:
    """Return what a stage of hitching says."""
    return CarriedStage(
        stage.name,
        to_do(plan, stage),
        WATCH[stage.name],
        _rows(plan.setup, stage.answer, system),
        write(stage.height, "length", system),
        "" if stage.reachable else clean(unreached_words(stage, system)),
    )


def _unhitched(setup: Setup, system: System) -> CarriedStage:
    """Return what the truck is set to once the trailer is off, its cargo still aboard."""
    alone = setup.without_trailer()
    answer = level_setup(alone)
    stops = [words for severity, words in _said(answer.findings, system) if severity == "stop"]
    height = answer.set.coupling_height
    written = None if height is None else write(height, "length", system)
    return CarriedStage(UNHITCHED, "", "", _rows(alone, answer, system), written, " ".join(stops))


def _outfit(setup: Setup) -> str:
    """Return truck and trailer by name."""
    truck = cut_text(setup.truck.name)
    return f"{truck}, no trailer" if setup.trailer is None else f"{truck} with {cut_text(setup.trailer.name)}"


def _heights(plan: HitchPlan, system: System) -> Iterator[Height]:
    """The hitch to back under, and on the road."""
    for when, stage in (("back under", plan.stages[0]), ("tow", plan.stages[-1])):
        yield Height(when, write(stage.height, "length", system))


def _remark(plan: HitchPlan, system: System) -> str:
    """Return what the trailer's jack must do where the dip does not reach."""
    if plan.stages[0].reachable:
        return ""
    if abs(plan.jack_up) > REACHED:
        way = "up" if plan.jack_up > 0 else "down"
        return f"Put the trailer's jack {way} by {say(abs(plan.jack_up), 'length', system)} to back under."
    return f"{say(plan.stages[0].target, 'length', system)} is wanted to back under and not reached."


def _said(found: tuple[Finding, ...], system: System) -> tuple[tuple[Severity, str], ...]:
    """Return findings as sentences."""
    return tuple((one.level, clean(sentence(one, system))) for one in found)


def _status(saved: bool, when: date | None, stale: bool) -> str:
    """Return when the pressures were saved, or that they were not, and whether they are out of date."""
    if not saved:
        return NOT_SAVED
    since = f"Saved {when.isoformat()}" if when else "As saved"
    return f"{since}, out of date: re-level." if stale else f"{since}."


def _bytes(text: str, most: int) -> str:
    """Return as much of a text as a number of bytes holds, with an ellipsis where it is cut."""
    if len(text.encode()) <= most:
        return text
    return text.encode()[: most - 3].decode(errors="ignore").rstrip() + "…"


def marked(finding: tuple[Severity, str]) -> str:
    """Return a finding with its mark and word before it."""
    severity, words = finding
    return f"{MARKS[severity]} {WORDS[severity]}: {words}"
