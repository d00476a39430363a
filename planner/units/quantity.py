"""Quantities as people type them ("62 psi", "4,3 bar", "20 1/8 in"), held as SI floats, shown in US or metric units.

The number is read here and the unit is looked up in a list fixed per dimension; pint, imported nowhere else, only says
how large each listed unit is. It never sees what a person typed, because its expression parser may not come back.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Annotated, Any, Final, Literal, Self, get_args

from pydantic_core import core_schema

from planner.errors import Refusal as Refusal
from planner.units.dimensions import KINDS, SI_UNITS, UNITS
from planner.units.dimensions import Dimension as Dimension
from planner.units.factors import SIZES

if TYPE_CHECKING:
    import pint
    from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler

System = Literal["us", "metric"]

LONGEST_TEXT: Final = 64  # characters; longer than any honest quantity, short enough to read at once
LONGEST_SHOWN: Final = 40  # characters of a refused value that a message repeats
LARGEST_NUMBER: Final = Decimal("1e12")  # in the unit typed; anything past it is a slip of the key
SMALLEST_NUMBER: Final = Decimal("1e-12")  # in the unit typed, zero apart

STANDARD_GRAVITY: Final = 9.80665  # m/s², SI Brochure, 9th ed.; pint's standard_gravity is the same

# Spellings whose case carries no meaning; "mPa" against "MPa" and "n" against "N" do.
_ANY_CASE: Final = {
    name.lower(): name
    for names in (
        "in inch ft lb lbs lbf kg mm cm gal psi psig bar barg mbar kPa hPa",
        "lb/in2 lbf/in2 lb/in**2 lbf/in**2 kg/cm2 kgf/cm2 kg/cm**2 kgf/cm**2",
    )
    for name in names.split()
}
_TONS: Final = frozenset({"ton", "tons", "tonf", "tons-force"})  # of three sizes, so none of them is read
_SIGNS: Final = str.maketrans(
    {"·": "*", "⋅": "*", "²": "**2", "³": "**3", "^": "**", "−": "-", "\u00a0": " ", "\u2009": " ", "\u202f": " "}
)
_FRACTIONS: Final = {"¼": "1/4", "½": "1/2", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_TAPE: Final = frozenset({2, 4, 8, 16, 32, 64})  # what a tape is divided in
_NUMBER: Final = re.compile(
    r"""(?P<sign>[+-]?)
    (?: (?:(?P<whole>\d+)[ -])? (?P<top>\d+)/(?P<bottom>\d+)
      | (?P<grouped> \d{1,3}(?:,\d{3})+\.\d+ | \d{1,3}(?:,\d{3}){2,} )
      | (?P<plain> \d+(?:[.,]\d*)? | [.,]\d+ ) (?P<exponent>[eE][+-]?\d{1,3})? )
    (?![\d.,/*+-]) \s* (?P<unit>.*)""",
    re.VERBOSE | re.ASCII,
)


class Quantity(float):
    """A physical quantity: a float in SI units that remembers how it was typed.

    It compares, hashes and computes as the float it is; `text` is what goes back into a file.
    """

    __slots__ = ("dimension", "text")
    text: str
    dimension: Dimension

    def __new__(cls, value: float, text: str, dimension: Dimension) -> Self:
        """Tie an SI value to its text; `read` and `Quantity.of` are the usual ways in."""
        new = super().__new__(cls, value)
        object.__setattr__(new, "text", text)
        object.__setattr__(new, "dimension", dimension)
        return new

    @classmethod
    def of(cls, number: float, unit: str, dimension: Dimension) -> "Quantity":
        """Return the quantity of a number in a unit, its text written to ten digits."""
        return read(f"{number:.10g} {unit}", dimension)

    def __setattr__(self, name: str, value: object) -> None:
        """Refuse: a quantity is a value, like the number it is."""
        raise AttributeError(f"a quantity cannot be changed: {name}")

    def __repr__(self) -> str:
        """Show the text as typed."""
        return f"<{self.text}>"

    def __reduce__(self) -> tuple[Callable[..., "Quantity"], tuple[float, str, Dimension]]:
        """Pickle and copy with the text."""
        return Quantity, (float(self), self.text, self.dimension)

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: "GetCoreSchemaHandler") -> core_schema.CoreSchema:
        """Take quantities only; text is read by the `Reads` annotation, which knows the dimension."""
        return core_schema.is_instance_schema(cls)


def shown(value: object) -> str:
    """Return a refused value as a message may show it: short, printable, texts in quotes."""
    if isinstance(value, str):
        start = value[: LONGEST_SHOWN + 1]
        safe = "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in start)
        return f'"{safe}"' if len(safe) <= LONGEST_SHOWN else f'"{safe[:LONGEST_SHOWN]}…"'
    if isinstance(value, Quantity):
        return shown(value.text)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value) if value.bit_length() < 100 else "a number of very many digits"
    if isinstance(value, float):
        return f"{value:.12g}"
    if value is None:
        return "nothing"
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, list | tuple):
        return f"a list of {len(value)}"
    return f"a {type(value).__name__}"


def read(text: object, dimension: Dimension) -> Quantity:
    """Read a number and a unit, such as "62 psi", as a quantity of the wanted dimension.

    Raises
    ------
    Refusal
        (a ValueError) if it is not text, not one number and one listed unit, or another dimension; the message
        shows a right example. Nothing is converted, and pint is not loaded, before all of that is settled.

    """
    if not isinstance(text, str):
        raise _refusal(dimension, _bare(text))
    return _read(str(text), dimension)


@lru_cache(maxsize=4096)
def _read(text: str, dimension: Dimension) -> Quantity:
    """Read a text as `read` says; kept, as files and defaults say the same again and again."""
    typed = text.strip()
    found = _parts(text, dimension)
    unit = _unit(found["unit"], text, dimension)
    number = _number(found, text, dimension)
    if number == 0 and dimension != "temperature":
        return Quantity(0.0, typed, dimension)  # nought is nought in any unit: no need to load pint
    scale, offset = _size(unit, dimension)
    value = float(number * Decimal(repr(scale)) + Decimal(repr(offset)))  # so that 6 in and 152.4 mm are one float
    if dimension == "temperature" and value < 0:
        raise Refusal("a temperature must be >= -273.15 degC", shown(text), 'write one such as "20 degC"')
    return Quantity(value, typed, dimension)


def quantity(value_si: float, unit: str, dimension: Dimension) -> Quantity:
    """Return an SI value as a quantity written in `unit`, to ten digits: what `read` makes of that text."""
    return Quantity.of(_from_si(value_si, unit, dimension), unit, dimension)


def is_of_pint(value: object) -> bool:
    """Tell whether a value is a quantity of pint's, of whichever registry."""
    return type(value).__module__.partition(".")[0] == "pint" and hasattr(value, "magnitude")


def pint_magnitude(value: Any, dimension: Dimension) -> Any:
    """Return the number, or the array, that a quantity of pint's is in SI units; Refusal if it is something else."""
    kind = KINDS[dimension]
    try:
        return value.to(kind.si).magnitude
    except Exception as exc:  # pint's errors are TypeErrors, AttributeErrors and some of its own
        raise _refusal(dimension, shown(str(value))) from exc


def in_pint(value_si: Any, unit: str, dimension: Dimension) -> "pint.Quantity[Any]":
    """Return an SI value or array as a quantity of pint's, of its application registry, in a unit typed as in a file.

    Raises
    ------
    Refusal
        If the unit is not one of the dimension's.

    Examples
    --------
    >>> print(in_pint(101325.0, "psi", "pressure").round(2))
    14.7 pound_force_per_square_inch
    """
    import pint

    name = _unit(unit.translate(_SIGNS), unit, dimension)
    return pint.Quantity(value_si, KINDS[dimension].si).to(name)


def display(value_si: float, kind: Dimension, system: System) -> tuple[float, str]:
    """Return the number and the unit label that a reader of this system expects; loads are shown as weights."""
    unit, label = _preferred(kind, system)
    return _from_si(value_si, unit, kind), label


def entry_unit(kind: Dimension, system: System) -> str:
    """Return the unit to type for a kind in this system, as `read` takes it: "psi", "bar"."""
    return _preferred(kind, system)[0]


def example(dimension: Dimension) -> str:
    """Return a right example of a dimension, such as "158 in" for a length."""
    return KINDS[dimension].example


def in_unit_of(value_si: float, typed: Quantity) -> str:
    """Return an SI value written in the unit another quantity was typed in: a limit beside what it limits."""
    unit = _parts(typed.text, typed.dimension)["unit"]
    return f"{_from_si(value_si, unit, typed.dimension):.6g} {unit}"


def spell_fractions(text: str) -> str:
    """Return a text with fractions that are one sign written out.

    Examples
    --------
    >>> spell_fractions("5½ in")
    '5 1/2 in'
    """
    if not text.isascii():
        for sign, digits in _FRACTIONS.items():
            text = re.sub(rf"(?<=\d){sign}", f" {digits}", text).replace(sign, digits)
    return text


def _parts(text: str, dimension: Dimension) -> re.Match[str]:
    """Return a text matched as a number and whatever follows it; refuse what does not begin as a number."""
    if len(text) > LONGEST_TEXT:
        raise _refusal(dimension, f"{shown(text)}, {len(text)} characters long")
    plain = spell_fractions(text).translate(_SIGNS).strip()
    found = _NUMBER.fullmatch(plain)
    if found is None or not plain.isprintable():
        raise _refusal(dimension, shown(text))
    return found


def _from_si(value_si: float, unit: str, dimension: Dimension) -> float:
    """Return an SI value as a number of `unit`."""
    scale, offset = _size_of(unit, dimension)
    return (value_si - offset) / scale


@lru_cache(maxsize=128)
def _size_of(unit: str, dimension: Dimension) -> tuple[float, float]:
    """Return the size and the nought of a unit as it is typed, in SI; a page writes thousands of numbers in a few."""
    return _size(_unit(unit.translate(_SIGNS), unit, dimension), dimension)


def _preferred(kind: Dimension, system: System) -> tuple[str, str]:
    """Return the unit to type and the label to read for a kind in a system."""
    if system not in get_args(System):
        raise Refusal('units must be "us" or "metric"', shown(system), "choose one of the two")
    return KINDS[kind].us if system == "us" else KINDS[kind].metric


def _number(found: re.Match[str], text: str, dimension: Dimension) -> Decimal:
    """Return the number of a matched text; refuse the ones that may mean two things or cannot be meant."""
    plain = found["plain"]
    if found["bottom"]:
        if dimension != "length" or int(found["bottom"]) not in _TAPE:
            raise Refusal(
                "fractions are for lengths only, halves to 64ths as on a tape",
                shown(text),
                "write a decimal such as 5.5",
            )
        number = Decimal(found["whole"] or 0) + Decimal(found["top"]) / Decimal(found["bottom"])
    elif found["grouped"]:
        number = Decimal(found["grouped"].replace(",", ""))
    else:
        if re.fullmatch(r"[1-9]\d{0,2},\d{3}", plain):
            unit = found["unit"]
            both = f'write "{plain.replace(",", "")} {unit}" or "{plain.replace(",", ".")} {unit}"'
            raise Refusal("a comma here may mean thousands or decimals", shown(text), both)
        number = Decimal(plain.replace(",", ".") + (found["exponent"] or ""))
    if number > LARGEST_NUMBER or 0 < number < SMALLEST_NUMBER:
        raise _refusal(dimension, f"{shown(text)}, far too large or too small")
    return -number if found["sign"] == "-" else number


def _unit(typed: str, text: str, dimension: Dimension) -> str:
    """Return pint's name of a typed unit; refuse a missing, unknown or other dimension's unit."""
    name = re.sub(r"\s*([*/()])\s*", r"\1", " ".join(typed.split())).removesuffix(".")
    name = _ANY_CASE.get(name.lower(), name)
    if name in UNITS[dimension]:
        return UNITS[dimension][name]
    if not name:
        raise _refusal(dimension, _bare(text))
    if name.lower() in _TONS and dimension in ("weight", "load"):
        number = text[: len(text) - len(text.lstrip("+-.,/ 0123456789"))].strip() or "3.6"
        three = f'write "{number} short tons" (2000 lb), "{number} long tons" (2240 lb) or "{number} t" (1000 kg)'
        raise Refusal("there are three kinds of ton", shown(text), three)
    other = next((kind for kind in KINDS if name in UNITS[kind]), None)
    if other is not None:
        raise _refusal(dimension, f"{shown(text)} ({KINDS[other].name})")
    raise _refusal(dimension, f"{shown(text)} (unit not known here)")


