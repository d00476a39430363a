"""Numbers as people write them, "7,200", "7 200" and 1' 8", turned into the plain text that `read` takes.

A file holds plain text only; here is what a field or a question in a terminal takes besides. Wherever the digits could
have been meant otherwise, or are written out anew, a note says what they were taken as.
"""

import re
from decimal import Decimal
from typing import Final, NamedTuple, get_args

from planner.units.dimensions import UNITS, Dimension
from planner.units.quantity import LONGEST_TEXT, Quantity, Refusal, System, entry_unit, read, shown, spell_fractions

_GROUPED_IN: Final[frozenset[Dimension]] = frozenset({"weight", "load", "spring rate", "roll rate", "moment"})
_WEIGHED: Final[frozenset[Dimension]] = frozenset({"weight", "load"})
_US_WORDS: Final = ("inch", "foot", "yard", "pound", "psi", "ounce", "US_ton", "kip", "gallon", "Fahrenheit")
_SIGNS: Final = str.maketrans(
    {"−": "-", "\u00a0": " ", "\u2009": " ", "\u202f": " ", "′": "'", "’": "'", "″": '"', "”": '"'}
)
_NUMBER: Final = re.compile(
    r"(?P<sign>[+-]?)(?P<digits>\d[\d., ]*\d|\d)(?![\d.,/+-])\s*(?P<unit>(?![eE][+-]?\d)[^\d\s].*)?", re.ASCII
)
_SPACES: Final = re.compile(r"\d{1,3}(?: \d{3})+(?:[.,]\d+)?", re.ASCII)
_POINTS: Final = re.compile(r"\d{1,3}(?:(?:\.\d{3}){2,}(?:,\d+)?|\.\d{3},\d+)", re.ASCII)
_ONE_COMMA: Final = re.compile(r"[1-9]\d{0,2},\d{3}", re.ASCII)
_ONE_POINT: Final = re.compile(r"[1-9]\d{0,2}\.\d{3}", re.ASCII)
_DECIMAL_COMMA: Final = re.compile(r"\d+,\d+", re.ASCII)
_FEET: Final = re.compile(
    r"""(?P<sign>[+-]?)\s*
    (?: (?P<feet>\d{1,4})\s*(?:ft\.?|foot|feet|') [ ,-]* )?
    (?: (?P<inches>\d{1,4}(?:[.,]\d+)?) (?!/) | (?:(?P<whole>\d{1,4})[ -])? (?P<top>\d{1,3})/(?P<bottom>\d{1,2}) )?
    \s*(?P<mark>in\.?|inch|inches|"|'')?""",
    re.VERBOSE | re.ASCII | re.IGNORECASE,
)
_TON: Final = re.compile(r"(?P<number>[\d.,\s]+?)\s*(?:ton|tons|tonf)\.?", re.ASCII | re.IGNORECASE)


class Written(NamedTuple):
    """A quantity as it was written.

    Attributes
    ----------
    value : with the plain text that goes into a file
    note : "taken as 7,200 lb" where the reading was a choice or the text was written anew; else empty
    """

    value: Quantity
    note: str = ""


def read_written(text: str, dimension: Dimension, system: System) -> Written:
    r"""Return what a text says, and what it was taken as where it could have been meant otherwise.

    Parameters
    ----------
    text : str
        A number with or without a unit; without one it is in the system's.
    dimension : Dimension
    system : "us" or "metric"

    Returns
    -------
    Written
        Its value reads back from its own text. Without a note it is what `read` makes of the text as it stands.

    Raises
    ------
    Refusal
        If it cannot be read, or may be meant in two ways that a note would not settle ("7,200 kg", "3.6 tons").

    Examples
    --------
    >>> read_written("7,200", "weight", "us")
    Written(value=<7200 lb>, note='taken as 7,200 lb')
    >>> read_written("1' 8 1/2\"", "length", "us")
    Written(value=<20.5 in>, note='taken as 20.5 in')
    >>> read_written("4,3 bar", "pressure", "metric")
    Written(value=<4,3 bar>, note='')
    """
    typed = spell_fractions(text).translate(_SIGNS).strip()
    if len(typed) <= LONGEST_TEXT and dimension == "length" and (lengths := _feet_and_inches(typed)):
        return Written(read(lengths, dimension), f"taken as {lengths}")
    found = _NUMBER.fullmatch(typed) if len(typed) <= LONGEST_TEXT else None
    if found is None:
        return Written(read(_with_unit(text.strip(), dimension, system), dimension))
    unit = found["unit"] or entry_unit(dimension, system)
    digits, chosen = _digits(found["digits"], dimension, system, unit)
    if not chosen:
        return Written(read(f"{text.strip()} {unit}" if not found["unit"] else text.strip(), dimension))
    plain = digits if digits != found["digits"].replace(",", ".") else found["digits"]
    value = read(f"{found['sign']}{plain} {unit}", dimension)
    return Written(value, f"taken as {found['sign']}{_grouped(digits, system)} {unit}")


