"""The air bag of an axle: its chart, its volume, what it may be asked to do; and charts in files of their own."""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Annotated, Any, Final, Self

from pydantic import (
    Discriminator,
    Field,
    SerializationInfo,
    SerializerFunctionWrapHandler,
    Tag,
    model_serializer,
)

from planner.records.base import FOR_A_FILE, SHAPES, Broken, Record, lacking, rule
from planner.records.fields import Length, Load, Name, Pressure
from planner.records.file_header import Filed
from planner.units.quantity import CubicMetre, Quantity, Refusal, SquareMetre, in_unit_of

ONE, LIST, ROW, ROWS = SHAPES
VOLUME_AGREES: Final = 0.10  # by how much volumes and areas of one chart may differ
TYPICAL_SLOPE: Final = -2.0  # [1/m] of area over height: convoluted bags lose some 3 a metre, sleeves 1 (from memory)
TYPICAL_ENDS: Final = (0.6, 1.35)  # [-] of fitted height: half way from solid and to the limp bag (common practice)

Height = Annotated[Length, Field(le=2)]
Area = Annotated[SquareMetre, Field(gt=0, le=1)]
Volume = Annotated[CubicMetre, Field(gt=0, le=1)]
Charted = Annotated[Pressure, Field(gt=0)]


def _rows_or_row(value: object) -> str:
    """Tell a list of lists from a list."""
    several = isinstance(value, list | tuple) and any(isinstance(one, list | tuple) for one in value)
    return ROWS if several else ROW


def _list_or_one(value: object) -> str:
    """Tell a list from one value."""
    return LIST if isinstance(value, list | tuple) else ONE


Loads = Annotated[
    Annotated[tuple[Load, ...], Tag(ROW)] | Annotated[tuple[tuple[Load, ...], ...], Tag(ROWS)],
    Discriminator(_rows_or_row),
]
Pressures = Annotated[
    Annotated[Charted, Tag(ONE)] | Annotated[tuple[Charted, ...], Tag(LIST)], Discriminator(_list_or_one)
]

if TYPE_CHECKING:  # what a chart of its own may say is there once it is filled in; `whole` says whether it is
    Heights = tuple[Height, ...]
    LimitPressure = Pressure
else:
    Heights = tuple[Height, ...] | None
    LimitPressure = Pressure | None
LEFT_OUT: Final[Any] = Field(default=None)


