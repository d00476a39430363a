"""SI numbers written for people, in US or metric units chosen for each call.

A minus is the true one (U+2212), which the fields of the records read back; a nought has none.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

from planner.errors import Refusal
from planner.plans.answer import Finding, Kind
from planner.units.quantity import System, display

Plain = tuple[int, int]  # decimals in US units, decimals in metric ones

DECIMALS: Final[dict[Kind, Plain]] = {  # what a gauge, a tape or a scale shows
    "load": (0, 0),
    "weight": (0, 0),
    "length": (1, 0),
    "pressure": (0, 2),
    "step": (0, 2),
    "moment": (0, 0),
    "share": (1, 1),
    "angle": (1, 1),
    "time": (0, 0),
    "force": (2, 2),
}
FAR: Final = 6.0  # [m] from here on lengths are written in feet and metres: longer than any truck's own dimension
INCHES_PER_FOOT, MM_PER_METRE, FAR_DECIMALS = 12.0, 1000.0, 2
TRIMMED: Final = frozenset({"length", "share", "angle"})  # kinds whose last nought is dropped: 20 in, 12 %
MOST_STEP_DECIMALS: Final = 3


_TIMES: Final = ((99.5, 1.0, "s"), (5_970.0, 60.0, "min"), (172_800.0, 3600.0, "h"), (8.6e6, 86_400.0, "days"))


class Written(NamedTuple):
    """A number and its unit, apart, so that a drawing can set them in two sizes."""

    number: str
    unit: str

    def __str__(self) -> str:
        """Return them as one text: "46 psi", but "0.3°"."""
        return f"{self.number}{self.unit}" if self.unit == "°" else f"{self.number} {self.unit}"


def write(value: float, kind: Kind, system: System, *, exact: bool = False, step: float | None = None) -> Written:
    """Return an SI value as a number and a unit.

    Parameters
    ----------
    value : SI value
    kind : what it is of; loads are shown as weights
    system : "us" or "metric"
    exact : one decimal more than an instrument shows
    step : what the instrument can be set to, in SI, where it is finer than the usual decimals

    Raises
    ------
    ValueError
        If the value is not finite, or the system is not known.
    """
    if kind == "step":  # of a gauge, one or several: written so that it is told from others
        return write(value, "pressure", system, exact=exact, step=value)
    if kind == "time":
        return write_time(value)
    if not math.isfinite(value):
        raise Refusal(f"a {kind} to be shown must be finite", f"{value:g}", "show a corner with no bag in words")
    shown, unit, places = _shown(value, kind, system)
    if step is not None:
        places = max(places, _step_decimals(_shown(step, kind, system)[0]))
    grouped = kind in ("load", "weight", "moment")
    text = f"{shown:{',' if grouped else ''}.{places + exact}f}"
    if kind in TRIMMED and not exact and "." in text:
        text = text.rstrip("0").rstrip(".")
    return Written(_signed(text), unit)


def write_time(seconds: float, unit: str = "") -> Written:
    """Return a time as a person waits for it, in seconds, minutes, hours or days, two digits at the least.

    unit : "s", "min", "h" or "days", where it is to stand beside a time in that unit; else what suits it

    Examples
    --------
    >>> [str(write_time(t)) for t in (0.43, 5.2, 48.0, 200.0, 6000.0, 600_000.0)]
    ['0.4 s', '5.2 s', '48 s', '3.3 min', '1.7 h', '6.9 days']
    """
    if not math.isfinite(seconds):
        raise Refusal("a time to be shown must be finite", f"{seconds:g}", "show what never comes in words")
    for most, size, name in _TIMES:
        if name == unit or (not unit and seconds < most):
            shown = f"{seconds / size:.{0 if seconds / size >= 9.95 else 1}f}"
            return Written(shown.removesuffix(".0"), name)
    return Written(f"{seconds / 86_400.0:,.0f}", "days")


def say(value: float, kind: Kind, system: System, *, exact: bool = False, step: float | None = None) -> str:
    """Return an SI value as people write it: "2,449 lb", "4.27 bar", "20.1 in", "12 %"; see `write`."""
    return str(write(value, kind, system, exact=exact, step=step))


def sentence(finding: Finding, system: System) -> str:
    """Return a finding as a sentence in one system of units.

    A value and a limit that differ by less than their last digit are written with one digit more, as is what lies
    between them, and an amount too small to show is "less than" the least that shows: no sentence says that 6,000 lb is
    over 6,000 lb by 0 lb.
    """
    value, limit = finding.amounts.get("value"), finding.amounts.get("limit")
    close = (
        "{value}" in finding.template
        and value
        and limit
        and value[0] != limit[0]
        and say(*value, system=system) == say(*limit, system=system)
    )

    apart = abs(value[0] - limit[0]) * (1.0 + 1e-9) if value and limit else 0.0

    def amount(si: float, kind: Kind) -> str:
        told = bool(close) and ((si, kind) in (value, limit) or abs(si) <= apart)
        return _not_nought(si, kind, system, exact=told)

    return finding.say(amount)


def hertz(frequency: float) -> str:
    """Return a frequency, the same in both systems: "1.3 Hz"."""
    return f"{frequency:.1f} Hz"


def _signed(text: str) -> str:
    """Return a number with the true minus, and none before nought."""
    digits = text.removeprefix("-")
    return "\u2212" + digits if text.startswith("-") and digits.strip("0.,") else digits


def round_step(least: float) -> float:
    """Return the least of 1, 2, 5, 10, … and their tenths that is no less than a number > 0."""
    power = 10.0 ** math.floor(math.log10(least))
    return next(part * power for part in (1.0, 2.0, 5.0, 10.0) if part * power >= least * (1.0 - 1e-9))


def in_unit(value: float, kind: Kind, system: System) -> tuple[float, str]:
    """Return an SI value in the unit that it is shown in, and that unit.

    Examples
    --------
    >>> [in_unit(12_500.0, kind, "us")[1] for kind in ("load", "force")]  # a force as the label of a coupling has it
    ['lb', 'kN']
    """
    if kind == "share":
        return 100.0 * value, "%"
    if kind == "force":
        return value / 1e3, "kN"
    return display(value, "pressure" if kind == "step" else kind, system)


def _shown(value: float, kind: Kind, system: System) -> tuple[float, str, int]:
    """Return the number, its unit and its usual decimals."""
    shown, unit = in_unit(value, kind, system)
    if kind == "length" and abs(value) >= FAR:
        far = (shown / INCHES_PER_FOOT, "ft") if system == "us" else (shown / MM_PER_METRE, "m")
        return *far, FAR_DECIMALS
    return shown, unit, DECIMALS[kind][system == "metric"]


def _step_decimals(step: float) -> int:
    """Return the decimals that tell the steps of an instrument apart, in the unit shown.

    A step that is a round number there needs its own decimals (0.25: two); one from the other system, as many as it
    takes to tell neighbours apart (1 psi is 0.069 bar: two).
    """
    for places in range(MOST_STEP_DECIMALS + 1):
        scaled = step * 10**places
        if scaled >= 1 - 1e-9 and abs(scaled - round(scaled)) < 1e-6:
            return places
    return min(MOST_STEP_DECIMALS, max(0, math.ceil(-math.log10(step))))


def _not_nought(value: float, kind: Kind, system: System, *, exact: bool) -> str:
    """Return an amount, or "less than" the least that shows where it is too small for that."""
    shown = write(value, kind, system, exact=exact)
    if value == 0 or kind == "time" or shown.number.strip("0.,"):
        return str(shown)
    places = DECIMALS[kind][system == "metric"] + exact
    return f"less than {Written(f'{10.0**-places:.{places}f}', shown.unit)}"