def _bare(value: object) -> str:
    """Return how a message shows a value that has no unit."""
    is_number = isinstance(value, str | int | float) and not isinstance(value, bool)
    return f"{shown(value)} without a unit" if is_number else shown(value)


def _refusal(dimension: Dimension, got: str) -> Refusal:
    """Return the error for a text that is not a quantity of the wanted dimension."""
    kind = KINDS[dimension]
    units = list(dict.fromkeys(names.split(", ")[0] for names in kind.rows.values()))[:5]
    listed = f"{', '.join(units[:-1])} or {units[-1]}"
    return Refusal(f'expected {kind.name} such as "{kind.example}"', got, f"write a number and {listed}, in quotes")


@cache
def _registry() -> "pint.UnitRegistry[float]":
    """Return pint's registry, built the first time a unit has to be sized that the table does not have."""
    import pint

    return pint.UnitRegistry()


@cache
def _size(unit: str, dimension: Dimension) -> tuple[float, float]:
    """Return (scale, offset) from a listed unit to SI: value = number · scale + offset."""
    known = SIZES.get(dimension, {}).get(unit)
    return size_by_pint(unit, dimension) if known is None else known


def size_by_pint(unit: str, dimension: Dimension) -> tuple[float, float]:
    """Return (scale, offset) from a listed unit to SI as pint knows them."""
    si = KINDS[dimension].si
    nought, thousand = (float(_registry().Quantity(number, unit).to(si).magnitude) for number in (0.0, 1000.0))
    return _tidy((thousand - nought) / 1000), _tidy(nought)


