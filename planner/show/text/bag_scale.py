"""The bags as a scale in words and as an object: what came on, what the axles carry, and how sure that is."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from planner.plans.answer import AXLES
from planner.plans.bag_scale import BagScale
from planner.plans.setup import Setup
from planner.plans.trim import Estimate
from planner.plans.uncertainty.trim_pressures import NINETY_FIVE
from planner.show.drawings.svg import clean
from planner.show.text.as_json import finding_object, number
from planner.show.text.numbers import say
from planner.show.text.report import finding_lines
from planner.show.text.trim import SURE, estimated
from planner.units.quantity import System


def bag_scale_rows(found: BagScale, system: System) -> Iterator[tuple[str, str]]:
    """Yield what the bags say: a label, and the amount with its uncertainty; the load that came on first."""
    if found.hitch_load is not None and found.hitch_side is not None:
        yield "on the hitch", estimated(found.hitch_load, "load", system)
        yield "acts", _side_words(found.hitch_side, system)
    else:
        yield "came on", estimated(found.added_load, "load", system)
    for axle, added, load in zip(AXLES, found.added_axle_load, found.axle_load, strict=True):
        yield f"{axle} axle, came on", estimated(added, "load", system)
        yield f"{axle} axle, carries", estimated(load, "load", system)
    yield "on the left wheels", estimated(found.side_share, "share", system)


def bag_scale_lines(name: str, setup: Setup, found: BagScale, system: System) -> list[str]:
    """Return the same as lines for a terminal, then what the bags cannot see."""
    return [
        clean(name),
        f"{clean(setup.truck.name)} on its bags as a scale",
        "",
        *(f"  {label:<22}{words}" for label, words in bag_scale_rows(found, system)),
        f"  {SURE}",
        "",
        *finding_lines(found.findings, system),
    ]


def bag_scale_object(found: BagScale, system: System) -> dict[str, Any]:
    """Return the same as an object: loads N, moments N·m, a place m; ``_uncertainty`` is one standard deviation."""
    one = {
        "tongue_load": found.hitch_load,
        "hitch_side": found.hitch_side,
        "added_load": found.added_load,
        "added_side_moment": found.added_side_moment,
        "side_moment": found.side_moment,
        "side_share": found.side_share,
    }
    values: dict[str, Any] = {}
    for name, estimate in one.items():
        values |= {name: _value(estimate), f"{name}_uncertainty": _deviation(estimate)}
    for name, axles in (("axle_load", found.axle_load), ("added_axle_load", found.added_axle_load)):
        values[name] = {axle: _value(part) for axle, part in zip(AXLES, axles, strict=True)}
        values[f"{name}_uncertainty"] = {axle: _deviation(part) for axle, part in zip(AXLES, axles, strict=True)}
    return values | {"findings": [finding_object(finding, system) for finding in found.findings]}


def _value(estimate: Estimate | None) -> float | None:
    return None if estimate is None else number(estimate.value)


def _deviation(estimate: Estimate | None) -> float | None:
    return None if estimate is None else number(estimate.half_width / NINETY_FIVE)


def _side_words(arm: Estimate, system: System) -> str:
    """Return where a load acts sideways: "0.4 in left of the middle ± 2 in"."""
    if not np.isfinite(arm.half_width):
        return "too light to tell where it sits"
    side = "left" if arm.value > 0 else "right"
    return f"{say(abs(arm.value), 'length', system)} {side} of the middle ± {say(arm.half_width, 'length', system)}"
