"""Where and how often the air is used, and where it was shut in, as the Air page asks: a text a field."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, Literal, NamedTuple

from planner.forms.parse import read_altitude, read_number, read_share, read_temperature
from planner.plans.air_budget import Use
from planner.plans.level import Shut
from planner.units.quantity import Refusal, System, shown

MOST_CYCLES: Final = 1000.0  # a day


class UseField(NamedTuple):
    """One field: what it is called, what it is where nothing is typed, in US units and in metric ones, and its kind."""

    label: str
    us: str
    metric: str
    kind: Literal["altitude", "temperature", "humidity", "cycles"]

    def default(self, system: System) -> str:
        """Return what stands where nothing is typed."""
        return self.metric if system == "metric" else self.us


USE: Final = {
    "altitude": UseField("Altitude", "0 ft", "0 m", "altitude"),
    "temperature": UseField("Air drawn in", "68 degF", "20 degC", "temperature"),
    "humidity": UseField("Its humidity", "65 %", "65 %", "humidity"),
    "cycles": UseField("Hitched and unhitched, times a day", "2", "2", "cycles"),
}
SHUT: Final = {
    "set_temperature": UseField("Set at", "68 degF", "20 degC", "temperature"),
    "set_altitude": UseField("Altitude then", "0 ft", "0 m", "altitude"),
    "now_temperature": UseField("Now at", "20 degF", "-7 degC", "temperature"),
    "now_altitude": UseField("Altitude now", "0 ft", "0 m", "altitude"),
}


def read_use(texts: Mapping[str, str], system: System) -> tuple[Use, dict[str, Refusal]]:
    """Return the use that some texts say, and why a text does not read, by field; its default counts then.

    Examples
    --------
    >>> use, wrong = read_use({"altitude": "2400 m", "humidity": "wet"}, "us")
    >>> use.altitude, use.humidity, list(wrong)
    (2400.0, 0.65, ['humidity'])
    """
    said, wrong = _read_all(USE, texts, system)
    return Use(**said), wrong


def read_shut(texts: Mapping[str, str], system: System) -> tuple[Shut, dict[str, Refusal]]:
    """Return where air was shut in and is now, as some texts say, and why a text does not read, by field.

    Examples
    --------
    >>> shut, wrong = read_shut({"now_altitude": "2400 m"}, "metric")
    >>> shut.altitude, round(shut.temperature - 273.15), wrong
    (2400.0, -7, {})
    """
    said, wrong = _read_all(SHUT, texts, system)
    return Shut(**{name.removeprefix("now_"): value for name, value in said.items()}), wrong


def _read_all(
    asked: Mapping[str, UseField], texts: Mapping[str, str], system: System
) -> tuple[dict[str, float], dict[str, Refusal]]:
    """Return what fields say, in SI, the default where a text is empty or does not read; and why one does not."""
    said, wrong = dict[str, float](), dict[str, Refusal]()
    for name, one in asked.items():
        try:
            said[name] = _read(one.kind, texts.get(name, "").strip() or one.default(system), system)
        except Refusal as refusal:
            wrong[name] = refusal
            said[name] = _read(one.kind, one.default(system), system)
    return said, wrong


def _read(kind: str, text: str, system: System) -> float:
    """Return what one field says, in SI."""
    if kind == "altitude":
        return float(read_altitude(text, system))
    if kind == "temperature":
        return float(read_temperature(text, system))
    number, most, rule = (
        (read_share(text), 1.0, "must be 0 % to 100 %")
        if kind == "humidity"
        else (read_number(text), MOST_CYCLES, f"must be 0 to {MOST_CYCLES:g} a day")
    )
    if not 0.0 <= number <= most:
        raise Refusal(rule, shown(text), "check the number")
    return number
