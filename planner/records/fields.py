"""The kinds of field that records are made of, with bounds no real truck comes near."""

import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial
from typing import Annotated, Any, Final

from pydantic import AfterValidator, BeforeValidator, Field

from planner.units.quantity import (
    Dimension,
    Kelvin,
    Kilogram,
    Metre,
    Newton,
    NewtonPerMetre,
    Pascal,
    Quantity,
    Refusal,
    in_unit_of,
    read,
    shown,
)

LONGEST_NAME: Final = 120  # characters
MOST_THINGS: Final = 500  # on a truck or a deck; drawing them and drawing from their spreads takes its time for each
PRESSURE_SLACK: Final = 1.0  # [Pa] rounding of units and of the arithmetic, far below any gauge
UNPRINTABLE: Final = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})  # categories; spaces of any width may stand
AIR_TEMPERATURES: Final = (213.15, 333.15)  # K: -60 to 60 degC, a little past what has been measured where roads are
ALTITUDES: Final = (-500.0, 9000.0)  # m: below the lowest road and above the highest


@dataclass(frozen=True)
class Step:
    """Mark of a field: by how much the buttons of a form move it, in US units and in metric ones; shares in percent."""

    us: float
    metric: float


@dataclass(frozen=True)
class Needed:
    """Mark of a field that a form always asks for, though a record may do without it where another says the same."""


@dataclass(frozen=True)
class Bare:
    """Mark of a number that is written as it is, not as a share of something."""


@dataclass(frozen=True)
class InsteadOf:
    """Mark of a field that, where it is given, takes the place of others of its record."""

    fields: tuple[str, ...]


def default(text: str, dimension: Dimension) -> Any:
    """Return a field's default as people would type it, read when first needed and not at import."""
    return Field(default_factory=partial(read, text, dimension))


def name_text(value: object) -> str:
    """Read a name: printable text, not empty, not endless."""
    if not isinstance(value, str):
        raise Refusal("must be text", shown(value), "put the name in quotes")
    if len(value) > 4 * LONGEST_NAME or not 1 <= len(value.strip()) <= LONGEST_NAME:
        raise Refusal(f"must be 1 to {LONGEST_NAME} characters long", shown(value), "give a short name")
    text = value.strip()
    if not text.isprintable() and any(unicodedata.category(c) in UNPRINTABLE for c in text):
        raise Refusal("must be printable text", shown(value), "type it again, without hidden characters")
    return text


def too_many(things: Sequence[object]) -> Iterator[Refusal]:
    """Refuse more things on a truck or a deck than anybody puts there one by one."""
    if len(things) > MOST_THINGS:
        remedy = "combine things that lie together"
        yield Refusal(f"must be no more than {MOST_THINGS:,} things", f"{len(things):,}", remedy)


def bare_number(value: object) -> float:
    """Read a ratio: a bare number, never true or false, text, or NaN."""
    if isinstance(value, bool) or not isinstance(value, int | float) or isinstance(value, Quantity):
        raise Refusal("must be a plain number", shown(value), "write one such as 0.5, without quotes or unit")
    if not abs(value) <= 1e6:  # refuses NaN as well
        raise Refusal("must be a number up to a million", shown(value), "write one such as 0.5")
    return float(value)


def air_temperature(value: Quantity) -> Quantity:
    """Return a temperature of the air that a truck may meet; Refusal otherwise."""
    return _between(value, *AIR_TEMPERATURES)


def altitude(value: Quantity) -> Quantity:
    """Return an altitude that a truck may reach; Refusal otherwise."""
    return _between(value, *ALTITUDES)


def _between(value: Quantity, least: float, most: float) -> Quantity:
    """Return a quantity that lies between two values."""
    hair = 1e-9  # of rounding: 140 degF is 60 degC
    if not least - hair <= value <= most + hair:
        rule = f"must be {in_unit_of(least, value)} to {in_unit_of(most, value)}"
        raise Refusal(rule, shown(value), "check the number and its unit")
    return value


def _whole(value: object) -> int:
    """Read a count: a whole bare number."""
    if isinstance(value, bool) or not isinstance(value, int):
        raise Refusal("must be a whole number", shown(value), "write one such as 2, without quotes or unit")
    return value


def _moment(value: object) -> object:
    """Let dates with times pass, and their ISO 8601 text; a bare number is not a date."""
    remedy = "write one such as 2026-05-04T07:30:00"
    if isinstance(value, str) and len(value) <= 40:
        try:
            return datetime.fromisoformat(value)
        except ValueError:
            raise Refusal("must be a date and time", shown(value), remedy) from None
    if not isinstance(value, datetime):
        got = value.isoformat() if isinstance(value, date) else shown(value)
        raise Refusal("must be a date and time", got, remedy)
    return value


def _day(value: object) -> object:
    """Let dates pass, and their ISO 8601 text; a date with a time is not one."""
    remedy = "write one such as 2026-05-04"
    if isinstance(value, str) and len(value) <= 40:
        try:
            return date.fromisoformat(value)
        except ValueError:
            raise Refusal("must be a date", shown(value), remedy) from None
    if not isinstance(value, date) or isinstance(value, datetime):
        got = value.isoformat() if isinstance(value, datetime) else shown(value)
        raise Refusal("must be a date", got, remedy)
    return value


Name = Annotated[str, BeforeValidator(name_text)]
Ratio = Annotated[float, BeforeValidator(bare_number)]
Share = Annotated[Ratio, Field(ge=0, le=1)]
Count = Annotated[int, BeforeValidator(_whole)]
Day = Annotated[date, BeforeValidator(_day)]
Moment = Annotated[datetime, BeforeValidator(_moment)]

# Bounds no truck or trailer comes near; they keep a slip of the key from running through the sums.
Length = Annotated[Metre, Field(gt=0, le=30)]
Place = Annotated[Metre, Field(ge=-30, le=30)]
Weight = Annotated[Kilogram, Field(gt=0, le=100_000)]
Load = Annotated[Newton, Field(gt=0, le=1_000_000)]
Pressure = Annotated[Pascal, Field(ge=0, le=3_000_000)]
Temperature = Annotated[Kelvin, AfterValidator(air_temperature)]  # of the air, or of the gas at rest
Altitude = Annotated[Metre, AfterValidator(altitude)]  # above sea level
Rate = Annotated[NewtonPerMetre, Field(ge=0, le=100_000_000)]