class Chart(Record):
    """What a maker prints of a bag: area or load over height, at one pressure or at several, and its limits."""

    height: Heights = LEFT_OUT  # one is enough: slope and ends are then typical
    area: tuple[Area, ...] | None = None  # effective, at each height
    load: Loads | None = None  # or the load at each height; a row for each pressure, where there are several
    load_at: Pressures | None = None  # and the pressure at which it was measured, or the pressures
    # at fitted height, with its fittings; typical if left out
    volume: Annotated[Volume | None, Field(title="Volume at fitted height")] = None
    volumes: tuple[Volume, ...] | None = None  # at each height, if the maker gives it
    least_pressure: Annotated[LimitPressure, Field(title="Least pressure")] = LEFT_OUT
    greatest_pressure: Annotated[LimitPressure, Field(title="Greatest pressure")] = LEFT_OUT
    load_rating: Annotated[Load | None, Field(title="Load rating of the bag")] = None

    @property
    def pressures(self) -> tuple[float, ...]:
        """Gauge pressure of each row of a chart of several [Pa]; empty where there is one row."""
        return tuple(float(one) for one in self.load_at) if isinstance(self.load_at, tuple) else ()

    @property
    def charted_areas(self) -> tuple[tuple[float, ...], ...]:
        """Effective area at each height as charted [m²], a row for each pressure: as given, or load over pressure."""
        if self.area is not None:
            return (tuple(float(one) for one in self.area),)
        if self.pressures:
            pairs = zip(self.load or (), self.pressures, strict=False)
            return tuple(tuple(one / at for one in row) for row, at in pairs if isinstance(row, tuple))
        at: Any = self.load_at or float("nan")
        return (tuple(one / at for one in self.load or () if not isinstance(one, tuple)),)

    @property
    def heights(self) -> tuple[float, ...]:
        """Heights that areas are known at [m]."""
        return tuple(float(one) for one in self.height or ())

    @property
    def area_rows(self) -> tuple[tuple[float, ...], ...]:
        """Effective area at each of `heights` [m²], a row for each of `pressures`, or one."""
        return self.charted_areas

    @rule
    def _chart_is_areas_or_loads(self) -> Iterator[Broken]:
        """Require one way to give the chart, and all of it."""
        area, load, load_at = self.area, self.load, self.load_at
        if area is not None and (load is not None or load_at is not None):
            yield ("area",), Refusal("a chart has area, or load with load_at", "both", "take one of them out")
        elif load is not None and load_at is None and not _elsewhere(self):
            yield ("load_at",), Refusal("a chart of loads needs load_at", "nothing", 'add load_at = "100 psi"')
        elif area is None and load is None and not _elsewhere(self):
            yield (
                ("area",),
                Refusal("a chart needs area, or load with load_at", "neither", "add area, one per height"),
            )

    @rule
    def _heights_rise(self) -> Iterator[Broken]:
        """Require a chart that runs from the lowest height to the highest."""
        if self.height is not None and not self.height:
            yield ("height",), Refusal("must have at least one point", "none", "add points from the chart")
        yield from _rising("height", self.height or (), "put the chart in order of height, lowest first")

    @rule
    def _areas_match_heights(self) -> Iterator[Broken]:
        """Require one area per height."""
        yield from _as_many(("area",), self.area, self.height)

    @rule
    def _pressures_rise(self) -> Iterator[Broken]:
        """Require rows that run from the lowest pressure to the highest."""
        if isinstance(self.load_at, tuple):
            if not self.load_at:
                yield ("load_at",), Refusal("must have at least one pressure", "none", 'write load_at = "100 psi"')
            yield from _rising("load_at", self.load_at, "put the rows in order of pressure, lowest first")

    @rule
    def _loads_match_heights(self) -> Iterator[Broken]:
        """Require one load per height, in a row for each pressure."""
        if self.area is not None or self.load is None:
            return
        rows = [row for row in self.load if isinstance(row, tuple)]
        if not isinstance(self.load_at, tuple):
            if rows and self.load_at is not None:
                remedy = 'write load_at = ["20 psi", "40 psi"], one for each row'
                yield ("load_at",), Refusal("must be a list when load has rows", f'"{self.load_at.text}"', remedy)
            elif not rows:
                yield from _as_many(("load",), self.load, self.height)
            return
        if len(rows) != len(self.load):
            remedy = 'write load = [["900 lbf"], ["1800 lbf"]], a row for each pressure'
            yield ("load",), Refusal("must have a row for each pressure of load_at", "values without a row", remedy)
            return
        if len(rows) != len(self.load_at):
            got = f"{len(rows)} against {len(self.load_at)}"
            why = "must have as many rows as load_at has pressures"
            yield ("load",), Refusal(why, got, "add the missing rows or take out the extra ones")
        for i, row in enumerate(rows):
            yield from _as_many(("load", i), row, self.height)

    @rule
    def _load_rises_with_pressure(self) -> Iterator[Broken]:
        """Require rows between which a load belongs to one pressure, at every height.

        The area is read straight between two rows. The load, pressure times that, then rises all the way where the
        upper area is more than p_upper / (2 p_upper - p_lower) of the lower one: a little more than the lower load.
        """
        if not self.pressures or not isinstance(self.load, tuple):
            return
        rows = [row for row in self.load if isinstance(row, tuple)]
        for i, ((low, high), (start, end)) in enumerate(
            zip(pairwise(rows), pairwise(self.load_at), strict=False),  # type: ignore[arg-type]  # it has pressures
            start=1,
        ):
            if not start < end:  # told of already
                continue
            least = (end / start) * end / (2 * end - start)
            for k, (below, above) in enumerate(zip(low, high, strict=False)):
                if not above > below * least:
                    rises = f'or more pressure would carry less load (at "{start.text}" it is "{below.text}")'
                    why = f"must be > {in_unit_of(below * least, above)}, {rises}"
                    yield ("load", i, k), Refusal(why, f'"{above.text}"', "check this row against the one before it")

    @rule
    def _volumes_match_heights(self) -> Iterator[Broken]:
        """Require one volume per height, that grow with it."""
        yield from _as_many(("volumes",), self.volumes, self.height)
        yield from _rising("volumes", self.volumes or (), "check the chart's columns")

    @rule
    def _pressures_leave_a_range(self) -> Iterator[Broken]:
        """Require the lowest pressure below the highest."""
        least, greatest = self.least_pressure, self.greatest_pressure
        if least is not None and greatest is not None and not least < greatest:
            why = f'must be < greatest_pressure ("{greatest.text}")'
            yield ("least_pressure",), Refusal(why, f'"{least.text}"', "swap the two, or check them")


