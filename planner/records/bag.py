"""The air bag of an axle: its chart, its volume, what it may be asked to do."""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Annotated, Final

from pydantic import Field

from planner.records.base import Broken, Record, rule
from planner.records.fields import Length, Load, Pressure
from planner.units.quantity import CubicMetre, Quantity, Refusal, SquareMetre, in_unit_of

VOLUME_AGREES: Final = 0.10  # by how much volumes and areas of one chart may differ

Height = Annotated[Length, Field(le=2)]
Area = Annotated[SquareMetre, Field(gt=0, le=1)]
Volume = Annotated[CubicMetre, Field(gt=0, le=1)]


class Bag(Record):
    """One air bag; both sides of an axle have the same."""

    fitted_height: Height  # at design ride height
    height: tuple[Height, ...]
    area: tuple[Area, ...] | None = None  # effective, at each height
    load: tuple[Load, ...] | None = None  # or the load at each height
    load_at: Annotated[Pressure, Field(gt=0)] | None = None  # and the pressure at which it was measured
    volume: Volume  # at fitted height, with its fittings
    volumes: tuple[Volume, ...] | None = None  # at each height, if the maker gives it
    least_pressure: Pressure
    greatest_pressure: Pressure
    load_rating: Load | None = None

    @property
    def areas(self) -> tuple[float, ...]:
        """Effective area at each charted height [m²]: as given, or load over pressure."""
        if self.area is not None:
            return tuple(float(one) for one in self.area)
        pressure = self.load_at or float("nan")
        return tuple(one / pressure for one in self.load or ())

    @rule
    def _chart_is_areas_or_loads(self) -> Iterator[Broken]:
        """Require one way to give the chart, and all of it."""
        area, load, load_at = self.area, self.load, self.load_at
        if area is None and load is None:
            yield (
                ("area",),
                Refusal("the chart needs area, or load with load_at", "neither", "add area, one per height"),
            )
        if area is not None and (load is not None or load_at is not None):
            yield ("area",), Refusal("the chart is area, or load with load_at", "both", "take one of them out")
        elif load is not None and load_at is None:
            yield ("load_at",), Refusal("a chart of loads needs it", "nothing", 'add load_at = "100 psi"')

    @rule
    def _heights_rise(self) -> Iterator[Broken]:
        """Require a chart that runs from the lowest height to the highest."""
        if len(self.height) < 2:
            yield ("height",), Refusal("must have 2 points or more", f"{len(self.height)}", "add points of the chart")
        for i, (low, high) in enumerate(pairwise(self.height), start=1):
            if not low < high:
                got = f'"{high.text}" after "{low.text}"'
                yield ("height", i), Refusal("must rise from point to point", got, "sort the chart by height")

    @rule
    def _areas_match_heights(self) -> Iterator[Broken]:
        """Require one area per height."""
        yield from _as_many("area", self.area, self.height)

    @rule
    def _loads_match_heights(self) -> Iterator[Broken]:
        """Require one load per height."""
        if self.area is None:
            yield from _as_many("load", self.load, self.height)

    @rule
    def _volumes_match_heights(self) -> Iterator[Broken]:
        """Require one volume per height."""
        yield from _as_many("volumes", self.volumes, self.height)

    @rule
    def _fitted_height_is_on_the_chart(self) -> Iterator[Broken]:
        """Require a height on the chart: nothing is read past its ends."""
        if len(self.height) >= 2 and not self.height[0] <= self.fitted_height <= self.height[-1]:
            why = f'must be on the chart, "{self.height[0].text}" to "{self.height[-1].text}"'
            yield ("fitted_height",), Refusal(why, f'"{self.fitted_height.text}"', "check it, or chart the bag further")

    @rule
    def _pressures_leave_a_range(self) -> Iterator[Broken]:
        """Require the lowest pressure below the highest."""
        if not self.least_pressure < self.greatest_pressure:
            why = f'must be < greatest_pressure ("{self.greatest_pressure.text}")'
            yield ("least_pressure",), Refusal(why, f'"{self.least_pressure.text}"', "swap the two, or check them")

    @rule
    def _gas_is_left_at_the_lowest_height(self) -> Iterator[Broken]:
        """Require air in the bag even at the foot of its chart."""
        if not _is_chart(self):
            return
        least = self.volume - _swept(self.height, self.areas, self.height[0], self.fitted_height)
        if not least > 0:
            got = f'"{self.volume.text}", which leaves {in_unit_of(least, self.volume)} at "{self.height[0].text}"'
            why = "must leave air in the bag at its lowest charted height"
            yield ("volume",), Refusal(why, got, "check volume and area; volume is the gas at fitted height")

    @rule
    def _volumes_agree_with_areas(self) -> Iterator[Broken]:
        """Require the volume gained to be area times height gained."""
        volumes = self.volumes
        if volumes is None or not _is_chart(self) or len(volumes) != len(self.height):
            return
        gain, swept = volumes[-1] - volumes[0], _swept(self.height, self.areas, self.height[0], self.height[-1])
        if abs(gain - swept) > VOLUME_AGREES * swept:
            got = f"{in_unit_of(gain, volumes[0])} against {in_unit_of(swept, volumes[0])}"
            why = "must gain over the chart what the areas sweep, within 10 %"
            yield ("volumes",), Refusal(why, got, "check the chart's columns and units")
        fitted = _at(self.height, volumes, self.fitted_height)
        if abs(fitted - self.volume) > VOLUME_AGREES * fitted:
            why = f"must be within 10 % of volumes at fitted height ({in_unit_of(fitted, self.volume)})"
            yield ("volume",), Refusal(why, f'"{self.volume.text}"', "take it from the same chart")


def area_at_fitted_height(bag: Bag) -> float | None:
    """Return the effective area at fitted height [m²], on a straight line between points; None if there is no chart."""
    return _at(bag.height, bag.areas, bag.fitted_height) if _is_chart(bag) else None


def _as_many(name: str, column: Sequence[Quantity] | None, height: Sequence[Quantity]) -> Iterator[Broken]:
    """Yield the fault of a column that is not as long as the chart."""
    if column is not None and len(column) != len(height):
        why = "must have as many points as height"
        got = f"{len(column)} against {len(height)}"
        yield (name,), Refusal(why, got, "add the missing points or take out the extra ones")


def _is_chart(bag: Bag) -> bool:
    """Return whether heights and areas make a chart to integrate; if not, that is reported by its own rule."""
    height, areas = bag.height, bag.areas
    rising = all(low < high for low, high in pairwise(height))
    sized = len(height) == len(areas) >= 2 and not any(area != area for area in areas)  # NaN: a load without pressure
    return rising and sized and height[0] <= bag.fitted_height <= height[-1]


def _at(height: Sequence[float], column: Sequence[float], wanted: float) -> float:
    """Return a chart's column at a height between its ends, on a straight line between its points."""
    i = next(i for i, high in enumerate(height[1:], start=1) if wanted <= high)
    return column[i - 1] + (column[i] - column[i - 1]) * (wanted - height[i - 1]) / (height[i] - height[i - 1])


def _swept(height: Sequence[float], areas: Sequence[float], start: float, end: float) -> float:
    """Return the volume [m³] swept from one height up to another: area over height, by trapezoids."""
    cuts = [start, *(one for one in height if start < one < end), end]
    sizes = [_at(height, areas, one) for one in cuts]
    return sum((b - a) * (x + y) / 2 for (a, b), (x, y) in zip(pairwise(cuts), pairwise(sizes), strict=True))
