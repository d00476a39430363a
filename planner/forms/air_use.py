"""Where and how often the air is used, as the Air page asks for it: four fields, each a text."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final, NamedTuple

from planner.forms.parse import read_altitude, read_number, read_share, read_temperature
from planner.plans.air_budget import Use
from planner.units.quantity import Refusal, System, shown

MOST_CYCLES: Final = 1000.0  # a day


class UseField(NamedTuple):
    """One field: what it is called, and what it is where nothing is typed, in US units and in metric ones."""

    label: str
    us: str
    metric: str

    def default(self, system: System) -> str:
        """Return what stands where nothing is typed."""
        return self.metric if system == "metric" else self.us


FIELDS: Final = {
    "altitude": UseField("Altitude", "0 ft", "0 m"),
    "temperature": UseField("Air drawn in", "68 degF", "20 degC"),
    "humidity": UseField("Its humidity", "65 %", "65 %"),
    "cycles": UseField("Hitched and unhitched, times a day", "2", "2"),
}


def read_use(texts: Mapping[str, str], system: System) -> tuple[Use, dict[str, Refusal]]:
    """Return the use that some texts say, and why a text does not read, by field; its default counts then.

    Examples
    --------
    >>> use, wrong = read_use({"altitude": "2400 m", "humidity": "wet"}, "us")
    >>> use.altitude, use.humidity, list(wrong)
    (2400.0, 0.65, ['humidity'])
    """
    said: dict[str, Any] = {}
    wrong: dict[str, Refusal] = {}
    for name in FIELDS:
        if text := texts.get(name, "").strip():
            try:
                said[name] = _read(name, text, system)
            except Refusal as refusal:
                wrong[name] = refusal
    return Use(**said), wrong


def _read(name: str, text: str, system: System) -> float:
    """Return what one field says, in SI."""
    if name == "altitude":
        return float(read_altitude(text, system))
    if name == "temperature":
        return float(read_temperature(text, system))
    number, most, rule = (
        (read_share(text), 1.0, "must be 0 % to 100 %")
        if name == "humidity"
        else (read_number(text), MOST_CYCLES, f"must be 0 to {MOST_CYCLES:g} a day")
    )
    if not 0.0 <= number <= most:
        raise Refusal(rule, shown(text), "check the number")
    return number
