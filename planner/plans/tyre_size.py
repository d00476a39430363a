"""A tyre's size as a sidewall or a door label prints it, and what it says: radius, width, rim, load, pressure."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final, Literal

from planner.errors import Refusal
from planner.plans import load_index
from planner.units.quantity import shown

Service = Literal["passenger", "light truck", "trailer", "commercial"]
Construction = Literal["radial", "bias", "belted"]

INCH: Final = 0.0254  # m
LONGEST: Final = 60  # characters
CAR_TYRE_ON_A_TRUCK: Final = 1.10  # its rating is divided by this: 49 CFR 571.110 S4.2.2.2, 571.120 S5.1.2
HEIGHT_SPREAD: Final = 0.02  # of the section height; -3 to +4 % may be: UN Regulation No. 54, 6.1.4 (from memory)
FLOTATION_SPREAD: Final = 0.01  # of the radius; tyres stand a little less than their name: common practice
# Section height over width of sizes that do not print it, and its spread: rims of 16.5 in, other half inches, small
# trailer rims, the rest. UN Regulation No. 54, Annex 5 (from memory): 8.75R16.5 748 mm, 11R22.5 1050, 7.50R16 802.
UNPRINTED_ASPECT: Final = {"16.5": (0.74, 0.02), "half": (0.87, 0.025), "small": (0.87, 0.03), "whole": (1.04, 0.04)}

EXAMPLES: Final = "LT245/75R16 120/116S E, 265/70R17 115T, 35x12.50R17LT or 225/70R19.5"
_CHARACTERS: Final = str.maketrans(
    {"×": "X", "*": "X", "−": "-", "–": "-", "\u00a0": " ", "\u2009": " ", "\u202f": " "}
)
_PLY: Final[dict[str, Construction]] = {"R": "radial", "ZR": "radial", "D": "bias", "-": "bias", "B": "belted"}
_PREFIX: Final = r"(?P<prefix>LT|ST|P)?\s*"
_RIM: Final = r"\s*(?P<rim>\d{1,2}(?:\.5|\.0)?)(?!\d)\s*(?P<suffix>LT|ST|C(?![A-Z]))?"
_METRIC: Final = re.compile(
    _PREFIX + r"(?P<width>\d{3})\s*[/ ]\s*(?P<aspect>\d{2,3})\s*(?P<ply>ZR|R|D|B|-|/|(?<=\d)\s)" + _RIM
)
_FLOTATION: Final = re.compile(
    _PREFIX
    + r"(?P<tall>\d{2}(?:\.\d{1,2})?)\s*[X/]\s*(?P<wide>\d{1,2}(?:\.\d{1,2})?)\s*(?P<ply>R|D|B|-|X|/|(?<=\d)\s)"
    + _RIM
)
_NUMERIC: Final = re.compile(_PREFIX + r"(?P<wide>\d{1,2}(?:\.\d{1,2})?)\s*(?P<ply>R|D|B|-)" + _RIM)
_INDEX: Final = re.compile(r"\(?(?P<single>\d{2,3})(?:/(?P<dual>\d{2,3}))?\)?(?P<speed>\(?[A-Y]\d?)?\)?")
_RANGE: Final = re.compile(r"(?<![A-Z])(?:LOAD RANGE|LOADRANGE|L\.?R\.?)\s*(?P<range>[A-N])(?![A-Z])")
_NO_MATTER: Final = re.compile(r"M\+?/?S|3PMSF|TL|TT|TUBELESS|TUBE|TYPE|BSW|OWL|RWL|RBL|DOT|RADIAL|BIAS")
_PLIES: Final = re.compile(r"\b\d{1,2}\s*-?\s*(?:PR|PLY)\b")  # a ply rating says no more than the load range
_EXTRA: Final = ("XL", "RF", "RFD", "REINFORCED", "EXTRA LOAD")
_RANGES: Final = frozenset("BCDEFGHJLMN")
_SPEEDS: Final = frozenset("HJKLMNPQRSTUVWY")


@dataclass(frozen=True)
class TyreSize:
    """What a tyre's printed size says of it.

    Attributes
    ----------
    text : as it was read, tidied
    service : what kind of tyre it is
    construction : of its plies; None where that is not printed
    section_width, rim_diameter, unloaded_radius : nominal [m]
    radius_spread : one standard deviation of the radius [m]
    index : load index of a tyre that stands alone, and of one of a pair where that is printed
    load_range : letter, or "SL" and "XL" of passenger tyres; None where it is not printed
    aspect_printed : whether the size prints its height, so that the radius is no guess
    notes : what its owner should know, a sentence each
    """

    text: str
    service: Service
    construction: Construction | None
    section_width: float
    rim_diameter: float
    unloaded_radius: float
    radius_spread: float
    index: tuple[int, ...] = ()
    load_range: str | None = None
    aspect_printed: bool = True
    notes: tuple[str, ...] = ()

    @property
    def single_load(self) -> float | None:
        """What one tyre that stands alone may carry, as printed [N]; None without an index."""
        return load_index.load_of_index(self.index[0]) if self.index else None

    @property
    def dual_load(self) -> float | None:
        """What one tyre of a pair may carry, as printed [N]; None without the second index."""
        return load_index.load_of_index(self.index[1]) if len(self.index) > 1 else None

    @property
    def cold_pressure(self) -> float | None:
        """The gauge pressure at which it carries that [Pa]; None where its load range does not fix it."""
        found: dict[str, int] = {}
        if self.service == "light truck":
            wide = self.section_width > load_index.WIDE_SECTION + 1e-9
            found = load_index.WIDE_LIGHT_TRUCK if wide else load_index.LIGHT_TRUCK
        elif self.service == "trailer":
            found = load_index.TRAILER
        elif self.service == "passenger":
            if self.text.startswith("P"):
                found = load_index.P_METRIC
            elif self.index:  # without letters and an index it may be a light truck's whose LT was left out
                found = load_index.ISO_METRIC
        psi = found.get(self.load_range or "")
        return None if psi is None else psi * load_index.PSI

    def load_rating(self, per_side: int) -> float | None:
        """Return what one tyre may carry on a truck or a trailer, one or two a side [N]; None where it is not printed.

        A passenger tyre's rating is divided by 1.10 there (49 CFR 571.110 S4.2.2.2).

        Raises
        ------
        Refusal
            If there are not one or two tyres a side.

        Examples
        --------
        >>> size = read_tyre_size("LT245/75R16 120/116S E")
        >>> round(size.load_rating(1) / 9.80665), round(size.load_rating(2) / 9.80665)
        (1400, 1250)
        """
        if per_side not in (1, 2):
            raise Refusal("must be 1 or 2 tyres a side", f"{per_side}", "2 is for dual wheels")
        printed = self.single_load if per_side == 1 else self.dual_load
        if printed is None:
            return None
        return printed / CAR_TYRE_ON_A_TRUCK if self.service == "passenger" else printed


def read_tyre_size(text: str) -> TyreSize:
    """Return what a printed tyre size says: lengths [m], loads [N], pressure [Pa].

    Parameters
    ----------
    text : str
        ISO metric (``265/70R17``, ``LT245/75R16 120/116S E``, ``225/75R16C 121/120R``), flotation
        (``35x12.50R17LT``) or numeric (``9.50R16.5LT``, ``7.50-16``), with what stands behind it: load index single
        or single/dual, speed symbol, load range. Capital letters, spaces, × or x, comma or point do not matter.

    Raises
    ------
    Refusal
        With the part that was not understood and right examples.

    Notes
    -----
    Metric: radius = rim/2 + width · aspect. Flotation sizes print the whole diameter. Numeric sizes print no height;
    it is then typical, with a wide spread, and the radius is better measured.

    References
    ----------
    ISO 4000-1 and ISO 4223-1 for the designations; 49 CFR 571.139 S5.5 for what is printed on a sidewall (from memory).

    Examples
    --------
    >>> size = read_tyre_size("lt 265/75 r16 123/120q e")
    >>> round(size.unloaded_radius, 3), size.load_range, round(size.single_load / 9.80665)
    (0.402, 'E', 1550)
    """
    if len(text) > LONGEST:
        raise _not_read(text, text)
    tidy = " ".join(re.sub(r"(?<=\d),(?=\d)", ".", text.translate(_CHARACTERS).upper()).split())
    for pattern in (_METRIC, _FLOTATION, _NUMERIC):
        if found := pattern.match(tidy):
            return _size(found, _Behind.read(tidy[found.end() :], text), text)
    raise _not_read(text, text)


@dataclass
class _Behind:
    """What is printed behind the size: index, load range, extra load."""

    index: tuple[int, ...] = ()
    load_range: str | None = None
    extra: bool = False

    @classmethod
    def read(cls, rest: str, text: str) -> _Behind:
        """Return what stands behind the size; Refusal with the first part that is nothing known."""
        found = cls()
        if named := _RANGE.search(rest):
            found.load_range = named["range"]
            rest = rest[: named.start()] + " " + rest[named.end() :]
        rest = _PLIES.sub(" ", rest.replace("EXTRA LOAD", "XL"))
        awaits_speed = False
        for part in re.sub(r"\s*/\s*(?=\d)", "/", rest).split():
            awaits_speed = found._take(part.strip("/"), awaits_speed, text)
        return found

    def _take(self, part: str, awaits_speed: bool, text: str) -> bool:
        """Take one part in; return whether a speed symbol may be next."""
        indexed = _INDEX.fullmatch(part)
        speed = part in _SPEEDS and awaits_speed
        if part in _EXTRA:
            self.extra = True
        elif speed or part in ("", "SL", "STANDARD", "LOAD") or _NO_MATTER.fullmatch(part):
            pass
        elif part in _RANGES and self.load_range is None:
            self.load_range = part
        elif indexed and not self.index:
            self.index = tuple(int(one) for one in (indexed["single"], indexed["dual"]) if one)
            self._refuse_odd_index(text)
            return indexed["speed"] is None
        else:
            raise _not_read(part, text)
        return False

    def _refuse_odd_index(self, text: str) -> None:
        """Refuse an index that is none, or a pair that carries more a tyre than one alone."""
        for one in self.index:
            load_index.load_of_index(one)
        if len(self.index) > 1 and self.index[1] > self.index[0]:
            rule = "a tyre of a pair may not carry more than a single one: the first index is the single one"
            raise Refusal(rule, shown(text), f"write {self.index[1]}/{self.index[0]}, or look at the sidewall again")


def _size(found: re.Match[str], behind: _Behind, text: str) -> TyreSize:
    """Return the size of a match and of what stands behind it."""
    parts = found.groupdict()
    width, radius, spread, notes = _shape(parts, text)
    if parts["suffix"] == "C" and (parts["prefix"] or parts.get("tall")):  # of those sizes it is a load range
        parts["suffix"], behind.load_range = None, "C"
    service = _service(parts, behind)
    load_range = behind.load_range
    if service == "passenger":
        load_range = "XL" if behind.extra else "SL"
    tail = " ".join(found.string[found.end() :].split())
    return TyreSize(
        text=f"{found.group().strip()} {tail}".strip(),
        service=service,
        construction=_PLY.get(parts["ply"]),
        section_width=width,
        rim_diameter=float(parts["rim"]) * INCH,
        unloaded_radius=radius,
        radius_spread=spread,
        index=behind.index,
        load_range=load_range,
        aspect_printed=bool(parts.get("width") or parts.get("tall")),
        notes=(*notes, *_load_notes(service, behind.index)),
    )


def _shape(parts: dict[str, str | None], text: str) -> tuple[float, float, float, tuple[str, ...]]:
    """Return section width, unloaded radius and its spread [m], and notes."""
    rim = float(parts["rim"] or 0) * INCH
    _require(8 * INCH <= rim <= 30 * INCH, f"rim {parts['rim']}", "8 to 30 in", text)
    if parts.get("width"):
        width, aspect = float(parts["width"] or 0) / 1000, float(parts["aspect"] or 0) / 100
        _require(0.1 <= width <= 0.5, f"width {parts['width']}", "100 to 500 mm", text)
        _require(0.25 <= aspect <= 1.0, f"height {parts['aspect']}", "25 to 100 % of the width", text)
        return width, rim / 2 + width * aspect, HEIGHT_SPREAD * width * aspect, ()
    width = float(parts["wide"] or 0) * INCH
    _require(3 * INCH <= width <= 20 * INCH, f"width {parts['wide']}", "3 to 20 in", text)
    if parts.get("tall"):
        radius = float(parts["tall"] or 0) * INCH / 2
        _require(radius >= rim / 2 + INCH, f"diameter {parts['tall']}", f"larger than its rim, {parts['rim']} in", text)
        return width, radius, FLOTATION_SPREAD * radius, ()
    aspect, spread = UNPRINTED_ASPECT[_rim_kind(parts["rim"] or "")]
    note = "The size does not print the tyre's height: the radius is typical. Measure from ground to top and halve it."
    return width, rim / 2 + width * aspect, width * spread, (note,)


def _rim_kind(rim: str) -> str:
    """Return which typical height a numeric size on such a rim has."""
    if rim == "16.5":
        return "16.5"
    if float(rim) < 15:
        return "small"
    return "half" if rim.endswith(".5") else "whole"


def _service(parts: dict[str, str | None], behind: _Behind) -> Service:
    """Return what kind of tyre it is, by the letters before and behind the size, its rim and its index."""
    letters = {parts["prefix"], parts["suffix"]}
    if "ST" in letters:
        return "trailer"
    if "LT" in letters:
        return "light truck"
    metric = parts.get("width") is not None
    if not metric:
        return "light truck" if parts.get("tall") else "commercial"
    if "C" in letters or (parts["rim"] or "").endswith(".5"):
        return "commercial"
    lettered = len(behind.index) > 1 or behind.load_range is not None  # as only light trucks' are: LT was left out
    return "light truck" if lettered and parts["prefix"] != "P" else "passenger"


def _load_notes(service: Service, index: tuple[int, ...]) -> tuple[str, ...]:
    """Return what is to be known of the load rating."""
    if not index:
        return ("No load index is printed here: type the load of one tyre from its sidewall or the door label.",)
    notes = ["Where the sidewall prints a load in lb or kg, that number counts; it may be 1 or 2 % less."]
    if service == "passenger":
        notes.append("A passenger tyre carries its rating divided by 1.10 on a truck or a trailer (49 CFR 571.110).")
    return tuple(notes)


def _require(holds: bool, what: str, rule: str, text: str) -> None:
    """Refuse a number of the size that no tyre has."""
    if not holds:
        raise Refusal(f"a tyre's {what} must be {rule}", shown(text), f"write it as printed, such as {EXAMPLES}")


def _not_read(part: str, text: str) -> Refusal:
    """Return the error for a part that is nothing known."""
    whole = "a tyre size was not understood" if part == text else f"{shown(part)} is not known after a tyre size"
    return Refusal(whole, shown(text), f"write it as printed, such as {EXAMPLES}")
