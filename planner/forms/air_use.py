"""Where and how often the air is used, and where it was shut in, as the Air page asks: a text a field."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, Literal, NamedTuple

from planner.forms.parse import read_altitude, read_number, read_quantity, read_share, read_temperature
from planner.plans.air_budget import Use
from planner.plans.level import Shut
from planner.units.quantity import Refusal, System, shown

MOST_CYCLES: Final = 1000.0  # a day
LARGEST_TANK: Final = 10.0  # [m³]


class UseField(NamedTuple):
    """One field: what it is called, what it is where nothing is typed, in US units and in metric ones, and its kind."""

    label: str
    us: str
    metric: str
    kind: Literal["altitude", "temperature", "humidity", "cycles", "tank", "delivery"]

    def default(self, system: System) -> str:
        """Return what stands where nothing is typed."""
        return self.metric if system == "metric" else self.us


USE: Final = {
    "altitude": UseField("Altitude", "0 ft", "0 m", "altitude"),
    "temperature": UseField("Air drawn in", "68 °F", "20 °C", "temperature"),
    "humidity": UseField("Its humidity", "65 %", "65 %", "humidity"),
    "cycles": UseField("Hitched and unhitched, times a day", "2", "2", "cycles"),
}
SHUT: Final = {
    "set_temperature": UseField("Set at", "68 °F", "20 °C", "temperature"),
    "set_altitude": UseField("Altitude then", "0 ft", "0 m", "altitude"),
    "now_temperature": UseField("Now at", "20 °F", "-7 °C", "temperature"),
    "now_altitude": UseField("Altitude now", "0 ft", "0 m", "altitude"),
}


OTHER: Final = {  # a supply to try; where nothing is typed, twice what there is
    "other_tank": UseField("Other tank, or tanks", "2 x 5 gal", "2 x 20 L", "tank"),
    "other_compressor": UseField("Other compressor, free air at 100 psi (6.9 bar)", "2 cfm", "60 L/min", "delivery"),
}
AT: Final = 100 * 6894.757293168361  # [Pa] at which a compressor is told by its free air
AS_IT_IS, TANK, COMPRESSOR, BOTH = "as it is", "tank", "compressor", "both"


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


def read_other(
    texts: Mapping[str, str], system: System, tank: float, delivery: float
) -> tuple[dict[str, dict[str, float]], dict[str, Refusal]]:
    """Return supplies to set beside the one there is, by name as factors of its fields, and why a text does not read.

    Parameters
    ----------
    texts : by field of OTHER
    system : whose units a bare number is in
    tank, delivery : of the supply there is [m³], and its compressor's free air at AT [m³/s]

    Examples
    --------
    >>> found, wrong = read_other({"other_tank": "5 gal + 2.5 gal"}, "us", 0.018927, 5e-4)
    >>> round(found["tank"]["tank_volume"], 2), found["compressor"], list(found)[-1], wrong
    (1.5, {'delivery': 2.0}, 'both', {})
    """
    factors, wrong = {"other_tank": 2.0, "other_compressor": 2.0}, dict[str, Refusal]()
    for name, there in (("other_tank", tank), ("other_compressor", delivery)):
        if text := texts.get(name, "").strip():
            try:
                factors[name] = _read(OTHER[name].kind, text, system) / there
            except Refusal as refusal:
                wrong[name] = refusal
    volume, made = {"tank_volume": factors["other_tank"]}, {"delivery": factors["other_compressor"]}
    return {AS_IT_IS: {}, TANK: volume, COMPRESSOR: made, BOTH: volume | made}, wrong


def _tanks(text: str, system: System) -> float:
    """Return the volume of one tank or several: "10 gal", "2 x 5 gal", "5 gal + 3 gal". [m³]"""
    whole = 0.0
    for part in text.split("+"):
        count, times, each = part.strip().partition("x")
        many = count.strip().isdigit() and bool(times)
        volume = read_quantity((each if many else part).strip(), "volume", system)
        whole += (int(count) if many else 1) * float(volume)
    if not 0.0 < whole <= LARGEST_TANK:
        raise Refusal(f"must be > 0 and <= {LARGEST_TANK:g} m**3", shown(text), "write one such as 2 x 5 gal")
    return whole


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
    if kind == "tank":
        return _tanks(text, system)
    if kind == "delivery":
        made = read_quantity(text, "free-air flow", system)
        if not made > 0:
            raise Refusal("must be > 0", made.text, "read it off the data sheet")
        return float(made)
    number, most, rule = (
        (read_share(text), 1.0, "must be 0 % to 100 %")
        if kind == "humidity"
        else (read_number(text), MOST_CYCLES, f"must be 0 to {MOST_CYCLES:g} a day")
    )
    if not 0.0 <= number <= most:
        raise Refusal(rule, shown(text), "check the number")
    return number
