"""What people type into the fields of the app, read as values, and values written as they would type them.

On the screen the unit may be left out: the one that the unit switch shows is meant then. In files it is never left out.
"""

from __future__ import annotations

import re
from typing import Final

from planner.plans.uncertainty.spreads import TYPICAL, SpreadKind
from planner.records.fields import air_temperature, altitude
from planner.units.quantity import Dimension, Quantity, Refusal, System, display, entry_unit, quantity, shown
from planner.units.written_numbers import read_written, system_of_quantity

SPREAD_KINDS: Final[dict[SpreadKind, Dimension]] = {
    "weight": "weight",
    "length": "length",
    "pressure": "pressure",
    "rate": "spring rate",
    "load": "load",
}
WIDEST: Final[dict[SpreadKind, float]] = {  # past it a spread is a slip of the key [kg, m, Pa, N/m, N]
    "weight": 5000.0,
    "length": 1.0,
    "pressure": 2e5,
    "rate": 1e6,
    "load": 5e4,
}
WIDEST_SHARE: Final = 0.3

_BARE = re.compile(r"[+\-−]?[\d.,/ \-]*\d[\d.,]*", re.ASCII)
_SHARE = re.compile(
    r"(?P<sign>[+\-−]?)(?P<number>\d{1,6}(?:[.,]\d{0,9})?|[.,]\d{1,9})\s*(?P<percent>%|percent)?", re.ASCII
)


def read_quantity(text: str, kind: Dimension, system: System) -> Quantity:
    """Return what a field says; a bare number is in the system's unit. Refusal if it cannot be read."""
    return read_written(text, kind, system).value


def taken_as(text: str, kind: Dimension, system: System) -> str:
    """Return what a text was taken as, "taken as 7,200 lb", where that was a choice; else nothing."""
    try:
        return read_written(text, kind, system).note
    except Refusal:
        return ""


def is_bare(text: str) -> bool:
    """Tell whether a text is a number without a unit."""
    return _BARE.fullmatch(text.strip()) is not None


def field_text(value: Quantity, system: System) -> str:
    """Return a quantity as its field shows it: as typed, or in the system's unit if it was typed in the other's."""
    if system_of_quantity(value.text, value.dimension) in (system, None):
        return value.text
    unit = entry_unit(value.dimension, system)
    exact = float(quantity(value, unit, value.dimension).text.split(" ")[0])
    return f"{exact:.4g} {unit}" if abs(exact) < 1000 else f"{exact:.0f} {unit}"


def value_text(value: Quantity | float | str | None, system: System) -> str:
    """Return a value as its field shows it: a float is a share; nothing where there is none."""
    if value is None:
        return ""
    if isinstance(value, Quantity):
        return field_text(value, system)
    return share_text(value) if isinstance(value, float) else str(value)


def read_temperature(text: str, system: System) -> Quantity:
    """Return a temperature of the air; Refusal if it cannot be read, or no truck meets it."""
    return air_temperature(read_quantity(text, "temperature", system))


def read_altitude(text: str, system: System) -> Quantity:
    """Return an altitude above sea level, a bare number in feet or metres; Refusal if no road reaches it."""
    unit = (" m" if system == "metric" else " ft") if is_bare(text) else ""
    return altitude(read_quantity(text + unit, "length", system))


def read_share(text: str) -> float:
    """Return a share typed as "12 %", "12,5 %", "0.12" or "12": from 1 up, a bare number is a percentage."""
    found = _SHARE.fullmatch(text.strip())
    if found is None:
        raise Refusal('expected a share such as "12 %"', shown(text), "write a number and %")
    number = float(found["number"].replace(",", "."))
    share = number / 100 if found["percent"] or number >= 1 else number
    return round(-share if found["sign"] in ("-", "−") else share, 9)


def read_number(text: str) -> float:
    """Return a number typed as it is, such as "0.85" or "0,85"."""
    found = _SHARE.fullmatch(text.strip())
    if found is None or found["percent"]:
        raise Refusal("must be a number without a unit", shown(text), "write one such as 0.85")
    number = float(found["number"].replace(",", "."))
    return -number if found["sign"] in ("-", "−") else number


def read_spread(name: str, text: str, system: System) -> Quantity | float:
    """Return one standard deviation as typed: of a quantity, or a share in percent; Refusal if it cannot be one."""
    kind = TYPICAL[name].kind
    if kind == "share":
        typed = text.strip()
        share = read_share(f"{typed} %" if _BARE.fullmatch(typed) else typed)
        if not 0 <= share <= WIDEST_SHARE:
            raise Refusal(f"must be 0 % to {100 * WIDEST_SHARE:.0f} %", shown(typed), "give one standard deviation")
        return share
    spread = read_quantity(text, SPREAD_KINDS[kind], system)
    if not 0 <= spread <= WIDEST[kind]:
        widest = f"{display(WIDEST[kind], SPREAD_KINDS[kind], system)[0]:.0f} {entry_unit(SPREAD_KINDS[kind], system)}"
        raise Refusal(f"must be >= 0 and <= {widest}", shown(spread.text), "give one standard deviation")
    return spread


def share_text(share: float) -> str:
    """Return a share as its field shows it."""
    return f"{100 * share:.6g} %"