def _tidy(factor: float) -> float:
    """Return 0.45359237 for 0.4535923700000001, which is what multiplying floats through makes of it in pint."""
    rounded = f"{factor:.14g}"
    return float(rounded) if abs(float(rounded) - factor) <= 1e-15 * abs(factor) else factor


@dataclass(frozen=True)
class Reads:
    """Annotation for a record's field: reads text into a `Quantity` of this dimension, writes the text to JSON."""

    dimension: Dimension

    def __get_pydantic_core_schema__(self, source: Any, handler: "GetCoreSchemaHandler") -> core_schema.CoreSchema:
        """Validate text or a quantity; keep the quantity in Python, write its text to JSON."""
        return core_schema.no_info_before_validator_function(
            self.read,
            handler(source),  # carries the bounds of `field: Metre = Field(gt=0)`, which come before this annotation
            serialization=core_schema.plain_serializer_function_ser_schema(
                _text, return_schema=core_schema.str_schema(), when_used="json"
            ),
        )

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: "GetJsonSchemaHandler"
    ) -> dict[str, Any]:
        """Describe the field as text with an example."""
        return {"type": "string", "examples": [example(self.dimension)]}

    def read(self, value: object) -> Quantity:
        """Take a quantity of this dimension as it is; read anything else."""
        if is_of_pint(value):
            magnitude = pint_magnitude(value, self.dimension)
            return quantity(float(magnitude), SI_UNITS[self.dimension], self.dimension)
        if not isinstance(value, Quantity):
            return read(value, self.dimension)
        return value if value.dimension == self.dimension else read(value.text, self.dimension)


