"""A typical air supply where a truck's file has none, and how far each number of a supply may be off."""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from planner.physics.validation import Array
from planner.plans.air_supply import NEEDED, supply_record
from planner.plans.answer import CORNERS
from planner.plans.typical import DELIVERY, DELIVERY_PRESSURE, Estimate, typical_air
from planner.records import Truck

LINES: Final = tuple(f"air.line_length.{corner}" for corner in CORNERS)
PATHS: Final = tuple(path for name, _ in NEEDED for path in (LINES if name == "line_length" else (f"air.{name}",)))
MOST_WORSE: Final = 0.8  # [-] of a number, by which it may be taken to be worse: something is left of it


def with_typical_air(truck: Truck) -> Truck:
    """Return the truck with a typical air supply where its file has none, each number of it listed as typical.

    Examples
    --------
    >>> from planner import read_truck
    >>> truck = with_typical_air(read_truck("profiles/trucks/yard-truck.toml"))
    >>> truck.air.tank_volume, "air.tank_volume" in truck.typical
    (<5 gal>, True)
    """
    if truck.air is not None:
        return truck
    new: Truck = truck.replaced(air=typical_air_table(truck), typical=(*truck.typical, *PATHS))
    return new


def typical_air_table(truck: Truck) -> dict[str, Any]:
    """Return a typical [air] of a truck, as a file has it; cut-in and cut-out follow from the one that is its own."""
    texts: dict[str, Any] = {name: one.in_file("us") for name, one in air_estimates(truck).items()}
    at, made = DELIVERY_PRESSURE, DELIVERY
    texts["delivery_pressure"] = [Estimate(one, 0.0, "pressure", "", "from memory").in_file("us") for one in at]
    texts["delivery"] = [Estimate(one, 0.0, "free-air flow", "", "from memory").in_file("us") for one in made]
    return texts | {"line_length": dict.fromkeys(CORNERS, texts["line_length"])}


def air_estimates(truck: Truck) -> dict[str, Estimate]:
    """Return what is typical of a truck's air supply by field of [air], with its reasons; of all lines together."""
    own = {
        name: float(getattr(truck.air, name))
        for name in ("cut_in", "cut_out")
        if truck.air is not None and f"air.{name}" not in truck.typical
    }
    return typical_air(float(truck.wheelbase), **own)


def typical_numbers(truck: Truck) -> list[str]:
    """Return the fields of [air] that are typical, lines together, in the order in which they are asked.

    Examples
    --------
    >>> from planner import read_truck
    >>> typical_numbers(with_typical_air(read_truck("profiles/trucks/yard-truck.toml")))[:3]
    ['tank_volume', 'cut_in', 'cut_out']
    """
    listed = set(truck.typical)
    return [name for name in air_estimates(truck) if listed & set(LINES if name == "line_length" else {f"air.{name}"})]


def worse_by_one_deviation(truck: Truck) -> dict[str, Array]:
    """Return by how much each unsure number of [air] is scaled when it is worse by one standard deviation. [-]

    Worse: a smaller tank, a later cut-in, an earlier cut-out, less delivery, longer and narrower lines. Unsure is what
    the truck's file gives a spread for or lists as typical. All unsure lengths are guessed by one rule, so they are
    longer together. Cut-in and cut-out come no nearer than by a third of what is between them, each.

    Raises
    ------
    BadInput
        If the truck has no [air].

    Examples
    --------
    >>> from planner import read_truck
    >>> worse = worse_by_one_deviation(with_typical_air(read_truck("profiles/trucks/yard-truck.toml")))
    >>> {name: round(float(np.max(factor)), 2) for name, factor in worse.items()}["tank_volume"]
    0.7
    """
    air, part = supply_record(truck), {name: one.spread / one.value for name, one in air_estimates(truck).items()}

    def spread(path: str, value: float, typical: float) -> float:
        """Return the standard deviation of a number, as a part of it; 0 where it is its owner's own."""
        if path in truck.spread:
            return float(truck.spread[path]) / value
        return typical if path in truck.typical else 0.0

    single = ("tank_volume", "cut_in", "cut_out", "duty", "line_bore")
    off = {name: spread(f"air.{name}", float(getattr(air, name)), part[name]) for name in single}
    off["delivery"] = part["delivery"] if "air.delivery" in truck.typical else 0.0
    gap = float(air.cut_out - air.cut_in) / 3.0
    off |= {name: min(off[name], gap / float(getattr(air, name))) for name in ("cut_in", "cut_out") if off[name]}
    found = {name: np.asarray(1.0 - min(part, MOST_WORSE)) for name, part in off.items()}
    found["cut_in"] = np.asarray(1.0 + off["cut_in"])
    at = zip(LINES, CORNERS, strict=True)
    lengths = [spread(path, float(getattr(air.line_length, corner)), part["line_length"]) for path, corner in at]
    found["line_length"] = 1.0 + np.array(lengths)
    return {name: factor for name, factor in found.items() if np.any(factor != 1.0)}
