"""The air supply of a truck: tank, compressor, lines and valves."""

from collections.abc import Iterator
from itertools import pairwise
from typing import Annotated

from pydantic import Field

from planner.records.base import Broken, Record, rule
from planner.records.fields import Length, Name, Pressure, Ratio
from planner.units.quantity import CubicMetre, CubicMetrePerSecond, Refusal, Second, SonicConductance


class LineLengths(Record):
    """The length of the air line from the valve to each bag."""

    front_left: Annotated[Length, Field(title="Line, front left")]
    front_right: Annotated[Length, Field(title="Line, front right")]
    rear_left: Annotated[Length, Field(title="Line, rear left")]
    rear_right: Annotated[Length, Field(title="Line, rear right")]


class AirDemand(Record):
    """Another user of the tank: a horn, a tyre inflated, a tool."""

    name: Name
    flow: Annotated[CubicMetrePerSecond, Field(gt=0, le=10)]  # free air, while it is used
    time: Annotated[Second, Field(gt=0, le=86_400)]  # for which it is used in one go


class Air(Record):
    """The air supply: tank, compressor, lines and valves."""

    tank_volume: Annotated[
        CubicMetre,
        Field(gt=0, le=10, title="Tank", description="on the tank's plate, or length and diameter worked out"),
    ]
    cut_in: Annotated[
        Pressure,
        Field(title="Cut-in", description="where the pressure switch starts the compressor: the tank's gauge tells"),
    ]
    cut_out: Annotated[
        Pressure, Field(title="Cut-out", description="where it stops it; both are printed on many switches")
    ]
    delivery_pressure: Annotated[
        tuple[Pressure, ...], Field(title="Pressures of the compressor's chart", description="from its data sheet")
    ]
    delivery: Annotated[  # free air, at each of these pressures
        tuple[Annotated[CubicMetrePerSecond, Field(gt=0, le=10)], ...],
        Field(
            title="Compressor: pressure and free air, a line each",
            description="two points or more of its data sheet, up to cut-out or higher",
        ),
    ]
    duty: Annotated[  # the share of time it may run
        Ratio,
        Field(gt=0, le=1, title="Compressor's duty", description="from its data sheet; 100 % where it may run on"),
    ]
    line_length: Annotated[
        LineLengths, Field(title="Lines", description="from the valve to each bag, along the line with a tape")
    ]
    line_bore: Annotated[
        Length,
        Field(
            le=0.1,
            title="Bore of the lines",
            description="inside, not outside: 1/4 in tube has a bore of 0.17 in, common practice",
        ),
    ]
    valve_conductance: Annotated[SonicConductance, Field(gt=0, le=1)] | None = None  # C of ISO 6358-1
    valve_critical_ratio: Annotated[Ratio, Field(ge=0.2, le=0.6)] = 0.3  # b of ISO 6358-1
    demands: Annotated[
        tuple[AirDemand, ...],
        Field(
            max_length=20,
            title="Other users, a line each: name: free air, time",
            description="a horn, a tyre inflated, a tool: flow from its data sheet, time for which it runs in one go",
        ),
    ] = ()

    @rule
    def _cuts_in_below_cut_out(self) -> Iterator[Broken]:
        """Require a compressor that starts at a lower pressure than it stops at."""
        if not self.cut_in < self.cut_out:
            why = f'must be < cut_out ("{self.cut_out.text}")'
            yield ("cut_in",), Refusal(why, f'"{self.cut_in.text}"', "swap the two, or check the pressure switch")

    @rule
    def _delivery_is_a_chart(self) -> Iterator[Broken]:
        """Require pressures that rise, two or more."""
        count = len(self.delivery_pressure)
        if count < 2:
            remedy = "give the delivery at two pressures or more"
            yield ("delivery_pressure",), Refusal("must have 2 points or more", f"{count}", remedy)
        for i, (low, high) in enumerate(pairwise(self.delivery_pressure), start=1):
            if not low < high:
                got = f'"{high.text}" after "{low.text}"'
                yield ("delivery_pressure", i), Refusal("must rise from point to point", got, "put the chart in order")

    @rule
    def _delivery_matches_its_pressures(self) -> Iterator[Broken]:
        """Require two lists that make one chart."""
        if len(self.delivery) != len(self.delivery_pressure):
            got = f"{len(self.delivery)} against {len(self.delivery_pressure)}"
            why = "must have as many points as delivery_pressure"
            yield ("delivery",), Refusal(why, got, "add the missing points or take out the extra ones")

    @rule
    def _chart_reaches_cut_out(self) -> Iterator[Broken]:
        """Require a chart up to cut_out: nothing is read past its end."""
        if self.delivery_pressure and self.delivery_pressure[-1] < self.cut_out:
            why = f'the last must be >= cut_out ("{self.cut_out.text}")'
            got = f'"{self.delivery_pressure[-1].text}"'
            yield ("delivery_pressure",), Refusal(why, got, "add the delivery at a higher pressure")