def _text(value: Quantity) -> str:
    """Return what was typed."""
    return value.text


if TYPE_CHECKING:
    Given = Quantity | Any  # a record is made with a text or a quantity of pint's, and holds a quantity
else:
    Given = Quantity

Metre = Annotated[Given, Reads("length")]
SquareMetre = Annotated[Given, Reads("area")]
CubicMetre = Annotated[Given, Reads("volume")]
Kilogram = Annotated[Given, Reads("weight")]
Newton = Annotated[Given, Reads("load")]
Pascal = Annotated[Given, Reads("pressure")]
NewtonPerMetre = Annotated[Given, Reads("spring rate")]
NewtonMetrePerRadian = Annotated[Given, Reads("roll rate")]
NewtonMetre = Annotated[Given, Reads("moment")]
Kelvin = Annotated[Given, Reads("temperature")]
CubicMetrePerSecond = Annotated[Given, Reads("free-air flow")]
SonicConductance = Annotated[Given, Reads("sonic conductance")]
Radian = Annotated[Given, Reads("angle")]
Second = Annotated[Given, Reads("time")]


def table_of_sizes() -> dict[str, dict[str, tuple[float, float]]]:
    """Return the table in `planner.units.factors` as pint makes it."""
    return {dimension: {unit: size_by_pint(unit, dimension) for unit in kind.rows} for dimension, kind in KINDS.items()}
