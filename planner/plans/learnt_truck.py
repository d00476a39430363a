"""A truck's record with what its readings taught, how sure that is, and when it was learnt."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import date
from typing import Any, Final

import numpy as np

from planner.plans.answer import AXLES
from planner.plans.calibration import Calibration, Parameter
from planner.records import Axle, Bag, Correlation, Truck, Weighing
from planner.records.fields import LONGEST_NAME
from planner.units.quantity import Quantity, in_unit_of, read

FIGURES: Final = 5  # of a learnt value in the file
DECIMALS: Final = 3  # of a correlation


def learnt_truck(found: Calibration, on: date) -> Truck:
    """Return the truck with its learnt values in place of those of the file.

    Parameters
    ----------
    found : Calibration
    on : date
        When it was learnt; it goes into the truck's weighings, with what was learnt from how many readings, and what
        stood there before.

    Returns
    -------
    Truck
        A parameter that the readings told nothing of is left as it was. What was learnt has its standard error in
        ``spread``, goes together with others as ``correlation`` has it, and is no longer ``typical``. An area's scale
        and slope go into the chart; how much larger one side's bag is, no file holds.

    Raises
    ------
    BadInput
        If the learnt truck breaks a rule of its record, such as bags that could not hold it empty.

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.calibration import calibrate
    >>> from planner.records.weighed_reading import weighed_readings
    >>> corners = {f"rear_{side}": {"pressure": "26 psi", "ride_height": "20 in"} for side in ("left", "right")}
    >>> slip = {"at": "2026-05-04T07:30:00", "front_axle": "4300 lb", "rear_axle": "3000 lb"} | corners
    >>> truck = read_truck("profiles/trucks/ridge-truck.toml")
    >>> fine = truck.replaced(instruments={"gauge_error": "0.5 psi"})
    >>> learnt_truck(calibrate(fine, weighed_readings(slip, "a.toml")), date(2026, 5, 4)).weighings[-1].fields
    ('rear.bag.area',)
    """
    truck, learnt = found.truck, [one for one in found.parameters if one.learnt and one.prior.what != "area_sides"]
    if not learnt:
        return truck
    spread, paths = dict(truck.spread), list[str]()
    changes: dict[str, Any] = {}
    for k, name in enumerate(AXLES):
        of_axle = {one.prior.what: one for one in learnt if one.prior.axle == k}
        if of_axle:
            axle: Axle = getattr(truck, name)
            new, own = _learnt_axle(axle, of_axle)
            changes[name] = new
            spread |= {f"{name}.{path}": sd for path, sd in own.items()}
            paths += [f"{name}.{path}" for path in own]
            paths += [f"{name}.bag.area"] if "area_slope" in of_axle and f"{name}.bag.area" not in paths else []
    count = len(found.readings)
    source = f"{count} reading{'s' if count > 1 else ''} on a scale"
    weighing = Weighing(on=on, source=source, fields=tuple(paths), former=tuple(_former(truck, one) for one in paths))
    known = {*paths, *(path.replace(".bag.area", ".bag.load") for path in paths)}
    typical = tuple(path for path in truck.typical if path not in known)
    changes |= {"spread": spread, "typical": typical, "weighings": (*truck.weighings, weighing)}
    changes["correlation"] = _correlation(found, spread)
    return Truck(**{name: getattr(truck, name) for name in truck.model_fields_set} | changes)


def _correlation(found: Calibration, spread: Collection[str]) -> Correlation | None:
    """Return how far all parameters whose spread the file has go together, and what else it had; None of under two.

    Of a chart's slope, and of what one side's bag is larger, no file has a spread: there they are as unsure as before.
    """
    paths = [one.path.replace(".area_scale", ".area") for one in found.parameters]
    kept = [n for n, path in enumerate(paths) if path in spread]
    other = found.truck.correlation_without(paths)
    more = len(other.fields) if other else 0
    if len(kept) + more < 2:
        return None
    matrix = np.eye(len(kept) + more)
    matrix[: len(kept), : len(kept)] = found.correlation[np.ix_(kept, kept)].round(DECIMALS)
    matrix[len(kept) :, len(kept) :] = other.matrix if other else np.eye(0)
    matrix = np.tril(matrix) + np.tril(matrix, -1).T
    rows = tuple(tuple(float(one) for one in row) for row in matrix)
    return Correlation(fields=(*(paths[n] for n in kept), *(other.fields if other else ())), matrix=rows)


def _former(truck: Truck, path: str) -> str:
    """Return what stood in a field, as text: of a chart all its areas, or its loads where it is of those."""
    axle, _, rest = path.partition(".")
    value: Any = getattr(truck, axle)
    for name in rest.split("."):
        value = value.load if name == "area" and value.area is None else getattr(value, name)
    words = ", ".join(_texts(value))
    return words if len(words) <= LONGEST_NAME else words[: LONGEST_NAME - 1] + "…"


def _texts(value: Any) -> Iterator[str]:
    """Yield the quantities of a field, rows of a chart one after the other."""
    if isinstance(value, tuple):
        for one in value:
            yield from _texts(one)
    else:
        yield value.text


def _learnt_axle(axle: Axle, learnt: dict[Any, Parameter]) -> tuple[Axle, dict[str, Quantity]]:
    """Return an axle with learnt values, and the spread of each by its path below the axle."""
    changes: dict[str, Any] = {}
    spread: dict[str, Quantity] = {}
    for what in ("steel_load", "steel_rate"):
        if what in learnt:
            typed: Quantity = getattr(axle, what)
            changes[what], spread[what] = (_rounded(value, typed) for value in (learnt[what].value, learnt[what].sd))
    if "tyre_rate" in learnt:
        one, rate = learnt["tyre_rate"], axle.tyres.rate
        changes["tyres"] = axle.tyres.replaced(rate=_rounded(one.value, rate))
        spread["tyres.rate"] = _rounded(one.sd, rate)
    if axle.bag is not None and ("area_scale" in learnt or "area_slope" in learnt):
        changes["bag"] = bag = _learnt_bag(axle.bag, learnt.get("area_scale"), learnt.get("area_slope"))
        if "area_scale" in learnt:
            unit = bag.area[0] if bag.area is not None else read("1 in**2", "area")
            spread["bag.area"] = _rounded(learnt["area_scale"].sd * axle.bag.fitted_area, unit)
    return axle.replaced(**changes), spread


def _learnt_bag(bag: Bag, scale: Parameter | None, slope: Parameter | None) -> Bag:
    """Return a bag whose chart is scaled and tilted about its fitted height.

    A chart of one height gets the three heights that it is read at, once its slope is learnt.
    """
    by, tilt, fitted = scale.value if scale else 1.0, slope.value if slope else 0.0, float(bag.fitted_height)
    if bag.has_one_height and slope is not None and not bag.volumes:
        unit = bag.height[0]
        heights = sorted({bag.heights[0], fitted, bag.heights[-1]})
        area = bag.area[0] if bag.area is not None else read("1 in**2", "area")
        given = {"load": None, "load_at": None} if bag.load is not None else {}
        areas = [bag.fitted_area * (1.0 + bag.slope * (one - fitted)) for one in heights]
        areas = [one * by * (1.0 + tilt * (height - fitted)) for one, height in zip(areas, heights, strict=True)]
        written = [_rounded(one, area) for one in areas]
        return bag.replaced(height=tuple(_rounded(one, unit) for one in heights), area=tuple(written), **given)
    factor = [by * (1.0 + tilt * (float(one) - fitted)) for one in bag.height]
    if bag.area is not None:
        return bag.replaced(area=tuple(_scaled(one, part) for one, part in zip(bag.area, factor, strict=True)))
    load: Any = bag.load
    rows = load if isinstance(load[0], tuple) else (load,)
    scaled = tuple(tuple(_scaled(one, part) for one, part in zip(row, factor, strict=True)) for row in rows)
    return bag.replaced(load=scaled if isinstance(load[0], tuple) else scaled[0])


def _scaled(value: Quantity, by: float) -> Quantity:
    return _rounded(float(value) * by, value)


def _rounded(value: float, typed: Quantity) -> Quantity:
    """Return an SI value to a few figures, in the unit that another was typed in."""
    number, unit = in_unit_of(value, typed).split(" ", 1)
    return read(f"{float(f'{float(number):.{FIGURES}g}'):.10g} {unit}", typed.dimension)
