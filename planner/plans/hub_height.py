"""How high the wheels' centres stand on their tyres."""

from __future__ import annotations

import numpy as np

from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.validation import Array
from planner.records import Truck


def hub_heights(truck: Truck, tyre_load: Array | None = None) -> Array:
    """Return the height of each wheel's centre above ground, shape (2, 2). [m]

    Parameters
    ----------
    truck : Truck
    tyre_load : array, shape (2, 2), optional
        On the tyres of each side of each axle; left out: half of what the axle weighs at kerb. [N]

    Notes
    -----
    The unloaded radius less what the load presses the tyres in, by their rate (Hooke's law).

    Examples
    --------
    >>> from planner import read_truck
    >>> hub_heights(read_truck("profiles/trucks/ridge-truck.toml")).round(3)[:, 0].tolist()
    [0.394, 0.403]
    """
    tyres = [axle.tyres for axle in (truck.front, truck.rear)]
    radius = np.array([[float(one.unloaded_radius)] for one in tyres])
    rate = np.array([[one.per_side * float(one.rate)] for one in tyres])
    if tyre_load is None:
        tyre_load = np.array([[float(truck.kerb.front_axle)] * 2, [float(truck.kerb.rear_axle)] * 2]) * G / 2.0
    heights: Array = radius - tyre_load / rate
    return heights
