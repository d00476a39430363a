"""Levelling by the million: arrays in, arrays out, one truck."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from planner.errors import Refusal, UnknownName
from planner.physics import levelling
from planner.physics.array_layout import GATHERED, empty_arrays, in_a_row
from planner.physics.bag_limits import Limit as Limit
from planner.physics.statics import Load
from planner.physics.validation import Array, Codes, Flags, require_finite
from planner.plans.answer import CORNERS, frame
from planner.plans.load_case import point_load_on
from planner.plans.setup import rig_of
from planner.records import Hitch, Truck
from planner.units.arguments import Amounts, arrays_in_si


class Many(NamedTuple):
    """Many levellings; the cases lie side by side in memory, so sums over them are quick.

    pressure : gauge, NaN where there is no bag, shape (..., 2, 2): [front, rear][left, right] [Pa]
    stance : rise front, rise rear [m], roll [rad], as far as the limits allow, shape (..., 3)
    limit : which limit each corner is held at, a `planner.Limit`, 0 for none, shape (..., 2, 2)
    converged : whether the truck rests there, shape (...)
    """

    pressure: Array
    stance: Array
    limit: Codes
    converged: Flags

    def __repr__(self) -> str:
        """Show how many cases there are, and how many of them a limit binds."""
        bound = int((self.limit != 0).any(axis=(-2, -1)).sum())
        return f"<Many: {self.limit.shape[:-2]} cases, {bound} at a limit, {int((~self.converged).sum())} not at rest>"

    def to_frame(self) -> Any:
        """Return a pandas DataFrame: a row for each case in order, SI units, ``limit`` as numbers of `Limit`."""
        one = self.shaped((-1,)) if self.limit.ndim != 3 else self
        columns: dict[str, Any] = {}
        for place, corner in enumerate(CORNERS):
            columns[f"pressure_{corner}"] = one.pressure[:, place // 2, place % 2]
            columns[f"limit_{corner}"] = one.limit[:, place // 2, place % 2]
        columns |= dict(zip(("rise_front", "rise_rear", "roll"), one.stance.T, strict=True))
        return frame(columns | {"converged": one.converged}, None, "case")

    def shaped(self, shape: tuple[int, ...]) -> Many:
        """Return the cases in another shape."""
        corners = (*shape, 2, 2)
        stance, converged = self.stance.reshape(*shape, 3), self.converged.reshape(shape)
        return Many(self.pressure.reshape(corners), stance, self.limit.reshape(corners), converged)


def level_many(
    truck: Truck,
    *,
    hitch: str | None = None,
    hitch_load: Amounts = 0.0,
    cargo_load: Amounts = 0.0,
    cargo_x: Amounts = 0.0,
    cargo_y: Amounts = 0.0,
    stance: ArrayLike = (0.0, 0.0, 0.0),
    into: Many | None = None,
) -> Many:
    """Return the pressures that level a truck in many cases at once.

    Parameters
    ----------
    truck : Truck
    hitch : str, optional
        Name of the hitch that the load hangs on; the truck's only one where it is left out.
    hitch_load : array_like, shape (...)
        Load on the hitch, down positive; a list of texts or a quantity of pint's has its own unit. [N]
    cargo_load, cargo_x, cargo_y : array_like, shape (...)
        Load on the truck [N], its place ahead of the rear axle and left of the centre line [m].
    stance : array_like, shape (..., 3)
        Wanted rise at the front and the rear axle line [m] and roll, left side up positive [rad].
    into : Many, optional
        An earlier answer of the same shape, to be written over: for millions of cases, again and again, the system
        can take a third as long to hand out fresh memory as the sums take.

    Returns
    -------
    Many
        Of the shape that all of it broadcasts to. Blocks of 8192 cases are worked on at a time: beside the answer,
        memory does not grow with the number of cases.

    Raises
    ------
    Refusal
        If a number is not finite, shapes do not fit, ``into`` is of another shape, or there is a hitch load and no
        such hitch.

    Examples
    --------
    >>> from planner import read_truck
    >>> truck = read_truck("profiles/trucks/ridge-truck.toml")
    >>> level_many(truck, hitch="receiver", hitch_load=["0 lb", "600 lb", "900 lb"])
    <Many: (3,) cases, 0 at a limit, 0 not at rest>
    """
    rig, wanted = rig_of(truck), np.asarray(stance, float)
    if wanted.shape[-1:] != (3,):
        raise Refusal("stance must have shape (..., 3)", str(wanted.shape), "give rise front, rise rear, roll")
    require_finite(("stance", wanted, "m, rad"))
    given = [
        arrays_in_si("hitch_load", hitch_load, "load"),
        arrays_in_si("cargo_load", cargo_load, "load"),
        arrays_in_si("cargo_x", cargo_x, "length"),
        arrays_in_si("cargo_y", cargo_y, "length"),
    ]
    shape = np.broadcast_shapes(wanted.shape[:-1], *(value.shape for value in given))
    on_hitch, cargo, x, y = (in_a_row(value, shape) for value in given)
    place = _hitch(truck, hitch, given[0])
    wanted, count = in_a_row(wanted, shape, (3,)), math.prod(shape)
    if into is not None and into.limit.shape != (*shape, 2, 2):
        got = f"one of {into.limit.shape[:-2]}"
        raise Refusal(f"into must be an answer of shape {shape}", got, "give one of that shape, or leave it out")
    room = into or Many(
        empty_arrays((2, 2), count),
        empty_arrays((3,), count),
        empty_arrays((2, 2), count, np.int8),
        np.ones(count, bool),
    )
    found = room.shaped((count,))
    for first in range(0, count, GATHERED):
        part = slice(first, first + GATHERED)
        load: Load = rig.kerb + point_load_on(truck, rig, cargo[part], x[part], y[part])
        if place is not None:
            at = (np.asarray(float(value)) for value in (place.x, place.y, place.height))
            load += point_load_on(truck, rig, on_hitch[part], *at)
        levelled = levelling.level(rig, load, wanted[part])
        found.pressure[part], found.stance[part] = levelled.pressure, levelled.state[:, :3]
        found.limit[part], found.converged[part] = levelled.held, levelled.converged
    found.pressure[:, ~rig.has_bag] = np.nan
    return found.shaped(shape)


def _hitch(truck: Truck, name: str | None, load: Array) -> Hitch | None:
    """Return the hitch that a load hangs on; None where there is no load."""
    if not load.any():
        return None
    names = [one.name for one in truck.hitches]
    if (name or (names[0] if len(names) == 1 else None)) not in names:
        raise UnknownName("hitch", name or "", names)
    return truck.hitch(name or names[0])