class Fitted(Record):
    """How a bag is fitted, and which chart it has where that is a file of its own."""

    chart: Name | None = None  # a file in bags/, by its name without ending; what is given here wins over it
    fitted_height: Annotated[Height, Field(title="Fitted height, plate to plate")]  # at design ride height


class Bag(Chart, Fitted):
    """One air bag; both sides of an axle have the same."""

    @property
    def whole(self) -> bool:
        """Whether all is given; else the rest is in the file that `chart` names, and `filled` takes it from there."""
        chart = self.area is not None or (self.load is not None and self.load_at is not None)
        return chart and None not in (self.height, self.least_pressure, self.greatest_pressure)

    def filled(self, chart: "BagChart") -> dict[str, Any]:
        """Return the fields of the whole bag: those given here, then those of a chart of its own."""
        given = {name: getattr(self, name) for name in self.model_fields_set}
        theirs = {name: getattr(chart, name) for name in chart.model_fields_set if name in Chart.model_fields}
        if given.get("area") is not None:
            theirs = {name: value for name, value in theirs.items() if name not in ("load", "load_at")}
        elif given.get("load") is not None:
            theirs.pop("area", None)
        return theirs | given

    def replaced(self, **changes: Any) -> Self:
        """Return the bag with some fields changed; what it has from a chart of its own stays, and is no field's."""
        if self.chart is None:
            return super().replaced(**changes)
        known = {name: value for name in type(self).model_fields if (value := getattr(self, name)) is not None}
        if changes.get("area") is not None:
            known = {name: value for name, value in known.items() if name not in ("load", "load_at")}
        new = super().replaced(**(known | changes))
        whole: Self = type(self).model_construct(self.model_fields_set | changes.keys(), **dict(new))  # type: ignore[assignment]  # pydantic says its own class
        return whole

    @model_serializer(mode="wrap")
    def _as_typed(self, handler: SerializerFunctionWrapHandler, info: SerializationInfo) -> dict[str, Any]:
        """Return all fields; for a file nothing that a chart of its own has."""
        every: dict[str, Any] = handler(self)
        if self.chart is None or info.context != FOR_A_FILE:
            return every
        return {name: value if name in self.model_fields_set else None for name, value in every.items()}

    @property
    def has_one_height(self) -> bool:
        """Whether the chart is of one height, so that slope and ends are typical."""
        return len(self.height) == 1

    @property
    def slope(self) -> float:
        """Slope of the area over height that a chart of one height is given, as a part of the area there [1/m]."""
        return TYPICAL_SLOPE if self.has_one_height else 0.0

    @property
    def heights(self) -> tuple[float, ...]:
        """Heights that areas are known at [m]: as charted, or the typical ends about the fitted height."""
        if self.has_one_height:
            return tuple(part * self.fitted_height for part in TYPICAL_ENDS)
        return tuple(float(one) for one in self.height)

    @property
    def lowest(self) -> float:
        """The least height that the bag may have [m]."""
        return self.heights[0]

    @property
    def highest(self) -> float:
        """The greatest height that the bag may have [m]."""
        return self.heights[-1]

    @property
    def area_rows(self) -> tuple[tuple[float, ...], ...]:
        """Effective area at each of `heights` [m²], a row for each of `pressures`, or one.

        A chart of one height b0 gives A (1 + s (b - b0)) with a typical slope s.
        """
        if not self.has_one_height:
            return self.charted_areas
        at = self.height[0]
        return tuple(
            tuple(area * (1.0 + TYPICAL_SLOPE * (end - at)) for area in row for end in self.heights)
            for row in self.charted_areas
        )

    @property
    def areas(self) -> tuple[float, ...]:
        """Effective area at each of `heights` [m²]; of several pressures, at the middle one."""
        rows = self.area_rows
        return rows[len(rows) // 2]

    @property
    def fitted_area(self) -> float:
        """Effective area at fitted height [m²]; of several pressures, at the middle one."""
        return _at(self.heights, self.areas, self.fitted_height)

    @property
    def gas_volume(self) -> float:
        """Gas volume at fitted height [m³]: as given, as charted, or typical: area times height (from memory)."""
        if self.volume is not None:
            return float(self.volume)
        if self.volumes is not None and not self.has_one_height:
            return _at(self.heights, self.volumes, self.fitted_height)
        return float(self.volumes[0]) if self.volumes else self.fitted_area * self.fitted_height

    @rule
    def _all_of_it_is_there(self) -> Iterator[Broken]:
        """Require what a chart of its own would have, where none is named."""
        if self.chart is None:
            yield from _lacks(self, "height", "least_pressure", "greatest_pressure")

    @rule
    def _fitted_height_is_on_the_chart(self) -> Iterator[Broken]:
        """Require a height on the chart: nothing is read past its ends."""
        if not self.height:
            return
        if self.has_one_height:
            only = self.height[0]
            if not self.lowest <= only <= self.highest:
                least, most = (in_unit_of(only / part, only) for part in reversed(TYPICAL_ENDS))
                why = f'must be {least} to {most} with a chart of one height, "{only.text}"'
                yield ("fitted_height",), Refusal(why, f'"{self.fitted_height.text}"', "add more heights to the chart")
        elif not self.height[0] <= self.fitted_height <= self.height[-1]:
            why = f'must be on the chart, "{self.height[0].text}" to "{self.height[-1].text}"'
            yield (
                ("fitted_height",),
                Refusal(why, f'"{self.fitted_height.text}"', "check it, or add more heights to the chart"),
            )

    @rule
    def _typical_slope_leaves_area(self) -> Iterator[Broken]:
        """Require a bag small enough for a chart of one height."""
        if _is_chart(self) and self.has_one_height and not min(self.area_rows[0]) > 0:
            why = "a chart of one height is for bags under half a metre (20 in)"
            yield ("height",), Refusal(why, f'"{self.height[0].text}"', "give the chart at two heights or more")

    @rule
    def _gas_is_left_at_the_lowest_height(self) -> Iterator[Broken]:
        """Require air in the bag even at the foot of its chart."""
        if not _is_chart(self):
            return
        if self.volumes is not None and len(self.volumes) == len(self.height) >= 2:
            swept = _at(self.heights, self.volumes, self.fitted_height) - self.volumes[0]
        else:
            swept = max(_swept(self.heights, row, self.lowest, self.fitted_height) for row in self.area_rows)
        least, volume = self.gas_volume - swept, self.volume
        if not least > 0:
            foot = in_unit_of(self.lowest, self.height[0])
            if volume is None:
                got = f"left out, typical {self.gas_volume * 1e3:.3g} L, which leaves {least * 1e3:.3g} L at {foot}"
            else:
                got = f'"{volume.text}", which leaves {in_unit_of(least, volume)} at "{foot}"'
            why = "must leave air in the bag at its lowest charted height"
            yield ("volume",), Refusal(why, got, "check volume and area; volume is the air in the bag at fitted height")

    @rule
    def _volumes_agree_with_areas(self) -> Iterator[Broken]:
        """Require the volume gained to be area times height gained."""
        volumes = self.volumes
        if volumes is None or not _is_chart(self) or not len(volumes) == len(self.height) >= 2:
            return
        gain = volumes[-1] - volumes[0]
        swept = min(
            (_swept(self.heights, row, self.lowest, self.highest) for row in self.area_rows),
            key=lambda one: abs(gain - one),
        )
        if abs(gain - swept) > VOLUME_AGREES * swept:
            got = f"{in_unit_of(gain, volumes[0])} against {in_unit_of(swept, volumes[0])}"
            why = "must grow from lowest to highest height as the areas say, within 10 %"
            yield ("volumes",), Refusal(why, got, "check the chart's columns and units")
        fitted = _at(self.heights, volumes, self.fitted_height)
        if self.volume is not None and abs(fitted - self.volume) > VOLUME_AGREES * fitted:
            why = f"must be within 10 % of volumes at fitted height ({in_unit_of(fitted, self.volume)})"
            yield ("volume",), Refusal(why, f'"{self.volume.text}"', "take both from the same chart")


class BagChart(Chart, Filed):
    """A bag's chart in a file of its own, so that two axles, two trucks or a friend can use one."""

    source: Name | None = None  # where it is printed: data sheet, page, date

    @rule
    def _all_of_it_is_there(self) -> Iterator[Broken]:
        """Require heights: the rest of what a chart leaves out, the truck's bag table has."""
        yield from _lacks(self, "height")


def _elsewhere(chart: Any) -> bool:
    """Return whether a bag's chart is in a file of its own."""
    return not isinstance(chart, BagChart) and getattr(chart, "chart", None) is not None


def _lacks(record: Any, *names: str) -> Iterator[Broken]:
    """Yield the fault of each field that is left out."""
    yield from (((name,), lacking()) for name in names if getattr(record, name) is None)


def _rising(name: str, column: Sequence[Quantity], remedy: str) -> Iterator[Broken]:
    """Yield the fault of each value that is not more than the one before it."""
    for i, (low, high) in enumerate(pairwise(column), start=1):
        if not low < high:
            yield (name, i), Refusal("must rise from point to point", f'"{high.text}" after "{low.text}"', remedy)


def area_at_fitted_height(bag: Bag) -> float | None:
    """Return the effective area at fitted height [m²], of the lowest pressure charted; None if there is no chart."""
    return _at(bag.heights, bag.area_rows[0], bag.fitted_height) if _is_chart(bag) else None


def pressure_at_fitted_height(bag: Bag, load: float) -> float | None:
    """Return the gauge pressure that carries a load [N] at fitted height [Pa]; None if there is no chart.

    The area is read straight between the rows of a chart of several pressures, so P A(P) = F is a quadratic in a row
    pair; beyond the first and the last row it is that of the nearest one.
    """
    if not _is_chart(bag):
        return None
    areas = [_at(bag.heights, row, bag.fitted_height) for row in bag.area_rows]
    for (low, start), (high, end) in pairwise(zip(bag.pressures, areas, strict=False)):
        if low * start <= load <= high * end:
            rise = (end - start) / (high - low)
            flat = start - rise * low
            return load / start if rise == 0 else 2 * load / (flat + (flat**2 + 4 * rise * load) ** 0.5)
    first = not bag.pressures or load < bag.pressures[0] * areas[0]
    return load / areas[0 if first else -1]


def _as_many(
    loc: tuple[str | int, ...], column: Sequence[object] | None, height: Sequence[Quantity] | None
) -> Iterator[Broken]:
    """Yield the fault of a column that is not as long as the chart."""
    if column is not None and height is not None and len(column) != len(height):
        why = "must have as many points as height"
        got = f"{len(column)} against {len(height)}"
        yield loc, Refusal(why, got, "add the missing points or take out the extra ones")


def _is_chart(bag: Bag) -> bool:
    """Return whether heights and areas make a chart to integrate; if not, that is reported by its own rule."""
    charted = bag.height
    if not charted or not bag.charted_areas or not all(low < high for low, high in pairwise(charted)):
        return False
    if any(len(row) != len(charted) or any(area != area for area in row) for row in bag.charted_areas):
        return False  # NaN: a load without pressure
    return bag.lowest <= bag.fitted_height <= bag.highest


def _at(height: Sequence[float], column: Sequence[float], wanted: float) -> float:
    """Return a chart's column at a height between its ends, on a straight line between its points."""
    i = next(i for i, high in enumerate(height[1:], start=1) if wanted <= high)
    return column[i - 1] + (column[i] - column[i - 1]) * (wanted - height[i - 1]) / (height[i] - height[i - 1])


def _swept(height: Sequence[float], areas: Sequence[float], start: float, end: float) -> float:
    """Return the volume [m³] swept from one height up to another: area over height, by trapezoids."""
    cuts = [start, *(one for one in height if start < one < end), end]
    sizes = [_at(height, areas, one) for one in cuts]
    return sum((b - a) * (x + y) / 2 for (a, b), (x, y) in zip(pairwise(cuts), pairwise(sizes), strict=True))