def system_of_unit(unit: str, dimension: Dimension) -> System | None:
    """Return the system a unit belongs to, as it is typed; None where it is none of the dimension's."""
    units = UNITS[dimension]
    name = units.get(unit, units.get(unit.lower(), ""))
    if not name:
        return None
    return "us" if any(word in name for word in _US_WORDS) else "metric"


def system_of_quantity(text: str, dimension: Dimension | None = None) -> System | None:
    """Return the system that a text's unit belongs to, of a dimension or of any; None where it names no unit known."""
    unit = re.sub(r"^[\s\d.,/+\-−eE]*", "", text[:LONGEST_TEXT]).strip()
    found = (system_of_unit(unit, one) for one in ([dimension] if dimension else get_args(Dimension)))
    return next((one for one in found if one is not None), None) if unit else None


def ton_readings(text: str) -> tuple[str, str, str] | None:
    """Return what a number of "tons" may be, short, long and metric, as texts to choose from; None if it is none.

    Examples
    --------
    >>> ton_readings("3.6 tons")
    ('3.6 short tons', '3.6 long tons', '3.6 t')
    """
    found = _TON.fullmatch(text.translate(_SIGNS).strip())
    if found is None:
        return None
    number = found["number"].strip()
    return f"{number} short tons", f"{number} long tons", f"{number} t"


def _with_unit(text: str, dimension: Dimension, system: System) -> str:
    """Return a text with the system's unit behind it where it has none."""
    return text if re.search(r"[^\d.,/ +\-−]", text) or not text else f"{text} {entry_unit(dimension, system)}"


def _digits(digits: str, dimension: Dimension, system: System, unit: str) -> tuple[str, bool]:
    """Return digits with a decimal point and nothing else, and whether that was a choice to tell of."""
    if _SPACES.fullmatch(digits):
        return digits.replace(" ", "").replace(",", "."), True
    if _POINTS.fullmatch(digits):
        return digits.replace(".", "").replace(",", "."), True
    in_us = system_of_unit(unit, dimension) == "us"
    if _ONE_COMMA.fullmatch(digits):
        taken = in_us and dimension in _GROUPED_IN
        return digits.replace(",", "") if taken else digits, taken
    if _ONE_POINT.fullmatch(digits):
        return digits, dimension in _WEIGHED
    if _DECIMAL_COMMA.fullmatch(digits):
        return digits.replace(",", "."), in_us and system == "us"
    return digits, False


def _grouped(digits: str, system: System) -> str:
    """Return plain digits as a reader of the system has them, without noughts that say nothing."""
    number = Decimal(digits)
    whole = number.to_integral_value()
    text = f"{whole:,f}" if number == whole else f"{number.normalize():,f}"
    return text if system == "us" else text.replace(",", " ")


def _feet_and_inches(typed: str) -> str:
    """Return feet and inches, or a length with a mark, as plain text in one unit; empty where it is neither."""
    found = _FEET.fullmatch(typed)
    if found is None or (found["feet"] is None and found["mark"] not in ('"', "''")):
        return ""
    if found["inches"] is None and found["top"] is None:
        return f"{found['sign']}{found['feet']} ft" if "'" in typed and not found["mark"] else ""
    inches = _inches(found, typed)
    if found["feet"] is None:
        return f"{typed[: found.start('mark')].rstrip()} in"
    if inches >= 12:
        total = _short(12 * Decimal(found["feet"]) + inches)
        raise Refusal("inches after feet must be < 12", shown(typed), f'write "{total} in" if you mean that')
    return f"{found['sign']}{_short(12 * Decimal(found['feet']) + inches)} in"


def _inches(found: re.Match[str], typed: str) -> Decimal:
    """Return the inches of a match."""
    if found["inches"] is not None:
        return Decimal(found["inches"].replace(",", "."))
    if int(found["bottom"]) not in (2, 4, 8, 16, 32, 64):
        raise Refusal("fractions run from halves to 64ths, as on a tape", shown(typed), "write a decimal such as 5.5")
    return Decimal(found["whole"] or 0) + Decimal(found["top"]) / Decimal(found["bottom"])


def _short(number: Decimal) -> str:
    """Return a number without noughts that say nothing."""
    return f"{number.normalize():f}"
