"""The table of dimensions: how each is called, the units it may be typed in, the unit inside, the units shown.

Units on the left are expressions for pint, which knows how large they are; a spelling not on the right is refused.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

Dimension = Literal[
    "length",
    "area",
    "volume",
    "weight",
    "load",
    "pressure",
    "spring rate",
    "roll rate",
    "moment",
    "temperature",
    "free-air flow",
    "sonic conductance",
    "angle",
    "time",
]

_FORCE: Final = {
    "force_pound": "lbf",
    "newton": "N",
    "kilonewton": "kN",
    "force_kilogram": "kgf",
    "decanewton": "daN",
    "kip": "kip",
}
_MASS: Final = {
    "pound": "lb, lbs, pound, pounds",
    "kilogram": "kg",
    "metric_ton": "t, tonne, tonnes, metric ton",
    "gram": "g",
    "ounce": "oz",
    "US_ton": "short ton, short tons, short_ton, US ton",
    "long_ton": "long ton, long tons, long_ton",
}


@dataclass(frozen=True)
class Kind:
    """What is known of one dimension: how it is called, typed, stored and shown."""

    name: str  # with its article
    example: str
    si: str  # pint's name of the unit held inside
    us: tuple[str, str]  # unit to type, label to read
    metric: tuple[str, str]
    rows: Mapping[str, str]  # pint's expression: spellings accepted, the first one shown in messages


KINDS: Final[dict[Dimension, Kind]] = {
    "length": Kind(
        "a length",
        "158 in",
        "meter",
        ("in", "in"),
        ("mm", "mm"),
        {
            "inch": "in, inch, inches",
            "foot": "ft, foot, feet",
            "millimeter": "mm",
            "centimeter": "cm",
            "meter": "m, metre, metres, meter, meters",
            "yard": "yd, yard, yards",
            "kilometer": "km",
        },
    ),
    "area": Kind(
        "an area",
        "48 in**2",
        "meter**2",
        ("in**2", "in²"),
        ("cm**2", "cm²"),
        {
            "inch**2": "in**2, sq in, in2",
            "centimeter**2": "cm**2, cm2",
            "millimeter**2": "mm**2, mm2",
            "meter**2": "m**2, m2",
            "foot**2": "ft**2, sq ft, ft2",
        },
    ),
    "volume": Kind(
        "a volume",
        "310 in**3",
        "meter**3",
        ("gal", "gal"),
        ("L", "L"),
        {
            "inch**3": "in**3, cu in, in3",
            "liter": "L, l, litre, litres, liter, liters, dm**3",
            "gallon": "gal, gallon, gallons, US gal",
            "foot**3": "ft**3, cu ft, ft3",
            "centimeter**3": "cm**3, cm3, cc, mL, ml",
            "meter**3": "m**3, m3",
        },
    ),
    "weight": Kind(
        "a weight",
        "3000 lb",
        "kilogram",
        ("lb", "lb"),
        ("kg", "kg"),
        _MASS | {f"{unit}/standard_gravity": names for unit, names in _FORCE.items()},
    ),
    "load": Kind(
        "a load",
        "5000 lbf",
        "newton",
        ("lb", "lb"),
        ("kg", "kg"),
        _FORCE | {f"{unit}*standard_gravity": names for unit, names in _MASS.items()},
    ),
    "pressure": Kind(
        "a pressure",
        "62 psi",
        "pascal",
        ("psi", "psi"),
        ("bar", "bar"),
        {
            "psi": "psi, psig, lbf/in**2, lb/in**2, lbf/in2, lb/in2",
            "bar": "bar, barg",
            "kilopascal": "kPa",
            "millibar": "mbar, hPa",
            "megapascal": "MPa, N/mm**2",
            "pascal": "Pa, N/m**2",
            "force_kilogram/centimeter**2": "kgf/cm**2, kg/cm**2, kgf/cm2, kg/cm2",
        },
    ),
    "spring rate": Kind(
        "a spring rate",
        "2000 lbf/in",
        "newton/meter",
        ("lbf/in", "lb/in"),
        ("N/mm", "N/mm"),
        {
            "force_pound/inch": "lbf/in, lb/in, lbs/in",
            "newton/millimeter": "N/mm, kN/m",
            "newton/meter": "N/m",
            "force_kilogram/millimeter": "kgf/mm, kg/mm",
            "force_kilogram/centimeter": "kgf/cm",
            "newton/centimeter": "N/cm",
            "force_pound/foot": "lbf/ft, lb/ft",
        },
    ),
    "roll rate": Kind(
        "a roll rate",
        "1200 N*m/deg",
        "newton*meter/radian",
        ("lbf*ft/deg", "lb·ft/deg"),
        ("N*m/deg", "N·m/deg"),
        {
            "newton*meter/degree": "N*m/deg, Nm/deg, N m/deg",
            "force_pound*foot/degree": "lbf*ft/deg, lb*ft/deg, ft*lbf/deg, ft*lb/deg",
            "newton*meter/radian": "N*m/rad, Nm/rad, N m/rad",
            "force_pound*inch/degree": "lbf*in/deg, lb*in/deg, in*lbf/deg, in*lb/deg",
            "force_pound*foot/radian": "lbf*ft/rad, lb*ft/rad",
            "force_pound*inch/radian": "lbf*in/rad, lb*in/rad",
            "kilonewton*meter/degree": "kN*m/deg, kNm/deg",
            "kilonewton*meter/radian": "kN*m/rad, kNm/rad",
        },
    ),
    "moment": Kind(
        "a moment",
        "500 N*m",
        "newton*meter",
        ("lbf*ft", "lb·ft"),
        ("N*m", "N·m"),
        {
            "newton*meter": "N*m, Nm, N m",
            "force_pound*foot": "lbf*ft, lb*ft, ft*lbf, ft*lb, lb-ft, ft-lb",
            "force_pound*inch": "lbf*in, lb*in, in*lbf, in*lb, in-lb",
            "kilonewton*meter": "kN*m, kNm",
            "force_kilogram*meter": "kgf*m",
        },
    ),
    "temperature": Kind(
        "a temperature",
        "20 degC",
        "kelvin",
        ("degF", "°F"),
        ("degC", "°C"),
        {
            "degree_Celsius": "degC, °C, C",
            "degree_Fahrenheit": "degF, °F, F",
            "kelvin": "K",
        },
    ),
    "free-air flow": Kind(
        "a free-air flow",
        "1.8 ft**3/min",
        "meter**3/second",
        ("ft**3/min", "ft³/min"),
        ("L/min", "L/min"),
        {
            "foot**3/minute": "ft**3/min, cfm, scfm, CFM, SCFM, cu ft/min",
            "liter/minute": "L/min, l/min, dm**3/min",
            "liter/second": "L/s, l/s, dm**3/s",
            "meter**3/hour": "m**3/h",
            "meter**3/minute": "m**3/min",
            "meter**3/second": "m**3/s",
        },
    ),
    "sonic conductance": Kind(
        "a sonic conductance",
        "0.5 L/(s*bar)",
        "meter**3/(second*pascal)",
        ("L/(s*bar)", "L/(s·bar)"),
        ("L/(s*bar)", "L/(s·bar)"),
        {
            "liter/(second*bar)": "L/(s*bar), l/(s*bar), dm**3/(s*bar), L/s/bar",
            "liter/(minute*bar)": "L/(min*bar), l/(min*bar), dm**3/(min*bar), L/min/bar",
            "meter**3/(second*pascal)": "m**3/(s*Pa)",
        },
    ),
    "angle": Kind(
        "an angle",
        "2 deg",
        "radian",
        ("deg", "°"),
        ("deg", "°"),
        {"degree": "deg, °, degree, degrees", "radian": "rad", "milliradian": "mrad"},
    ),
    "time": Kind(
        "a time",
        "30 s",
        "second",
        ("s", "s"),
        ("s", "s"),
        {"second": "s, sec, second, seconds", "minute": "min, minute, minutes", "hour": "h, hour, hours"},
    ),
}

UNITS: Final[dict[str, dict[str, str]]] = {
    dimension: {name: unit for unit, names in kind.rows.items() for name in names.split(", ")}
    for dimension, kind in KINDS.items()
}

SI_UNITS: Final[dict[Dimension, str]] = {name: kind.rows[kind.si].split(", ")[0] for name, kind in KINDS.items()}
