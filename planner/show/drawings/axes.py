"""Axes in the units shown: ends and ticks in round numbers."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from planner.plans.answer import Kind
from planner.plans.load_map import Axis
from planner.plans.map_inputs import Input
from planner.show.text.numbers import in_unit, round_step
from planner.units.quantity import System

TICKS: Final = 6.0  # about so many steps an axis
EDGE: Final = 1e-6  # of a range: a line nearer to its ends is only a point


@dataclass(frozen=True)
class Scale:
    """A range in the unit shown.

    Attributes
    ----------
    low, high, step : ends and distance of ticks, in the unit
    per_si : how much of the unit is 1 in SI
    unit : its name
    """

    low: float
    high: float
    step: float
    per_si: float
    unit: str

    def part(self, value: float) -> float:
        """Return how far along the range an SI value is, 0 to 1."""
        return (value * self.per_si - self.low) / (self.high - self.low)

    @property
    def ticks(self) -> list[float]:
        """The round numbers of the range, in the unit."""
        first, last = math.ceil(self.low / self.step - 1e-9), math.floor(self.high / self.step + 1e-9)
        return [n * self.step for n in range(first, last + 1)]


def scale_of(one: Input, system: System) -> Scale:
    """Return a range worth looking at of an input, its ends moved out to round numbers within what it may be."""
    per_si, unit = in_unit(1.0, one.kind, system)
    low, high = one.low * per_si, one.high * per_si
    step = round_step((high - low) / TICKS)
    low, high = step * math.floor(low / step + 1e-9), step * math.ceil(high / step - 1e-9)
    return Scale(max(low, one.least * per_si), min(high, one.greatest * per_si), step, per_si, unit)


def axis_of(one: Input, system: System) -> Axis:
    """Return the axis of an input over its round range."""
    scale = scale_of(one, system)
    return Axis(one.key, scale.low / scale.per_si, scale.high / scale.per_si)


def levels(low: float, high: float, kind: Kind, system: System) -> tuple[list[float], str]:
    """Return round numbers strictly between two SI values, a handful, and their unit: for lines of equal value."""
    per_si, unit = in_unit(1.0, kind, system)
    if not high > low:
        return [], unit
    scale = Scale(low * per_si, high * per_si, round_step((high - low) * per_si / TICKS), per_si, unit)
    edge = EDGE * (scale.high - scale.low)
    return [tick for tick in scale.ticks if scale.low + edge < tick < scale.high - edge], unit


def tick_text(value: float) -> str:
    """Return a round number: "12,000", "−0.5"."""
    text = f"{round(value, 9):,.10g}".replace("-", "\u2212")
    return "0" if text == "\u22120" else text
