"""A bag's chart pasted from a spreadsheet, or typed: a table of loads over height and pressure, as text."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Final, Literal

from planner.errors import Refusal
from planner.records.bag import Chart
from planner.units.quantity import Dimension, Quantity, System, entry_unit, read, shown

Columns = Literal["heights", "pressures"]
MOST_CELLS: Final = 2_000  # no printed chart comes near
WORDS: Final[dict[Dimension, str]] = {
    "length": "a height",
    "pressure": "a pressure",
    "load": "a load",
    "area": "an area",
}
_NUMBER: Final = re.compile(r"(?P<number>[+\-−]?(?:\d[\d.,]*|[.,]\d+))\s*(?P<unit>.*)", re.ASCII | re.DOTALL)
_DECIMAL_COMMA: Final = re.compile(r"[+\-−]?(?:\d*,(?:\d{1,2}|\d{4,})|0,\d+)", re.ASCII)
_GAP: Final = re.compile(r"(?<=\d)['\u2019\u00a0\u2009\u202f ](?=\d{3}(?!\d))")  # between thousands
_WORD: Final = re.compile(r"[^\W\d_][^\s()\[\],;|\\:]*|\"")
_AT: Final = re.compile(r"\d[\d.,]*\s*(?:psig?|bar|kPa|MPa)\b", re.ASCII)


@dataclass(frozen=True)
class ChartTable:
    """A chart as it was read, every value with its unit.

    Attributes
    ----------
    heights, pressures : of the table, rising; no pressure in a table of areas
    values : a row for each pressure, one load per height; or one row of effective areas
    """

    heights: tuple[Quantity, ...]
    pressures: tuple[Quantity, ...]
    values: tuple[tuple[Quantity, ...], ...]

    @property
    def fields(self) -> dict[str, Any]:
        """The fields of a bag, or of a chart of its own, that hold this table."""
        if not self.pressures:
            return {"height": self.heights, "area": self.values[0]}
        if len(self.pressures) == 1:
            return {"height": self.heights, "load": self.values[0], "load_at": self.pressures[0]}
        return {"height": self.heights, "load": self.values, "load_at": self.pressures}


def read_chart(
    typed: str, system: System, *, columns: Columns | None = None, load_at: Quantity | None = None
) -> ChartTable:
    r"""Return the chart that a pasted or typed table says.

    Parameters
    ----------
    typed : str
        Rows of cells parted by tabs, semicolons, else commas, else blanks. Heights stand along one side and pressures
        along the other, with nothing or words in the corner. Two columns, or two rows, are heights and loads at one
        pressure, or heights and areas where those have a unit of area. A unit stands at the number, in the corner, or
        in a row of words ("Height (in)", "Load (lbf)"); without one it is that of the system.
    system : "us" or "metric"
        Of numbers without a unit.
    columns : "heights" or "pressures", optional
        What the first row is. Left out, units tell; without any the side of larger numbers is the pressures in US units
        (psi beside inches) and the heights in metric ones (mm beside bar).
    load_at : Quantity, optional
        The pressure of two columns that say none.

    Returns
    -------
    ChartTable
        With heights and pressures in rising order, whatever the order they were typed in.

    Raises
    ------
    Refusal
        Naming row and column, counted from 1 as a spreadsheet does, what stands there and what to do.

    Examples
    --------
    >>> found = read_chart("\t3 in\t6 in\n20 psi\t1080\t920\n40 psi\t2220\t1890", "us")
    >>> found.heights, found.pressures
    ((<3 in>, <6 in>), (<20 psi>, <40 psi>))
    >>> found.values[1]
    (<2220 lb>, <1890 lb>)
    """
    table, said = _table(typed, system)
    if _starts_as_number(table.rows[0].cells[0].text):
        return _pairs(table, said, load_at)
    return _grid(table, columns)


def write_chart(chart: Chart) -> str:
    r"""Return a chart as a table in text, which `read_chart` reads as the same; empty where it is in another file.

    Examples
    --------
    >>> from planner.records import Bag
    >>> limits = {"least_pressure": "10 psi", "greatest_pressure": "100 psi"}
    >>> write_chart(Bag(fitted_height="6 in", height=("6 in",), load=("2720 lbf",), load_at="100 psi", **limits))
    '; 100 psi\n6 in; 2720 lbf'
    """
    heights = [one.text for one in chart.height or ()]
    if chart.area is not None:
        return "\n".join(f"{height}; {area.text}" for height, area in zip(heights, chart.area, strict=True))
    if chart.load is None or chart.load_at is None:
        return ""
    if not isinstance(chart.load_at, tuple):
        loads = [one.text for one in chart.load if isinstance(one, Quantity)]
        pairs = zip(heights, loads, strict=True)
        return "\n".join([f"; {chart.load_at.text}", *(f"{height}; {load}" for height, load in pairs)])
    rows = zip(chart.load_at, (row for row in chart.load if isinstance(row, tuple)), strict=True)
    lines = (f"{one.text}; {'; '.join(load.text for load in row)}" for one, row in rows)
    return "\n".join([f"; {'; '.join(heights)}", *lines])


@dataclass(frozen=True)
class _Cell:
    """One cell as typed, and where it stands, from 1."""

    text: str
    row: int
    column: int

    @property
    def place(self) -> str:
        return f"row {self.row}, column {self.column}"


@dataclass(frozen=True)
class _Row:
    """The cells of one row."""

    cells: tuple[_Cell, ...]


@dataclass(frozen=True)
class _Table:
    """Rows of as many cells each, units that stand apart from their numbers, and whether a comma is a decimal one."""

    rows: tuple[_Row, ...]
    units: dict[Dimension, str]
    system: System
    decimal_comma: bool

    def read(self, cell: _Cell, dimension: Dimension) -> Quantity:
        """Return what a cell says; Refusal that names its row and column."""
        found = _NUMBER.fullmatch(_together(cell.text))
        if found is None:
            got, remedy = (shown(cell.text), "write a number, or take it out") if cell.text else ("nothing", "fill it")
            raise Refusal(f"{cell.place} must be {WORDS[dimension]}", got, remedy)
        unit = found["unit"].strip() or self.units.get(dimension) or entry_unit(dimension, self.system)
        try:
            value = read(f"{self._number(found['number'], cell)} {unit}", dimension)
        except Refusal as refusal:
            remedy = refusal.remedy.removesuffix(", in quotes")
            raise Refusal(f"{cell.place}: {refusal.rule}", refusal.got, remedy) from None
        if not value > 0:
            raise Refusal(f"{cell.place} must be > 0", shown(cell.text), "check the number")
        return value

    def _number(self, number: str, cell: _Cell) -> str:
        """Return a number as a quantity is read, without commas that part thousands."""
        thousands = re.fullmatch(r"[+\-−]?[1-9]\d{0,2}(?:,\d{3})+(?:\.\d*)?", number)
        if self.decimal_comma:
            if re.fullmatch(r"[+\-−]?[1-9]\d{0,2}(?:\.\d{3})+", number):
                rule = f"{cell.place}: a point before three digits may mean thousands or decimals"
                raise Refusal(rule, shown(cell.text), f'write "{number.replace(".", "")}"')
            return number
        return number.replace(",", "") if thousands and self.system == "us" else number

    def turned(self) -> _Table:
        """Return the table with rows for columns; its cells still say where they stand."""
        columns = zip(*(row.cells for row in self.rows), strict=True)
        return _Table(tuple(_Row(cells) for cells in columns), self.units, self.system, self.decimal_comma)


def _table(typed: str, system: System) -> tuple[_Table, str]:
    """Return the rows that have numbers, and the words of those that have none."""
    rows = [row for row in _rows(typed) if any(cell.text for cell in row.cells)]
    if not rows:
        raise Refusal("a chart needs rows of numbers", "nothing", "paste the table, heights along its first row")
    said = [cell.text for row in rows if not _has_number(row) for cell in row.cells]
    rows = [row for row in rows if _has_number(row)]
    if not rows:
        raise Refusal("a chart needs rows of numbers", shown(said[0]), "paste the numbers too")
    if len(rows) > 1 and len(rows[0].cells) == len(rows[1].cells) - 1:  # no corner was pasted
        moved = (_Cell(one.text, one.row, one.column + 1) for one in rows[0].cells)
        rows[0] = _Row((_Cell("", rows[0].cells[0].row, 1), *moved))
    width = len(rows[0].cells)
    for row in rows:
        if len(row.cells) != width:
            rule = f"row {row.cells[0].row} must have as many cells as the row above the numbers, {width}"
            raise Refusal(rule, f"{len(row.cells)}", "fill the missing cells, or take out the extra ones")
    corner = rows[0].cells[0].text
    words = " ".join([*said, "" if _starts_as_number(corner) else corner])
    numbers = [cell.text for row in rows for cell in row.cells]
    return _Table(tuple(rows), _units(words), system, any(map(_has_decimal_comma, numbers))), words


def _rows(typed: str) -> Iterator[_Row]:
    """Yield the rows of a text, cells without blanks about them and none after the last that says something."""
    lines = typed.replace("\r\n", "\n").replace("\r", "\n").strip("\n").split("\n")
    mark = next((one for one in "\t;|" if one in typed), "," if _commas_part(lines) else "")
    count = 0
    for number, line in enumerate(lines, start=1):
        parted = next(csv.reader([line], delimiter=mark), []) if mark else re.split(r"\s{2,}|(?<=\d)\s+(?=\d)", line)
        texts = [part.strip() for part in parted]
        while texts and not texts[-1]:
            texts.pop()
        count += len(texts)
        if count > MOST_CELLS:
            raise Refusal(f"a chart must have no more than {MOST_CELLS:,} cells", "more", "paste the chart only")
        yield _Row(tuple(_Cell(text, number, column) for column, text in enumerate(texts, start=1)))


def _commas_part(lines: Sequence[str]) -> bool:
    """Tell whether commas part cells: every line has as many, but the first may have one less."""
    counts = [len(next(csv.reader([line]), [])) - 1 for line in lines if re.search(r"\d", line)]
    return bool(counts) and min(counts) > 0 and len(set(counts[1:] or counts)) == 1


def _has_number(row: _Row) -> bool:
    """Tell whether a cell of a row begins as a number."""
    return any(_starts_as_number(cell.text) for cell in row.cells)


def _starts_as_number(text: str) -> bool:
    """Tell whether a cell is a number, with a unit or without."""
    return _NUMBER.fullmatch(_together(text)) is not None


def _together(text: str) -> str:
    """Return a number without blanks between its thousands."""
    return _GAP.sub("", text.strip())


def _has_decimal_comma(text: str) -> bool:
    """Tell whether a cell has a comma that can only be a decimal one."""
    found = _NUMBER.fullmatch(_together(text))
    return found is not None and _DECIMAL_COMMA.fullmatch(found["number"]) is not None


def _units(words: str) -> dict[Dimension, str]:
    """Return the units that words name, by dimension; "in" before another unit is a word."""
    found: dict[Dimension, str] = {}
    parts = [part.rstrip("/.") for part in _WORD.findall(words)]
    for part, following in pairwise([*parts, ""]):
        if part == "in" and _dimension(following) is not None:
            continue
        dimension = _dimension(part)
        if dimension is not None:
            found.setdefault(dimension, part)
    return found


def _dimension(unit: str) -> Dimension | None:
    """Return what a unit is of; None if it is no unit of a chart."""
    for dimension in WORDS:
        try:
            read(f"1 {unit}", dimension)
        except Refusal:
            continue
        return dimension
    return None


def _own_dimension(cells: Sequence[_Cell]) -> Dimension | None:
    """Return what the units at the numbers of some cells are of; None where none has a unit."""
    for cell in cells:
        found = _NUMBER.fullmatch(_together(cell.text))
        if found is not None and found["unit"].strip():
            return _dimension(found["unit"].strip())
    return None


def _pairs(table: _Table, said: str, load_at: Quantity | None) -> ChartTable:
    """Return a chart of two columns, or two rows: heights, and loads or areas."""
    if len(table.rows[0].cells) != 2 and len(table.rows) == 2:
        table = table.turned()
    first = table.rows[0].cells[0]
    if len(table.rows[0].cells) != 2:
        remedy = "leave it empty, heights along the first row, pressures down the first column"
        raise Refusal(f"{first.place} is the corner of the table and must be no number", shown(first.text), remedy)
    heights, values = (tuple(row.cells[i] for row in table.rows) for i in (0, 1))
    areas = (_own_dimension(values) or ("area" if "area" in table.units else "load")) == "area"
    pressures: tuple[Quantity, ...] = ()
    if not areas:
        at = _AT.search(said)
        load_at = read(at[0], "pressure") if at is not None else load_at
        if load_at is None:
            remedy = 'say it, such as "100 psi", or paste a column for each pressure'
            raise Refusal("loads need the pressure they were measured at", "none", remedy)
        pressures = (load_at,)
    row = tuple(table.read(cell, "area" if areas else "load") for cell in values)
    return _sorted(tuple(table.read(cell, "length") for cell in heights), pressures, (row,), heights, ())


def _grid(table: _Table, columns: Columns | None) -> ChartTable:
    """Return a chart with heights along one side and pressures along the other."""
    across, down = table.rows[0].cells[1:], tuple(row.cells[0] for row in table.rows[1:])
    if not across or not down:
        rule = "a chart needs heights along one side and pressures along the other"
        raise Refusal(rule, f"{len(down)} rows of {len(across)} numbers", "paste its first row and first column too")
    if (columns or _first_row(table, across, down)) == "pressures":
        table = table.turned()
        across, down = down, across
    values = tuple(tuple(table.read(cell, "load") for cell in row.cells[1:]) for row in table.rows[1:])
    heights = tuple(table.read(cell, "length") for cell in across)
    return _sorted(heights, tuple(table.read(cell, "pressure") for cell in down), values, across, down)


def _first_row(table: _Table, across: Sequence[_Cell], down: Sequence[_Cell]) -> Columns:
    """Return what the first row of a table is, by units, else by size: psi beside inches, mm beside bar."""
    units = _own_dimension(across), _own_dimension(down)
    if "pressure" in (units[0],) or "length" in (units[1],):
        return "pressures"
    if units != (None, None):
        return "heights"
    largest = [max(_size(cell, table.decimal_comma) for cell in cells) for cells in (across, down)]
    return "pressures" if (largest[0] > largest[1]) == (table.system == "us") else "heights"


def _size(cell: _Cell, decimal_comma: bool) -> float:
    """Return the bare number of a cell, or nought."""
    found = _NUMBER.fullmatch(_together(cell.text))
    number = "" if found is None else found["number"].replace(",", "." if decimal_comma else "")
    try:
        return float(number)
    except ValueError:
        return 0.0


def _sorted(
    heights: tuple[Quantity, ...],
    pressures: tuple[Quantity, ...],
    values: tuple[tuple[Quantity, ...], ...],
    across: Sequence[_Cell],
    down: Sequence[_Cell],
) -> ChartTable:
    """Return a chart with heights and pressures rising; Refusal where one is there twice."""
    for numbers, cells in ((heights, across), (pressures, down)):
        seen: dict[float, str] = {}
        for value, cell in zip(numbers, cells, strict=False):
            if float(value) in seen:
                rule = f"{cell.place} must differ from {seen[float(value)]}"
                raise Refusal(rule, shown(cell.text), "take one of the two out")
            seen[float(value)] = cell.place
    order = sorted(range(len(heights)), key=lambda i: heights[i])
    rows = sorted(range(len(values)), key=lambda i: pressures[i]) if pressures else [0]
    return ChartTable(
        tuple(heights[i] for i in order),
        tuple(pressures[i] for i in rows) if pressures else (),
        tuple(tuple(values[row][i] for i in order) for row in rows),
    )
