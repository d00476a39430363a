"""Limits of the bags: least and greatest pressure, load rating, ends of their charts; and which one holds a corner."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from functools import lru_cache
from typing import Final

import numpy as np

from planner.physics.truck_model import Rig
from planner.physics.validation import Array, Codes

FORCE_SCALE: Final = 1e5  # [N/m] weighs a force left over beside a height
AT_LIMIT: Final = 1e-8  # [m] as scaled above: a corner nearer to a limit is held at it


class Limit(IntEnum):
    """Which limit of a bag a corner is held at."""

    NONE = 0
    LEAST_PRESSURE = 1
    GREATEST_PRESSURE = 2
    LOAD_RATING = 3
    LOWEST_HEIGHT = 4
    HIGHEST_HEIGHT = 5


@dataclass(frozen=True, eq=False)
class Bounds:
    """Limits of the bags, each of shape (2,), front and rear; infinite where there is none."""

    least: Array
    greatest: Array
    rating: Array
    lowest: Array
    highest: Array


@lru_cache(maxsize=32)
def bounds_of(rig: Rig) -> Bounds:
    """Return the limits of both axles' bags. [Pa, Pa, N, m, m]

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import rig_of
    >>> rig = rig_of(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> (bounds_of(rig).greatest / 6894.757).round(1).tolist()  # psi, front and rear
    [100.0, 100.0]
    """

    def column(name: str, missing: float) -> Array:
        return np.array([getattr(bag, name) if bag else missing for bag in rig.bags])

    return Bounds(
        column("least_pressure", -np.inf),
        column("greatest_pressure", np.inf),
        column("load_rating", np.inf),
        column("lowest", -np.inf),
        column("highest", np.inf),
    )


def held_at(rig: Rig, height: Array, bag_force: Array) -> Codes:
    """Return which limit each corner is at, shape (n, 2, 2): of pressure and load before height; NONE inside all.

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import rig_of
    >>> rig = rig_of(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> low = np.broadcast_to(bounds_of(rig).lowest[:, None], (1, 2, 2))
    >>> held_at(rig, low, np.full((1, 2, 2), 8000.0))[0].tolist() == [[Limit.LOWEST_HEIGHT] * 2] * 2
    True
    """
    bounds = bounds_of(rig)
    code = np.zeros(height.shape, np.int8)
    column = {name: getattr(bounds, name)[:, None] for name in ("rating", "lowest", "highest")}
    least, greatest = rig.limit_loads(height)
    rooms = {
        Limit.LOWEST_HEIGHT: height - column["lowest"],
        Limit.HIGHEST_HEIGHT: column["highest"] - height,
        Limit.LEAST_PRESSURE: (bag_force - least) / FORCE_SCALE,
        Limit.LOAD_RATING: (column["rating"] - bag_force) / FORCE_SCALE,
        Limit.GREATEST_PRESSURE: (greatest - bag_force) / FORCE_SCALE,
    }
    for limit, room in rooms.items():
        code[room <= AT_LIMIT] = limit
    code[..., ~rig.has_bag, :] = Limit.NONE
    return code
